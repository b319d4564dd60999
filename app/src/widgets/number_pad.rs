//! Big keys for a count, a pressure or a code.

use egui::accesskit::Role;
use egui::{Event, Key, Rect, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::button::Button;
use super::paint;
use crate::theme::{GAP, TARGET, Theme, Type};
use crate::words::Words;

/// A pad: what is asked for and how it is written.
#[derive(Clone, Copy, Debug)]
pub struct NumberPad<'a> {
    /// What is asked for.
    pub title: &'a str,
    /// The unit behind the figure; may be empty.
    pub unit: &'a str,
    /// Whether a part of one may be entered.
    pub has_decimals: bool,
    /// Whether the digits are hidden, as of a code.
    pub is_secret: bool,
    /// Most digits.
    pub most_digits: usize,
    /// The word on the key that enters.
    pub enter: &'a str,
}

/// What happened on the pad.
#[derive(Clone, Debug, PartialEq)]
pub enum PadTap {
    /// A key that changed the figure.
    Changed,
    /// The figure was entered; never empty.
    Entered(String),
}

impl NumberPad<'_> {
    /// The figure as a number: the decimal sign may be a point or a comma.
    pub fn number(entry: &str) -> Option<f64> {
        let value: f64 = entry.replace(',', ".").parse().ok()?;
        value.is_finite().then_some(value)
    }

    /// Draws it over the width that is there (best up to 420) and works on `entry`.
    /// Digits on a keyboard serve too, unless a text field has the focus.
    pub fn ui(&self, ui: &mut Ui, words: &Words, entry: &mut String) -> Option<PadTap> {
        let mut taken = None;
        self.display(ui, words, entry);
        let height = (paint::line_height(ui, Type::Heading) + 2.0 * GAP).max(TARGET + GAP);
        let width = (ui.available_width() - 2.0 * GAP) / 3.0;
        let point = if self.has_decimals {
            words.decimal_point
        } else {
            ""
        };
        let keys = [
            ["7", "8", "9"],
            ["4", "5", "6"],
            ["1", "2", "3"],
            [point, "0", "<"],
        ];
        let size = vec2(ui.available_width(), 4.0 * (height + GAP) - GAP);
        let (area, _) = ui.allocate_exact_size(size, Sense::hover());
        for (row, line) in keys.iter().enumerate() {
            for (column, key) in line.iter().enumerate() {
                let min =
                    area.min + vec2(column as f32 * (width + GAP), row as f32 * (height + GAP));
                let rect = Rect::from_min_size(min, vec2(width, height));
                if !key.is_empty() && self.key(ui, words, rect, key) && self.press(entry, key) {
                    taken = Some(PadTap::Changed);
                }
            }
        }
        for key in typed(ui) {
            if key == "enter" {
                if !entry.is_empty() {
                    taken = Some(PadTap::Entered(entry.clone()));
                }
            } else if self.press(entry, &key) {
                taken = Some(PadTap::Changed);
            }
        }
        let now = Theme::of(ui.ctx()).colours.now;
        let enter = Button::new(self.enter).enabled(!entry.is_empty());
        let enter = if entry.is_empty() {
            enter
        } else {
            enter.tint(now)
        };
        if enter.ui(ui).tapped {
            taken = Some(PadTap::Entered(entry.clone()));
        }
        taken
    }

    fn display(&self, ui: &mut Ui, words: &Words, entry: &str) {
        let c = Theme::of(ui.ctx()).colours;
        let width = ui.available_width();
        let title = paint::text(ui, self.title, Type::Body, c.ink_soft, width);
        let shown = if self.is_secret {
            "•".repeat(entry.chars().count())
        } else {
            entry.replace('.', words.decimal_point)
        };
        let figure = paint::text_line(ui, &shown, Type::Figure, c.ink, width * 0.75);
        let unit = paint::text_line(ui, self.unit, Type::Title, c.ink_soft, width * 0.4);
        let line = paint::line_height(ui, Type::Figure);
        let size = vec2(width, title.size().y + line + GAP);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let value = if self.is_secret { String::new() } else { shown };
        let name = format!("{}: {value} {}", self.title, self.unit);
        response.widget_info(|| WidgetInfo::labeled(Role::Status, true, name.trim()));
        let below = rect.top() + title.size().y;
        ui.painter().galley(rect.min, title, c.ink_soft);
        let unit_w = unit.size().x;
        let base = below + line - unit.size().y - line * 0.08;
        ui.painter()
            .galley(pos2(rect.right() - unit_w, base), unit, c.ink_soft);
        let gap = if unit_w > 0.0 { unit_w + GAP } else { 0.0 };
        let at = pos2(rect.right() - gap - figure.size().x, below);
        ui.painter().galley(at, figure, c.ink);
        let y = rect.bottom() - 2.0;
        ui.painter()
            .hline(rect.x_range(), y, Stroke::new(3.0, c.now_mark));
    }

    fn key(&self, ui: &mut Ui, words: &Words, rect: Rect, key: &str) -> bool {
        let name = match key {
            "<" => words.delete,
            other => other,
        };
        let id = ui.scope_id().with(("pad", self.title, key));
        // Digits may repeat as fast as the finger: a pad is deaf to no tap.
        let response = ui.interact(rect, id, Sense::click());
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
        paint::control(ui, &response);
        let c = Theme::of(ui.ctx()).colours;
        if key == "<" {
            erase_sign(ui, rect);
        } else {
            let galley = paint::text_line(ui, key, Type::Heading, c.ink, rect.width());
            let min = rect.center() - galley.size() / 2.0;
            ui.painter().galley(min, galley, c.ink);
        }
        response.clicked()
    }

    /// Works one key into the entry; gives whether it changed.
    fn press(&self, entry: &mut String, key: &str) -> bool {
        let digits = entry.chars().filter(char::is_ascii_digit).count();
        match key {
            "<" => entry.pop().is_some(),
            "." | "," => {
                let fits = self.has_decimals && !entry.contains('.') && digits < self.most_digits;
                if fits {
                    entry.push_str(if entry.is_empty() { "0." } else { "." });
                }
                fits
            }
            digit if digits < self.most_digits => {
                if entry == "0" && !self.is_secret {
                    entry.clear();
                }
                entry.push_str(digit);
                true
            }
            _ => false,
        }
    }
}

fn typed(ui: &Ui) -> Vec<String> {
    if ui.ctx().text_edit_focused() {
        return Vec::new();
    }
    let is_free = ui.memory(|m| m.focused().is_none());
    ui.input(|i| {
        i.events
            .iter()
            .filter_map(|event| match event {
                Event::Text(text) if is_key(text) => Some(text.clone()),
                Event::Key {
                    key: Key::Backspace,
                    pressed: true,
                    ..
                } => Some("<".to_owned()),
                Event::Key {
                    key: Key::Enter,
                    pressed: true,
                    ..
                } if is_free => Some("enter".to_owned()),
                _ => None,
            })
            .collect()
    })
}

fn is_key(text: &str) -> bool {
    let mut chars = text.chars();
    match (chars.next(), chars.next()) {
        (Some(c), None) => c.is_ascii_digit() || c == '.' || c == ',',
        _ => false,
    }
}

fn erase_sign(ui: &Ui, rect: Rect) {
    let c = Theme::of(ui.ctx()).colours;
    let m = rect.center();
    let at = |x: f32, y: f32| pos2(m.x + x, m.y + y);
    let outline = vec![
        at(-18.0, 0.0),
        at(-8.0, -12.0),
        at(18.0, -12.0),
        at(18.0, 12.0),
        at(-8.0, 12.0),
        at(-18.0, 0.0),
    ];
    paint::round_line(ui.painter(), outline, 3.0, c.ink);
    for y in [-1.0, 1.0] {
        let line = vec![at(-1.0, -5.0 * y), at(9.0, 5.0 * y)];
        paint::round_line(ui.painter(), line, 3.0, c.ink);
    }
}
