//! A finding on a valve or its cylinder.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Finding, FindingKind};
use trayzero_core::record::clearance_mm;

use super::chips;
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::units::{self, Measured};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::keys;
use crate::ui::widgets::stepper;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::capital;

/// What is chosen and typed.
#[derive(Default)]
pub struct FindingForm {
    kind: Option<usize>,
    figure: String,
    missing: u32,
    text: String,
    whole_cylinder: bool,
}

impl FindingForm {
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        valve: Option<ValveName>,
        out: &mut Vec<Intent>,
    ) {
        let w = v.words;
        let Some(valve) = valve else {
            frame::line(ui, w.press_a_valve, Type::Body, false);
            return;
        };
        let about = [w.valve(valve), w.cylinder_n(valve.cylinder)].map(|name| capital(&name));
        if let Some(i) = chips::ui(ui, &about, 2, |i| (i == 1) == self.whole_cylinder) {
            self.whole_cylinder = i == 1;
        }
        let names = [
            w.scored_stem,
            w.worn_guide,
            w.broken_spring,
            w.short_spring,
            w.damaged_groove,
            w.seal_torn,
            w.other_finding,
        ]
        .map(str::to_owned);
        if let Some(i) = chips::ui(ui, &names, 2, |i| self.kind == Some(i)) {
            self.kind = Some(i);
        }
        let Some(kind) = self.kind else {
            return;
        };
        let Some(found) = self.details(ui, v, job, kind) else {
            return;
        };
        TextField::new(w.note, &mut self.text).ui(ui, w);
        if BigBar::new(&names[kind], w.goes_into_record).ui(ui).tapped {
            let finding = Finding {
                cylinder: valve.cylinder,
                valve: (!self.whole_cylinder).then_some(valve),
                kind: found,
                text: self.text.trim().to_owned(),
            };
            out.push(Intent::Tap(vec![Event::FindingNoted(Box::new(finding))]));
        }
    }

    /// The figure that a kind needs; `None` until it is there.
    fn details(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        kind: usize,
    ) -> Option<FindingKind> {
        let w = v.words;
        Some(match kind {
            0 => FindingKind::ScoredStem,
            1 => {
                let rock_mm = self.length(ui, v, w.rock)?;
                if let Some(clearance) = job.layout().and_then(|l| clearance_mm(l, rock_mm)) {
                    let shown = units::length(clearance, v.units);
                    frame::line(ui, &format!("{} {shown}", w.clearance), Type::Strong, false);
                } else {
                    frame::line(ui, w.guide_unknown, Type::Body, true);
                }
                FindingKind::WornGuide { rock_mm }
            }
            2 => FindingKind::BrokenSpring,
            3 => FindingKind::ShortSpring {
                length_mm: self.length(ui, v, w.length)?,
            },
            4 => FindingKind::DamagedGroove,
            5 => {
                if let Some(n) = stepper::ui(ui, w, w.missing_pieces, self.missing, 9) {
                    self.missing = n;
                }
                if self.missing > 0 {
                    frame::line(ui, w.pieces_adrift, Type::Strong, false);
                }
                FindingKind::SealTorn {
                    missing: self.missing,
                }
            }
            _ => FindingKind::Other,
        })
    }

    fn length(&mut self, ui: &mut Ui, v: &View<'_>, label: &str) -> Option<f64> {
        let label = units::field(label, Measured::Length, v.units);
        TextField::new(&label, &mut self.figure).ui(ui, v.words);
        keys::ui(ui, v.words, &mut self.figure, true);
        match units::read_length(&self.figure, v.units) {
            Ok(mm) => Some(mm),
            Err(why) => {
                if !self.figure.is_empty() {
                    frame::line(ui, &why, Type::Body, true);
                }
                None
            }
        }
    }
}
