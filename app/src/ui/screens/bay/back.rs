//! Who comes back is shown where things stand, and air that is on for long asks for a
//! look, both by themselves.

use trayzero_core::job::JobPhase;

use crate::data::store::dangers_of;
use crate::ui::view::{JobView, RETURN_AFTER_MIN, View};
use crate::ui::words::capital;

/// The cylinder whose air is on, and for how many minutes, once it has been on for the
/// set time and nothing was tapped meanwhile.
pub fn air_to_look_at(v: &View<'_>, job: &JobView<'_>) -> Option<(u8, i64)> {
    let (cylinder, _) = job.state.air_on()?;
    let since_ms = job.state.cylinder(cylinder)?.air_since_ms?;
    let reminder = i64::from(v.settings.air_reminder_min);
    let on_min = (v.now_ms - since_ms) / 60_000;
    let quiet_min = (v.now_ms - job.state.last_ms()) / 60_000;
    (on_min >= reminder && quiet_min >= reminder).then_some((cylinder, on_min))
}

/// Watches whether anybody is at the bay.
#[derive(Default)]
pub struct Watch {
    /// Wall clock in milliseconds when the bay was first drawn.
    drawn_ms: Option<i64>,
    /// The quiet that the card has been shown for already, by when it began.
    shown_ms: Option<i64>,
}

impl Watch {
    /// Whether the card is to show by itself now. Says so once for each quiet.
    pub fn wants_card(&mut self, v: &View<'_>, job: &JobView<'_>) -> bool {
        let drawn_ms = *self.drawn_ms.get_or_insert(v.now_ms);
        let phase = job.state.phase();
        if !matches!(phase, JobPhase::Open | JobPhase::Paused) {
            return false;
        }
        let quiet_from_ms = job.state.last_ms().max(drawn_ms);
        let quiet_min = (v.now_ms - quiet_from_ms) / 60_000;
        let reminder = i64::from(v.settings.air_reminder_min);
        let asks = air_to_look_at(v, job).is_some() && quiet_min >= reminder;
        let is_wanted = quiet_min >= RETURN_AFTER_MIN || asks;
        if !is_wanted || self.shown_ms == Some(quiet_from_ms) {
            return false;
        }
        self.shown_ms = Some(quiet_from_ms);
        true
    }
}

/// What two tablets disagree about on this engine, one question after another.
pub fn to_look_at(v: &View<'_>, job: &JobView<'_>) -> Option<String> {
    let text = v.words.dangers(&dangers_of(job.state));
    (!text.is_empty()).then(|| capital(&text))
}
