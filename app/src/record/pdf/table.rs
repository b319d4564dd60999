//! Tables whose head comes again on every page, and whose rows part over pages where
//! they must.

use super::ink::{Ink, rect};
use super::pages::{MARGIN_SIDE, Pages, Style};
use super::tags::TaggedPart;

/// Which side a column's text keeps to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// One column.
#[derive(Clone, Debug)]
pub struct Column {
    head: String,
    share: f32,
    align: Align,
}

impl Column {
    /// A column of words with its share of the width.
    pub fn words(head: &str, share: f32) -> Self {
        Self::new(head, share, Align::Left)
    }

    /// A column of figures with its share of the width.
    pub fn figures(head: &str, share: f32) -> Self {
        Self::new(head, share, Align::Right)
    }

    fn new(head: &str, share: f32, align: Align) -> Self {
        Self {
            head: head.to_owned(),
            share,
            align,
        }
    }
}

/// One cell: its text and how it is set.
#[derive(Clone, Debug)]
pub struct TableCell {
    text: String,
    style: Style,
    /// A box to tick by pen stands in it.
    is_box: bool,
}

impl TableCell {
    /// Text in a style.
    pub fn styled(text: impl Into<String>, style: Style) -> Self {
        let text = text.into();
        Self {
            text,
            style,
            is_box: false,
        }
    }

    /// A box to tick by pen.
    pub fn to_tick() -> Self {
        Self {
            is_box: true,
            ..Self::styled("\u{a0}", Style::plain(BOX))
        }
    }

    /// The same in the strong weight.
    pub fn strong(self) -> Self {
        Self {
            style: self.style.strong(),
            ..self
        }
    }

    /// The same in another ink.
    pub fn ink(self, ink: Ink) -> Self {
        Self {
            style: self.style.ink(ink),
            ..self
        }
    }
}

impl<T: Into<String>> From<T> for TableCell {
    fn from(text: T) -> Self {
        Self::styled(text, Style::CELL)
    }
}

/// A table. Each row has a cell for every column; the first cell heads its row.
#[derive(Clone, Debug)]
pub struct PdfTable {
    columns: Vec<Column>,
    rows: Vec<Vec<TableCell>>,
}

const GAP: f32 = 7.0;
const PAD: f32 = 2.4;
/// Up to this height a table is kept with its heading on one page.
const SHORT: f32 = 190.0;
const HEAD: Style = Style {
    ink: Ink::Soft,
    ..Style::plain(7.0)
};

/// The side of a box to tick, points.
const BOX: f32 = 11.0;

/// A cell's lines and where they go.
struct PlacedCell {
    lines: Vec<String>,
    is_box: bool,
    style: Style,
    x: f32,
    width: f32,
    align: Align,
}

impl PdfTable {
    /// A table without rows.
    pub fn new(columns: Vec<Column>) -> Self {
        Self {
            columns,
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<TableCell>) {
        self.rows.push(cells);
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The height that a heading above it should be kept with: all of a short table, the
    /// first rows of a long one.
    pub fn keep(&self, pages: &Pages) -> f32 {
        let rows = self
            .rows
            .iter()
            .map(|r| height_of(&self.place(pages, r), 0));
        let head = height_of(&self.place(pages, &self.heads()), 0);
        let mut kept = head;
        for (index, height) in rows.enumerate() {
            if kept + height > SHORT {
                return if index < 4 {
                    kept + height
                } else {
                    head + 60.0
                };
            }
            kept += height;
        }
        kept
    }

    fn heads(&self) -> Vec<TableCell> {
        let heads = self.columns.iter();
        heads
            .map(|column| TableCell::styled(column.head.clone(), HEAD))
            .collect()
    }

    /// Draws it from the cursor on.
    pub fn draw(&self, pages: &mut Pages) {
        if self.is_empty() {
            return;
        }
        let head = self.place(pages, &self.heads());
        pages.need(self.keep(pages));
        pages.part(TaggedPart::Table, |s| {
            s.part(TaggedPart::TableHead, |s| {
                draw_lines(s, &head, 0, usize::MAX, Some(&TaggedPart::ColumnHead));
            });
            draw_head_rule(s);
            s.part(TaggedPart::TableBody, |s| {
                for cells in &self.rows {
                    self.draw_row(s, cells, &head);
                }
            });
        });
        pages.skip(4.0);
    }

    fn place(&self, pages: &Pages, cells: &[TableCell]) -> Vec<PlacedCell> {
        let shares: f32 = self.columns.iter().map(|c| c.share).sum();
        let room = pages.measure() - GAP * (self.columns.len() - 1) as f32;
        let mut x = MARGIN_SIDE;
        let placed = self.columns.iter().zip(cells).map(|(column, cell)| {
            let width = room * column.share / shares;
            let placed = PlacedCell {
                lines: pages.broken(&cell.text, cell.style, width),
                is_box: cell.is_box,
                style: cell.style,
                x,
                width,
                align: column.align,
            };
            x += width + GAP;
            placed
        });
        placed.collect()
    }

    /// Draws a row: whole where it fits on a page, in pieces where it is taller than one.
    fn draw_row(&self, pages: &mut Pages, cells: &[TableCell], head: &[PlacedCell]) {
        let placed = self.place(pages, cells);
        let lines = placed.iter().map(|p| p.lines.len()).max().unwrap_or(0);
        let leading = placed.first().map_or(10.0, |p| p.style.leading());
        let mut from = 0;
        pages.structure.open(TaggedPart::Row);
        while from < lines {
            let height = height_of(&placed, from);
            if height > pages.room() {
                let fits_on_a_page = height + 30.0 <= pages.page_room();
                if fits_on_a_page || pages.room() < 6.0 * leading {
                    pages.turn();
                    Self::repeat_head(pages, head);
                }
            }
            let most = ((pages.room() - 2.0 * PAD) / leading).floor().max(1.0) as usize;
            let to = lines.min(from.saturating_add(most));
            draw_lines(pages, &placed, from, to, None);
            from = to;
        }
        pages.structure.close();
        let y = pages.y();
        pages.rule_at(y, Ink::Hair, 0.4);
    }

    /// The head on a further page is for the eye; the structure has it once.
    fn repeat_head(pages: &mut Pages, head: &[PlacedCell]) {
        let y = pages.y() + PAD;
        pages.ornament(|s| {
            for cell in head {
                for (i, text) in cell.lines.iter().enumerate() {
                    put(s, cell, y, i, text);
                }
            }
        });
        pages.skip(height_of(head, 0));
        draw_head_rule(pages);
    }
}

fn draw_head_rule(pages: &mut Pages) {
    let y = pages.y();
    pages.rule_at(y, Ink::Rule, 0.7);
}

fn height_of(placed: &[PlacedCell], from: usize) -> f32 {
    let heights = placed
        .iter()
        .map(|p| p.lines.len().saturating_sub(from) as f32 * p.style.leading());
    heights.fold(0.0, f32::max) + 2.0 * PAD
}

/// Draws the lines `from..to` of every cell of a row and moves on below them. The first
/// cell heads the row, unless all cells are the same `part`.
fn draw_lines(
    pages: &mut Pages,
    placed: &[PlacedCell],
    from: usize,
    to: usize,
    part: Option<&TaggedPart>,
) {
    let y = pages.y() + PAD;
    let whole_row = part.is_some();
    if whole_row {
        pages.structure.open(TaggedPart::Row);
    }
    let mut height = 0.0_f32;
    for (index, cell) in placed.iter().enumerate() {
        let shown = &cell.lines[from.min(cell.lines.len())..to.min(cell.lines.len())];
        let kind = match (part, index) {
            (Some(part), _) => part.clone(),
            (None, 0) => TaggedPart::RowHead,
            (None, _) => TaggedPart::Cell,
        };
        if from > 0 && shown.is_empty() {
            continue;
        }
        pages.part(kind, |s| {
            s.content(|s| {
                for (i, text) in shown.iter().enumerate() {
                    put(s, cell, y, i, text);
                }
            });
        });
        height = height.max(shown.len() as f32 * cell.style.leading());
    }
    if whole_row {
        pages.structure.close();
    }
    pages.skip(height + 2.0 * PAD);
}

fn put(pages: &mut Pages, cell: &PlacedCell, top: f32, line: usize, text: &str) {
    if cell.is_box {
        let path = rect(cell.x, top + 2.0, BOX, BOX);
        return pages.shape(path, None, Some((Ink::Soft, 0.8)));
    }
    let y = top + cell.style.ascent() + line as f32 * cell.style.leading();
    match cell.align {
        Align::Left => pages.text_at(cell.x, y, cell.style, text),
        Align::Right => pages.text_ending_at(cell.x + cell.width, y, cell.style, text),
    }
}
