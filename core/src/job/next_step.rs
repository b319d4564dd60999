//! The steps that may come next, and the caution that each calls for.

use super::{Caution, CrankAt, Danger, Reading, Stage, Step};
use crate::engine::ValveName;

/// The one next step. [`super::JobState::next_step`] proposes it,
/// [`super::JobState::events_of`] turns the tap on it into events. Banks are indices,
/// cylinders are numbers.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // The names of the fields say what they are, with their units.
pub enum NextStep {
    /// Two tablets disagree about something dangerous: look at the engine.
    LookFirst { danger: Danger },
    /// Resume the resting job.
    Resume,
    /// A part is adrift: find it, or search and sign, before anything else is opened.
    FindPart { dropped: uuid::Uuid },
    /// Two parts lie with each other's valve: lay each with its own.
    MendSwap { swapped: uuid::Uuid },
    /// What the customer and the vehicle say, before anything is touched.
    TakeIn,
    /// A short step before the first valve, or after the last.
    See(Step),
    /// Count the kit in; how many kinds are still to count.
    CountKit,
    /// Read the leak-down of a cylinder.
    ReadLeak { cylinder: u8, when: Reading },
    /// A cylinder past the limit: the foreman must see it.
    AskForeman { cylinder: u8 },
    /// New seals are short: issue so many.
    IssueSeals { count: u32 },
    /// Plugs out, vented covers in, all over the bank.
    PlugsOut { bank: u8 },
    /// Lift the cover of a bank.
    LiftCover { bank: u8 },
    /// Put the bank's stoppers in.
    StoppersIn { bank: u8, count: u32 },
    /// Turn the crank to a cylinder's working position.
    Turn { to: CrankAt, turn_deg: f64 },
    /// The wrench is on the crank and should come off.
    WrenchOff,
    /// Vented cover out, hose in.
    HoseIn { cylinder: u8 },
    /// Air on.
    AirOn { cylinder: u8 },
    /// The next stage of a valve.
    SeeStage { valve: ValveName, stage: Stage },
    /// Air off.
    AirOff { cylinder: u8 },
    /// Hose out, vented cover in.
    HoseOut { cylinder: u8 },
    /// Mechanical hold out.
    ReleaseHold { cylinder: u8 },
    /// Everything off the bank: vented covers out, plugs in, stoppers and the rest to the kit.
    ClearBank { bank: u8 },
    /// The gate of the bank: counts, then the cover.
    Gate { bank: u8 },
    /// Every bank is closed and every step seen.
    CloseJob,
    /// Nothing is left to do.
    Nothing,
}

impl NextStep {
    /// The caution that a person reads once a job before they take the step.
    pub fn caution(&self) -> Option<Caution> {
        match self {
            NextStep::SeeStage { stage, .. } => match stage {
                Stage::Positioned | Stage::SpringHeld | Stage::LocksOut | Stage::LocksIn => {
                    Some(Caution::Spring)
                }
                Stage::SealFitted | Stage::Verified => None,
            },
            NextStep::AirOn { .. } => Some(Caution::Air),
            NextStep::Turn { .. } => Some(Caution::Crank),
            NextStep::PlugsOut { .. } => Some(Caution::Heat),
            NextStep::See(step) => (*step == Step::ConnectorsOff).then_some(Caution::Battery),
            NextStep::LookFirst { .. }
            | NextStep::Resume
            | NextStep::FindPart { .. }
            | NextStep::MendSwap { .. }
            | NextStep::TakeIn
            | NextStep::CountKit
            | NextStep::ReadLeak { .. }
            | NextStep::AskForeman { .. }
            | NextStep::IssueSeals { .. }
            | NextStep::LiftCover { .. }
            | NextStep::StoppersIn { .. }
            | NextStep::WrenchOff
            | NextStep::HoseIn { .. }
            | NextStep::AirOff { .. }
            | NextStep::HoseOut { .. }
            | NextStep::ReleaseHold { .. }
            | NextStep::ClearBank { .. }
            | NextStep::Gate { .. }
            | NextStep::CloseJob
            | NextStep::Nothing => None,
        }
    }
}
