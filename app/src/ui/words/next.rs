//! The one next step as words: what is seen when it is taken.

use trayzero_core::engine::{Follower, Layout};
use trayzero_core::job::{NextStep, Stage};

use super::Words;

impl Words {
    /// The bar's line and the line under it.
    #[expect(clippy::too_many_lines, reason = "a table: one arm a step")]
    pub fn next_step(&self, step: &NextStep, layout: &Layout) -> (String, String) {
        let bank = |index: u8| {
            layout
                .banks
                .get(usize::from(index))
                .map_or_else(|| (index + 1).to_string(), |b| b.name.clone())
        };
        let both = |title: &str, more: &str| (title.to_owned(), more.to_owned());
        match step {
            NextStep::LookFirst { .. } => both(self.bar_look, self.bar_look_more),
            NextStep::Resume => both(self.bar_resume, self.bar_resume_more),
            NextStep::FindPart { .. } => both(self.bar_find, self.bar_find_more),
            NextStep::MendSwap { .. } => both(self.bar_mend_swap, self.bar_mend_swap_more),
            NextStep::TakeIn => both(self.bar_take_in, self.bar_take_in_more),
            NextStep::See(step) => both(self.step(*step), ""),
            NextStep::CountKit => both(self.bar_kit, self.count_as_listed),
            NextStep::ReadLeak { cylinder, .. } => {
                both(&self.bar_leak(*cylinder), self.bar_leak_more)
            }
            NextStep::AskForeman { cylinder } => {
                both(self.bar_foreman, &self.bar_foreman_more(*cylinder))
            }
            NextStep::IssueSeals { count } => both(&self.bar_seals(*count), self.issue_parts),
            NextStep::PlugsOut { bank: b } => both(&self.bar_plugs(&bank(*b)), self.bar_plugs_more),
            NextStep::LiftCover { bank: b } => {
                both(&self.bar_cover(&bank(*b)), self.bar_cover_more)
            }
            NextStep::StoppersIn { count, .. } => {
                both(&self.bar_stoppers(*count), self.bar_stoppers_more)
            }
            NextStep::Turn { to, .. } => both(
                &self.bar_turn(to.cylinder, to.offset_deg),
                self.bar_turn_more,
            ),
            NextStep::WrenchOff => both(self.bar_wrench_off, self.bar_wrench_off_more),
            NextStep::HoseIn { cylinder } => both(&self.bar_hose(*cylinder), self.bar_hose_more),
            NextStep::AirOn { cylinder } => both(&self.bar_air_on(*cylinder), self.bar_air_on_more),
            NextStep::SeeStage { stage, .. } => {
                let follower = layout.follower != Follower::None;
                let (title, more) = self.seen(*stage, layout.locks_per_valve.into(), follower);
                let more = match (layout.follower, stage) {
                    (Follower::Bucket, Stage::Positioned) => {
                        let title = match layout.shims() {
                            0 => self.bucket_alone_in_tray,
                            _ => self.bucket_in_tray,
                        };
                        return both(title, self.bucket_in_tray_more);
                    }
                    (Follower::Bucket, Stage::Verified) => match layout.shims() {
                        0 => self.own_bucket_alone_more,
                        _ => self.own_bucket_more,
                    },
                    _ => more,
                };
                (title, more.to_owned())
            }
            NextStep::AirOff { cylinder } => {
                both(&self.bar_air_off(*cylinder), self.bar_air_off_more)
            }
            NextStep::HoseOut { cylinder } => {
                both(&self.bar_hose_out(*cylinder), self.bar_hose_out_more)
            }
            NextStep::ReleaseHold { cylinder } => {
                both(&self.bar_release(*cylinder), self.bar_release_more)
            }
            NextStep::ClearBank { bank: b } => {
                both(&self.bar_clear(&bank(*b)), self.bar_clear_more)
            }
            NextStep::Gate { bank: b } => both(&self.bar_gate(&bank(*b)), self.bar_gate_more),
            NextStep::CloseJob => both(self.bar_close_job, self.bar_close_job_more),
            NextStep::Nothing => both(self.bar_nothing, ""),
        }
    }
}
