//! What is said of a sheet of paper that is entered: its boxes, and why one is not taken.

use trayzero_core::job::{PaperBox, PaperRefusal, PaperWait, PaperWhy, Reading};

use super::{Words, capital};
use crate::ui::units::Figures;

impl Words {
    /// A box by the words that the paper has for it.
    pub fn paper_box(&self, at: &PaperBox) -> String {
        match at {
            PaperBox::Step(step) => self.step(*step).to_owned(),
            PaperBox::Kit(item) => format!("{}: {}", self.kit_list, self.item(item)),
            PaperBox::Seals => self.paper_new_seals.to_owned(),
            PaperBox::Leak(cylinder, when) => {
                let when = match when {
                    Reading::Before => self.before_work,
                    Reading::After => self.after_work,
                };
                let cylinder = self.cylinder_n(*cylinder);
                format!("{} ({when}): {cylinder}", self.leak_test)
            }
            PaperBox::Holds(cylinder) => {
                let cylinder = self.cylinder_n(*cylinder);
                format!("{}: {cylinder}", self.paper_regulator)
            }
            PaperBox::Stage(valve, stage) => {
                format!("{}: {}", self.valve(*valve), self.stage(*stage))
            }
            PaperBox::Drop(line) => self.paper_drop_n(line + 1),
            PaperBox::Find(_) => self.found_it.to_owned(),
        }
    }

    /// Why a sheet is not taken as it is, with the box that it hangs on.
    pub fn paper_refusal(&self, refusal: &PaperRefusal, figures: Figures) -> String {
        let at = refusal.at.as_ref().map(|at| capital(&self.paper_box(at)));
        let why = match (&refusal.why, &at) {
            (PaperWhy::Before(before), Some(at)) => {
                return self.paper_before(at, &self.paper_box(before));
            }
            (PaperWhy::Before(before), None) => self.paper_box(before),
            (PaperWhy::Refused(refusal), _) => self.refusal_why_in(refusal, figures),
            (PaperWhy::Stands, _) => self.paper_stands.to_owned(),
            (PaperWhy::NotNeeded, _) => self.paper_not_needed.to_owned(),
            (PaperWhy::FromNoValve, _) => self.paper_of_no_valve.to_owned(),
            (PaperWhy::PartAdrift, _) => self.paper_adrift.to_owned(),
            (PaperWhy::LookFirst, _) => self.look_first.to_owned(),
            (PaperWhy::OutOfOrder, _) => self.paper_out_of_order.to_owned(),
        };
        match at {
            Some(at) => format!("{at}: {why}"),
            None => capital(&why),
        }
    }

    /// What people have to do here before the rest of a sheet is taken.
    pub fn paper_wait(&self, wait: PaperWait) -> String {
        match wait {
            PaperWait::Foreman(cylinder) => self.paper_waits_foreman(cylinder),
            PaperWait::Gate(_) => self.paper_waits_gate.to_owned(),
            PaperWait::Close => self.paper_waits_close.to_owned(),
        }
    }
}
