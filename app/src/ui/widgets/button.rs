//! A plain button: an outline, a word or two, wrapped where they do not fit on one line.

use egui::{Rect, Ui, Vec2, vec2};

use super::paint;
use super::tap::{self, Tapped};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Tint, Type};

/// A button with its words.
pub struct Button<'a> {
    text: &'a str,
    more: &'a str,
    name: Option<&'a str>,
    salt: Option<&'a str>,
    tint: Option<Tint>,
    is_enabled: bool,
    is_chosen: bool,
    inset: f32,
    /// So many lines for the second text, however long it is; as it comes where none.
    more_lines: Option<usize>,
    /// What the second text may come to be, for which room is kept.
    room_for: &'a str,
}

impl<'a> Button<'a> {
    /// Width that is none of its text's.
    pub const SIDES: f32 = 24.0;

    /// A button of these words.
    pub fn new(text: &'a str) -> Self {
        Self {
            text,
            more: "",
            name: None,
            salt: None,
            tint: None,
            is_enabled: true,
            is_chosen: false,
            inset: 0.0,
            more_lines: None,
            room_for: "",
        }
    }

    /// The second line has always room for so many lines, and no more.
    #[must_use]
    pub fn more_lines(mut self, lines: usize) -> Self {
        self.more_lines = Some(lines);
        self
    }

    /// It takes no tap while this is missing, and says so. The room for it stays, so that
    /// nothing moves once it is there.
    #[must_use]
    pub fn wants(mut self, what: &'a str, is_missing: bool) -> Self {
        self.is_enabled = !is_missing;
        self.room_for = what;
        if is_missing {
            self.more = what;
        }
        self
    }

    /// A second, quieter line.
    #[must_use]
    pub fn more(mut self, more: &'a str) -> Self {
        self.more = more;
        self
    }

    /// Another name for a screen reader.
    #[must_use]
    pub fn named(mut self, name: &'a str) -> Self {
        self.name = Some(name);
        self
    }

    /// Another identity than its words give, for words that change under the finger;
    /// unique within its area.
    #[must_use]
    pub fn steady(mut self, salt: &'a str) -> Self {
        self.salt = Some(salt);
        self
    }

    /// A ground that means something.
    #[must_use]
    pub fn tint(mut self, tint: Tint) -> Self {
        self.tint = Some(tint);
        self
    }

    /// Leaves so many points at its left for a picture.
    #[must_use]
    pub fn inset(mut self, inset: f32) -> Self {
        self.inset = inset;
        self
    }

    /// Whether it takes a tap.
    #[must_use]
    pub fn enabled(mut self, is_enabled: bool) -> Self {
        self.is_enabled = is_enabled;
        self
    }

    /// Whether it is the one that is chosen.
    #[must_use]
    pub fn chosen(mut self, is_chosen: bool) -> Self {
        self.is_chosen = is_chosen;
        self
    }

    /// Height that it wants at a width.
    pub fn height(&self, ui: &Ui, width: f32) -> f32 {
        let ink = Theme::of(ui.ctx()).colours.ink;
        let room = (width - self.inset - Self::SIDES).max(1.0);
        let text = paint::text(ui, self.text, Type::Strong, ink, room).size().y;
        let more = [self.more, self.room_for].map(|more| match (more, self.more_lines) {
            (_, Some(lines)) => lines as f32 * paint::line_height(ui, Type::Small),
            ("", None) => 0.0,
            (more, None) => paint::text(ui, more, Type::Small, ink, room).size().y,
        });
        let more = more[0].max(more[1]);
        // Lines that always have their room stand closer, so that one is no higher than none.
        let around = if self.more_lines.is_some() { 1.0 } else { 2.0 };
        (text + more + around * GAP).max(TARGET)
    }

    /// Draws it over the width that is there.
    pub fn ui(&self, ui: &mut Ui) -> Tapped {
        let width = ui.available_width();
        let height = self.height(ui, width);
        let (rect, _) = ui.allocate_exact_size(vec2(width, height), egui::Sense::hover());
        self.at(ui, rect)
    }

    /// Draws it in a rectangle.
    pub fn at(&self, ui: &mut Ui, rect: Rect) -> Tapped {
        let colours = Theme::of(ui.ctx()).colours;
        let id = ui
            .scope_id()
            .with(("button", self.salt.or(self.name).unwrap_or(self.text)));
        let spoken = match (self.name, self.more.is_empty()) {
            (Some(name), _) if self.is_enabled || self.room_for.is_empty() => name.to_owned(),
            (Some(name), _) => format!("{name}, {}", self.more),
            (None, true) => self.text.to_owned(),
            (None, false) => format!("{}, {}", self.text, self.more),
        };
        let tapped = tap::area(ui, rect, id, &spoken, self.is_enabled);
        if self.is_chosen {
            tapped.response.widget_info(|| {
                egui::WidgetInfo::selected(egui::accesskit::Role::Button, true, true, &spoken)
            });
        }
        let pressed = paint::is_pressed(&tapped.response);
        let settled = self.is_chosen && !self.is_enabled;
        let (ground, ink) = match (pressed, self.is_chosen, self.tint) {
            (true, _, _) => (colours.pressed, colours.ink),
            _ if settled => (colours.done.ground, colours.done.mark),
            (_, true, _) => (colours.now.ground, colours.now.mark),
            (_, _, Some(tint)) => (tint.ground, tint.mark),
            _ => (colours.card, colours.ink),
        };
        let (edge, ink) = if self.is_enabled {
            (colours.edge, ink)
        } else if settled {
            (colours.line, ink)
        } else {
            (colours.line, colours.ink_soft)
        };
        paint::plate(ui, &tapped.response, ground, edge);
        self.paint_text(ui, rect, ink);
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
        tapped
    }

    fn paint_text(&self, ui: &Ui, rect: Rect, ink: egui::Color32) {
        let rect = rect.with_min_x(rect.left() + self.inset);
        let room = (rect.width() - Self::SIDES).max(1.0);
        let text = paint::text_centred(ui, self.text, Type::Strong, ink, room);
        let shown = match self.more_lines {
            Some(lines) => paint::whole_part(ui, self.more, Type::Small, room, lines),
            None => self.more,
        };
        let more =
            (!shown.is_empty()).then(|| paint::text_centred(ui, shown, Type::Small, ink, room));
        let height = text.size().y + more.as_ref().map_or(0.0, |m| m.size().y);
        let mut top = rect.center().y - height / 2.0;
        for galley in [Some(text), more].into_iter().flatten() {
            let next = top + galley.size().y;
            let at = egui::pos2(rect.center().x, top);
            ui.painter().galley(at, galley, ink);
            top = next;
        }
    }
}

/// Width of the longest word: below it a button would break a word in two.
fn least(ui: &Ui, text: &str) -> f32 {
    text.split_whitespace()
        .map(|word| {
            let ink = egui::Color32::PLACEHOLDER;
            paint::text_line(ui, word, Type::Strong, ink, 2000.0)
                .size()
                .x
                + 24.0
        })
        .fold(TARGET, f32::max)
}

/// Plain buttons of equal width over the width that is there, in as many rows as their
/// words need. Gives the index of the one tapped.
pub fn button_row(ui: &mut Ui, texts: &[&str]) -> Option<usize> {
    let places = grid(ui, texts, 0.0);
    let mut taken = None;
    for (index, (text, rect)) in texts.iter().zip(places).enumerate() {
        if Button::new(text).at(ui, rect).tapped {
            taken = Some(index);
        }
    }
    taken
}

/// How some texts are laid out in columns of equal width.
struct Grid {
    columns: usize,
    cell: Vec2,
    size: Vec2,
}

fn grid_of(ui: &Ui, texts: &[&str], extra: f32) -> Grid {
    let width = ui.available_width();
    let widest = texts
        .iter()
        .map(|t| least(ui, t) + extra)
        .fold(TARGET, f32::max);
    let fit = ((width + GAP) / (widest + GAP)).floor().max(1.0) as usize;
    let rows = texts.len().div_ceil(fit).max(1);
    let columns = texts.len().div_ceil(rows).max(1);
    let cell = (width - GAP * (columns as f32 - 1.0)) / columns as f32;
    let tall = texts
        .iter()
        .map(|t| Button::new(t).height(ui, cell - extra))
        .fold(TARGET, f32::max);
    Grid {
        columns,
        cell: vec2(cell, tall),
        size: vec2(width, rows as f32 * (tall + GAP) - GAP),
    }
}

/// Height of places for some texts over the width that is there.
pub(super) fn grid_height(ui: &Ui, texts: &[&str], extra: f32) -> f32 {
    grid_of(ui, texts, extra).size.y
}

/// Places of equal width for some texts, over the width that is there; `extra` points
/// of each are left for a sign.
pub(super) fn grid(ui: &mut Ui, texts: &[&str], extra: f32) -> Vec<Rect> {
    let Grid {
        columns,
        cell,
        size,
    } = grid_of(ui, texts, extra);
    let (rect, _) = ui.allocate_exact_size(size, egui::Sense::hover());
    let place = |i: usize| {
        let (row, column) = ((i / columns) as f32, (i % columns) as f32);
        let apart = cell + vec2(GAP, GAP);
        Rect::from_min_size(rect.min + vec2(column, row) * apart, cell)
    };
    (0..texts.len()).map(place).collect()
}
