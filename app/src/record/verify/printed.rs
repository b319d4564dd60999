//! What the pages show: whether they are the ones that the signer of the list saw, and
//! whether they are what this program prints from the journals.

use trayzero_core::journal::to_hex;
use trayzero_core::record::Record;

use super::{About, Files, VerifyReport};
use crate::record::pdf::{PdfError, render_with};
use crate::record::pdf_file::PdfFile;
use crate::record::proof::{Making, SIGNER, attachment, key_in, page_hashes, told};
use crate::ui::words::verified::VerifySaid;

/// Compares the pages with the hashes on the list, and with the record printed again.
pub(super) fn compare(
    file: &PdfFile<'_>,
    pdf: &[u8],
    files: &Files,
    record: &Record,
    making: &Making,
    report: &mut VerifyReport,
) {
    let pages = match file.pages() {
        Ok(pages) => pages
            .iter()
            .map(|page| to_hex(page))
            .collect::<Vec<String>>(),
        Err(why) => return report.fails_in(About::Pages, None, VerifySaid::PagesUnread(why)),
    };
    match first_other(&pages, &making.pages) {
        None => {
            report.holds_that(About::Pages, None, VerifySaid::PagesHold(pages.len()));
        }
        Some(page) => {
            report.fails_in(About::Pages, None, VerifySaid::PageChanged(page));
        }
    }
    again(pdf, &pages, files, record, making, report);
}

/// Prints the record again and compares that, where this is the program that printed it.
fn again(
    pdf: &[u8],
    pages: &[String],
    files: &Files,
    record: &Record,
    making: &Making,
    report: &mut VerifyReport,
) {
    if !making.is_of_this_program() {
        let said = VerifySaid::OtherVersion {
            theirs: making.program.clone(),
            ours: env!("CARGO_PKG_VERSION"),
        };
        return report.leaves_open(About::Pages, None, said);
    }
    if !report.holds() {
        return report.leaves_open(About::Pages, None, VerifySaid::NotPrintedAgain);
    }
    let Some(print) = making.print() else {
        return report.fails_in(About::Pages, None, VerifySaid::PrintUnknown);
    };
    // The key's words are printed, whether or not its signature holds.
    let key = files.get(SIGNER).and_then(|pem| key_in(pem));
    let told = told(making, key.as_deref());
    let mut again = Vec::new();
    let printed = render_with(record, print, &told, |plain| {
        again = page_hashes(plain).map_err(|why| PdfError::Write {
            why: why.to_string(),
        })?;
        let files = files.iter();
        Ok(files
            .map(|(name, bytes)| attachment(name, bytes.clone()))
            .collect())
    });
    match (printed, first_other(pages, &again)) {
        (Err(why), _) => {
            report.fails_in(About::Pages, None, VerifySaid::NotPrinted(why.why()));
        }
        (Ok(printed), _) if printed == pdf => {
            report.holds_that(About::Pages, None, VerifySaid::SameBytes);
        }
        (Ok(_), None) => report.holds_that(About::Pages, None, VerifySaid::SameFigures),
        (Ok(_), Some(page)) => {
            report.fails_in(About::Pages, None, VerifySaid::PageDiffers(page));
        }
    }
}

/// The first page that differs, counted from 1.
fn first_other(pages: &[String], known: &[String]) -> Option<usize> {
    let both = pages.len().max(known.len());
    (0..both)
        .find(|at| pages.get(*at) != known.get(*at))
        .map(|at| at + 1)
}
