//! The record as a PDF, made offline: tagged for those who have it read to them, with
//! the fonts inside, on A4 or Letter.
//!
//! [`render`] lays the record out on a document section by section and then
//! writes the pages. Page furniture is in `write`, the inks in `ink`; a section only says
//! what it has to say. The same record gives the same bytes.

mod attached;
mod bank_diagram;
mod error;
mod face;
mod ink;
mod leak_chart;
mod lines;
mod pages;
mod paper;
mod sections;
mod sheet;
mod table;
mod tags;
mod write;

use trayzero_core::bench::UnitSystem;
use trayzero_core::journal::format_rfc3339;
use trayzero_core::record::{By, OpenPoint, Record, Stamp};

use crate::ui::units::Figures;
use crate::ui::words::record::{ProofTold, RecordWords};
use crate::ui::words::{Language, Words};
pub use attached::Attachment;
pub use error::PdfError;
use face::Faces;
use pages::Pages;
pub use paper::Paper;
pub use sheet::{SheetError, render_sheet};
use write::Furniture;

/// What every section needs: the record and the words to tell it in.
struct Context<'a> {
    record: &'a Record,
    proof: &'a ProofTold,
    words: &'static Words,
    own: &'static RecordWords,
    figures: Figures,
}

/// Who, and when.
fn by(by: &By) -> String {
    format!("{}, {}", by.who, when(by))
}

/// When, with the mark of what was entered from paper.
fn when(by: &By) -> String {
    format!("{}{}", moment(by.at), paper_mark(by))
}

/// What stands behind a time at which something was entered from paper; the section of
/// what was says what it means.
fn paper_mark(by: &By) -> &'static str {
    if by.from_paper { " (P)" } else { "" }
}

/// The date on the clock of the tablet.
fn date(at: Stamp) -> String {
    rfc3339(at).get(..10).unwrap_or("?").to_owned()
}

/// The time of day on the clock of the tablet.
fn clock(at: Stamp) -> String {
    rfc3339(at).get(11..16).unwrap_or("?").to_owned()
}

/// Date and time of day on the clock of the tablet, such as `2026-11-25 08:15`.
fn moment(at: Stamp) -> String {
    format!("{} {}", date(at), clock(at))
}

/// The offset of the tablet's clock from UTC, such as `+01:00`.
fn offset(at: Stamp) -> String {
    rfc3339(at).get(23..).unwrap_or("?").to_owned()
}

fn rfc3339(at: Stamp) -> String {
    format_rfc3339(at.at_ms, at.offset_min).unwrap_or_default()
}

/// The check value in groups of four.
fn check_groups(value: &str) -> String {
    let digits: Vec<char> = value.chars().collect();
    let groups: Vec<String> = digits.chunks(4).map(|g| g.iter().collect()).collect();
    groups.join(" ")
}

/// How the job stands, for the head of every page.
fn job_status(context: &Context) -> String {
    let (record, own) = (context.record, context.own);
    let status = if record.finished && has_grave_points(record) {
        own.finished_but.to_owned()
    } else {
        lines::capital((own.job_status)(record.status))
    };
    let mut told = Vec::new();
    if !record.journal_faults.is_empty() {
        told.push(own.journal_faulty.to_owned());
    }
    if !record.not_signed.is_empty() {
        told.push(own.not_signed.to_owned());
    }
    told.push(status);
    told.join(" · ")
}

fn has_grave_points(record: &Record) -> bool {
    record.open_points.iter().any(OpenPoint::is_grave)
}

/// How a record is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Print {
    /// The language.
    pub language: Language,
    /// The paper.
    pub paper: Paper,
    /// The units of its figures.
    pub system: UnitSystem,
}

/// The date of a record that tells of no event.
const NO_TIME: Stamp = Stamp {
    at_ms: 0,
    offset_min: 0,
};

/// Makes the PDF of a record, its figures in a system of units. Nothing is attached to it.
///
/// # Errors
/// [`PdfError`] if a font of the program cannot be read or the file cannot be written.
pub fn render(
    record: &Record,
    language: Language,
    paper: Paper,
    system: UnitSystem,
) -> Result<Vec<u8>, PdfError> {
    let print = Print {
        language,
        paper,
        system,
    };
    render_with(record, print, &ProofTold::Without, |_| Ok(Vec::new()))
}

/// The same with files within it. `attach` gets the finished pages as a PDF without any, for
/// whoever vouches for them too.
///
/// # Errors
/// As [`render`], and whatever `attach` says.
pub fn render_with(
    record: &Record,
    print: Print,
    proof: &ProofTold,
    attach: impl FnOnce(&[u8]) -> Result<Vec<Attachment>, PdfError>,
) -> Result<Vec<u8>, PdfError> {
    let faces = Faces::new()?;
    let words = print.language.words();
    let context = Context {
        record,
        proof,
        words,
        own: print.language.record_words(),
        figures: Figures::new(print.system, words.decimal_point),
    };
    let mut pages = Pages::new(&faces, print.paper);
    sections::tell(&mut pages, &context);
    let own = context.own;
    let title = format!("{}: {}", own.title, record.vehicle);
    let furniture = Furniture {
        title: &lines::clean(&title),
        language: own.tag,
        head: format!("{} · {} · {}", own.title, record.vehicle, record.bay),
        job_status: job_status(&context),
        warn: !record.finished || !record.is_whole() || has_grave_points(record),
        foot: format!(
            "{} {} · Tray Zero",
            own.check_value,
            check_groups(&record.check_value)
        ),
        page_of: &own.page_of,
        kept_at: Some(record.latest.unwrap_or(NO_TIME)),
    };
    let plain = write::write(&pages, print.paper, &furniture, &[])?;
    let files = attach(&plain)?;
    if files.is_empty() {
        return Ok(plain);
    }
    write::write(&pages, print.paper, &furniture, &files)
}
