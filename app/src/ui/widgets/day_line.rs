//! The day of all bays on one clock: now, the hours of the shop, each bay's likely end with
//! its spread, and its counts at the gate.

use egui::{Align2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, pos2, vec2};
use uuid::Uuid;

use super::{paint, tap};
use crate::ui::theme::{GAP, LINE, TARGET, Theme, Type};
use crate::ui::words::{DayFace, DayLine, Words};

/// Height of the bar of one bay at 100 %, in points.
const BAR: f32 = 18.0;

/// From this width on at 100 %, in points, all of a bay stands on one line.
const BESIDE: f32 = 760.0;
/// Room for an end with its range beside a bar, at 100 %, in points.
const ENDS: f32 = 290.0;

/// Draws it over the width that is there; gives the job whose line was tapped.
pub fn ui(ui: &mut Ui, w: &Words, day: &DayFace, takes_taps: bool) -> Option<Uuid> {
    let c = Theme::of(ui.ctx()).colours;
    for note in &day.notes {
        paint::say(ui, note, Type::Strong, c.now_mark);
    }
    paint::say(ui, w.day_legend, Type::Small, c.ink_soft);
    let name = |line: &DayLine| {
        let room = ui.available_width() * 0.25;
        paint::text(ui, &line.bay, Type::Strong, c.ink, room)
            .size()
            .x
    };
    let names = day.lines.iter().map(name).fold(0.0, f32::max);
    clock(ui, w, day, names);
    let mut taken = None;
    for line in &day.lines {
        if one(ui, (day, names), line, takes_taps) {
            taken = Some(line.job);
        }
    }
    taken
}

/// Where a moment stands on the clock.
fn x_of(day: &DayFace, rect: Rect, ms: i64) -> f32 {
    let share = (ms - day.from_ms) as f32 / (day.to_ms - day.from_ms).max(1) as f32;
    rect.left() + rect.width() * share.clamp(0.0, 1.0)
}

/// The hours along the top, as many as fit, and where now is.
fn clock(ui: &mut Ui, w: &Words, day: &DayFace, names: f32) {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let line = paint::line_height(ui, Type::Small);
    let strong = paint::line_height(ui, Type::Strong);
    let width = ui.available_width();
    let size = vec2(width, line + strong + 10.0);
    let (whole, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, w.the_day));
    let mut rect = whole.shrink2(vec2(2.0 * GAP, 0.0));
    if width >= BESIDE * theme.scale() {
        rect.min.x += names + 2.0 * GAP;
        rect.max.x -= ENDS * theme.scale() + 2.0 * GAP;
    }
    let widest = paint::text_line(ui, "00:00", Type::Small, c.ink, 200.0)
        .size()
        .x;
    let every = (day.hours.len() as f32 * (widest + 14.0) / rect.width())
        .ceil()
        .max(1.0);
    for (ms, name) in day.hours.iter().step_by(every as usize) {
        let x = x_of(day, rect, *ms);
        if x + widest / 2.0 > whole.right() || x - widest / 2.0 < whole.left() {
            continue;
        }
        let at = pos2(x, whole.top() + strong + 2.0);
        paint::label(ui, at, Align2::CENTER_TOP, name, Type::Small, c.ink_soft);
        let tick = whole.bottom() - 6.0..=whole.bottom();
        ui.painter().vline(x, tick, Stroke::new(LINE, c.edge));
    }
    let half = paint::text_line(ui, w.now_word, Type::Strong, c.now_mark, 200.0)
        .size()
        .x
        / 2.0;
    let x = x_of(day, rect, day.now_ms).clamp(whole.left() + half, whole.right() - half);
    let at = pos2(x, whole.top());
    paint::label(
        ui,
        at,
        Align2::CENTER_TOP,
        w.now_word,
        Type::Strong,
        c.now_mark,
    );
}

/// One bay: its name, its bar, its end; where they do not fit beside one another the bar
/// stands below.
fn one(ui: &mut Ui, (day, names): (&DayFace, f32), line: &DayLine, takes_taps: bool) -> bool {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let width = ui.available_width();
    let room = width - 4.0 * GAP;
    let is_beside = width >= BESIDE * theme.scale();
    let bar_high = BAR * theme.scale();
    let name_room = if is_beside { names } else { room };
    let name = paint::text(ui, &line.bay, Type::Strong, c.ink, name_room);
    let end = paint::text(ui, &line.end, Type::Body, c.ink, room * 0.6);
    let text_high = name.size().y.max(end.size().y);
    let inner = if is_beside {
        text_high.max(bar_high)
    } else {
        text_high + bar_high + GAP
    };
    let least = if takes_taps { TARGET } else { 0.0 };
    let size = vec2(width, (inner + GAP).max(least));
    let (rect, place) = ui.allocate_exact_size(size, Sense::hover());
    let parts = [&*line.bay, &*line.end, line.leaves];
    let parts: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    let id = place.id.with("day line");
    let tapped = tap::area(ui, rect, id, &parts.join(", "), takes_taps);
    if takes_taps {
        paint::control(ui, &tapped.response);
    }
    let left = rect.left() + 2.0 * GAP;
    let right = rect.right() - 2.0 * GAP;
    let top = rect.center().y - inner / 2.0;
    let middle = top + text_high / 2.0;
    let end_left = right - end.size().x;
    let bar = if is_beside {
        let across = left + names + 2.0 * GAP..=right - ENDS * theme.scale() - 2.0 * GAP;
        Rect::from_x_y_ranges(across, middle - bar_high / 2.0..=middle + bar_high / 2.0)
    } else {
        Rect::from_min_size(pos2(left, top + text_high + GAP), vec2(room, bar_high))
    };
    spread(ui, day, line, bar);
    let down = |galley: &egui::Galley| middle - galley.size().y / 2.0;
    let (name_top, end_top) = (down(&name), down(&end));
    ui.painter().galley(pos2(left, name_top), name, c.ink);
    ui.painter().galley(pos2(end_left, end_top), end, c.ink);
    tapped.tapped
}

/// The clock of one bay. Time out of hours is a thin line, work a broad one; the spread is
/// a bar with an upright at the likely end, the gate a frame; what ends after the clock
/// does has an arrow at its end.
fn spread(ui: &Ui, day: &DayFace, line: &DayLine, rect: Rect) {
    let c = Theme::of(ui.ctx()).colours;
    let painter = ui.painter();
    let x = |ms: i64| x_of(day, rect, ms);
    let middle = rect.center().y;
    painter.hline(rect.x_range(), middle, Stroke::new(LINE, c.edge));
    if let Some((from, to)) = day.works {
        let hours = Rect::from_x_y_ranges(x(from)..=x(to), middle - 5.0..=middle + 5.0);
        painter.rect_filled(hours, 0.0, c.line);
    }
    let (low, likely, high) = line.spread_ms;
    let bar = Rect::from_x_y_ranges(
        x(low)..=x(high).max(x(low) + 4.0),
        middle - 5.0..=middle + 5.0,
    );
    painter.rect_filled(bar, 0.0, c.ink_soft);
    if let Some((from, to)) = line.gate_ms
        && from < day.to_ms
    {
        let gate = Rect::from_x_y_ranges(x(from)..=x(to).max(x(from) + 8.0), rect.y_range());
        painter.rect_stroke(gate, 3.0, Stroke::new(3.0, c.now_mark), StrokeKind::Inside);
    }
    if likely <= day.to_ms {
        let at = x(likely);
        painter.vline(at, rect.y_range(), Stroke::new(5.0, c.ink));
    }
    if high > day.to_ms {
        let tip = pos2(rect.right(), middle);
        let points = vec![tip, tip + vec2(-14.0, -10.0), tip + vec2(-14.0, 10.0)];
        painter.add(Shape::convex_polygon(points, c.ink, Stroke::NONE));
    }
    painter.vline(x(day.now_ms), rect.y_range(), Stroke::new(3.0, c.now_mark));
}
