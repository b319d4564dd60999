//! What the pages show: whether they are the ones that the signer of the list saw, and
//! whether they are what this program prints from the journals.

use trayzero_core::record::Record;

use super::{About, Files, VerifyReport};
use crate::data::store::hex;
use crate::record::pdf::{PdfError, render_with};
use crate::record::pdf_file::PdfFile;
use crate::record::proof::{Making, SIGNER, attachment, key_in, page_hashes, told};

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
        Ok(pages) => pages.iter().map(|page| hex(page)).collect::<Vec<String>>(),
        Err(why) => return report.fails_in(About::Pages, None, format!("the pages: {why}")),
    };
    match first_other(&pages, &making.pages) {
        None => {
            let words = format!(
                "all {} pages show what they showed when the list was made",
                pages.len()
            );
            report.holds_that(About::Pages, None, words);
        }
        Some(page) => {
            let words = format!("page {page} does not show what it showed when the list was made");
            report.fails_in(About::Pages, None, words);
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
        let words = format!(
            "version {} printed it, this is {}: the printed figures and value are not compared, \
             read them against those above",
            making.program,
            env!("CARGO_PKG_VERSION")
        );
        return report.leaves_open(About::Pages, None, words);
    }
    if !report.holds() {
        let words = "the record is not printed again: what it would be made of does not hold";
        return report.leaves_open(About::Pages, None, words);
    }
    let Some(print) = making.print() else {
        let words = "in which language, on which paper and in which units it was printed is not \
                     known";
        return report.fails_in(About::Pages, None, words);
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
        (Err(why), _) => report.fails_in(About::Pages, None, why.to_string()),
        (Ok(printed), _) if printed == pdf => report.holds_that(
            About::Pages,
            None,
            "the whole file, every printed figure with it, is byte for byte what this program \
             makes of the journals",
        ),
        (Ok(_), None) => report.holds_that(
            About::Pages,
            None,
            "every printed figure is what this program makes of the journals; the file was \
             saved anew by another program",
        ),
        (Ok(_), Some(page)) => {
            let words = format!("page {page} is not what this program prints from the journals");
            report.fails_in(About::Pages, None, words);
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
