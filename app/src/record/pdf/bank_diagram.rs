//! The banks seen from above, front to the left: every valve with its last stage.

use trayzero_core::engine::{Bank, Side, ValveName};
use trayzero_core::job::Stage;

use super::Context;
use super::ink::{Ink, arc, circle, half_disc, line, rect};
use super::lines::capital;
use super::pages::{MARGIN_SIDE, Pages, Style};
use super::tags::TaggedPart;
use crate::ui::widgets::valve_mark::{MarkShape, shapes};

const RADIUS: f32 = 7.2;
const CELL_MAX: f32 = 74.0;
const NAMES: f32 = 58.0;
const ROW: f32 = 19.0;
const HEIGHT: f32 = 2.0 * ROW + 15.0;
const TINY: Style = Style {
    ink: Ink::Soft,
    ..Style::plain(6.8)
};

/// Draws every bank, and what the marks mean.
pub fn draw(pages: &mut Pages, context: &Context) {
    for bank in &context.record.layout.banks {
        pages.need(HEIGHT + 10.0);
        draw_bank(pages, context, bank);
        pages.skip(HEIGHT + 9.0);
    }
    legend(pages, context);
}

fn stage_of(context: &Context, valve: ValveName) -> Option<Stage> {
    let lines = &context.record.valves;
    lines.iter().find(|v| v.valve == valve)?.stage
}

fn draw_bank(pages: &mut Pages, context: &Context, bank: &Bank) {
    let here: Vec<Option<Stage>> = context
        .record
        .valves
        .iter()
        .filter(|v| bank.cylinders.contains(&v.valve.cylinder))
        .map(|v| v.stage)
        .collect();
    let verified = here.iter().filter(|s| **s == Some(Stage::Verified)).count();
    let alt = (context.own.diagram_alt)(&bank.name, verified, here.len());
    let room = pages.measure() - NAMES;
    let cell = (room / bank.cylinders.len().max(1) as f32).min(CELL_MAX);
    let (left, top) = (MARGIN_SIDE, pages.y());
    let words = context.words;
    pages.part(TaggedPart::Figure(alt), |s| {
        s.content(|s| {
            let name = capital(&words.bank_n(&bank.name));
            s.text_at(left, top + 9.0, Style::plain(8.5).strong(), &name);
            s.text_at(left, top + 15.0 + ROW * 0.62, TINY, words.intake);
            s.text_at(left, top + 15.0 + ROW * 1.62, TINY, words.exhaust);
            for (index, cylinder) in bank.cylinders.iter().enumerate() {
                let x = left + NAMES + index as f32 * cell;
                draw_cylinder(s, context, *cylinder, x, top, cell);
            }
        });
    });
}

fn draw_cylinder(pages: &mut Pages, context: &Context, cylinder: u8, x: f32, top: f32, cell: f32) {
    let layout = &context.record.layout;
    let block = rect(x + 1.5, top + 13.0, cell - 3.0, 2.0 * ROW + 2.0);
    pages.shape(block, Some(Ink::Tint), Some((Ink::Hair, 0.6)));
    let middle = x + cell / 2.0;
    let number = cylinder.to_string();
    pages.text_around(middle, top + 9.0, Style::plain(8.5).strong(), &number);
    let sides = [
        (Side::Intake, layout.intake_valves),
        (Side::Exhaust, layout.exhaust_valves),
    ];
    for (row, (side, count)) in sides.into_iter().enumerate() {
        let step = (cell - 6.0) / f32::from(count.max(1));
        let step = step.min(22.0);
        let radius = RADIUS.min(step * 0.46);
        let y = top + 14.0 + ROW * (row as f32 + 0.5);
        for place in 1..=count {
            let valve = ValveName::new(cylinder, side, place);
            let offset = f32::from(place) - f32::midpoint(f32::from(count), 1.0);
            mark(
                pages,
                middle + offset * step,
                y,
                radius,
                stage_of(context, valve),
            );
        }
    }
}

/// The mark of a valve, the same shapes as on the screen.
fn mark(pages: &mut Pages, x: f32, y: f32, radius: f32, stage: Option<Stage>) {
    let ink = match stage {
        Some(Stage::Verified) => Ink::Done,
        Some(Stage::LocksOut | Stage::SealFitted) => Ink::Warn,
        Some(_) => Ink::Black,
        None => Ink::Rule,
    };
    pages.shape(circle(x, y, radius * 0.86), Some(Ink::White), None);
    for shape in shapes(stage) {
        match shape {
            MarkShape::Arc {
                from_deg,
                to_deg,
                full,
            } => {
                let (ink, width) = if full { (ink, 0.2) } else { (Ink::Rule, 0.07) };
                let path = arc(x, y, radius * 0.86, from_deg, to_deg);
                pages.shape(path, None, Some((ink, width * radius)));
            }
            MarkShape::Disc { radius: r } => {
                pages.shape(circle(x, y, r * radius), Some(ink), None);
            }
            MarkShape::Ring { radius: r, width } => {
                pages.shape(circle(x, y, r * radius), None, Some((ink, width * radius)));
            }
            MarkShape::Line { points, width } => {
                let at = points
                    .iter()
                    .map(|[px, py]| (x + px * radius, y + py * radius));
                let at: Vec<(f32, f32)> = at.collect();
                pages.shape(line(&at), None, Some((ink, width * radius)));
            }
            MarkShape::HalfMoon { off, radius: r } => {
                let path = half_disc(x + off * radius, y, r * radius, off < 0.0);
                pages.shape(path, Some(ink), None);
            }
        }
    }
}

/// The stages that occur, each with its mark.
fn legend(pages: &mut Pages, context: &Context) {
    let stages = [None].into_iter().chain(Stage::ALL.map(Some));
    let occurs = |stage: &Option<Stage>| context.record.valves.iter().any(|v| v.stage == *stage);
    let shown: Vec<Option<Stage>> = stages.filter(occurs).collect();
    pages.need(14.0);
    let (mut x, y) = (MARGIN_SIDE, pages.y() + 8.0);
    let note = context.own.diagram_note;
    pages.part(TaggedPart::Paragraph, |s| {
        s.content(|s| {
            s.text_at(x, y, TINY, note);
            x += s.faces.width(note, TINY.weight, TINY.size) + 10.0;
            for stage in shown {
                mark(s, x + 4.0, y - 2.4, 5.0, stage);
                let word = context.words.stage_or_untouched(stage);
                s.text_at(x + 12.0, y, TINY, word);
                x += 24.0 + s.faces.width(word, TINY.weight, TINY.size);
            }
        });
    });
    pages.skip(14.0);
}
