//! The pages of a record drawn from the file itself, as pictures.
//!
//! What is shown is what the file says to draw, with the fonts and pictures that it carries,
//! whoever wrote it. Only what this program writes into a page is drawn; a page with anything
//! else on it is refused as a whole, for half a page would be a different one. Everything has
//! a bound: what is read, how long lines are, how much is painted.

mod glyphs;
mod painter;

use super::pdf_file::{NotRead, PdfFile};
use crate::data::pictures::Pixels;
use painter::Painter;

/// The least and the most width of a picture of a page, in pixels.
pub const WIDTH_PX: (u16, u16) = (200, 2_600);

/// The longest content of a page that is read, in bytes: some ten times that of the fullest.
const CONTENT_BYTES_MAX: usize = 1 << 20;

fn too_much() -> NotRead {
    NotRead::Broken("a page draws more than any page does".to_owned())
}

/// Draws a page, counted from 0, so wide.
///
/// # Errors
/// [`NotRead`] where there is no such page, or something on it is not drawn here.
pub fn draw(pdf: &[u8], index: usize, width_px: u16) -> Result<Pixels, NotRead> {
    let parts = PdfFile::open(pdf)?.page_parts(index)?;
    if parts.content.len() > CONTENT_BYTES_MAX {
        return Err(too_much());
    }
    let mut painter = Painter::new(&parts, width_px.clamp(WIDTH_PX.0, WIDTH_PX.1));
    painter.carry_out()?;
    Ok(painter.picture())
}
