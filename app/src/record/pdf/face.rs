//! The embedded fonts: which glyphs a text takes, and how wide it runs.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider};

use super::PdfError;
use crate::ui::theme::{BOLD, MEDIUM, WIDE};

/// How strong a text stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Plain,
    /// Headings and what must be seen.
    Strong,
}

/// One font, for drawing and for measuring.
struct Face {
    font: Font,
    charmap: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
    units_per_em: f32,
}

impl Face {
    fn new(bytes: &'static [u8], name: &'static str) -> Result<Self, PdfError> {
        let unreadable = || PdfError::Font { name };
        let reader = FontRef::new(bytes).map_err(|_| unreadable())?;
        let font = Font::new(bytes.into(), 0).ok_or_else(unreadable)?;
        Ok(Self {
            charmap: reader.charmap(),
            metrics: reader.glyph_metrics(Size::unscaled(), LocationRef::default()),
            units_per_em: font.units_per_em(),
            font,
        })
    }

    /// Glyph of a character and its advance in em.
    fn glyph(&self, c: char) -> Option<(GlyphId, f32)> {
        let id = self.charmap.map(c)?;
        let advance = self.metrics.advance_width(id)? / self.units_per_em;
        Some((GlyphId::new(id.to_u32()), advance))
    }
}

/// A stretch of text in one font.
pub struct GlyphRun {
    /// The font.
    pub font: Font,
    /// The glyphs, their ranges counted in `text`.
    pub glyphs: Vec<KrillaGlyph>,
    /// The text of the stretch.
    pub text: String,
    /// Its width in em.
    pub width_em: f32,
}

/// Both weights, and a fallback for names in other alphabets.
pub struct Faces {
    faces: [Face; 3],
}

/// Place of the fallback among the faces.
const FALLBACK: usize = 2;

impl Faces {
    /// Reads the fonts that come with the program.
    ///
    /// # Errors
    /// [`PdfError::Font`] if one of them cannot be read.
    pub fn new() -> Result<Self, PdfError> {
        Ok(Self {
            faces: [
                Face::new(MEDIUM, "medium")?,
                Face::new(BOLD, "bold")?,
                Face::new(WIDE, "wide")?,
            ],
        })
    }

    /// The face that has a character, its glyph and advance. What no font has shows the
    /// replacement sign; the text behind it keeps the character.
    fn choose(&self, c: char, weight: Weight) -> (usize, GlyphId, f32) {
        let first = match weight {
            Weight::Plain => 0,
            Weight::Strong => 1,
        };
        for (face, wanted) in [(first, c), (FALLBACK, c), (FALLBACK, '\u{FFFD}')] {
            if let Some((glyph, advance)) = self.faces[face].glyph(wanted) {
                return (face, glyph, advance);
            }
        }
        (first, GlyphId::new(0), 0.5)
    }

    /// Width of a text in points.
    pub fn width(&self, text: &str, weight: Weight, size: f32) -> f32 {
        let em: f32 = text.chars().map(|c| self.choose(c, weight).2).sum();
        em * size
    }

    /// The stretches of a text, each in the font that has its characters.
    pub fn runs(&self, text: &str, weight: Weight) -> Vec<GlyphRun> {
        let mut runs: Vec<(usize, GlyphRun)> = Vec::new();
        for c in text.chars() {
            let (face, glyph, advance) = self.choose(c, weight);
            if runs.last().is_none_or(|(last, _)| *last != face) {
                let run = GlyphRun {
                    font: self.faces[face].font.clone(),
                    glyphs: Vec::new(),
                    text: String::new(),
                    width_em: 0.0,
                };
                runs.push((face, run));
            }
            if let Some((_, run)) = runs.last_mut() {
                let from = run.text.len();
                run.text.push(c);
                let range = from..run.text.len();
                let glyph = KrillaGlyph::new(glyph, advance, 0.0, 0.0, 0.0, range, None);
                run.glyphs.push(glyph);
                run.width_em += advance;
            }
        }
        runs.into_iter().map(|(_, run)| run).collect()
    }
}
