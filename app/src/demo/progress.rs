//! One played job told in short lines, for a screen of text.

use trayzero_core::job::{Event, JobState, Refusal, Stage};

use super::Moment;
use crate::ui::words::EN;

/// What there is to say about a moment; often nothing. A tap is told by the first of its events
/// that is worth a line.
pub fn lines(moment: &Moment<'_>) -> Vec<String> {
    match moment {
        Moment::Taken(state, events) => {
            let mut told = events.iter().filter_map(|event| line(state, event));
            told.next().into_iter().collect()
        }
        Moment::GateRefused(_, holds) => refused(holds),
    }
}

fn line(state: &JobState, event: &Event) -> Option<String> {
    let deed = EN.deed(event);
    Some(match event {
        Event::PartDropped { .. } | Event::PartFound { .. } => {
            format!("{deed}; {} adrift", state.adrift())
        }
        Event::StageSeen {
            stage: Stage::Verified,
            ..
        } => {
            let (verified, all) = (state.verified_count(), state.valves().count());
            format!("{deed}, {verified} of {all}")
        }
        Event::TakeInNoted(_)
        | Event::LeakRead { .. }
        | Event::Paused { .. }
        | Event::StepSeen { .. }
        | Event::KitCounted { .. }
        | Event::StockIssued { .. }
        | Event::CoverOff { .. }
        | Event::PlugOut { .. }
        | Event::PlugIn { .. }
        | Event::CrankTurned { .. }
        | Event::AirOn { .. }
        | Event::PutAway { .. }
        | Event::BlindCount { .. }
        | Event::BankClosed { .. }
        | Event::JobClosed { .. } => deed,
        _ => return None,
    })
}

fn refused(holds: &[Refusal]) -> Vec<String> {
    let mut lines = vec!["the gate refuses:".to_owned()];
    lines.extend(holds.iter().map(|hold| {
        let (why, way_out) = (EN.refusal_why(hold), EN.refusal_way_out(hold));
        format!("  {} {why} {way_out}", hold.code())
    }));
    lines
}
