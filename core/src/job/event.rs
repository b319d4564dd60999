//! Every event of the work, as one closed enum.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{
    Caution, CountLine, CrankAt, Finding, FindingKind, FollowUp, HeardAt, HoldKind, PaperBatch,
    Person, Picture, Reading, Seal, SearchPlace, Sight, SignOff, Stage, Step, TakeIn,
};
use crate::engine::{Layout, ValveName};
use crate::parts::{Item, Place};

/// The longest free text of an event, in characters.
pub const TEXT_CHARS_MAX: usize = 2_000;

/// One event with all that is known about it: what the journal holds and the fold reads.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Identity of the event (UUID version 7).
    pub id: Uuid,
    /// The tablet that wrote it.
    pub tablet: Uuid,
    /// Wall clock of that tablet, milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Offset of that wall clock from UTC in minutes.
    pub offset_min: i16,
    /// Hybrid logical clock: milliseconds and a counter within them.
    pub clock: (u64, u32),
    /// The event (its tablet and identity) that this one was made after, where its clock does
    /// not say so: a clock that is far ahead is not followed.
    pub after: Option<Box<(Uuid, Uuid)>>,
    /// The event of this tablet that opened the batch, where the line was done on paper and
    /// entered later.
    pub paper: Option<Uuid>,
    /// The technician of the bay at the time; whoever enters it, where it comes from paper.
    pub who: Person,
    /// What happened.
    pub event: Event,
}

/// What is known when a job is opened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// The engine.
    pub layout: Layout,
    /// The vehicle, in the shop's words.
    pub vehicle: String,
    /// The customer's or the works order's number, as the shop writes it, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_number: Option<String>,
    /// The bay.
    pub bay: String,
    /// The technician.
    pub technician: Person,
}

/// Every event of the work.
///
/// In files the variant's name is the one key of an object (external tag).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[allow(missing_docs)] // The names of the fields say what they are, with their units.
pub enum Event {
    // --- the job as a whole
    /// The job is opened; always the first event.
    JobOpened(Box<Opening>),
    /// Another technician takes the bay over.
    TakenOver { by: SignOff },
    /// Work rests.
    Paused { why: String },
    /// Work goes on.
    Resumed {},
    /// A note in words.
    Noted { text: String },
    /// The job goes to another tablet.
    HandedOver { to_tablet: Uuid },
    /// A person has looked at a conflict. `seen` names what was seen; afterwards the state
    /// shows that. A loss and a closed bank take a second person.
    ConflictResolved {
        conflict: Uuid,
        by: SignOff,
        note: String,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        seen: Vec<Sight>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        second: Option<SignOff>,
    },
    /// A tablet signs all lines before.
    Sealed(Box<Seal>),
    /// An earlier event is taken back, signed where that takes signatures
    /// ([`super::JobState::signatures_to_take_back`]).
    Withdrawn {
        event: Uuid,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        by: Vec<SignOff>,
    },
    /// What follows was done on paper and is entered later, signed by whoever enters it.
    EnteredFromPaper(Box<PaperBatch>),
    /// The job is finished.
    JobClosed { by: SignOff },
    /// The job ends unfinished.
    JobStopped { by: SignOff, why: String },

    // --- before the first valve, and what is found
    /// What the customer and the vehicle say; a later one takes the place of an earlier.
    TakeInNoted(Box<TakeIn>),
    /// Oil was topped up. `on` is a date, year-month-day.
    OilToppedUp {
        on: String,
        odometer_km: f64,
        litres: f64,
    },
    /// A leak-down reading; gauge pressures in bar.
    LeakRead {
        cylinder: u8,
        when: Reading,
        supply_bar: f64,
        cylinder_bar: f64,
        heard: Vec<HeardAt>,
    },
    /// The foreman has seen a cylinder past the limit and lets the work go on.
    ForemanAgreed { cylinder: u8, by: SignOff },
    /// Breakaway torque of this very engine, plugs out.
    BreakawayMeasured { torque_nm: f64 },
    /// A short step before or after the work on the valves is seen.
    StepSeen { step: Step },
    /// A caution was read.
    CautionSeen { caution: Caution },
    /// Something was found on a valve or a cylinder.
    FindingNoted(Box<Finding>),
    /// What was seen of the vehicle after it left, signed by whoever enters it.
    FollowedUp { by: SignOff, seen: Box<FollowUp> },
    /// A photograph is added.
    PictureAdded(Box<Picture>),

    // --- parts and kit
    /// Kit is counted in.
    KitCounted { item: Item, count: u32 },
    /// New parts come from the store.
    StockIssued { item: Item, count: u32 },
    /// Unused new parts go back to the store.
    StockReturned { item: Item, count: u32 },
    /// A new part makes up for one that is adrift: stock to tray, a cover or a plug
    /// from stock to where they are laid aside.
    TakenFromStock { item: Item, count: u32 },
    /// A part in the tray that is not due home any more goes to the scrap box or to stock.
    PutAway { item: Item, count: u32, to: Place },
    /// Kit goes into or onto a bank.
    PutAboard { item: Item, bank: u8, count: u32 },
    /// Kit comes off a bank.
    TakenOff { item: Item, bank: u8, count: u32 },
    /// A part without a valve of its own, such as a gasket, is fitted: stock to home.
    PartUsed { item: Item, count: u32 },
    /// Old to scrap, new from stock: lock, retainer, spring or follower in the tray, or
    /// the new seal just fitted.
    PartReplaced {
        valve: ValveName,
        item: Item,
        count: u32,
    },
    /// Something fell: it is adrift from now on.
    PartDropped {
        item: Item,
        count: u32,
        from: Place,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bank: Option<u8>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        valve: Option<ValveName>,
    },
    /// At `valve` lies the follower or the shim that belongs to the valve `own`, so that
    /// the two are swapped.
    PartsSwapped {
        item: Item,
        valve: ValveName,
        own: ValveName,
    },
    /// Each of two parts that were swapped lies with its own valve again.
    SwapMended { swapped: Uuid },
    /// All that was dropped in one event is found again and goes to `to`.
    PartFound {
        dropped: Uuid,
        found_at: SearchPlace,
        to: Place,
    },
    /// Two people have searched everywhere and not found it.
    SearchSigned {
        dropped: Uuid,
        first: SignOff,
        second: SignOff,
        places: Vec<SearchPlace>,
    },
    /// One person's count of all that is laid out.
    BlindCount { by: SignOff, lines: Vec<CountLine> },

    // --- the engine
    /// The cover of a bank is lifted and laid aside.
    CoverOff { bank: u8 },
    /// The gate: the cover goes on.
    BankClosed { bank: u8, by: SignOff },
    /// A plug is out and laid aside.
    PlugOut { cylinder: u8 },
    /// A plug is in again.
    PlugIn { cylinder: u8 },
    /// A vented cover is in a plug hole.
    VentedCoverIn { cylinder: u8 },
    /// It is out and in the kit.
    VentedCoverOut { cylinder: u8 },
    /// The air hose is in a plug hole.
    HoseIn { cylinder: u8 },
    /// It is out and in the kit.
    HoseOut { cylinder: u8 },
    /// The wrench is on the crank.
    WrenchOn {},
    /// It is off and in the kit.
    WrenchOff {},
    /// The crank is at a cylinder's working position now. `from` is where it stood,
    /// if that was known.
    CrankTurned {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<CrankAt>,
        to: CrankAt,
        turn_deg: f64,
    },
    /// Air is on at a gauge pressure in bar.
    AirOn { cylinder: u8, bar: f64 },
    /// Air is off; `bar` is the pressure that was on.
    AirOff { cylinder: u8, bar: f64 },
    /// The regulator reads `bar` now; what was said of it before was `was_bar`.
    AirReadAnew {
        cylinder: u8,
        was_bar: f64,
        bar: f64,
    },
    /// The pressure has fallen away by itself: air holds nothing from now on.
    AirLost { cylinder: u8, was_bar: f64 },
    /// A mechanical hold keeps the valves of a cylinder up.
    HoldDeclared { cylinder: u8, hold: HoldKind },
    /// It is out.
    HoldReleased { cylinder: u8, hold: HoldKind },
    /// A stage of a valve is seen. `locks_dropped` locks (locks out) went adrift instead of
    /// into the tray; `seals_spoiled` new seals (seal fitted) went to the scrap box.
    StageSeen {
        valve: ValveName,
        stage: Stage,
        #[serde(default, skip_serializing_if = "is_zero", rename = "strays")]
        locks_dropped: u8,
        #[serde(default, skip_serializing_if = "is_zero", rename = "nicked")]
        seals_spoiled: u8,
    },
    /// The technician puts a cylinder off: it comes last in the order.
    CylinderPutOff { cylinder: u8 },
    /// The technician wants this cylinder next.
    CylinderWanted { cylinder: u8 },
}

impl Event {
    /// Taking an event back, where that takes no signature.
    pub fn taken_back(event: Uuid) -> Self {
        Event::Withdrawn {
            event,
            by: Vec::new(),
        }
    }

    /// Whether the event reports that something is adrift.
    pub fn tells_drop(&self) -> bool {
        match self {
            Event::PartDropped { .. } => true,
            Event::StageSeen { locks_dropped, .. } => *locks_dropped > 0,
            Event::FindingNoted(finding) => {
                matches!(finding.kind, FindingKind::SealTorn { missing } if missing > 0)
            }
            _ => false,
        }
    }

    /// The bank that the event is about, by index, if it is about one.
    pub fn bank(&self, layout: Option<&Layout>) -> Option<usize> {
        let of_cylinder = |cylinder: u8| layout.and_then(|l| l.bank_of(cylinder));
        match self {
            Event::CoverOff { bank }
            | Event::BankClosed { bank, .. }
            | Event::PutAboard { bank, .. }
            | Event::TakenOff { bank, .. } => Some(usize::from(*bank)),
            Event::StageSeen { valve, .. } | Event::PartReplaced { valve, .. } => {
                of_cylinder(valve.cylinder)
            }
            Event::PartDropped { bank, valve, .. } => {
                let named = bank.map(usize::from);
                named.or_else(|| valve.and_then(|v| of_cylinder(v.cylinder)))
            }
            _ => self.cylinder().and_then(of_cylinder),
        }
    }

    /// The cylinder that the event names; none for one that names a valve, or no place.
    pub fn cylinder(&self) -> Option<u8> {
        match self {
            Event::LeakRead { cylinder, .. }
            | Event::ForemanAgreed { cylinder, .. }
            | Event::PlugOut { cylinder }
            | Event::PlugIn { cylinder }
            | Event::VentedCoverIn { cylinder }
            | Event::VentedCoverOut { cylinder }
            | Event::HoseIn { cylinder }
            | Event::HoseOut { cylinder }
            | Event::AirOn { cylinder, .. }
            | Event::AirOff { cylinder, .. }
            | Event::AirReadAnew { cylinder, .. }
            | Event::AirLost { cylinder, .. }
            | Event::HoldDeclared { cylinder, .. }
            | Event::HoldReleased { cylinder, .. }
            | Event::CylinderPutOff { cylinder }
            | Event::CylinderWanted { cylinder } => Some(*cylinder),
            Event::CrankTurned { to, .. } => Some(to.cylinder),
            Event::FindingNoted(finding) => Some(finding.cylinder),
            _ => None,
        }
    }
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_zero(n: &u8) -> bool {
    *n == 0
}
