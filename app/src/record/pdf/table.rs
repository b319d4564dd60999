//! Tables whose head comes again on every page, and whose rows part over pages where
//! they must.

use super::ink::Ink;
use super::sheet::{MARGIN_SIDE, Sheet, Style};
use super::tags::Part;

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
pub struct Cell {
    text: String,
    style: Style,
}

impl Cell {
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

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self {
            text: text.into(),
            style: Style::CELL,
        }
    }
}

/// A table. Each row has a cell for every column; the first cell heads its row.
#[derive(Clone, Debug)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Vec<Cell>>,
}

const GAP: f32 = 7.0;
const PAD: f32 = 2.4;
/// Up to this height a table is kept with its heading on one page.
const SHORT: f32 = 190.0;
const HEAD: Style = Style {
    ink: Ink::Soft,
    ..Style::plain(7.0)
};

/// A cell's lines and where they go.
struct Placed {
    lines: Vec<String>,
    style: Style,
    x: f32,
    width: f32,
    align: Align,
}

impl Table {
    /// A table without rows.
    pub fn new(columns: Vec<Column>) -> Self {
        Self {
            columns,
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The height that a heading above it should be kept with: all of a short table, the
    /// first rows of a long one.
    pub fn keep(&self, sheet: &Sheet) -> f32 {
        let rows = self
            .rows
            .iter()
            .map(|r| height_of(&self.place(sheet, r), 0));
        let head = height_of(&self.place(sheet, &self.heads()), 0);
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

    fn heads(&self) -> Vec<Cell> {
        let heads = self.columns.iter().map(|c| Cell {
            text: c.head.clone(),
            style: HEAD,
        });
        heads.collect()
    }

    /// Draws it from the cursor on.
    pub fn draw(&self, sheet: &mut Sheet) {
        if self.is_empty() {
            return;
        }
        let head = self.place(sheet, &self.heads());
        sheet.need(self.keep(sheet));
        sheet.part(Part::Table, |s| {
            s.part(Part::TableHead, |s| {
                draw_lines(s, &head, 0, usize::MAX, Some(&Part::ColumnHead));
            });
            draw_head_rule(s);
            s.part(Part::TableBody, |s| {
                for cells in &self.rows {
                    self.draw_row(s, cells, &head);
                }
            });
        });
        sheet.skip(4.0);
    }

    fn place(&self, sheet: &Sheet, cells: &[Cell]) -> Vec<Placed> {
        let shares: f32 = self.columns.iter().map(|c| c.share).sum();
        let room = sheet.measure() - GAP * (self.columns.len() - 1) as f32;
        let mut x = MARGIN_SIDE;
        let placed = self.columns.iter().zip(cells).map(|(column, cell)| {
            let width = room * column.share / shares;
            let placed = Placed {
                lines: sheet.broken(&cell.text, cell.style, width),
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
    fn draw_row(&self, sheet: &mut Sheet, cells: &[Cell], head: &[Placed]) {
        let placed = self.place(sheet, cells);
        let lines = placed.iter().map(|p| p.lines.len()).max().unwrap_or(0);
        let leading = placed.first().map_or(10.0, |p| p.style.leading());
        let mut from = 0;
        sheet.structure.open(Part::Row);
        while from < lines {
            let height = height_of(&placed, from);
            if height > sheet.room() {
                let fits_on_a_page = height + 30.0 <= sheet.page_room();
                if fits_on_a_page || sheet.room() < 6.0 * leading {
                    sheet.turn();
                    Self::repeat_head(sheet, head);
                }
            }
            let most = ((sheet.room() - 2.0 * PAD) / leading).floor().max(1.0) as usize;
            let to = lines.min(from.saturating_add(most));
            draw_lines(sheet, &placed, from, to, None);
            from = to;
        }
        sheet.structure.close();
        let y = sheet.y();
        sheet.rule_at(y, Ink::Hair, 0.4);
    }

    /// The head on a further page is for the eye; the structure has it once.
    fn repeat_head(sheet: &mut Sheet, head: &[Placed]) {
        let y = sheet.y() + PAD;
        sheet.ornament(|s| {
            for cell in head {
                for (i, text) in cell.lines.iter().enumerate() {
                    put(s, cell, y, i, text);
                }
            }
        });
        sheet.skip(height_of(head, 0));
        draw_head_rule(sheet);
    }
}

fn draw_head_rule(sheet: &mut Sheet) {
    let y = sheet.y();
    sheet.rule_at(y, Ink::Rule, 0.7);
}

fn height_of(placed: &[Placed], from: usize) -> f32 {
    let heights = placed
        .iter()
        .map(|p| p.lines.len().saturating_sub(from) as f32 * p.style.leading());
    heights.fold(0.0, f32::max) + 2.0 * PAD
}

/// Draws the lines `from..to` of every cell of a row and moves on below them. The first
/// cell heads the row, unless all cells are the same `part`.
fn draw_lines(sheet: &mut Sheet, placed: &[Placed], from: usize, to: usize, part: Option<&Part>) {
    let y = sheet.y() + PAD;
    let whole_row = part.is_some();
    if whole_row {
        sheet.structure.open(Part::Row);
    }
    let mut height = 0.0_f32;
    for (index, cell) in placed.iter().enumerate() {
        let shown = &cell.lines[from.min(cell.lines.len())..to.min(cell.lines.len())];
        let kind = match (part, index) {
            (Some(part), _) => part.clone(),
            (None, 0) => Part::RowHead,
            (None, _) => Part::Cell,
        };
        if from > 0 && shown.is_empty() {
            continue;
        }
        sheet.part(kind, |s| {
            s.content(|s| {
                for (i, text) in shown.iter().enumerate() {
                    put(s, cell, y, i, text);
                }
            });
        });
        height = height.max(shown.len() as f32 * cell.style.leading());
    }
    if whole_row {
        sheet.structure.close();
    }
    sheet.skip(height + 2.0 * PAD);
}

fn put(sheet: &mut Sheet, cell: &Placed, top: f32, line: usize, text: &str) {
    let y = top + cell.style.ascent() + line as f32 * cell.style.leading();
    match cell.align {
        Align::Left => sheet.text_at(cell.x, y, cell.style, text),
        Align::Right => sheet.text_ending_at(cell.x + cell.width, y, cell.style, text),
    }
}
