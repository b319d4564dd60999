//! The outlines of a page's letters, from the fonts that the file carries.

use std::collections::BTreeMap;

use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, GlyphId, MetadataProvider};
use vello_cpu::kurbo::{Affine, BezPath};

use crate::record::pdf_file::PageFont;

/// One font of a page.
pub(super) struct Glyphs<'a> {
    font: &'a PageFont,
    file: Option<FontRef<'a>>,
    units_per_em: f64,
    known: BTreeMap<u16, BezPath>,
}

impl<'a> Glyphs<'a> {
    pub fn of(font: &'a PageFont) -> Self {
        let file = FontRef::new(&font.file).ok();
        let units = file.as_ref().map_or(0, |file| {
            let metrics = file.metrics(Size::unscaled(), LocationRef::default());
            metrics.units_per_em
        });
        Self {
            font,
            file,
            units_per_em: f64::from(units.max(1)),
            known: BTreeMap::new(),
        }
    }

    /// How far the next glyph is, in parts of the size.
    pub fn advance(&self, glyph: u16) -> f64 {
        let width = self.font.widths.get(&glyph);
        f64::from(*width.unwrap_or(&self.font.usual_width)) / 1_000.0
    }

    /// A glyph's outline in parts of the size; `None` where the font does not read.
    pub fn outline(&mut self, glyph: u16) -> Option<&BezPath> {
        let file = self.file.as_ref()?;
        let scale = 1.0 / self.units_per_em;
        Some(self.known.entry(glyph).or_insert_with(|| {
            let mut pen = Pen(BezPath::new());
            let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
            let outlines = file.outline_glyphs();
            // A blank has no outline.
            if let Some(outline) = outlines.get(GlyphId::new(glyph.into())) {
                let _ = outline.draw(settings, &mut pen);
            }
            Affine::scale(scale) * pen.0
        }))
    }
}

struct Pen(BezPath);

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((x, y));
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.0.quad_to((cx, cy), (x, y));
    }

    fn curve_to(&mut self, cx0: f32, cy0: f32, cx1: f32, cy1: f32, x: f32, y: f32) {
        self.0.curve_to((cx0, cy0), (cx1, cy1), (x, y));
    }

    fn close(&mut self) {
        self.0.close_path();
    }
}
