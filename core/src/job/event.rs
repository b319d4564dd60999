//! Every event of the work, as one closed enum.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::Stage;
use crate::engine::{Layout, ValveName};
use crate::parts::{Item, Place};

/// The longest free text of an event, in characters.
pub const TEXT_CHARS_MAX: usize = 2_000;

/// A person of the crew, by the name the crew list has.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Person(pub Arc<str>);

impl Person {
    /// A person of that name.
    pub fn new(name: &str) -> Self {
        Self(Arc::from(name))
    }
}

impl fmt::Display for Person {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

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
    /// The technician of the bay at the time.
    pub who: Person,
    /// What happened.
    pub event: Event,
}

/// A signature by code: who, and the one entering of the code that it rests on.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignOff {
    /// Who entered the code.
    pub person: Person,
    /// Identity of that one entering; it counts for one signature only.
    pub entering: Uuid,
}

/// What is known when a job is opened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// The engine.
    pub layout: Layout,
    /// The vehicle, in the shop's words.
    pub vehicle: String,
    /// The bay.
    pub bay: String,
    /// The technician.
    pub technician: Person,
}

/// When the exhaust smokes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Smoke {
    ColdStart,
    AfterIdling,
    OnOverrun,
    UnderLoad,
    Never,
}

/// What the customer and the vehicle say at take-in.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakeIn {
    /// The complaint, in words.
    pub complaint: String,
    /// Odometer in kilometres, where read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer_km: Option<f64>,
    /// Fault codes as text.
    #[serde(default)]
    pub codes: Vec<String>,
    /// When it smokes.
    #[serde(default)]
    pub smoke: Vec<Smoke>,
    /// What else was seen.
    #[serde(default)]
    pub seen: String,
}

/// Before or after the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Reading {
    Before,
    After,
}

/// Where leaking air is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum HeardAt {
    Intake,
    Exhaust,
    OilFiller,
    Coolant,
    NextPlugHole,
}

/// What holds the valves of a cylinder instead of air.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HoldKind {
    /// A soft cord fed into the cylinder, piston turned up against it.
    Cord,
    /// The piston itself at its top, close under the valves.
    Piston,
    /// A prop through the plug hole.
    Prop,
}

/// Places of the search list, in the order searched, and where else things turn up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SearchPlace {
    /// Plug hole, by borescope.
    PlugHole,
    /// Oil return passages.
    OilReturn,
    /// Oil sump.
    Sump,
    /// Timing cavity.
    TimingCavity,
    /// Bench and floor.
    BenchAndFloor,
    /// On the head, among the springs.
    OnTheHead,
    /// On the person: cuff, glove, magnet.
    OnThePerson,
}

impl SearchPlace {
    /// The places that must be searched before a part may be signed off as unfound.
    pub const LIST: [SearchPlace; 5] = [
        SearchPlace::PlugHole,
        SearchPlace::OilReturn,
        SearchPlace::Sump,
        SearchPlace::TimingCavity,
        SearchPlace::BenchAndFloor,
    ];
}

/// Short steps before the first valve and after the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Step {
    EngineCold,
    BatteryOff,
    ConnectorsOff,
    TubesOff,
    TurnedTwiceByHand,
    ConnectorsOn,
    BatteryOn,
    OilFilled,
    FirstStart,
    SmokeWatched,
    CodesCleared,
}

impl Step {
    /// Steps before the first valve, in order.
    pub const BEFORE: [Step; 4] = [
        Step::EngineCold,
        Step::BatteryOff,
        Step::ConnectorsOff,
        Step::TubesOff,
    ];
    /// Steps after the covers are on, in order.
    pub const AFTER: [Step; 7] = [
        Step::TurnedTwiceByHand,
        Step::ConnectorsOn,
        Step::BatteryOn,
        Step::OilFilled,
        Step::FirstStart,
        Step::SmokeWatched,
        Step::CodesCleared,
    ];
}

/// Cautions that are acknowledged once a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// Eye protection: a spring is pressed.
    Spring,
    /// Hands and handles clear of the crank: air goes on.
    Air,
    /// Nothing unlocked, no air: the crank is turned.
    Crank,
    /// Hot, fuel-wet or pressurised parts.
    Heat,
    /// Battery off before connectors.
    Battery,
}

/// What was found on a valve or a cylinder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// Cylinder it concerns.
    pub cylinder: u8,
    /// Valve it concerns, if one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<ValveName>,
    /// What was found.
    pub kind: FindingKind,
    /// More words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub text: String,
}

/// Kinds of findings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum FindingKind {
    /// Scored stem.
    ScoredStem,
    /// Worn guide: the stem rocks by so much in all at its tip.
    WornGuide {
        /// Total rock at the tip, millimetres.
        rock_mm: f64,
    },
    /// Broken spring.
    BrokenSpring,
    /// Short spring: free or seated length below the other springs'.
    ShortSpring {
        /// Length as measured, millimetres.
        length_mm: f64,
    },
    /// Damaged lock groove.
    DamagedGroove,
    /// The old seal came off torn; `missing` pieces do not make it whole.
    SealTorn {
        /// Pieces that are missing: they are adrift from now on.
        missing: u32,
    },
    /// Anything else, in words.
    Other,
}

/// One line of a blind count: how many of an item one person sees laid out.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CountLine {
    /// The item.
    pub item: Item,
    /// Where it is laid out: kit, tray, scrap, stock or aside.
    pub place: Place,
    /// How many are seen.
    pub count: u32,
}

/// A tablet's signature over the link before this line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// The tablet's public key (ed25519), 64 hex digits.
    pub key: String,
    /// Signature over the 32 bytes of the previous link, 128 hex digits.
    pub signature: String,
}

/// Every event of the work.
///
/// In files the variant's name is the one key of an object (external tag).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[allow(missing_docs)]
pub enum Event {
    // --- the job as a whole
    /// The job is opened; always the first event.
    JobOpened(Box<Opening>),
    /// Another technician takes the bay over.
    TakenOver {
        by: SignOff,
    },
    /// Work rests.
    Paused {
        why: String,
    },
    /// Work goes on.
    Resumed {},
    /// A note in words.
    Noted {
        text: String,
    },
    /// The job goes to another tablet.
    HandedOver {
        to_tablet: Uuid,
    },
    /// A person has looked at a conflict; what the screen shows now is what is true.
    ConflictResolved {
        conflict: Uuid,
        by: SignOff,
        note: String,
    },
    /// A tablet signs all lines before.
    Sealed(Box<Seal>),
    /// An earlier event is taken back.
    Withdrawn {
        event: Uuid,
    },
    /// The job is finished.
    JobClosed {
        by: SignOff,
    },
    /// The job ends unfinished.
    JobStopped {
        by: SignOff,
        why: String,
    },

    // --- before the first valve, and what is found
    TakeInNoted(Box<TakeIn>),
    /// Oil was topped up. `on` is a date, year-month-day.
    OilToppedUp {
        on: String,
        odometer_km: f64,
        litres: f64,
    },
    LeakRead {
        cylinder: u8,
        when: Reading,
        supply_bar: f64,
        cylinder_bar: f64,
        heard: Vec<HeardAt>,
    },
    /// The foreman has seen a cylinder past the limit and lets the work go on.
    ForemanAgreed {
        cylinder: u8,
        by: SignOff,
    },
    /// Breakaway torque of this very engine, plugs out.
    BreakawayMeasured {
        torque_nm: f64,
    },
    StepSeen {
        step: Step,
    },
    CautionSeen {
        caution: Caution,
    },
    FindingNoted(Box<Finding>),

    // --- parts and kit
    /// Kit is counted in.
    KitCounted {
        item: Item,
        count: u32,
    },
    /// New parts come from the store.
    StockIssued {
        item: Item,
        count: u32,
    },
    /// Unused new parts go back to the store.
    StockReturned {
        item: Item,
        count: u32,
    },
    /// A new part makes up for one that is adrift: stock to tray, a cover or a plug
    /// from stock to where they are laid aside.
    TakenFromStock {
        item: Item,
        count: u32,
    },
    /// A part in the tray that is not due home any more goes to the scrap box or to stock.
    PutAway {
        item: Item,
        count: u32,
        to: Place,
    },
    /// Kit goes into or onto a bank.
    PutAboard {
        item: Item,
        bank: u8,
        count: u32,
    },
    /// Kit comes off a bank.
    TakenOff {
        item: Item,
        bank: u8,
        count: u32,
    },
    /// A part without a valve of its own, such as a gasket, is fitted: stock to home.
    PartUsed {
        item: Item,
        count: u32,
    },
    /// Old to scrap, new from stock: lock, retainer, spring or follower in the tray, or
    /// the new seal just fitted.
    PartReplaced {
        valve: ValveName,
        item: Item,
        count: u32,
    },
    PartDropped {
        item: Item,
        count: u32,
        from: Place,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bank: Option<u8>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        valve: Option<ValveName>,
    },
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
    BlindCount {
        by: SignOff,
        lines: Vec<CountLine>,
    },

    // --- the engine
    CoverOff {
        bank: u8,
    },
    /// The gate: the cover goes on.
    BankClosed {
        bank: u8,
        by: SignOff,
    },
    PlugOut {
        cylinder: u8,
    },
    PlugIn {
        cylinder: u8,
    },
    VentedCoverIn {
        cylinder: u8,
    },
    VentedCoverOut {
        cylinder: u8,
    },
    HoseIn {
        cylinder: u8,
    },
    HoseOut {
        cylinder: u8,
    },
    WrenchOn {},
    WrenchOff {},
    /// The crank is at a cylinder's working position now. `from` is where it stood,
    /// if that was known.
    CrankTurned {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<super::CrankAt>,
        to: super::CrankAt,
        turn_deg: f64,
    },
    AirOn {
        cylinder: u8,
        bar: f64,
    },
    AirOff {
        cylinder: u8,
        bar: f64,
    },
    HoldDeclared {
        cylinder: u8,
        hold: HoldKind,
    },
    HoldReleased {
        cylinder: u8,
        hold: HoldKind,
    },
    /// A stage of a valve is seen. `strays` locks (locks out) went adrift instead of
    /// into the tray; `nicked` new seals (seal fitted) went to the scrap box.
    StageSeen {
        valve: ValveName,
        stage: Stage,
        #[serde(default, skip_serializing_if = "is_zero")]
        strays: u8,
        #[serde(default, skip_serializing_if = "is_zero")]
        nicked: u8,
    },
    /// The technician puts a cylinder off: it comes last in the order.
    CylinderPutOff {
        cylinder: u8,
    },
    /// The technician wants this cylinder next.
    CylinderWanted {
        cylinder: u8,
    },
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_zero(n: &u8) -> bool {
    *n == 0
}
