//! The course of a job, worked out anew from its events: what it was opened as, since when it
//! rests, when it ended, and where the crank stands.

use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, Entry, Event, JobState};

/// Tells the first difference between these events, of which some stand, and what the job shows.
pub(super) fn differs(
    all: &[Entry],
    stands: impl Fn(&Entry) -> bool,
    job: &JobState,
) -> Option<String> {
    let first = all.first()?;
    // A clock may have been set back meanwhile.
    let last_ms = all.iter().map(|entry| entry.at_ms).max()?;
    let Event::JobOpened(opening) = &first.event else {
        return Some("no opening".to_owned());
    };
    let (mut rests, mut ended) = (None, None);
    for entry in all.iter().filter(|entry| stands(entry)) {
        match entry.event {
            Event::Paused { .. } => rests = Some(entry.at_ms),
            Event::Resumed {} => rests = None,
            Event::JobClosed { .. } | Event::JobStopped { .. } => ended = Some(entry.at_ms),
            _ => (),
        }
    }
    let told = (
        (
            opening.order_number.as_deref(),
            &*opening.vehicle,
            &*opening.bay,
        ),
        (first.at_ms, last_ms, rests, ended),
        ended.is_some(),
    );
    let shown = (
        (job.order_number(), job.vehicle(), job.bay()),
        (
            job.started_ms(),
            job.last_ms(),
            job.paused_since_ms(),
            job.ended_ms(),
        ),
        job.phase().is_over(),
    );
    if told != shown {
        return Some(format!("{told:?}, not {shown:?}"));
    }
    let told = job.crank().map(|at| crank_deg(&opening.layout, at));
    let shown = job.crank_deg();
    let is_near = match (told, shown) {
        (Some(told), Some(shown)) => (told - shown).abs() < 1e-9,
        (told, shown) => told == shown,
    };
    (!is_near).then(|| format!("the crank is at {told:?}, not at {shown:?}"))
}

/// Degrees after the first cylinder's top: the steps of the firing order up to this cylinder, and
/// its own on top. After two turns the engine is where it was.
fn crank_deg(layout: &Layout, at: CrankAt) -> f64 {
    let order = &layout.firing_order;
    let even = vec![720.0 / order.len() as f64; order.len()];
    let steps = layout.firing_intervals_deg.as_ref().unwrap_or(&even);
    let before = order
        .iter()
        .zip(steps)
        .take_while(|(fires, _)| **fires != at.cylinder);
    let top: f64 = before.map(|(_, step)| step).sum();
    (top + at.offset_deg).rem_euclid(720.0)
}
