//! `trayzero verify`: whether a record holds, from its file alone.

use std::io::{self, Write};
use std::path::PathBuf;

use serde_json::{Value, json};
use trayzero_core::shop_log::words_of_key;

use super::{CliError, Reply, shop_key, write_json};
use crate::record::opened::{NotOpened, OpenedRecord};
use crate::record::verify::{LineVerdict, VerifyReport};
use crate::ui::words::EN;

/// Arguments of `trayzero verify`.
#[derive(Debug, clap::Args)]
pub struct VerifyArgs {
    /// The record, a PDF.
    #[arg(value_name = "RECORD.pdf")]
    pub file: PathBuf,
    /// The shop's first key, 64 hex digits: only a record of that shop holds.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Answers; the answer is no where anything does not hold.
///
/// # Errors
/// [`CliError::Unread`] where the file cannot be read or taken apart.
pub fn run(args: &VerifyArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let opened = OpenedRecord::open(&args.file, args.shop_key.as_deref());
    let unread = |why: NotOpened| CliError::Unread {
        path: args.file.clone(),
        why: why.to_string(),
    };
    let report = opened.map_err(unread)?.report;
    if args.json {
        write_json(out, &answer(&report))?;
    } else {
        write_words(out, &report).map_err(CliError::Write)?;
    }
    Ok(Reply::answer(report.holds()))
}

fn answer(report: &VerifyReport) -> Value {
    let words = |key: &Option<String>| key.as_deref().map(words_of_key);
    let attachments = report.attachments.iter();
    let attachments =
        attachments.map(|(name, bytes)| json!({ "name": name, "length_bytes": bytes }));
    json!({
        "holds": report.holds(),
        "job": report.making.as_ref().map(|making| making.job),
        "check_value": report.record.as_ref().map(|record| &record.check_value),
        "signer_key": report.signer,
        "signer_words": words(&report.signer),
        "shop_key": report.shop,
        "shop_words": words(&report.shop),
        "attachments": attachments.collect::<Value>(),
        "lines": report.lines,
    })
}

fn write_words(out: &mut dyn Write, report: &VerifyReport) -> io::Result<()> {
    for line in &report.lines {
        let verdict = match line.verdict {
            LineVerdict::Holds => "holds     ",
            LineVerdict::DoesNotHold => "DOES NOT  ",
            LineVerdict::NotKnown => "not known ",
        };
        let words = EN.verify_said(&line.said);
        match &line.attachment {
            Some(name) => writeln!(out, "{verdict}{name}: {words}")?,
            None => writeln!(out, "{verdict}{words}")?,
        }
    }
    match report.failures() {
        0 => writeln!(out, "everything that can be checked holds"),
        1 => writeln!(out, "1 thing does not hold"),
        n => writeln!(out, "{n} things do not hold"),
    }
}
