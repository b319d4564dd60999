//! Leak-down before and after as bars side by side, a pair a cylinder.

use trayzero_core::record::LeakLine;

use super::Context;
use super::ink::{Ink, line, rect};
use super::pages::{MARGIN_SIDE, Pages, Style};
use super::tags::TaggedPart;

/// Height of the chart with its legend, points.
pub const HEIGHT: f32 = 158.0;

const PLOT: f32 = 112.0;
const AXIS: f32 = 24.0;
const TINY: Style = Style {
    ink: Ink::Soft,
    ..Style::plain(6.5)
};

/// The limits of the classes, percent (common practice, no source).
const LIMITS: [f64; 3] = [10.0, 20.0, 30.0];

/// Where the bars stand.
struct Plot {
    left: f32,
    width: f32,
    foot: f32,
    most_percent: f64,
}

impl Plot {
    fn y(&self, percent: f64) -> f32 {
        self.foot - PLOT * (percent / self.most_percent) as f32
    }
}

/// Draws the chart at the cursor.
pub fn draw(pages: &mut Pages, context: &Context) {
    let lines = &context.record.leak_down;
    let losses = lines.iter().flat_map(|l| [&l.before, &l.after]).flatten();
    let worst = losses.map(|s| s.loss_percent).fold(0.0, f64::max);
    pages.need(HEIGHT);
    let plot = Plot {
        left: MARGIN_SIDE + AXIS,
        width: pages.measure() - AXIS,
        foot: pages.y() + 16.0 + PLOT,
        most_percent: ((worst / 10.0).ceil() * 10.0).clamp(40.0, 100.0),
    };
    let read = |side: fn(&LeakLine) -> bool| lines.iter().filter(|l| side(l)).count();
    let alt = (context.own.chart_alt)(read(|l| l.before.is_some()), read(|l| l.after.is_some()));
    pages.part(TaggedPart::Figure(alt), |s| {
        s.content(|s| {
            legend(s, context, &plot);
            axes(s, context, &plot);
            bars(s, context, &plot);
        });
    });
    pages.skip(HEIGHT);
}

fn legend(pages: &mut Pages, context: &Context, plot: &Plot) {
    let y = plot.foot - PLOT - 9.0;
    let mut x = plot.left;
    for (after, word) in [(false, context.own.before), (true, context.own.after)] {
        bar(pages, x, y - 6.0, 9.0, 6.0, after);
        pages.text_at(x + 12.0, y, TINY, word);
        x += 24.0 + pages.faces.width(word, TINY.weight, TINY.size);
    }
}

fn axes(pages: &mut Pages, context: &Context, plot: &Plot) {
    let right = plot.left + plot.width;
    let steps = (plot.most_percent / 10.0).round() as usize;
    for step in 0..=steps {
        let percent = step as f64 * 10.0;
        let y = plot.y(percent);
        let is_limit = LIMITS.contains(&percent);
        let (ink, width) = if is_limit {
            (Ink::Rule, 0.6)
        } else {
            (Ink::Hair, 0.4)
        };
        pages.shape(
            line(&[(plot.left, y), (right, y)]),
            None,
            Some((ink, width)),
        );
        let label = context.words.percent(percent);
        pages.text_ending_at(plot.left - 4.0, y + 2.2, TINY, &label);
    }
    let words = context.words;
    let classes = [words.leak_good, words.leak_usable, words.leak_poor];
    for (limit, class) in LIMITS.iter().zip(classes) {
        pages.text_ending_at(right - 2.0, plot.y(*limit) + 7.5, TINY, class);
    }
}

fn bars(pages: &mut Pages, context: &Context, plot: &Plot) {
    let lines = &context.record.leak_down;
    // The names of the classes keep the right end.
    let room = plot.width - 34.0;
    let step = room / lines.len().max(1) as f32;
    let breadth = (step * 0.32).min(17.0);
    for (index, line) in lines.iter().enumerate() {
        let middle = plot.left + step * (index as f32 + 0.5);
        for (after, side) in [(false, &line.before), (true, &line.after)] {
            let x = if after { middle } else { middle - breadth };
            let Some(side) = side else {
                pages.text_around(x + breadth / 2.0, plot.foot - 2.5, TINY, "–");
                continue;
            };
            let top = plot.y(side.loss_percent.min(plot.most_percent));
            bar(pages, x, top, breadth, plot.foot - top, after);
            let figure = context.words.figure(side.loss_percent, 0);
            let wide = pages.faces.width(&figure, TINY.weight, TINY.size) + 2.0;
            let middle = x + breadth / 2.0;
            let ground = rect(middle - wide / 2.0, top - 8.6, wide, 7.4);
            pages.shape(ground, Some(Ink::White), None);
            pages.text_around(middle, top - 2.5, TINY, &figure);
        }
        let number = line.cylinder.to_string();
        pages.text_around(middle, plot.foot + 9.5, Style::plain(7.5), &number);
    }
    let middle = plot.left + room / 2.0;
    pages.text_around(middle, plot.foot + 19.0, TINY, context.own.cylinder);
}

/// A bar: an outline before, filled after.
fn bar(pages: &mut Pages, x: f32, y: f32, width: f32, height: f32, after: bool) {
    let inset = 0.4;
    let path = rect(x + inset, y, width - 2.0 * inset, height.max(0.3));
    let fill = if after { Ink::Done } else { Ink::White };
    let edge = if after { Ink::Done } else { Ink::Soft };
    pages.shape(path, Some(fill), Some((edge, 0.8)));
}
