//! A finding on a valve or its cylinder.

use std::path::PathBuf;

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Finding, FindingKind};
use trayzero_core::record::clearance_mm;

use super::chips;
use super::foot::{Foot, Offer};
use crate::data::written::Kind;
use crate::ui::intent::Intent;
use crate::ui::screens::{frame, pictures};
use crate::ui::theme::Type;
use crate::ui::units::{self, LENGTH};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::keys;
use crate::ui::widgets::stepper;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::{Words, capital};

/// What is chosen and typed.
#[derive(Default)]
pub struct FindingForm {
    kind: Option<usize>,
    figure: String,
    missing: u32,
    text: String,
    whole_cylinder: bool,
    along: Vec<PathBuf>,
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
        let names = names(v.words).map(str::to_owned);
        if let Some(i) = chips::ui(ui, &names, 2, |i| self.kind == Some(i)) {
            self.kind = Some(i);
        }
        let Some(kind) = self.kind else {
            return;
        };
        self.details(ui, v, job, kind);
        TextField::new(w.note, &mut self.text)
            .choices(v.written.of(Kind::Finding))
            .ui(ui, w);
        pictures::along(ui, v, &mut self.along, out);
    }

    /// The big bar, once all that the kind needs is there.
    pub fn foot(&self, v: &View<'_>, valve: Option<ValveName>) -> Foot {
        let w = v.words;
        let missing = match (valve, self.kind) {
            (None, _) => Some(w.press_a_valve),
            (_, None) => Some(w.choose_above),
            (Some(_), Some(1 | 3)) if self.found(v).is_none() => Some(w.enter_figure),
            (Some(_), Some(7)) if self.text.trim().is_empty() => Some(w.say_it_in_words),
            _ => None,
        };
        let title = self.kind.map_or(w.finding, |kind| names(w)[kind]);
        Foot::of_bar(Offer::unless(
            title,
            w.goes_into_record,
            missing.map(str::to_owned),
        ))
    }

    /// The finding is noted.
    pub fn act(&self, v: &View<'_>, valve: Option<ValveName>, out: &mut Vec<Intent>) {
        if let (Some(valve), Some(kind)) = (valve, self.found(v)) {
            let finding = Finding {
                cylinder: valve.cylinder,
                valve: (!self.whole_cylinder).then_some(valve),
                kind,
                text: self.text.trim().to_owned(),
            };
            let events = vec![Event::FindingNoted(Box::new(finding))];
            out.push(Intent::tap_with(events, self.along.clone()));
        }
    }

    /// What was found; `None` until the figure that it needs is there.
    fn found(&self, v: &View<'_>) -> Option<FindingKind> {
        let length_mm = || units::read(&LENGTH, &self.figure, v.units).ok();
        Some(match self.kind? {
            0 => FindingKind::ScoredStem,
            1 => FindingKind::WornGuide {
                rock_mm: length_mm()?,
            },
            2 => FindingKind::BrokenSpring,
            3 => FindingKind::ShortSpring {
                length_mm: length_mm()?,
            },
            4 => FindingKind::DamagedGroove,
            5 => FindingKind::SealTorn {
                missing: self.missing,
            },
            6 => FindingKind::ValveFell,
            _ => FindingKind::Other,
        })
    }

    /// What a kind is asked besides.
    fn details(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, kind: usize) {
        let w = v.words;
        match kind {
            1 => {
                let Some(rock_mm) = self.length(ui, v, w.rock) else {
                    return;
                };
                if let Some(clearance) = job.layout().and_then(|l| clearance_mm(l, rock_mm)) {
                    let shown = units::length(clearance, v.units);
                    frame::line(ui, &format!("{} {shown}", w.clearance), Type::Strong, false);
                } else {
                    frame::line(ui, w.guide_unknown, Type::Body, true);
                }
            }
            3 => {
                self.length(ui, v, w.length);
            }
            5 => {
                if let Some(n) = stepper::ui(ui, w, w.missing_pieces, self.missing, 9) {
                    self.missing = n;
                }
                if self.missing > 0 {
                    frame::line(ui, w.pieces_adrift, Type::Strong, false);
                }
            }
            _ => {}
        }
    }

    fn length(&mut self, ui: &mut Ui, v: &View<'_>, label: &str) -> Option<f64> {
        let label = units::field(label, &LENGTH, v.units);
        TextField::new(&label, &mut self.figure)
            .keys(Keys::Figure)
            .ui(ui, v.words);
        keys::figure(ui, v.words, &mut self.figure);
        match units::read(&LENGTH, &self.figure, v.units) {
            Ok(mm) => Some(mm),
            Err(why) => {
                if !self.figure.is_empty() {
                    frame::line(ui, &v.words.error(&why), Type::Body, true);
                }
                None
            }
        }
    }
}

/// The kinds by name, in the order in which they stand.
fn names(w: &Words) -> [&'static str; 8] {
    [
        w.scored_stem,
        w.worn_guide,
        w.broken_spring,
        w.short_spring,
        w.damaged_groove,
        w.seal_torn,
        w.valve_fell,
        w.other_finding,
    ]
}
