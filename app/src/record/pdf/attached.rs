//! Files within the PDF, as PDF/A-3 has them.

use krilla::Document;
use krilla::embed::{AssociationKind, EmbeddedFile, MimeType};
use krilla::metadata::DateTime;
use trayzero_core::record::Stamp;

use super::{PdfError, rfc3339};

/// A file that goes along within the PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    /// Its name: letters, digits, points and hyphens, so that every tool takes it out under
    /// the same one.
    pub name: String,
    /// What it is, as a MIME type.
    pub mime: &'static str,
    /// What it is, in words.
    pub about: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Puts the files into the document, dated as the record is.
///
/// # Errors
/// [`PdfError::Write`] where two have one name.
pub(super) fn attach(
    document: &mut Document,
    files: &[Attachment],
    at: Stamp,
) -> Result<(), PdfError> {
    for file in files {
        let embedded = EmbeddedFile {
            path: file.name.clone(),
            mime_type: MimeType::new(file.mime),
            description: Some(file.about.clone()),
            association_kind: AssociationKind::Source,
            data: file.bytes.clone().into(),
            modification_date: Some(date_time(at)),
            compress: Some(true),
            location: None,
        };
        document.embed_file(embedded).ok_or_else(|| {
            let why = format!("two attachments are called {}", file.name);
            PdfError::Write { why }
        })?;
    }
    Ok(())
}

/// A moment as the file tells it; 1970 where no clock shows it.
pub(super) fn date_time(at: Stamp) -> DateTime {
    let text = rfc3339(at);
    let figure = |from: usize, to: usize| text.get(from..to).and_then(|t| t.parse::<u8>().ok());
    let year = text.get(..4).and_then(|t| t.parse().ok()).unwrap_or(1970);
    let mut moment = DateTime::new(year)
        .month(figure(5, 7).unwrap_or(1))
        .day(figure(8, 10).unwrap_or(1))
        .hour(figure(11, 13).unwrap_or(0))
        .minute(figure(14, 16).unwrap_or(0))
        .second(figure(17, 19).unwrap_or(0));
    moment = moment.utc_offset_hour((at.offset_min / 60) as i8);
    moment.utc_offset_minute((at.offset_min % 60).unsigned_abs() as u8)
}
