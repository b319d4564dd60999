//! A record from a file: whether it holds, its pages, its job, and handing it on.

mod hand_on;
mod holds;
mod job;
mod pages;

use std::path::PathBuf;

use egui::{Rect, Ui, pos2, vec2};

use super::chooser::{Chooser, LookFor};
use super::frame::{self, MARGIN};
use super::{notice, top};
use crate::record::opened::NotOpened;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, TARGET, Theme, Tint};
use crate::ui::view::{RecordView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;
use crate::ui::words::Words;

/// What of the record is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RecordPart {
    /// Whether it holds.
    #[default]
    Holds,
    /// Its pages.
    Pages,
    /// Its job.
    Job,
    /// Handing it on.
    HandOn,
}

impl RecordPart {
    /// All of them with their names.
    fn all(w: &Words) -> [(Self, &'static str); 4] {
        [
            (Self::Holds, w.record_part_holds),
            (Self::Pages, w.record_part_pages),
            (Self::Job, w.record_part_job),
            (Self::HandOn, w.record_part_hand_on),
        ]
    }
}

/// Draws the way to a record from a file; it begins where this tablet's own lie.
pub fn choose(ui: &mut Ui, v: &View<'_>, chooser: &mut Chooser, out: &mut Vec<Intent>) {
    let own = v.data.join("records").display().to_string();
    if let Some(path) = chooser.ui(ui, v, &own, LookFor::Record, out) {
        out.push(Intent::OpenRecord(PathBuf::from(path)));
    }
}

/// What the screen keeps for itself.
#[derive(Default)]
pub struct RecordScreen {
    /// The part that is shown.
    pub part: RecordPart,
    /// Choosing another record, on the list of bays.
    pub choose: Chooser,
    /// The record that all of this is about.
    of: Option<PathBuf>,
    pages: pages::RecordPages,
    job: job::RecordJob,
    hand_on: hand_on::HandOnForm,
}

impl RecordScreen {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (rest, _) = top::ui(ui, v, out);
        let Some(record) = v.record else {
            return;
        };
        if self.of.as_ref() != Some(&record.path) {
            *self = Self {
                of: Some(record.path.clone()),
                ..Self::default()
            };
        }
        let rest = banner(ui, v, rest);
        let opened = record.opened();
        let inner = rest.shrink2(vec2(MARGIN, GAP));
        let Some(opened) = opened else {
            return;
        };
        let (main, side) = cut(ui, v, inner, self.part);
        self.side(ui, v, (main, side), opened.pages);
        let mut area = frame::child(ui, main, "record");
        match self.part {
            RecordPart::Pages => self.pages.ui(&mut area, v, record, out),
            part => {
                let scroll = frame::scrolling().id_salt(("record", part as u8));
                scroll.show(&mut area, |ui| {
                    ui.spacing_mut().item_spacing.y = GAP;
                    notice::ui(ui, v);
                    match part {
                        RecordPart::Job => self.job.ui(ui, v, opened, out),
                        RecordPart::HandOn => self.hand_on.ui(ui, v, record, out),
                        _ => holds::ui(ui, v, opened),
                    }
                });
            }
        }
    }

    /// The parts to choose from, and the keys of the pages where those are shown.
    fn side(&mut self, ui: &mut Ui, v: &View<'_>, (main, rect): (Rect, Rect), pages: usize) {
        let mut area = frame::child(ui, rect, "record side");
        // Beside the pages, whatever room a large line above leaves in height.
        let is_column = rect.top() < main.bottom();
        frame::scrolling().show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            let columns = if is_column {
                1
            } else {
                part_columns(ui, v, rect)
            };
            let height = part_height(ui, v, rect.width(), columns);
            for parts in RecordPart::all(v.words).chunks(columns) {
                let places = frame::columns(ui, columns, height);
                for ((part, name), place) in parts.iter().zip(places) {
                    let button = Button::new(name).chosen(*part == self.part);
                    if button.at(ui, place).tapped {
                        self.part = *part;
                    }
                }
            }
            if self.part == RecordPart::Pages {
                let is_large = Theme::of(ui.ctx()).scale() > 1.5;
                let columns = match (is_column, is_large) {
                    (true, true) => 1,
                    (true, false) => 2,
                    (false, _) => 4,
                };
                self.pages.keys(ui, v, pages, columns);
            }
        });
    }
}

fn part_columns(ui: &Ui, v: &View<'_>, rect: Rect) -> usize {
    let four = (rect.width() - 3.0 * GAP) / 4.0;
    let is_low = |(_, name)| Button::new(name).height(ui, four) <= 1.5 * TARGET;
    if RecordPart::all(v.words).into_iter().all(is_low) {
        4
    } else {
        2
    }
}

fn part_height(ui: &Ui, v: &View<'_>, width: f32, columns: usize) -> f32 {
    let each = (width - GAP * (columns as f32 - 1.0)) / columns as f32;
    let heights = RecordPart::all(v.words).into_iter();
    heights
        .map(|(_, name)| Button::new(name).height(ui, each))
        .fold(TARGET, f32::max)
}

/// The place of what is shown, and that of the keys: at its side, or at the foot.
fn cut(ui: &Ui, v: &View<'_>, inner: Rect, part: RecordPart) -> (Rect, Rect) {
    let scale = Theme::of(ui.ctx()).scale();
    if frame::is_landscape(inner.size()) {
        let width = (220.0 * scale).min(inner.width() * 0.34);
        let left = inner.right() - width;
        return (
            Rect::from_min_max(inner.min, pos2(left - GAP, inner.bottom())),
            Rect::from_min_max(pos2(left, inner.top()), inner.max),
        );
    }
    let columns = part_columns(ui, v, inner);
    let rows = 4_usize.div_ceil(columns) as f32;
    let parts = rows * (part_height(ui, v, inner.width(), columns) + GAP);
    let keys = if part == RecordPart::Pages {
        pages::keys_height(ui, v, inner.width(), 4) + GAP
    } else {
        0.0
    };
    let height = (parts + keys).min(inner.height() * 0.5);
    let top = inner.bottom() - height;
    (
        Rect::from_min_max(inner.min, pos2(inner.right(), top - GAP)),
        Rect::from_min_max(pos2(inner.left(), top), inner.max),
    )
}

/// Says above everything how the record stands; gives what is left of the screen. At the bay
/// that a record shows the bar says it.
fn banner(ui: &mut Ui, v: &View<'_>, rest: Rect) -> Rect {
    let Some(record) = v.record else {
        return rest;
    };
    let (text, more, tint) = standing(ui, v, record);
    let inner = rest.shrink2(vec2(MARGIN, GAP));
    let height = note::height(ui, &text, &more, tint, inner.width());
    let place = Rect::from_min_size(inner.min, vec2(inner.width(), height));
    note::ui(
        &mut frame::child(ui, place, "how it stands"),
        &text,
        &more,
        tint,
    );
    rest.with_min_y(place.bottom())
}

fn standing(ui: &Ui, v: &View<'_>, record: &RecordView) -> (String, String, Tint) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let name = record.path.file_name().unwrap_or_default();
    let name = name.to_string_lossy().into_owned();
    match &record.read {
        None => (w.record_being_read.to_owned(), name, c.now),
        Some(Err(why)) => {
            let why = match why {
                NotOpened::File(why) => why.to_string(),
                NotOpened::Pdf(why) => w.record_not_read(why),
                NotOpened::Failed => w.record_read_failed.to_owned(),
            };
            let path = record.path.display();
            (
                w.record_unread.to_owned(),
                format!("{path}: {why}"),
                c.astray,
            )
        }
        Some(Ok(opened)) => match opened.report.failures() {
            0 if opened.report.holds() => (w.record_holds.to_owned(), name, c.done),
            fails => (w.record_fails(fails), name, c.astray),
        },
    }
}
