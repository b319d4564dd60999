//! The sheets of paper as they fill: a cursor that runs down the page, what is drawn,
//! and the structure that it belongs to. Pages are written out at the end, when their
//! number is known.

use krilla::geom::Path;
use krilla::image::Image;

use super::Paper;
use super::face::{Faces, Weight};
use super::ink::{Ink, line, rect};
use super::lines::{break_lines, capital, clean};
use super::tags::{Structure, TaggedPart};

/// How a text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    /// Size in points.
    pub size: f32,
    /// Weight.
    pub weight: Weight,
    /// Ink.
    pub ink: Ink,
}

impl Style {
    /// Running text.
    pub const BODY: Style = Style::plain(9.0);
    /// Text of tables.
    pub const CELL: Style = Style::plain(8.0);
    /// Small print.
    pub const SMALL: Style = Style {
        ink: Ink::Soft,
        ..Style::plain(7.5)
    };

    /// Plain black text of a size.
    pub const fn plain(size: f32) -> Style {
        Style {
            size,
            weight: Weight::Plain,
            ink: Ink::Black,
        }
    }

    /// The same in the strong weight.
    pub const fn strong(self) -> Style {
        Style {
            weight: Weight::Strong,
            ..self
        }
    }

    /// The same in another ink.
    pub const fn ink(self, ink: Ink) -> Style {
        Style { ink, ..self }
    }

    /// From one line of text to the next, points.
    pub fn leading(self) -> f32 {
        self.size * 1.36
    }

    /// From the top of a line to the foot of its letters, points.
    pub fn ascent(self) -> f32 {
        self.size * 1.0
    }
}

/// One thing on a page. Coordinates are in points from the top left.
pub(super) enum Op {
    /// What follows is the leaf of the structure with this number.
    Leaf(usize),
    /// What follows is for the eye alone.
    Ornament,
    /// The leaf or the ornament ends.
    End,
    /// Text on one line, `y` at the foot of its letters.
    Text {
        x: f32,
        y: f32,
        style: Style,
        text: String,
    },
    /// A picture, from its upper left corner on.
    Image {
        image: Image,
        at: (f32, f32),
        size: (f32, f32),
    },
    /// A shape.
    Shape {
        path: Path,
        fill: Option<Ink>,
        stroke: Option<(Ink, f32)>,
    },
}

/// A heading for the reader's outline.
pub(super) struct Landmark {
    pub text: String,
    pub page: usize,
    pub y: f32,
}

/// Where the type area ends, points from the edges of the paper.
/// The left edge of the type area, and as far from the right edge.
pub(super) const MARGIN_SIDE: f32 = 46.0;
pub(super) const MARGIN_TOP: f32 = 62.0;
pub(super) const MARGIN_FOOT: f32 = 54.0;

/// The record as it is laid out.
pub struct Pages<'a> {
    /// The fonts.
    pub faces: &'a Faces,
    /// The structure of the document.
    pub structure: Structure,
    pub(super) sheets: Vec<Vec<Op>>,
    pub(super) landmarks: Vec<Landmark>,
    y: f32,
    width: f32,
    height: f32,
}

impl<'a> Pages<'a> {
    /// An empty first page.
    pub fn new(faces: &'a Faces, paper: Paper) -> Self {
        let (width, height) = paper.size_pt();
        Self {
            faces,
            structure: Structure::default(),
            sheets: vec![Vec::new()],
            landmarks: Vec::new(),
            y: MARGIN_TOP,
            width,
            height,
        }
    }

    /// The width of the type area.
    pub fn measure(&self) -> f32 {
        self.width - 2.0 * MARGIN_SIDE
    }

    /// Where the cursor is.
    pub fn y(&self) -> f32 {
        self.y
    }

    /// What is left of the page below the cursor.
    pub fn room(&self) -> f32 {
        self.height - MARGIN_FOOT - self.y
    }

    /// The height of an empty page's type area.
    pub fn page_room(&self) -> f32 {
        self.height - MARGIN_FOOT - MARGIN_TOP
    }

    /// Moves the cursor down.
    pub fn skip(&mut self, height: f32) {
        self.y += height;
    }

    /// Moves the cursor to a height.
    pub fn move_to(&mut self, y: f32) {
        self.y = y;
    }

    /// Begins a new page.
    pub fn turn(&mut self) {
        self.sheets.push(Vec::new());
        self.y = MARGIN_TOP;
    }

    /// Begins a new page unless so much room is left.
    pub fn need(&mut self, height: f32) {
        if self.room() < height && self.y > MARGIN_TOP {
            self.turn();
        }
    }

    fn draw(&mut self, op: Op) {
        if let Some(page) = self.sheets.last_mut() {
            page.push(op);
        }
    }

    /// Draws something that belongs to the open part of the structure.
    pub fn content(&mut self, draw: impl FnOnce(&mut Self)) {
        let begin = self.structure.leaf().map_or(Op::Ornament, Op::Leaf);
        self.draw(begin);
        draw(self);
        self.draw(Op::End);
    }

    /// Draws something for the eye alone.
    pub fn ornament(&mut self, draw: impl FnOnce(&mut Self)) {
        self.draw(Op::Ornament);
        draw(self);
        self.draw(Op::End);
    }

    /// A part of the structure around what is drawn within.
    pub fn part(&mut self, part: TaggedPart, within: impl FnOnce(&mut Self)) {
        self.structure.open(part);
        within(self);
        self.structure.close();
    }

    /// Text on one line inside [`Pages::content`] or [`Pages::ornament`].
    pub fn text_at(&mut self, x: f32, y: f32, style: Style, text: &str) {
        let text = clean(text).replace('\n', " ");
        self.draw(Op::Text { x, y, style, text });
    }

    /// The same, ending at `x`.
    pub fn text_ending_at(&mut self, x: f32, y: f32, style: Style, text: &str) {
        let width = self.faces.width(text, style.weight, style.size);
        self.text_at(x - width, y, style, text);
    }

    /// The same, with its middle at `x`.
    pub fn text_around(&mut self, x: f32, y: f32, style: Style, text: &str) {
        let width = self.faces.width(text, style.weight, style.size);
        self.text_at(x - width / 2.0, y, style, text);
    }

    /// A shape inside [`Pages::content`] or [`Pages::ornament`].
    pub fn shape(&mut self, path: Option<Path>, fill: Option<Ink>, stroke: Option<(Ink, f32)>) {
        if let Some(path) = path {
            self.draw(Op::Shape { path, fill, stroke });
        }
    }

    /// A picture inside [`Pages::content`], from its upper left corner on.
    pub fn image_at(&mut self, image: Image, at: (f32, f32), size: (f32, f32)) {
        self.draw(Op::Image { image, at, size });
    }

    /// A rule across the type area at a height.
    pub fn rule_at(&mut self, y: f32, ink: Ink, width: f32) {
        let (from, to) = (MARGIN_SIDE, MARGIN_SIDE + self.measure());
        let path = line(&[(from, y), (to, y)]);
        self.ornament(|s| s.shape(path, None, Some((ink, width))));
    }

    /// A heading; kept with at least so much of what follows.
    pub fn heading(&mut self, level: u16, text: &str, keep_with: f32) {
        let (size, before, after) = match level {
            1 => (20.0, 0.0, 6.0),
            2 => (12.5, 20.0, 6.0),
            _ => (9.5, 9.0, 3.0),
        };
        let style = Style::plain(size).strong();
        let rule = if level == 2 { 5.0 } else { 0.0 };
        let text = &capital(&clean(text));
        let lines = self.broken(text, style, self.measure());
        let height = style.leading() * lines.len() as f32;
        let at_top = self.y <= MARGIN_TOP;
        self.need(before + height + rule + after + keep_with);
        if self.y > MARGIN_TOP && !at_top {
            self.skip(before);
        }
        if level <= 2 {
            self.landmarks.push(Landmark {
                text: text.clone(),
                page: self.sheets.len() - 1,
                y: self.y,
            });
        }
        self.part(TaggedPart::Heading(level, text.clone()), |s| {
            s.set_lines(&lines, MARGIN_SIDE, style);
        });
        if level == 2 {
            let y = self.y + 2.5;
            self.rule_at(y, Ink::Rule, 0.7);
            self.skip(rule);
        }
        self.skip(after);
    }

    /// A paragraph over the whole measure.
    pub fn paragraph(&mut self, text: &str, style: Style) {
        let (left, measure) = (MARGIN_SIDE, self.measure());
        self.paragraph_in(text, style, left, measure);
    }

    /// A paragraph from `x` on, so wide.
    pub fn paragraph_in(&mut self, text: &str, style: Style, x: f32, width: f32) {
        let lines = self.broken(text, style, width);
        self.need(style.leading() * lines.len().min(3) as f32);
        self.part(TaggedPart::Paragraph, |s| s.set_lines(&lines, x, style));
    }

    /// A text broken into lines.
    pub fn broken(&self, text: &str, style: Style, width: f32) -> Vec<String> {
        break_lines(self.faces, text, style.weight, style.size, width)
    }

    /// Sets lines below each other from the cursor on, over pages if need be.
    fn set_lines(&mut self, lines: &[String], x: f32, style: Style) {
        for text in lines {
            if self.room() < style.leading() {
                self.turn();
            }
            let y = self.y + style.ascent();
            self.content(|s| s.text_at(x, y, style, text));
            self.skip(style.leading());
        }
    }

    /// A box with a statement that must not be overlooked.
    pub fn warning(&mut self, title: &str, text: &str) {
        let (left, measure) = (MARGIN_SIDE, self.measure());
        let strong = Style::plain(10.5).strong().ink(Ink::Warn);
        let titles = self.broken(title, strong, measure - 24.0);
        let lines = self.broken(text, Style::BODY, measure - 24.0);
        let height = strong.leading() * titles.len() as f32
            + Style::BODY.leading() * lines.len() as f32
            + 15.0;
        let boxed = height <= self.page_room();
        if boxed {
            self.need(height);
            let y = self.y;
            let (ground, bar) = (rect(left, y, measure, height), rect(left, y, 3.0, height));
            self.ornament(|s| {
                s.shape(ground, Some(Ink::WarnTint), None);
                s.shape(bar, Some(Ink::Warn), None);
            });
        }
        self.skip(7.0);
        self.part(TaggedPart::Paragraph, |s| {
            s.set_lines(&titles, left + 14.0, strong);
            s.set_lines(&lines, left + 14.0, Style::BODY);
        });
        self.skip(8.0);
    }
}
