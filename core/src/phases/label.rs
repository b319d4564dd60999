//! Which phase an event ends a stretch of.

use crate::engine::ValveName;
use crate::job::{Event, Reading, Stage, Step, TimedEvent};
use crate::plan::WorkPhase;

/// What an event says about the stretch that it ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Label {
    /// The stretch belongs to this phase.
    Phase(WorkPhase),
    /// A stage of a valve.
    Stage(ValveName, Stage),
    /// The stretch belongs to whatever comes next: a note, a signature of the tablet.
    Next,
    /// Nobody worked: the stretch ends with the job going on.
    Rest,
}

/// What an event says by itself; `None` for one that serves several phases: the crank,
/// the hose, the air and the covers of plug holes.
fn plain(event: &Event) -> Option<Label> {
    use WorkPhase::{ClearAndGate, ClosingUp, Lost, Prepare, SecondLeakDown, TakeIn};
    let phase = match event {
        Event::StageSeen { valve, stage, .. } => return Some(Label::Stage(*valve, *stage)),
        Event::Resumed {} => return Some(Label::Rest),
        Event::TakeInNoted(_) => TakeIn,
        Event::LeakRead { when, .. } => match when {
            Reading::Before => TakeIn,
            Reading::After => SecondLeakDown,
        },
        Event::StepSeen { step } if Step::BEFORE.contains(step) => Prepare,
        Event::StepSeen { .. } => ClosingUp,
        Event::KitCounted { .. }
        | Event::StockIssued { .. }
        | Event::CoverOff { .. }
        | Event::PlugOut { .. }
        | Event::PutAboard { .. }
        | Event::BreakawayMeasured { .. } => Prepare,
        Event::TakenOff { .. }
        | Event::PlugIn { .. }
        | Event::BlindCount { .. }
        | Event::BankClosed { .. }
        | Event::StockReturned { .. } => ClearAndGate,
        Event::PartFound { .. }
        | Event::SearchSigned { .. }
        | Event::ForemanAgreed { .. }
        | Event::ConflictResolved { .. } => Lost,
        Event::JobClosed { .. } | Event::JobStopped { .. } => ClosingUp,
        Event::WrenchOn {}
        | Event::WrenchOff {}
        | Event::CrankTurned { .. }
        | Event::VentedCoverIn { .. }
        | Event::VentedCoverOut { .. }
        | Event::HoseIn { .. }
        | Event::HoseOut { .. }
        | Event::AirOn { .. }
        | Event::AirOff { .. }
        | Event::HoldDeclared { .. }
        | Event::HoldReleased { .. } => return None,
        _ => return Some(Label::Next),
    };
    Some(Label::Phase(phase))
}

/// A label for every event. Crank, hose, air and covers of plug holes belong to what they
/// are for: to a leak-down that is read next, to preparing and clearing, or else to
/// setting a cylinder up. That holds whether a job reads its leak-down before the plugs
/// come out or after.
pub(super) fn labels(events: &[TimedEvent<'_>]) -> Vec<Label> {
    let mut labels = vec![Label::Next; events.len()];
    let is_stage = |event: &Event| matches!(event, Event::StageSeen { .. });
    let first_stage = events.iter().position(|e| is_stage(e.event));
    let last_stage = events.iter().rposition(|e| is_stage(e.event));
    let hand_turned = events.iter().position(
        |e| matches!(e.event, Event::StepSeen { step } if *step == Step::TurnedTwiceByHand),
    );
    let mut next: Option<WorkPhase> = None;
    for (at, timed) in events.iter().enumerate().rev() {
        let is_closed = hand_turned.is_some_and(|turned| at > turned);
        let plain = match timed.event {
            // The plugs come out once more for the second leak-down, and go in again.
            Event::PlugOut { .. } | Event::PlugIn { .. } if is_closed => {
                Some(Label::Phase(WorkPhase::SecondLeakDown))
            }
            event => plain(event),
        };
        if let Some(label) = plain {
            match label {
                Label::Phase(phase) => next = Some(phase),
                Label::Stage(..) => next = Some(WorkPhase::SetUp),
                Label::Next | Label::Rest => {}
            }
            labels[at] = label;
            continue;
        }
        let is_before = first_stage.is_none_or(|first| at < first);
        let is_after = last_stage.is_some_and(|last| at > last);
        let leaves = matches!(
            timed.event,
            Event::AirOff { .. } | Event::HoseOut { .. } | Event::HoldReleased { .. }
        );
        let phase = match next {
            Some(phase @ (WorkPhase::TakeIn | WorkPhase::SecondLeakDown)) => phase,
            Some(WorkPhase::Prepare) if is_before => WorkPhase::Prepare,
            Some(phase @ (WorkPhase::ClearAndGate | WorkPhase::ClosingUp))
                if is_after && !leaves =>
            {
                phase
            }
            // A vented cover in an untouched engine, with nothing after it yet.
            None if is_before && matches!(timed.event, Event::VentedCoverIn { .. }) => {
                WorkPhase::Prepare
            }
            _ => WorkPhase::SetUp,
        };
        labels[at] = Label::Phase(phase);
    }
    labels
}
