//! What a page says to draw, carried out word by word.
//!
//! The words are those of ISO 32000-1 (annex A, from memory), as far as this program writes
//! them.

use std::collections::BTreeMap;
use std::sync::Arc;

use vello_cpu::color::PremulRgba8;
use vello_cpu::kurbo::{Affine, BezPath, Cap, Join, PathEl, Point, Rect, Shape, Stroke, Vec2};
use vello_cpu::peniko::{Color, Fill, ImageSampler};
use vello_cpu::{Image, ImageSource, Pixmap, RenderContext, Resources};

use super::glyphs::Glyphs;
use super::too_much;
use crate::data::pictures::{Pixels, shrunk};
use crate::record::pdf_file::{Lexer, NotRead, Object, OtherWay, PageParts};

/// The most words of a page.
const WORDS_MAX: usize = 200_000;
/// The most corners and curves of all that is drawn.
const ELEMENTS_MAX: usize = 2_000_000;
/// How many whole pages may be painted over one another.
const LAYERS_MAX: f64 = 60.0;
/// The farthest that anything may lie from the page's corner, in pixels.
const FAR_PX: f64 = 20_000.0;
/// How deep states may be kept.
const DEPTH_MAX: usize = 64;

/// What holds until it is changed.
#[derive(Clone)]
struct State {
    to_px: Affine,
    fill: Color,
    line: Color,
    width: f64,
    cap: Cap,
    join: Join,
    /// The font's name and size.
    font: Option<(Vec<u8>, f64)>,
}

/// A page that is being drawn.
pub(super) struct Painter<'a> {
    parts: &'a PageParts<'a>,
    canvas: RenderContext,
    size: (u16, u16),
    state: State,
    kept: Vec<State>,
    /// The path so far, in pixels.
    path: BezPath,

    /// Where the next letter goes, and where its line begins.
    letter: Affine,
    row: Affine,
    fonts: BTreeMap<&'a [u8], Glyphs<'a>>,
    pictures: BTreeMap<&'a [u8], Arc<Pixmap>>,
    elements: usize,
    painted: f64,
}

fn other() -> NotRead {
    NotRead::OtherWay(OtherWay::Page)
}

impl<'a> Painter<'a> {
    pub fn new(parts: &'a PageParts<'a>, width_px: u16) -> Self {
        let (width, height) = (f64::from(parts.size.0), f64::from(parts.size.1));
        let scale = f64::from(width_px) / width;
        // Far taller pages than any that is read would need more.
        let height_px = (height * scale).ceil().clamp(1.0, 32_000.0) as u16;
        let mut canvas = RenderContext::new(width_px, height_px);
        canvas.set_paint(Color::WHITE);
        canvas.fill_rect(&Rect::new(0.0, 0.0, width_px.into(), height_px.into()));
        Self {
            parts,
            canvas,
            size: (width_px, height_px),
            state: State {
                to_px: Affine::new([scale, 0.0, 0.0, -scale, 0.0, height * scale]),
                fill: Color::BLACK,
                line: Color::BLACK,
                width: 1.0,
                cap: Cap::Butt,
                join: Join::Miter,
                font: None,
            },
            kept: Vec::new(),
            path: BezPath::new(),

            letter: Affine::IDENTITY,
            row: Affine::IDENTITY,
            fonts: BTreeMap::new(),
            pictures: BTreeMap::new(),
            elements: 0,
            painted: 0.0,
        }
    }

    /// Carries out every word of the page.
    pub fn carry_out(&mut self) -> Result<(), NotRead> {
        let mut lexer = Lexer::new(&self.parts.content, 0);
        let mut before: Vec<Object<'a>> = Vec::new();
        for _ in 0..WORDS_MAX {
            lexer.skip_blank();
            if lexer.at() >= self.parts.content.len() {
                return Ok(());
            }
            let object = lexer.object().ok_or_else(other)?;
            match &object {
                Object::Plain(word) if object.number().is_none() => {
                    self.word(word, &before)?;
                    before.clear();
                }
                _ => before.push(object),
            }
        }
        Err(too_much())
    }

    /// The picture of what was drawn.
    pub fn picture(mut self) -> Pixels {
        let (width, height) = self.size;
        let mut pixmap = Pixmap::new(width, height);
        self.canvas.flush();
        self.canvas.render(&mut pixmap, &mut Resources::new());
        let pixels = pixmap.data_as_u8_slice().chunks_exact(4);
        Pixels {
            width: width.into(),
            height: height.into(),
            rgb: pixels
                .flat_map(|pixel| [pixel[0], pixel[1], pixel[2]])
                .collect(),
        }
    }

    fn word(&mut self, word: &[u8], before: &[Object<'a>]) -> Result<(), NotRead> {
        let numbers: Vec<f64> = before
            .iter()
            .filter_map(|object| object.number().map(f64::from))
            .collect();
        match (word, &numbers[..], before) {
            (b"q", ..) if self.kept.len() < DEPTH_MAX => self.kept.push(self.state.clone()),
            (b"Q", ..) => self.state = self.kept.pop().ok_or_else(other)?,
            (b"cm", six, _) => self.state.to_px *= affine(six)?,
            (b"w", [width], _) => self.state.width = *width,
            (b"J", [cap], _) => {
                self.state.cap = match *cap {
                    0.0 => Cap::Butt,
                    1.0 => Cap::Round,
                    _ => Cap::Square,
                };
            }
            (b"j", [join], _) => {
                self.state.join = match *join {
                    0.0 => Join::Miter,
                    1.0 => Join::Round,
                    _ => Join::Bevel,
                };
            }
            (b"d", [0.0], [Object::Array(dashes), _]) if dashes.is_empty() => {}
            // How corners are cut and curves are flattened: here always the same.
            (b"M" | b"i" | b"ri", ..) => {}
            // The one space of colours is sRGB.
            (b"cs" | b"CS", _, [Object::Name(_)]) => {}
            (b"sc" | b"scn" | b"rg" | b"g", shade, _) => self.state.fill = colour(shade)?,
            (b"SC" | b"SCN" | b"RG" | b"G", shade, _) => self.state.line = colour(shade)?,
            (b"m" | b"l" | b"c" | b"h" | b"re", ..) => self.line(word, &numbers)?,
            (b"f" | b"F", ..) => self.end(Some(Fill::NonZero), false)?,
            (b"f*", ..) => self.end(Some(Fill::EvenOdd), false)?,
            (b"S", ..) => self.end(None, true)?,
            (b"B", ..) => self.end(Some(Fill::NonZero), true)?,
            (b"n", ..) => self.end(None, false)?,
            (b"BT", ..) => (self.letter, self.row) = (Affine::IDENTITY, Affine::IDENTITY),
            (b"ET", ..) => {}
            (b"Tr", [0.0], _) => {}
            (b"Tf", [size], [Object::Name(name), _]) => {
                self.state.font = Some((name.clone(), *size));
            }
            (b"Tm", six, _) => {
                self.row = affine(six)?;
                self.letter = self.row;
            }
            (b"Td", [x, y], _) => {
                self.row *= Affine::translate((*x, *y));
                self.letter = self.row;
            }
            (b"Tj", _, [text]) => self.show(std::slice::from_ref(text))?,
            (b"TJ", _, [Object::Array(texts)]) => self.show(texts)?,
            (b"Do", _, [Object::Name(name)]) => self.show_picture(name)?,
            // What belongs together, for those who have the page read to them.
            (b"BDC" | b"BMC" | b"EMC", ..) => {}
            _ => return Err(other()),
        }
        Ok(())
    }

    /// A point in pixels.
    fn px(&self, x: f64, y: f64) -> Point {
        self.state.to_px * Point::new(x, y)
    }

    fn line(&mut self, word: &[u8], numbers: &[f64]) -> Result<(), NotRead> {
        let is_begun = !self.path.elements().is_empty();
        match (word, numbers) {
            (b"m", [x, y]) => {
                self.path.move_to(self.px(*x, *y));
            }
            (b"l", [x, y]) if is_begun => {
                self.path.line_to(self.px(*x, *y));
            }
            (b"c", [ax, ay, bx, by, x, y]) if is_begun => {
                let (a, b) = (self.px(*ax, *ay), self.px(*bx, *by));
                self.path.curve_to(a, b, self.px(*x, *y));
            }
            (b"h", []) if is_begun => self.path.close_path(),
            (b"re", [x, y, width, height]) => {
                let (right, top) = (x + width, y + height);
                self.path.move_to(self.px(*x, *y));
                self.path.line_to(self.px(right, *y));
                self.path.line_to(self.px(right, top));
                self.path.line_to(self.px(*x, top));
                self.path.close_path();
            }
            _ => return Err(other()),
        }
        Ok(())
    }

    /// Paints the path, and begins a new one.
    fn end(&mut self, fill: Option<Fill>, has_line: bool) -> Result<(), NotRead> {
        let path = std::mem::take(&mut self.path);
        if let Some(rule) = fill {
            self.fill(&path, rule)?;
        }
        if has_line && !path.is_empty() {
            let [a, b, c, d, ..] = self.state.to_px.as_coeffs();
            let width = self.state.width * (a * d - b * c).abs().sqrt();
            let width = width.clamp(0.0, FAR_PX);
            self.weigh(&path, width)?;
            let stroke = Stroke::new(width)
                .with_caps(self.state.cap)
                .with_join(self.state.join);
            self.canvas.set_stroke(stroke);
            self.canvas.set_paint(self.state.line);
            self.canvas.stroke_path(&path);
        }
        Ok(())
    }

    fn fill(&mut self, path: &BezPath, rule: Fill) -> Result<(), NotRead> {
        if path.is_empty() {
            return Ok(());
        }
        self.weigh(path, 0.0)?;
        self.canvas.set_fill_rule(rule);
        self.canvas.set_paint(self.state.fill);
        self.canvas.fill_path(path);
        Ok(())
    }

    /// Refuses what lies far away or what no page needs.
    fn weigh(&mut self, path: &BezPath, width: f64) -> Result<(), NotRead> {
        let is_near = |p: &Point| p.x.abs() <= FAR_PX && p.y.abs() <= FAR_PX;
        let is_all_near = path.elements().iter().all(|element| match element {
            PathEl::MoveTo(p) | PathEl::LineTo(p) => is_near(p),
            PathEl::QuadTo(a, p) => is_near(a) && is_near(p),
            PathEl::CurveTo(a, b, p) => is_near(a) && is_near(b) && is_near(p),
            PathEl::ClosePath => true,
        });
        if !is_all_near {
            return Err(other());
        }
        let (right, low) = (f64::from(self.size.0), f64::from(self.size.1));
        let seen = path.control_box().inflate(width + 1.0, width + 1.0);
        let seen = seen.intersect(Rect::new(0.0, 0.0, right, low));
        self.elements += path.elements().len();
        self.painted += seen.area();
        if self.elements > ELEMENTS_MAX || self.painted > LAYERS_MAX * right * low {
            return Err(too_much());
        }
        Ok(())
    }

    /// Letters, and how far apart they are moved.
    fn show(&mut self, texts: &[Object<'a>]) -> Result<(), NotRead> {
        let (name, size) = self.state.font.clone().ok_or_else(other)?;
        let (name, font) = self.parts.fonts.get_key_value(&name).ok_or_else(other)?;
        let mut path = BezPath::new();
        for text in texts {
            if let Some(back) = text.number() {
                let back = f64::from(back) / 1_000.0 * size;
                self.letter *= Affine::translate((-back, 0.0));
                continue;
            }
            for code in text.text().ok_or_else(other)?.chunks(2) {
                let [high, low] = *code else {
                    return Err(other());
                };
                let glyph = u16::from_be_bytes([high, low]);
                let glyphs = self.fonts.entry(name.as_slice());
                let glyphs = glyphs.or_insert_with(|| Glyphs::of(font));
                let place = self.state.to_px * self.letter * Affine::scale(size);
                let outline = glyphs.outline(glyph).ok_or_else(other)?;
                self.elements += outline.elements().len();
                if self.elements > ELEMENTS_MAX {
                    return Err(too_much());
                }
                path.extend(outline.iter().map(|element| place * element));
                self.letter *= Affine::translate((glyphs.advance(glyph) * size, 0.0));
            }
        }
        self.fill(&path, Fill::NonZero)
    }

    /// A picture in the unit square.
    fn show_picture(&mut self, name: &[u8]) -> Result<(), NotRead> {
        let (name, jpeg) = self.parts.pictures.get_key_value(name).ok_or_else(other)?;
        let square = Rect::new(0.0, 0.0, 1.0, 1.0).to_path(0.1);
        let square = self.state.to_px * square;
        self.weigh(&square, 0.0)?;
        let [a, b, c, d, ..] = self.state.to_px.as_coeffs();
        let side = Vec2::new(a, b).hypot().max(Vec2::new(c, d).hypot());
        let pixmap = if let Some(known) = self.pictures.get(name.as_slice()) {
            Arc::clone(known)
        } else {
            let side = side.clamp(16.0, 2_000.0) as u32;
            let read = shrunk(jpeg, side).map_err(|_| other())?;
            let pixmap = Arc::new(pixmap_of(&read).ok_or_else(other)?);
            self.pictures.insert(name.as_slice(), Arc::clone(&pixmap));
            pixmap
        };
        let (width, height) = (f64::from(pixmap.width()), f64::from(pixmap.height()));
        // Its first row is the upper one.
        let of_pixels = Affine::new([1.0 / width, 0.0, 0.0, -1.0 / height, 0.0, 1.0]);
        self.canvas
            .set_paint_transform(self.state.to_px * of_pixels);
        self.canvas.set_paint(Image {
            image: ImageSource::Pixmap(pixmap),
            sampler: ImageSampler::default(),
        });
        self.canvas.set_fill_rule(Fill::NonZero);
        self.canvas.fill_path(&square);
        self.canvas.reset_paint_transform();
        Ok(())
    }
}

/// Six figures that turn, stretch and move.
fn affine(six: &[f64]) -> Result<Affine, NotRead> {
    let six: [f64; 6] = six.try_into().map_err(|_| other())?;
    Ok(Affine::new(six))
}

/// One figure is a grey, three are red, green and blue.
fn colour(shade: &[f64]) -> Result<Color, NotRead> {
    let part = |part: f64| (part.clamp(0.0, 1.0) * 255.0).round() as u8;
    match *shade {
        [grey] => Ok(Color::from_rgb8(part(grey), part(grey), part(grey))),
        [red, green, blue] => Ok(Color::from_rgb8(part(red), part(green), part(blue))),
        _ => Err(other()),
    }
}

fn pixmap_of(pixels: &Pixels) -> Option<Pixmap> {
    let (width, height) = (
        pixels.width.try_into().ok()?,
        pixels.height.try_into().ok()?,
    );
    let opaque = |rgb: &[u8]| PremulRgba8 {
        r: rgb[0],
        g: rgb[1],
        b: rgb[2],
        a: 255,
    };
    let data = pixels.rgb.chunks_exact(3).map(opaque).collect();
    Some(Pixmap::from_parts(data, width, height))
}
