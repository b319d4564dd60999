//! The sheets that there are, and the one that a step needs.

use trayzero_core::job::{Caution, NextStep, PictureOf, Reading};
use uuid::Uuid;

use crate::ui::intent::SignedAct;

/// Which sheet lies open.
#[derive(Clone, Debug, PartialEq)]
pub enum Sheet {
    /// A caution, to be read once a job.
    Caution(Caution),
    /// Air on in a cylinder.
    Air(u8),
    /// Air that is on in a cylinder: its reading, its loss, what takes over.
    AirNow(u8),
    /// A mechanical hold of a cylinder instead of air.
    Hold(u8),
    /// A leak-down reading.
    Leak(u8, Reading),
    /// Something fell.
    Drop,
    /// What is adrift: find it, or search and sign.
    Adrift,
    /// A part is changed, taken from stock, put away, issued.
    Part,
    /// The kit list, to be counted in.
    Kit,
    /// Where everything is.
    Parts,
    /// The close-up gate of a bank.
    Gate(u8),
    /// One person's blind count for a bank's gate.
    Count(u8),
    /// A code.
    Sign(SignedAct),
    /// The other things a bay can do.
    More,
    /// The crank: dial, order, turning.
    Crank,
    /// A note or a rest, in words.
    Talk(TalkKind),
    /// A finding.
    Finding,
    /// Take-in and evidence.
    TakeIn,
    /// A picture is added, there unless somebody says otherwise.
    Picture(PictureOf),
    /// All pictures.
    Pictures,
    /// One picture in the place of engine and panel, by its event.
    Enlarged(Uuid),
    /// The order list.
    OrderList,
    /// Steps before and after.
    Steps,
    /// Where the time goes.
    Hours,
    /// Conflicts between tablets.
    Conflicts,
    /// Where we are: for whoever comes back or takes over.
    Card,
    /// Another tablet takes the job.
    HandOver,
    /// What was done on paper is entered.
    Paper,
    /// What was seen after the vehicle left.
    FollowUp,
}

/// What the words of a talk are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TalkKind {
    /// A note.
    Note,
    /// Work rests.
    Rest,
    /// The job ends unfinished.
    Stop,
}

/// The sheet that a step needs, where it is more than a tap.
pub fn sheet_of(step: &NextStep) -> Option<Sheet> {
    Some(match step {
        NextStep::LookFirst { .. } => Sheet::Conflicts,
        NextStep::FindPart { .. } => Sheet::Adrift,
        NextStep::TakeIn => Sheet::TakeIn,
        NextStep::CountKit => Sheet::Kit,
        NextStep::ReadLeak { cylinder, when } => Sheet::Leak(*cylinder, *when),
        NextStep::AskForeman { cylinder } => Sheet::Sign(SignedAct::ForemanAgrees(*cylinder)),
        NextStep::AirOn { cylinder } => Sheet::Air(*cylinder),
        NextStep::Gate { bank } => Sheet::Gate(*bank),
        NextStep::CloseJob => Sheet::Sign(SignedAct::CloseJob),
        _ => return None,
    })
}
