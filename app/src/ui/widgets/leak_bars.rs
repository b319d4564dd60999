//! Leak-down of every cylinder, before and after, with the usual limits.

use egui::accesskit::Role;
use egui::{Align2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use super::paint;
use crate::ui::theme::{LINE, Theme, Type};
use crate::ui::words::Words;

/// Losses of one cylinder in percent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LeakPair {
    /// The cylinder.
    pub cylinder: u8,
    /// Before the work.
    pub before: Option<f64>,
    /// After it.
    pub after: Option<f64>,
}

/// The limits between good, usable, poor and "find the leak", in percent (common
/// practice).
const LIMITS: [f64; 3] = [10.0, 20.0, 30.0];

/// Draws the chart over the width that is there, `height` points high.
pub fn leak_bars(ui: &mut Ui, words: &Words, pairs: &[LeakPair], height: f32) -> egui::Response {
    let c = Theme::of(ui.ctx()).colours;
    let size = vec2(ui.available_width(), height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, spoken(words, pairs)));
    let line = paint::line_height(ui, Type::Small);
    let left = paint::text_line(ui, &words.percent(100.0), Type::Small, c.ink, 200.0);
    let plot = Rect::from_min_max(
        rect.min + vec2(left.size().x + 8.0, line + 8.0),
        rect.max - vec2(0.0, paint::line_height(ui, Type::Strong) + 4.0),
    );
    let most = pairs
        .iter()
        .flat_map(|p| [p.before, p.after])
        .flatten()
        .fold(40.0, f64::max);
    let y = |loss: f64| plot.bottom() - plot.height() * (loss / most).clamp(0.0, 1.0) as f32;
    for limit in LIMITS {
        let ends = [pos2(plot.left(), y(limit)), pos2(plot.right(), y(limit))];
        let stroke = Stroke::new(LINE, c.edge);
        ui.painter()
            .extend(Shape::dashed_line(&ends, stroke, 4.0, 6.0));
        let at = pos2(plot.left() - 6.0, y(limit));
        let text = words.percent(limit);
        paint::label(ui, at, Align2::RIGHT_CENTER, &text, Type::Small, c.ink_soft);
    }
    ui.painter()
        .hline(plot.x_range(), plot.bottom(), Stroke::new(3.0, c.edge));
    let pitch = plot.width() / pairs.len().max(1) as f32;
    for (i, pair) in pairs.iter().enumerate() {
        let x = plot.left() + pitch * (i as f32 + 0.5);
        let bar_w = (pitch * 0.3).min(36.0);
        for (loss, off, is_after) in [(pair.before, -0.55, false), (pair.after, 0.55, true)] {
            let Some(loss) = loss else { continue };
            let middle = x + off * bar_w;
            let bar = Rect::from_min_max(
                pos2(middle - bar_w / 2.0, y(loss)),
                pos2(middle + bar_w / 2.0, plot.bottom()),
            );
            paint_bar(ui, bar, loss, is_after);
        }
        let at = pos2(x, rect.bottom());
        let number = pair.cylinder.to_string();
        paint::label(ui, at, Align2::CENTER_BOTTOM, &number, Type::Strong, c.ink);
    }
    paint_key(ui, words, rect, plot.left());
    response
}

/// Before: an outline; after: filled. Past the last limit the mark of what is astray.
fn paint_bar(ui: &Ui, bar: Rect, loss: f64, is_after: bool) {
    let c = Theme::of(ui.ctx()).colours;
    let mark = if loss > LIMITS[2] {
        c.astray.mark
    } else if is_after {
        c.stages[5]
    } else {
        c.ink_soft
    };
    if is_after {
        ui.painter().rect_filled(bar, 2.0, mark);
    } else {
        let stroke = Stroke::new(3.0, mark);
        ui.painter()
            .rect(bar, 2.0, c.card, stroke, StrokeKind::Inside);
    }
}

fn paint_key(ui: &Ui, words: &Words, rect: Rect, left: f32) {
    let c = Theme::of(ui.ctx()).colours;
    let mut x = left;
    for (text, is_after) in [(words.before_work, false), (words.after_work, true)] {
        let line = paint::line_height(ui, Type::Small);
        let sample = Rect::from_min_size(pos2(x, rect.top() + line * 0.2), vec2(14.0, line * 0.6));
        paint_bar(ui, sample, 0.0, is_after);
        let at = pos2(x + 20.0, rect.top());
        let place = paint::label(ui, at, Align2::LEFT_TOP, text, Type::Small, c.ink);
        x = place.right() + 20.0;
    }
}

fn spoken(words: &Words, pairs: &[LeakPair]) -> String {
    let one = |p: &LeakPair| {
        let figure =
            |loss: Option<f64>| loss.map_or_else(|| words.unknown.to_owned(), |l| words.percent(l));
        format!(
            "{}: {} {}, {} {}",
            words.cylinder_n(p.cylinder),
            words.before_work,
            figure(p.before),
            words.after_work,
            figure(p.after)
        )
    };
    let all: Vec<String> = pairs.iter().map(one).collect();
    format!("{}. {}", words.leak_test, all.join(". "))
}
