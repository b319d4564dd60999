//! Loose, aboard, adrift, air: the figures that never leave the top of the screen; and a
//! battery that is low.

use std::ops::Range;

use egui::accesskit::Role;
use egui::{Rect, Sense, Ui, Vec2, WidgetInfo, pos2, vec2};

use super::{cached_shapes, flight, paint, tap};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Tint, Type};
use crate::ui::words::Words;

/// Air in one cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct AirView {
    /// The bay, where the figures are those of several.
    pub bay: Option<String>,
    /// Whether it is on in several bays.
    pub is_several: bool,
    /// The cylinder.
    pub cylinder: u8,
    /// Gauge pressure, as it is written, and since how many minutes it has been on, where
    /// that is known; none while two tablets disagree whether it is.
    pub reading: Option<(String, Option<i64>)>,
}

impl AirView {
    /// Where it is on.
    fn place(&self, words: &Words) -> String {
        let cylinder = match self.reading {
            Some(_) => words.air_on_cylinder(self.cylinder),
            None => words.danger_air(self.cylinder),
        };
        match &self.bay {
            Some(bays) if self.is_several => format!("{} · {bays}", words.air),
            Some(bay) => format!("{cylinder} · {bay}"),
            None => cylinder,
        }
    }
}

/// What the counters show.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CountersView {
    /// Parts in the tray.
    pub loose: u32,
    /// Kit in or on the engine.
    pub aboard: u32,
    /// Parts dropped and not found.
    pub adrift: u32,
    /// Air that is on.
    pub air: Option<AirView>,
    /// What a low battery still holds, in percent, and the whole sentence about it.
    pub low_battery: Option<(u32, String)>,
    /// Somebody counts blind: what lies where is not shown.
    pub is_blind: bool,
}

/// Which counter was tapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Counter {
    Loose,
    Aboard,
    Adrift,
    Air,
}

struct Chip {
    /// What a tap on it opens; a battery opens nothing.
    counter: Option<Counter>,
    name: String,
    word: String,
    figure: String,
    tint: Tint,
}

impl Chip {
    fn new(counter: Counter, word: String, figure: String, tint: Tint) -> Self {
        Self {
            counter: Some(counter),
            name: format!("{word}: {figure}"),
            word,
            figure,
            tint,
        }
    }
}

impl CountersView {
    fn chips(&self, ui: &Ui, words: &Words) -> Vec<Chip> {
        let c = Theme::of(ui.ctx()).colours;
        let quiet = |ink| Tint {
            ground: c.paper,
            mark: ink,
        };
        let count = |counter, word: &str, figure: u32, tint: Tint| {
            let tint = if figure == 0 { quiet(c.ink_soft) } else { tint };
            let figure = if self.is_blind && counter != Counter::Adrift {
                "\u{2013}".to_owned()
            } else {
                figure.to_string()
            };
            Chip::new(counter, word.to_owned(), figure, tint)
        };
        let (word, figure, tint) = match &self.air {
            Some(air) => match &air.reading {
                Some((pressure, minutes)) => (
                    air.place(words),
                    words.pressure_for(pressure, *minutes),
                    c.air,
                ),
                None => (air.place(words), words.unknown.to_owned(), c.astray),
            },
            None => (
                words.air.to_owned(),
                words.off.to_owned(),
                quiet(c.ink_soft),
            ),
        };
        let mut chips = vec![
            count(Counter::Loose, words.loose, self.loose, c.open),
            count(Counter::Aboard, words.aboard, self.aboard, quiet(c.ink)),
            count(Counter::Adrift, words.adrift, self.adrift, c.astray),
            Chip::new(Counter::Air, word, figure, tint),
        ];
        if let Some((percent, sentence)) = &self.low_battery {
            chips.push(Chip {
                counter: None,
                name: sentence.clone(),
                word: words.battery_low.to_owned(),
                figure: words.percent(f64::from(*percent)),
                tint: c.open,
            });
        }
        chips
    }

    /// Height that the row takes.
    pub fn height(ui: &Ui) -> f32 {
        let lines = paint::line_height(ui, Type::Small) + paint::line_height(ui, Type::Title);
        (lines + 12.0).max(TARGET)
    }

    /// Draws the row within a width, as wide as its words, spread where room is left.
    /// Where the words do not fit into one row, they stand in several, air and what comes
    /// behind it below.
    pub fn ui(&self, ui: &mut Ui, words: &Words, width: f32) -> Option<Counter> {
        let chips = self.chips(ui, words);
        let want = |chip| want(ui, chip).min(width);
        let wants: Vec<f32> = chips.iter().map(want).collect();
        let height = Self::height(ui);
        let start = ui.available_rect_before_wrap().min;
        let rows = rows(&wants, width);
        let size = vec2(width, rows.len() as f32 * (height + GAP) - GAP);
        ui.allocate_exact_size(size, Sense::hover());
        let mut taken = None;
        for (line, row) in rows.into_iter().enumerate() {
            let free = (width - together(&wants[row.clone()])).max(0.0);
            let each = free / row.len() as f32;
            let mut x = start.x;
            let y = start.y + line as f32 * (height + GAP);
            for index in row.clone() {
                let w = wants[index] + each;
                let rect = Rect::from_min_size(pos2(x, y), vec2(w, height));
                if chips[index].counter == Some(Counter::Loose) {
                    flight::note_loose(ui.ctx(), self.loose, rect.center());
                }
                if chip_ui(ui, rect, &chips[index]) {
                    taken = chips[index].counter;
                }
                x += w + GAP;
            }
        }
        taken
    }
}

/// Width that chips take in one row.
fn together(wants: &[f32]) -> f32 {
    wants.iter().sum::<f32>() + GAP * (wants.len() as f32 - 1.0)
}

/// Which chips stand in which row: all in one; or the three counts, and below them air and
/// the battery, in one row again or each in its own.
fn rows(wants: &[f32], width: f32) -> Vec<Range<usize>> {
    let all = wants.len();
    let ends = if together(wants) <= width {
        vec![all]
    } else if together(&wants[3..]) <= width {
        vec![3, all]
    } else {
        vec![3, 4, all]
    };
    let starts = std::iter::once(0).chain(ends.clone());
    starts.zip(ends).map(|(from, to)| from..to).collect()
}

fn want(ui: &Ui, chip: &Chip) -> f32 {
    let ink = chip.tint.mark;
    let word = paint::text_line(ui, &chip.word, Type::Small, ink, 900.0);
    let figure = paint::text_line(ui, &chip.figure, Type::Title, ink, 900.0);
    (word.size().x.max(figure.size().x) + 28.0).max(TARGET + 24.0)
}

fn chip_ui(ui: &mut Ui, rect: Rect, chip: &Chip) -> bool {
    let c = Theme::of(ui.ctx()).colours;
    let id = ui
        .scope_id()
        .with(("counter", chip.counter.map(|c| c as u8)));
    let tapped = if chip.counter.is_some() {
        Some(tap::area(ui, rect, id, &chip.name, true))
    } else {
        ui.interact(rect, id, Sense::hover())
            .widget_info(|| WidgetInfo::labeled(Role::Label, true, &chip.name));
        None
    };
    let is_pressed = tapped
        .as_ref()
        .is_some_and(|t| paint::is_pressed(&t.response));
    let (ground, ink) = if is_pressed {
        (c.pressed, c.ink)
    } else {
        (chip.tint.ground, chip.tint.mark)
    };
    let key = cached_shapes::key((cached_shapes::bits(rect), ground));
    cached_shapes::cached_shapes(ui, id, key, false, |ui| {
        ui.painter().rect_filled(rect, f32::from(ROUND), ground);
    });
    let room = rect.width() - 20.0;
    let word = paint::text_line(ui, &chip.word, Type::Small, ink, room);
    let figure = paint::text_line(ui, &chip.figure, Type::Title, ink, room);
    let lines = word.size().y + figure.size().y;
    let at = pos2(rect.left() + 14.0, rect.center().y - lines / 2.0);
    let below = at + Vec2::new(0.0, word.size().y);
    ui.painter().galley(at, word, ink);
    ui.painter().galley(below, figure, ink);
    if let Some(tapped) = &tapped {
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
    }
    tapped.is_some_and(|t| t.tapped)
}
