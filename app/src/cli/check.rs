//! `trayzero check`: whether every line of every journal in a folder holds.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::Serialize;
use trayzero_core::journal::{CheckReport, Checked, check_folder};
use uuid::Uuid;

use super::{CliError, Reply, write_json};

/// Arguments of `trayzero check`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A tablet's data folder, a shop folder, or the folder of one job.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct Answer<'a> {
    clean: bool,
    jobs: usize,
    lines: u64,
    journals: Vec<JournalAnswer<'a>>,
    set_aside: Vec<String>,
    left_alone: Vec<LeftAnswer<'a>>,
}

#[derive(Serialize)]
struct JournalAnswer<'a> {
    file: String,
    job: Uuid,
    tablet: Uuid,
    clean: bool,
    format: u32,
    lines: u64,
    events: u64,
    unknown_events: u64,
    fault: Option<FaultAnswer<'a>>,
    torn: Option<TornAnswer>,
    seals_good: u64,
    seals_bad: Vec<FaultAnswer<'a>>,
    keys: &'a [String],
}

#[derive(Serialize)]
struct FaultAnswer<'a> {
    line: u64,
    field: &'a str,
    why: &'a str,
}

#[derive(Serialize)]
struct TornAnswer {
    line: u64,
    offset_bytes: u64,
    length_bytes: usize,
}

#[derive(Serialize)]
struct LeftAnswer<'a> {
    path: String,
    why: &'a str,
}

/// Answers; the answer is no where any line does not hold, a last line was never
/// finished, or a seal is not what it should be.
///
/// # Errors
/// [`CliError::Journal`] if the folder cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Reply, CliError> {
    let report = check_folder(&args.folder)?;
    if args.json {
        write_json(out, &answer(&report))?;
    } else {
        write_words(out, &report).map_err(CliError::Write)?;
    }
    let mut notes = Vec::new();
    if report.jobs == 0 {
        notes.push(format!("{}: no jobs in it", args.folder.display()));
    }
    Ok(Reply::answer(report.is_clean()).with_notes(notes))
}

fn answer(report: &CheckReport) -> Answer<'_> {
    Answer {
        clean: report.is_clean(),
        jobs: report.jobs,
        lines: report.lines(),
        journals: report.journals.iter().map(journal_answer).collect(),
        set_aside: report.set_aside.iter().map(|path| text_of(path)).collect(),
        left_alone: report
            .left_alone
            .iter()
            .map(|left| LeftAnswer {
                path: text_of(&left.path),
                why: &left.why,
            })
            .collect(),
    }
}

fn journal_answer(journal: &Checked) -> JournalAnswer<'_> {
    let end = &journal.end;
    JournalAnswer {
        file: text_of(&journal.file),
        job: journal.job,
        tablet: journal.tablet,
        clean: journal.is_clean(),
        format: end.mark.format,
        lines: end.mark.lines,
        events: end.mark.n,
        unknown_events: end.unknown,
        fault: end.fault.as_ref().map(|fault| FaultAnswer {
            line: fault.line,
            field: &fault.field,
            why: &fault.why,
        }),
        torn: end.torn.as_ref().map(|torn| TornAnswer {
            line: torn.line,
            offset_bytes: torn.offset,
            length_bytes: torn.bytes.len(),
        }),
        seals_good: journal.seals.good,
        seals_bad: journal
            .seals
            .bad
            .iter()
            .map(|(line, why)| FaultAnswer {
                line: *line,
                field: "event",
                why,
            })
            .collect(),
        keys: &journal.seals.keys,
    }
}

fn text_of(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

fn write_words(out: &mut dyn Write, report: &CheckReport) -> io::Result<()> {
    for journal in &report.journals {
        write_journal(out, journal)?;
    }
    for path in &report.set_aside {
        let path = path.display();
        writeln!(out, "{path}: an unfinished line was set aside here")?;
    }
    for left in &report.left_alone {
        writeln!(out, "{}: left alone, {}", left.path.display(), left.why)?;
    }
    let faulty = report.journals.iter().filter(|j| !j.is_clean()).count();
    let verdict = match faulty {
        0 => "every line holds".to_owned(),
        1 => "1 journal does not hold".to_owned(),
        n => format!("{n} journals do not hold"),
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
    if journal.is_clean() {
        let (lines, seals) = (journal.end.mark.lines, journal.seals.good);
        writeln!(out, "{file}: {lines} lines hold, {seals} seals")?;
    }
    Ok(())
}
