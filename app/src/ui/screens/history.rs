//! The jobs that are over, week by week: pictures first, the same as a table behind them.

use egui::{Ui, vec2};
use jiff::ToSpan;
use jiff::civil::Date;

use super::frame;
use crate::shop::{History, Week, monday_of};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::times;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::phase_bars::{self, PhaseBar};
use crate::ui::widgets::week_bars::{self, WeekBar};
use crate::ui::widgets::{note, paint};
use crate::ui::words::{Words, capital};

/// Weeks shown at a time: a quarter of a year, and fewer where there is no room.
const WEEKS: usize = 13;
const WEEKS_LEAST: usize = 4;
/// A week takes so much of the width at 100 %, in points.
const WEEK_WIDE: f32 = 62.0;
/// From this width on at 100 %, in points, two pictures stand side by side.
const TWO_PICTURES: f32 = 1100.0;
/// A column of the table is so wide at 100 %, in points; where not all fit, each week's
/// figures stand under one another.
const COLUMN: f32 = 112.0;

/// What the screen keeps for itself.
#[derive(Clone, Copy, Debug, Default)]
pub struct HistoryScreen {
    /// The Monday of the last week shown; none for the present week.
    last: Option<Date>,
    is_table: bool,
}

impl HistoryScreen {
    /// Draws it.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, history: &History) {
        let w = v.words;
        let zone = times::zone(v.now_ms, v.offset_min);
        let Some(present) = monday_of(v.now_ms, &zone).filter(|_| !history.weeks.is_empty()) else {
            frame::line(ui, w.no_history, Type::Title, true);
            undated(ui, w, history);
            return;
        };
        let scale = Theme::of(ui.ctx()).scale();
        let is_wide = ui.available_width() >= TWO_PICTURES * scale;
        let sides = if is_wide { 2.0 } else { 1.0 };
        let fit = (ui.available_width() / sides / (WEEK_WIDE * scale)) as usize;
        let count = fit.clamp(WEEKS_LEAST, WEEKS);
        let weeks = history.in_a_row(self.last.unwrap_or(present), count);
        self.turn(ui, w, (history, present), &weeks);
        since(ui, w, history);
        if self.is_table {
            table(ui, w, &weeks);
        } else {
            pictures(ui, w, &weeks, is_wide);
        }
        undated(ui, w, history);
    }

    /// Which weeks are shown, the way to earlier and later ones, and to the table.
    fn turn(
        &mut self,
        ui: &mut Ui,
        w: &Words,
        (history, present): (&History, Date),
        weeks: &[Week],
    ) {
        let (Some(first), Some(last)) = (weeks.first(), weeks.last()) else {
            return;
        };
        let sunday = last.monday.checked_add(6.days()).unwrap_or(last.monday);
        let (from, to) = (first.monday.to_string(), sunday.to_string());
        let from_to = w.weeks_from_to(&from, &to);
        frame::line(ui, &from_to, Type::Title, false);
        let earlier = history
            .weeks
            .iter()
            .rev()
            .find(|week| week.monday < first.monday);
        let later = last.monday.checked_add((weeks.len() as i64).weeks());
        let later = later.ok().filter(|_| last.monday < present);
        let back = Button::new(w.earlier_weeks).wants(w.none_before, earlier.is_none());
        let on = Button::new(w.later_weeks).wants(w.none_after, later.is_none());
        // It keeps its name, for a second tap there may be meant for the first.
        let as_table = Button::new(w.as_table).chosen(self.is_table);
        let width = ui.available_width() / 3.0 - GAP;
        let height = [&back, &on, &as_table]
            .map(|button| button.height(ui, width))
            .into_iter()
            .fold(TARGET, f32::max);
        let places = frame::columns(ui, 3, height);
        let [left, middle, right] = [0, 1, 2].map(|at| places[at]);
        if back.at(ui, left).tapped
            && let Some(week) = earlier
        {
            self.last = Some(week.monday);
        }
        if on.at(ui, middle).tapped
            && let Some(later) = later
        {
            self.last = (later < present).then_some(later);
        }
        if as_table.at(ui, right).tapped {
            self.is_table = !self.is_table;
        }
    }
}

/// What became of the vehicles that were seen again, of all weeks together.
fn since(ui: &mut Ui, w: &Words, history: &History) {
    if history.since.seen() == 0 {
        return;
    }
    frame::group(ui, w.since_then);
    for text in w.since_lines(&history.since) {
        frame::line(ui, &capital(&text), Type::Body, false);
    }
}

/// Jobs that no week has.
fn undated(ui: &mut Ui, w: &Words, history: &History) {
    if history.undated > 0 {
        let told = capital(&w.n_undated(history.undated));
        frame::line(ui, &told, Type::Strong, false);
    }
}

/// What was never found, four pictures of the weeks, then what fell and what time was lost to, in all of them.
fn pictures(ui: &mut Ui, w: &Words, weeks: &[Week], is_wide: bool) {
    let of_week = |value: fn(&Week) -> f64, figure: usize| -> Vec<WeekBar> {
        let bar = |week: &Week| {
            let value = value(week);
            let says = &w.week_figures(week)[figure];
            WeekBar {
                week: week.monday.iso_week_date().week().to_string(),
                value,
                says: if value > 0.0 {
                    says.clone()
                } else {
                    String::new()
                },
            }
        };
        weeks.iter().map(bar).collect()
    };
    let all = [
        (0, of_week(|week| week.closed as f64, 0)),
        (3, of_week(|week| week.valve_min().unwrap_or_default(), 3)),
        (4, of_week(|week| f64::from(week.parts_fallen()), 4)),
        (6, of_week(Week::lost_min, 6)),
    ];
    let mut sum = Week::default();
    for week in weeks {
        sum.join(week);
    }
    let unfound = sum.parts_unfound();
    if unfound > 0 {
        let tint = Theme::of(ui.ctx()).colours.astray;
        let text = format!("{}: {unfound}", capital(w.never_found));
        note::ui(ui, &text, "", tint);
    }
    let heads = w.week_heads();
    let one = |ui: &mut Ui, (head, bars): &(usize, Vec<WeekBar>)| {
        week_bars::ui(ui, &capital(heads[*head]), w.week_word, bars);
    };
    for pair in all.chunks(2) {
        if is_wide {
            ui.columns(2, |sides| {
                for (side, picture) in sides.iter_mut().zip(pair) {
                    one(side, picture);
                }
            });
        } else {
            for picture in pair {
                one(ui, picture);
            }
        }
    }
    sums(ui, w, &sum);
}

/// What fell and where it was found, and what time was lost to, in all the weeks together.
fn sums(ui: &mut Ui, w: &Words, sum: &Week) {
    frame::group(ui, w.where_found);
    let found = w.found_lines(sum);
    if sum.fell.is_empty() {
        frame::line(ui, &capital(w.nothing_fell), Type::Body, true);
    }
    let bar = |(name, parts): (String, u32)| PhaseBar {
        name: capital(&name),
        lasts: parts.to_string(),
        minutes: f64::from(parts),
    };
    let found: Vec<PhaseBar> = found.into_iter().map(bar).collect();
    phase_bars::ui(ui, &found);
    let lost = w.lost_lines(sum);
    if lost.is_empty() {
        return;
    }
    frame::group(ui, w.lost_to_what);
    let bar = |(name, lasts, minutes): (String, String, f64)| PhaseBar {
        name: capital(&name),
        lasts,
        minutes,
    };
    let lost: Vec<PhaseBar> = lost.into_iter().map(bar).collect();
    phase_bars::ui(ui, &lost);
}

/// A row a week; where the columns do not fit, its figures under one another.
fn table(ui: &mut Ui, w: &Words, weeks: &[Week]) {
    let heads = w.week_heads().map(capital);
    let column = COLUMN * Theme::of(ui.ctx()).scale();
    let fits = ui.available_width() >= column * (heads.len() + 1) as f32;
    if fits {
        let head = std::iter::once(capital(w.week_word)).chain(heads.iter().cloned());
        row(ui, &head.collect::<Vec<_>>(), Type::Strong);
    }
    for week in weeks.iter().rev() {
        let figures = w.week_figures(week);
        let name = format!("{} · {}", w.week(week.monday), week.monday);
        if fits {
            let cells = std::iter::once(name).chain(figures);
            row(ui, &cells.collect::<Vec<_>>(), Type::Body);
            continue;
        }
        frame::group(ui, &name);
        for (head, figure) in heads.iter().zip(&figures) {
            frame::line(ui, &format!("{head}: {figure}"), Type::Body, false);
        }
    }
}

/// One row of the table, its cells side by side.
fn row(ui: &mut Ui, cells: &[String], step: Type) {
    let c = Theme::of(ui.ctx()).colours;
    let width = ui.available_width();
    let column = width / cells.len() as f32;
    let texts: Vec<_> = cells
        .iter()
        .map(|cell| paint::text(ui, cell, step, c.ink, column - GAP))
        .collect();
    let height = texts.iter().map(|text| text.size().y).fold(0.0, f32::max);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, cells.join(", ")));
    for (at, text) in texts.into_iter().enumerate() {
        let place = rect.min + vec2(column * at as f32, 0.0);
        ui.painter().galley(place, text, c.ink);
    }
    let line = egui::Stroke::new(1.0, c.line);
    ui.painter()
        .hline(rect.x_range(), rect.bottom() + GAP / 2.0, line);
}
