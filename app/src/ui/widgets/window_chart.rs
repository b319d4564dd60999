//! The pressure window: degrees off the top across, pressure up. The light area holds
//! the valves and does not turn the crank.

use egui::accesskit::Role;
use egui::{Align2, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use super::paint;
use crate::ui::theme::{Theme, Tint, Type};
use crate::ui::words::Words;

/// What the chart shows.
#[derive(Clone, Copy, Debug)]
pub struct WindowChart<'a> {
    /// Highest pressure that does not turn the crank: degrees off the top and bar, by
    /// rising degrees; the ends set how far the chart reaches.
    pub turns_above: &'a [(f64, f64)],
    /// Lowest pressure that holds the smallest valve, bar.
    pub lowest_bar: f64,
    /// Lowest rating among hose, regulator and tester, bar.
    pub rating_bar: f64,
    /// Where the cylinder is worked, degrees off its top.
    pub at_deg: f64,
    /// The pressure that is on or proposed, bar.
    pub at_bar: Option<f64>,
    /// The unit in which its axis counts.
    pub unit: &'a str,
    /// How many of these units a bar is.
    pub units_per_bar: f64,
    /// What a screen reader says of it.
    pub spoken: &'a str,
}

impl WindowChart<'_> {
    /// Draws it over the width that is there, `height` points high.
    pub fn ui(&self, ui: &mut Ui, words: &Words, height: f32) -> egui::Response {
        let c = Theme::of(ui.ctx()).colours;
        let size = vec2(ui.available_width(), height);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, self.spoken));
        let line = paint::line_height(ui, Type::Small);
        let plot = Rect::from_min_max(
            rect.min + vec2(line * 2.0 + 8.0, line * 0.6),
            rect.max - vec2(8.0, 2.0 * line + 8.0),
        );
        let frame = Frame {
            plot,
            from: self.turns_above.first().map_or(-30.0, |p| p.0),
            to: self.turns_above.last().map_or(30.0, |p| p.0),
            most: (self.rating_bar * 1.15).max(1.0),
        };
        ui.painter().rect_filled(plot, 0.0, c.astray.ground);
        self.paint_areas(ui, &frame);
        self.paint_axes(ui, &frame, words, rect);
        self.paint_point(ui, &frame);
        self.paint_names(ui, &frame, words);
        response
    }

    fn ceiling(&self, bar: f64) -> f64 {
        bar.min(self.rating_bar)
    }

    fn paint_areas(&self, ui: &Ui, frame: &Frame) {
        let c = Theme::of(ui.ctx()).colours;
        let painter = ui.painter().with_clip_rect(frame.plot);
        for pair in self.turns_above.windows(2) {
            let (left, right) = (pair[0], pair[1]);
            let top = |p: (f64, f64)| frame.at(p.0, self.ceiling(p.1).max(self.lowest_bar));
            let foot = |p: (f64, f64)| frame.at(p.0, self.lowest_bar);
            let area = vec![top(left), top(right), foot(right), foot(left)];
            painter.add(Shape::convex_polygon(area, c.done.ground, Stroke::NONE));
        }
        let foot = Rect::from_min_max(
            frame.at(frame.from, self.lowest_bar),
            frame.at(frame.to, 0.0),
        );
        painter.rect_filled(foot, 0.0, c.open.ground);
        let curve: Vec<Pos2> = self
            .turns_above
            .iter()
            .map(|p| frame.at(p.0, p.1.min(frame.most * 2.0)))
            .collect();
        painter.line(curve, Stroke::new(3.0, c.astray.mark));
        let y = frame.at(0.0, self.rating_bar).y;
        let ends = [pos2(frame.plot.left(), y), pos2(frame.plot.right(), y)];
        painter.extend(Shape::dashed_line(
            &ends,
            Stroke::new(3.0, c.ink),
            10.0,
            6.0,
        ));
        let y = frame.at(0.0, self.lowest_bar).y;
        painter.hline(frame.plot.x_range(), y, Stroke::new(3.0, c.open.mark));
    }

    fn paint_names(&self, ui: &Ui, frame: &Frame, words: &Words) {
        let c = Theme::of(ui.ctx()).colours;
        // Each name lies on a plate of its area's colour, so that no line crosses it.
        let name = |at: Pos2, anchor: Align2, text: &str, tint: Tint| {
            let room = frame.plot.width() * 0.6;
            let galley = paint::text(ui, text, Type::Small, tint.mark, room);
            let place = anchor.anchor_size(at, galley.size());
            if frame.plot.contains_rect(place) {
                let plate = place.expand2(vec2(4.0, 1.0)).intersect(frame.plot);
                ui.painter().rect_filled(plate, 3.0, tint.ground);
                ui.painter().galley(place.min, galley, tint.mark);
            }
        };
        let pad = vec2(8.0, 4.0);
        let top = frame.plot.left_top() + pad;
        name(top, Align2::LEFT_TOP, words.may_turn, c.astray);
        let foot = frame.plot.left_bottom() + vec2(8.0, -4.0);
        name(foot, Align2::LEFT_BOTTOM, words.too_low, c.open);
        // Beside the line of the working position, on the side where the area is wider.
        let (aside, anchor) = if self.at_deg <= 0.0 {
            (16.0, Align2::LEFT_BOTTOM)
        } else {
            (-16.0, Align2::RIGHT_BOTTOM)
        };
        let beside = frame.at(self.at_deg, self.lowest_bar) + vec2(aside, -6.0);
        name(beside, anchor, words.holds_and_stays, c.done);
    }

    fn paint_point(&self, ui: &Ui, frame: &Frame) {
        let c = Theme::of(ui.ctx()).colours;
        let x = frame.at(self.at_deg, 0.0).x;
        let painter = ui.painter();
        let stroke = Stroke::new(2.0, c.now_mark);
        let ends = [pos2(x, frame.plot.top()), pos2(x, frame.plot.bottom())];
        painter.extend(Shape::dashed_line(&ends, stroke, 4.0, 6.0));
        if let Some(bar) = self.at_bar {
            let at = frame.at(self.at_deg, bar.clamp(0.0, frame.most));
            painter.circle_filled(at, 13.0, c.card);
            painter.circle_filled(at, 11.0, c.now.ground);
            painter.circle_filled(at, 4.0, c.now.mark);
        }
    }

    fn paint_axes(&self, ui: &Ui, frame: &Frame, words: &Words, rect: Rect) {
        let c = Theme::of(ui.ctx()).colours;
        let painter = ui.painter();
        let edge = Stroke::new(2.0, c.edge);
        painter.rect_stroke(frame.plot, 0.0, edge, StrokeKind::Outside);
        let most = frame.most * self.units_per_bar;
        for figure in (0..=most as i64).step_by(pressure_step(most)) {
            let bar = figure as f64 / self.units_per_bar;
            let at = pos2(frame.plot.left() - 6.0, frame.at(0.0, bar).y);
            let text = figure.to_string();
            paint::label(ui, at, Align2::RIGHT_CENTER, &text, Type::Small, c.ink);
        }
        let span = frame.to - frame.from;
        let step = if span > 60.0 {
            20
        } else if span > 24.0 {
            10
        } else {
            5
        };
        let first = (frame.from / f64::from(step)).ceil() as i64;
        let last = (frame.to / f64::from(step)).floor() as i64;
        for i in first..=last {
            let deg = (i * i64::from(step)) as f64;
            let at = frame.at(deg, 0.0);
            painter.vline(at.x, at.y..=(at.y + 6.0), edge);
            let text = words.degrees(deg);
            paint::label(
                ui,
                at + vec2(0.0, 7.0),
                Align2::CENTER_TOP,
                &text,
                Type::Small,
                c.ink,
            );
        }
        let at = pos2(frame.plot.center().x, rect.bottom());
        let name = words.degrees_off_top;
        paint::label(ui, at, Align2::CENTER_BOTTOM, name, Type::Small, c.ink_soft);
        let at = pos2(rect.left(), rect.top());
        paint::label(ui, at, Align2::LEFT_TOP, self.unit, Type::Small, c.ink_soft);
    }
}

struct Frame {
    plot: Rect,
    from: f64,
    to: f64,
    most: f64,
}

impl Frame {
    fn at(&self, deg: f64, bar: f64) -> Pos2 {
        let across = ((deg - self.from) / (self.to - self.from).max(1e-9)) as f32;
        let up = (bar / self.most) as f32;
        pos2(
            self.plot.left() + self.plot.width() * across,
            self.plot.bottom() - self.plot.height() * up,
        )
    }
}

/// Units between two figures of an axis that goes up to `most`: at most nine of them.
fn pressure_step(most: f64) -> usize {
    const STEPS: [usize; 8] = [1, 2, 5, 10, 20, 50, 100, 200];
    let fits = |step: &usize| most / *step as f64 <= 8.0;
    STEPS.into_iter().find(fits).unwrap_or(500)
}
