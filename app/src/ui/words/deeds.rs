//! What each event is called where it is taken back, or where two tablets disagree about it.

use trayzero_core::job::{Event, Reading, Stage, Step};
use trayzero_core::parts::{Item, Place};

use super::Words;

impl Words {
    /// What an event was, in a few words: which step, which part, on which cylinder.
    #[expect(
        clippy::too_many_lines,
        reason = "a table: every event, and what it is called"
    )]
    pub fn deed(&self, event: &Event) -> String {
        let at = |cylinder: u8, what: &str| format!("{}: {what}", self.cyl_n(cylinder));
        let parts =
            |how: &str, item: &Item, count: u32| format!("{how}: {}", self.items_n(item, count));
        let moved = |item: &Item, count, to: Place| {
            self.moves_to(&self.items_n(item, count), self.place(to))
        };
        match event {
            Event::JobOpened(_) => self.job_opened.to_owned(),
            Event::TakenOver { .. } => self.take_over.to_owned(),
            Event::Paused { .. } => self.bar_resume_more.to_owned(),
            Event::Resumed {} => self.bar_resume.to_owned(),
            Event::Noted { .. } => self.note.to_owned(),
            Event::HandedOver { .. } => self.hand_over.to_owned(),
            Event::ConflictResolved { .. } => self.resolve.to_owned(),
            Event::Sealed(_) => self.signed.to_owned(),
            Event::Withdrawn { .. } => self.taken_back.to_owned(),
            Event::JobClosed { .. } => self.job_closed.to_owned(),
            Event::JobStopped { .. } => self.job_stopped.to_owned(),
            Event::TakeInNoted(_) => self.take_in.to_owned(),
            Event::OilToppedUp { .. } => self.oil_topped_up.to_owned(),
            Event::LeakRead { cylinder, when, .. } => {
                let when = match when {
                    Reading::Before => self.before_work,
                    Reading::After => self.after_work,
                };
                at(*cylinder, &format!("{}, {when}", self.leak_test))
            }
            Event::ForemanAgreed { cylinder, .. } => at(*cylinder, self.foreman_agrees),
            Event::BreakawayMeasured { .. } => self.breakaway.to_owned(),
            Event::StepSeen { step } => self.step(*step).to_owned(),
            Event::CautionSeen { .. } => self.caution_read.to_owned(),
            Event::FindingNoted(found) => at(found.cylinder, self.finding),
            Event::PictureAdded(_) => self.picture_word.to_owned(),
            Event::FollowedUp { .. } => self.follow_up.to_owned(),
            Event::EnteredFromPaper(_) => self.from_paper.to_owned(),
            Event::KitCounted { item, count } => parts(self.counted_in, item, *count),
            Event::StockIssued { item, count } => parts(self.issued, item, *count),
            Event::StockReturned { item, count } => parts(self.goes_back, item, *count),
            Event::TakenFromStock { item, count } => parts(self.from_stock, item, *count),
            Event::PartUsed { item, count } => parts(self.used, item, *count),
            Event::PutAway { item, count, to } => moved(item, *count, *to),
            Event::PutAboard { item, count, .. } => moved(item, *count, Place::Aboard),
            Event::TakenOff { item, count, .. } => moved(item, *count, Place::Kit),
            Event::PartReplaced { valve, item, .. } => {
                at(valve.cylinder, &self.changed(&self.item(item)))
            }
            Event::PartDropped { item, count, .. } => {
                self.loss_dropped(&self.items_n(item, *count))
            }
            Event::PartsSwapped { valve, .. } => at(valve.cylinder, self.swapped_parts),
            Event::SwapMended { .. } => self.swap_mended.to_owned(),
            Event::PartFound { .. } => self.found_it.to_owned(),
            Event::SearchSigned { .. } => self.was_searched.to_owned(),
            Event::BlindCount { by, .. } => format!("{}, {}", self.blind_count, by.person),
            Event::CoverOff { .. } => self.cover_seen_off.to_owned(),
            Event::BankClosed { .. } => self.cover_on.to_owned(),
            Event::PlugOut { cylinder } => at(*cylinder, self.plug_out),
            Event::PlugIn { cylinder } => at(*cylinder, self.hole_plug),
            Event::VentedCoverIn { cylinder } => at(*cylinder, self.hole_vented),
            Event::VentedCoverOut { cylinder } => at(*cylinder, self.vented_cover_out),
            Event::HoseIn { cylinder } => at(*cylinder, self.hole_hose),
            Event::HoseOut { cylinder } => at(*cylinder, self.hose_out),
            Event::WrenchOn {} => self.wrench_on.to_owned(),
            Event::WrenchOff {} => self.wrench_off.to_owned(),
            Event::CrankTurned { to, .. } => self.crank_at(to.cylinder, to.offset_deg),
            Event::AirOn { cylinder, .. } => self.air_on_cylinder(*cylinder),
            Event::AirOff { cylinder, .. } => at(*cylinder, &format!("{} {}", self.air, self.off)),
            Event::AirReadAnew { cylinder, .. } => at(*cylinder, self.regulator_reads_now),
            Event::AirLost { cylinder, .. } => at(*cylinder, self.air_is_gone),
            Event::HoldDeclared { cylinder, hold } => at(*cylinder, self.hold(*hold)),
            Event::HoldReleased { cylinder, .. } => at(*cylinder, self.hold_out),
            Event::StageSeen { valve, stage, .. } => {
                let valve_within = self.valve_within(*valve);
                let stage = self.stage(*stage);
                format!("{} {valve_within}: {stage}", self.cyl_n(valve.cylinder))
            }
            Event::CylinderPutOff { cylinder } => at(*cylinder, self.is_put_off),
            Event::CylinderWanted { cylinder } => at(*cylinder, self.next),
        }
    }

    /// Deeds as long as most are, by which a button leaves them room.
    pub fn usual_deeds(&self) -> impl Iterator<Item = String> + '_ {
        let stages = Stage::ALL.into_iter().map(|stage| {
            let side = if self.intake.len() > self.exhaust.len() {
                self.intake
            } else {
                self.exhaust
            };
            format!("{} {side} 2: {}", self.cyl_n(8), self.stage(stage))
        });
        let steps = Step::BEFORE.into_iter().chain(Step::AFTER);
        let steps = steps.map(|step| self.step(step).to_owned());
        stages.chain(steps)
    }
}
