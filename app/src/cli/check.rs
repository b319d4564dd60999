//! `trayzero check`: whether every line of every journal in a folder holds.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use trayzero_core::journal::{CheckReport, Checked, JournalWhy, WrongSeal, check_folder_of};
use trayzero_core::shop_log::{Judged, NotSigned};
use uuid::Uuid;

use super::place::brought;
use super::{CliError, Reply, shop_key, write_json};
use crate::data::crew::log_files::LOG_FOLDER;
use crate::shop::Admitted;
use crate::ui::words::EN;

/// Arguments of `trayzero check`.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// A tablet's data folder, a shop folder, or the folder of one job.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// The shop's first key, 64 hex digits: only what its members have sealed counts.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Short cuts that a program leaves beside the journals; nothing is ever read from them here.
const SUMMARIES: &str = "summaries beside the journals";

/// The most names that are listed as not looked at.
const NAMES_MAX: usize = 100;

/// Answers; the answer is no where anything is unread, unknown, unsealed or not admitted, and
/// where there is nothing to look at.
///
/// # Errors
/// [`CliError::Journal`] if the folder cannot be read.
pub fn run(args: &CheckArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let folder = brought(&args.folder, args.shop_key.as_deref())?;
    let admitted = Admitted::of(&folder, args.shop_key.as_deref())?;
    let proofs = admitted.proofs.for_an_outsider();
    let mut not_signed = Vec::new();
    let journals = check_folder_of(&folder, &admitted.members, |job, signed| {
        let mut judged = Judged::default();
        for entry in &signed {
            judged.takes(&proofs, job, entry);
        }
        let told = judged.not_signed().iter();
        not_signed.extend(told.map(|one| (job, one.clone())));
    })?;
    let report = Report {
        journals,
        not_signed,
        log_faults: admitted.log_faults.clone(),
        beside: not_looked_at(&folder, &admitted),
    };
    if args.json {
        write_json(out, &answer(&report, &admitted))?;
    } else {
        write_words(out, &report, &admitted).map_err(CliError::Write)?;
    }
    let mut notes = Vec::new();
    if report.journals.jobs == 0 {
        notes.push(format!("{}: no jobs in it", args.folder.display()));
    }
    Ok(Reply::answer(report.is_sure()).with_notes(notes))
}

/// What was looked at, and what was not.
struct Report {
    journals: CheckReport,
    /// By job: events with a signature that does not count.
    not_signed: Vec<(Uuid, NotSigned)>,
    log_faults: Vec<String>,
    beside: Vec<String>,
}

impl Report {
    fn is_sure(&self) -> bool {
        self.journals.is_sure() && self.not_signed.is_empty() && self.log_faults.is_empty()
    }
}

/// What lies beside the jobs and is looked at by others: settings, crew, layouts, records.
fn not_looked_at(folder: &Path, admitted: &Admitted) -> Vec<String> {
    let is_read = |name: &str| name == "jobs" || (name == LOG_FOLDER && admitted.log_lines > 0);
    let names = folder.read_dir().into_iter().flatten().flatten();
    let mut names: Vec<String> = names
        .map(|name| name.file_name().to_string_lossy().into_owned())
        .filter(|name| !is_read(name))
        .take(NAMES_MAX)
        .collect();
    names.sort();
    names.push(SUMMARIES.to_owned());
    // In the folder of one job or of all jobs everything was looked at.
    if folder.join("jobs").is_dir() {
        names
    } else {
        Vec::new()
    }
}

fn answer(whole: &Report, admitted: &Admitted) -> Value {
    let not_signed = whole.not_signed.iter().map(|(job, one)| {
        json!({
            "job": job,
            "tablet": one.entry.tablet,
            "event": one.entry.id,
            "person": &*one.unproven.person.0,
            "why": one.unproven.why,
            "words": EN.not_signed(one),
        })
    });
    let report = &whole.journals;
    let left = report.left_alone.iter();
    let left = left.map(|left| json!({ "path": text_of(&left.path), "why": left.why }));
    json!({
        "clean": report.is_clean(),
        "sure": whole.is_sure(),
        "members_from": admitted.source,
        "not_looked_at": whole.beside,
        "unconfirmed": texts_of(&report.unconfirmed),
        "not_signed": not_signed.collect::<Value>(),
        "log_lines": admitted.log_lines,
        "log_faults": admitted.log_faults,
        "empty_jobs": texts_of(&report.empty),
        "jobs": report.jobs,
        "lines": report.lines(),
        "journals": report.journals.iter().map(journal_answer).collect::<Value>(),
        "set_aside": texts_of(&report.set_aside),
        "left_alone": left.collect::<Value>(),
    })
}

fn journal_answer(journal: &Checked) -> Value {
    let end = &journal.end;
    let fault = |line: u64, field: &str, why: &JournalWhy| json!({ "line": line, "field": field, "why": why });
    let torn = end.torn.as_ref().map(|torn| {
        json!({ "line": torn.line, "offset_bytes": torn.offset, "length_bytes": torn.bytes.len() })
    });
    let bad = journal.seals.bad.iter();
    json!({
        "file": text_of(&journal.file),
        "job": journal.job,
        "tablet": journal.tablet,
        "clean": journal.is_clean(),
        "sure": journal.is_sure(),
        "admitted": journal.is_admitted,
        "dismissed": journal.is_dismissed,
        "unsealed_events": journal.unsealed,
        "missing_bytes": journal.missing,
        "format": end.mark.format,
        "lines": end.mark.lines,
        "events": end.mark.n,
        "unknown_events": end.unknown,
        "fault": end.fault.as_ref().map(|f| fault(f.line, &f.field, &f.why)),
        "torn": torn,
        "seals_good": journal.seals.good,
        "seals_bad": bad.map(|(line, why)| fault(*line, "event", why)).collect::<Value>(),
        "keys": journal.seals.keys,
    })
}

fn text_of(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

fn texts_of(paths: &[PathBuf]) -> Vec<String> {
    paths.iter().map(|path| text_of(path)).collect()
}

fn write_words(out: &mut dyn Write, whole: &Report, admitted: &Admitted) -> io::Result<()> {
    let report = &whole.journals;
    for journal in &report.journals {
        write_journal(out, journal)?;
    }
    for path in &report.set_aside {
        let path = path.display();
        writeln!(out, "{path}: an unfinished line was set aside here")?;
    }
    for path in &report.unconfirmed {
        let path = path.display();
        writeln!(
            out,
            "{path}: lines that nobody has vouched for were set aside here"
        )?;
    }
    for (job, one) in &whole.not_signed {
        let (tablet, text) = (one.entry.tablet, EN.not_signed(one));
        writeln!(out, "job {job}, tablet {tablet}: {text}")?;
    }
    for path in &report.empty {
        writeln!(out, "{}: a job without a journal", path.display())?;
    }
    for left in &report.left_alone {
        writeln!(out, "{}: left alone, {}", left.path.display(), left.why)?;
    }
    if !whole.beside.is_empty() {
        writeln!(out, "not looked at: {}", whole.beside.join(", "))?;
    }
    for fault in &whole.log_faults {
        writeln!(out, "{fault}")?;
    }
    if admitted.log_lines > 0 {
        writeln!(out, "shop log: {} lines", admitted.log_lines)?;
    }
    writeln!(out, "{}", admitted.note())?;
    let faulty = report.journals.iter().filter(|j| !j.is_clean()).count();
    let unsure = report.journals.iter().filter(|j| !j.is_sure()).count();
    let verdict = match (faulty, unsure) {
        _ if report.jobs == 0 => "nothing to look at".to_owned(),
        (0, 0) if !whole.not_signed.is_empty() => {
            "every line holds, but signatures of people do not count".to_owned()
        }
        (0, 0) if !whole.log_faults.is_empty() => {
            "every line of the jobs holds, but the shop log does not".to_owned()
        }
        (0, 0) if report.is_sure() => "every line holds and is sealed by a member".to_owned(),
        (0, 0) => "every line holds, but not everything was read".to_owned(),
        (0, 1) => "1 journal is not sealed to its end by a member".to_owned(),
        (0, n) => format!("{n} journals are not sealed to their end by a member"),
        (1, _) => "1 journal does not hold".to_owned(),
        (n, _) => format!("{n} journals do not hold"),
    };
    let (jobs, journals, lines) = (report.jobs, report.journals.len(), report.lines());
    writeln!(
        out,
        "{jobs} jobs, {journals} journals, {lines} lines: {verdict}"
    )
}

fn write_journal(out: &mut dyn Write, journal: &Checked) -> io::Result<()> {
    let file = journal.file.display();
    if let Some(fault) = &journal.end.fault {
        writeln!(out, "{fault}")?;
    }
    if let Some(torn) = &journal.end.torn {
        writeln!(out, "{torn}")?;
    }
    for (line, why) in &journal.seals.bad {
        writeln!(out, "{file}, line {line}: the seal does not hold: {why}")?;
    }
    if journal.is_newer() {
        let (format, unknown) = (journal.end.mark.format, journal.end.unknown);
        writeln!(
            out,
            "{file}: written in the newer format {format}; {unknown} events are not known here"
        )?;
    }
    if journal.is_dismissed {
        writeln!(
            out,
            "{file}: a stranger's; a foreman has dismissed it as it is, and nothing of it counts"
        )?;
    } else if !journal.is_admitted {
        writeln!(out, "{file}: nobody has admitted this tablet to the shop")?;
    }
    for WrongSeal { line, why, .. } in &journal.wrong_seals {
        match line {
            // A seal that does not hold at all is told above.
            Some(line) => writeln!(out, "{file}, line {line}: the seal does not count: {why}")?,
            None => writeln!(out, "{file}: the seal beside it does not count: {why}")?,
        }
    }
    if journal.unsealed > 0 {
        let events = journal.unsealed;
        writeln!(
            out,
            "{file}: {events} events are not sealed by a member of the shop"
        )?;
    }
    if journal.missing > 0 {
        let bytes = journal.missing;
        writeln!(
            out,
            "{file}: {bytes} bytes that its tablet has sealed are missing"
        )?;
    }
    if journal.is_sure() {
        let (lines, seals) = (journal.end.mark.lines, journal.seals.good);
        writeln!(out, "{file}: {lines} lines hold, {seals} seals")?;
    }
    Ok(())
}
