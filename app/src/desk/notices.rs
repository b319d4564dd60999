//! What an intent is held against before it is carried out.

use trayzero_core::job::{Event, Refusal};

use crate::data::settings::Settings;
use crate::ui::intent::Intent;

/// Whether a message stays that somebody may not have read: screens ask for these by
/// themselves.
pub(super) fn leaves_notice(intent: &Intent) -> bool {
    matches!(
        intent,
        Intent::Read
            | Intent::HideCard(_)
            | Intent::WatchPictures
            | Intent::ShowPictures(_)
            | Intent::EnlargePicture(_)
            | Intent::DrawPage(..)
    )
}

/// A pressure above what hose, regulator and tester of this tablet stand. The job itself
/// knows the rating of its layout alone.
pub(super) fn over_rating(events: &[Event], settings: &Settings) -> Option<Refusal> {
    let rating_bar = settings.lowest_rating_bar();
    events.iter().find_map(|event| match event {
        Event::AirOn { bar, .. } if *bar > rating_bar => Some(Refusal::OverRating {
            bar: *bar,
            rating_bar,
        }),
        _ => None,
    })
}
