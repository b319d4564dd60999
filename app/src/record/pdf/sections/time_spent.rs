//! Where the time of the job went: its phases as bars, and what was lost to what.

use trayzero_core::plan::WORK_PHASES;

use crate::record::pdf::Context;
use crate::record::pdf::ink::{Ink, rect};
use crate::record::pdf::lines::capital;
use crate::record::pdf::pages::{MARGIN_SIDE, Pages, Style};
use crate::record::pdf::tags::TaggedPart;

const ROW: f32 = 14.0;
const BAR: f32 = 8.0;
/// Room for the names of phases at the left, and for their figures at the right.
const NAMES: f32 = 150.0;
const FIGURES: f32 = 66.0;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, words) = (context.record, context.words);
    let mut minutes = [0.0; WORK_PHASES];
    for line in &record.time_spent.phases {
        minutes[line.phase.index()] = line.minutes;
    }
    let lines = words.phase_lines(&minutes);
    let height = lines.len() as f32 * ROW;
    pages.heading(2, words.where_time_goes, height);
    if lines.is_empty() {
        pages.paragraph(&capital(words.no_time_yet), Style::BODY);
        return;
    }
    let told = lines
        .iter()
        .map(|(name, lasts, _)| format!("{name}: {lasts}"));
    let alt = told.collect::<Vec<_>>().join(", ");
    pages.part(TaggedPart::Figure(alt), |s| {
        s.content(|s| bars(s, &lines));
    });
    pages.skip(height + 3.0);
    for loss in &record.time_spent.losses {
        pages.paragraph(&capital(&words.loss_line(loss)), Style::BODY);
    }
}

fn bars(pages: &mut Pages, lines: &[(String, String, f64)]) {
    let longest = lines.iter().map(|line| line.2).fold(0.0, f64::max);
    let left = MARGIN_SIDE + NAMES;
    let room = pages.measure() - NAMES - FIGURES;
    let right = MARGIN_SIDE + pages.measure();
    let mut y = pages.y();
    for (name, lasts, minutes) in lines {
        let long = room * (minutes / longest) as f32;
        pages.text_at(MARGIN_SIDE, y + 8.5, Style::CELL, &capital(name));
        let path = rect(left, y + 2.0, long.max(0.5), BAR);
        pages.shape(path, Some(Ink::Soft), None);
        pages.text_ending_at(right, y + 8.5, Style::CELL, lasts);
        y += ROW;
    }
}
