//! Who comes back is shown where things stand, and air that is on for long asks for a
//! look, both by themselves.

use trayzero_core::job::{Event, JobPhase};

use crate::data::store::dangers_of;
use crate::ui::view::{JobView, RETURN_AFTER_MIN, View};
use crate::ui::words::capital;

/// The cylinder whose air is on, and for how many minutes, once it has been on for the
/// set time and nothing was tapped meanwhile.
/// Since when is none where a wrong clock told it: then it has been on for too long.
pub fn air_to_look_at(v: &View<'_>, job: &JobView<'_>) -> Option<(u8, Option<i64>)> {
    let (cylinder, _) = job.state.air_on()?;
    let since_ms = job.state.air_since_ms(cylinder)?;
    let reminder = i64::from(v.settings.air_reminder_min);
    let on_min = v.minutes_since(since_ms);
    let is_long = on_min.is_none_or(|min| min >= reminder);
    let quiet_min = (v.now_ms - last_tap_ms(v, job)) / 60_000;
    (is_long && quiet_min >= reminder).then_some((cylinder, on_min))
}

/// Wall clock of the latest tap. What a wrong clock told as of a day to come says nothing of
/// when anybody was here.
pub fn last_tap_ms(v: &View<'_>, job: &JobView<'_>) -> i64 {
    let last_ms = job.state.last_ms();
    if v.minutes_since(last_ms).is_some() {
        return last_ms;
    }
    let is_tap = |event: &Event| !matches!(event, Event::Sealed(_));
    let taps = job.state.timeline().filter(|past| is_tap(past.event));
    let taps = taps.map(|past| past.at_ms);
    let known = taps.filter(|at_ms| v.minutes_since(*at_ms).is_some());
    known.max().unwrap_or_default()
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
        let quiet_from_ms = last_tap_ms(v, job).max(drawn_ms);
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
