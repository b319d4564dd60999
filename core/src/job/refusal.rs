//! Refusals: every way in which an event can be turned down.

use uuid::Uuid;

use super::{CrankAt, Danger, HoldKind, Person, Stage};
use crate::engine::{LayoutFault, ValveName};
use crate::parts::{Item, Place, Shortfall};

/// Why an event is refused. Each variant has a permanent code ([`Refusal::code`]); its
/// sentences are with the words of each language.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // The names of the fields say what they are, with their units.
pub enum Refusal {
    // 1xx: the job as a whole
    NotOpened,
    AlreadyOpened,
    BadLayout {
        faults: usize,
        first: Box<LayoutFault>,
    },
    JobIsOver,
    JobIsPaused,
    NotPaused,
    TextTooLong {
        chars: usize,
    },
    BadFigure {
        figure: NotedFigure,
        value: String,
    },
    NoSuchCylinder {
        cylinder: u8,
    },
    NoSuchValve {
        valve: ValveName,
    },
    NoSuchBank {
        bank: u8,
    },
    NoSuchEvent {
        event: Uuid,
    },
    CannotWithdraw {
        event: Uuid,
    },
    NotTheLast {
        event: Uuid,
    },
    WithdrawalBreaks {
        rule: Invariant,
    },
    SignatureUsed {
        person: Person,
    },
    SamePerson {
        person: Person,
    },
    NoSuchConflict {
        conflict: Uuid,
    },
    BadSeal,
    SameIdentity {
        event: Uuid,
    },
    ForemanMustSee {
        cylinder: u8,
        loss_percent: f64,
    },
    NothingToAgree {
        cylinder: u8,
    },
    NothingSeen,
    NotAsSeen,
    SignaturesShort {
        needed: usize,
        signed: usize,
    },
    SaysNothing,
    BadPicture {
        rule: PictureRule,
    },
    PicturesFull {
        most: usize,
    },
    PaperAhead,
    PaperEarlier,
    PaperNotOpened {
        paper: Uuid,
    },
    NeverFromPaper,
    NotLeftYet,

    // 2xx: the engine
    CoverStillOn {
        bank: u8,
    },
    CoverAlreadyOff {
        bank: u8,
    },
    PlugStillIn {
        cylinder: u8,
    },
    PlugAlreadyOut {
        cylinder: u8,
    },
    PlugHoleTaken {
        cylinder: u8,
        by: Item,
    },
    NotInPlugHole {
        cylinder: u8,
        item: Item,
    },
    HoseInUse {
        cylinder: u8,
    },
    HoseNotIn {
        cylinder: u8,
    },
    AirStillOn {
        cylinder: u8,
    },
    AirNotOn {
        cylinder: u8,
    },
    HoldStillIn {
        cylinder: u8,
        hold: HoldKind,
    },
    HoldNotIn {
        cylinder: u8,
    },
    WrenchStillOn,
    WrenchNotOn,
    CrankElsewhere {
        cylinder: u8,
        at: Option<CrankAt>,
    },
    CrankMoved {
        at: Option<CrankAt>,
    },
    NotAWorkingPosition {
        at: CrankAt,
    },
    NotAtItsTop {
        at: CrankAt,
    },
    TurnsBack {
        turn_deg: f64,
    },
    TurnDoesNotLead {
        turn_deg: f64,
        wanted_deg: f64,
    },
    SpringHeldNow {
        valve: ValveName,
    },
    ValveUnlocked {
        valve: ValveName,
    },
    OverRating {
        bar: f64,
        rating_bar: f64,
    },
    LookFirst {
        danger: Danger,
    },

    // 3xx: the valve
    OutOfTurn {
        valve: ValveName,
        asked: Stage,
        next: Option<Stage>,
    },
    NothingHolds {
        valve: ValveName,
    },
    TooManyLocksDropped {
        locks_dropped: u8,
        most: u8,
    },
    StopperMissing {
        bank: u8,
        wanted: u32,
        aboard: u32,
    },
    HoleOpen {
        cylinder: u8,
    },
    AlreadyVerified {
        cylinder: u8,
    },
    PartsSwapped {
        item: Item,
        valve: ValveName,
        own: ValveName,
    },
    ValveCannotHaveFallen {
        cylinder: u8,
        valve: Option<ValveName>,
    },
    StopOverOpenValve {
        valve: ValveName,
    },

    // 4xx: parts
    Short {
        shortfall: Shortfall,
    },
    BadCount {
        count: u32,
    },
    NotReplaceable {
        item: Item,
    },
    PartIsHome {
        item: Item,
        valve: ValveName,
    },
    BadMove {
        item: Item,
        from: Place,
        to: Place,
    },
    NoSuchDrop {
        dropped: Uuid,
    },
    NotAdrift {
        dropped: Uuid,
    },
    SearchIncomplete {
        missing: usize,
    },
    NotKit {
        item: Item,
    },
    NotOfOneValve {
        item: Item,
    },
    NoSuchSwap {
        swapped: Uuid,
    },

    // 5xx: the gate
    GateValves {
        bank: u8,
        unverified: usize,
        first: ValveName,
    },
    GateLoose {
        item: Item,
        count: u32,
    },
    GateAboard {
        bank: u8,
        item: Item,
        count: u32,
    },
    GatePlugsOut {
        bank: u8,
        cylinder: u8,
    },
    GateAdrift {
        item: Item,
        count: u32,
    },
    GateWrench,
    GateNotCounted {
        counts: usize,
    },
    GateCountsDiffer {
        item: Item,
        place: Place,
    },
    GateCountOff {
        item: Item,
        place: Place,
    },
    GateConflict {
        conflicts: usize,
    },
    GateNotConfirmed {
        journals: usize,
    },
    GateBankOpen {
        bank: u8,
    },
    GateKitOut {
        item: Item,
        count: u32,
    },
}

/// The invariants of the job that a state either keeps or breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Invariant {
    /// The places add up to what came in.
    Conserved,
    /// An unlocked valve is held by air or mechanically.
    Held,
    /// The crank is not turned while a valve is unlocked, a spring held or air on.
    Still,
    /// No air while the wrench is on the crank.
    WrenchOff,
    /// The stages of a valve come in order.
    InTurn,
    /// No cover on while the gate is shut.
    Gate,
    /// What was reported lost stays lost until it is found, searched for or looked at.
    Told,
}

/// A figure that is noted, for which there is a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // As the figure is named in files; the rules check it.
pub enum NotedFigure {
    DistanceKm,
    LitresSince,
    Litres,
    OdometerKm,
    TorqueNm,
    SupplyBar,
    CylinderBar,
    RockMm,
    LengthMm,
    TurnDeg,
    Bar,
    Sha256,
}

/// What a picture has to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureRule {
    /// Named by two SHA-256 of 64 hex digits.
    Named,
    /// No larger than [`PICTURE_BYTES_MAX`](super::PICTURE_BYTES_MAX).
    Size,
    /// Copied to no more than [`COPY_BYTES_MAX`](super::COPY_BYTES_MAX).
    CopySize,
}

impl Refusal {
    /// The permanent code: `R` and three digits. A code is never given a second meaning.
    #[expect(clippy::too_many_lines, reason = "a table: one row a refusal")]
    pub fn code(&self) -> &'static str {
        use Refusal as R;
        match self {
            R::NotOpened => "R101",
            R::AlreadyOpened => "R102",
            R::BadLayout { .. } => "R103",
            R::JobIsOver => "R104",
            R::JobIsPaused => "R105",
            R::NotPaused => "R106",
            R::TextTooLong { .. } => "R107",
            R::BadFigure { .. } => "R108",
            R::NoSuchCylinder { .. } => "R109",
            R::NoSuchValve { .. } => "R110",
            R::NoSuchBank { .. } => "R111",
            R::NoSuchEvent { .. } => "R112",
            R::CannotWithdraw { .. } => "R113",
            R::NotTheLast { .. } => "R114",
            R::WithdrawalBreaks { .. } => "R115",
            R::SignatureUsed { .. } => "R116",
            R::SamePerson { .. } => "R117",
            R::NoSuchConflict { .. } => "R118",
            R::SameIdentity { .. } => "R122",
            R::BadSeal => "R119",
            R::ForemanMustSee { .. } => "R120",
            R::NothingToAgree { .. } => "R121",
            R::NothingSeen => "R123",
            R::NotAsSeen => "R124",
            R::SignaturesShort { .. } => "R125",
            R::SaysNothing => "R130",
            R::BadPicture { .. } => "R131",
            R::PicturesFull { .. } => "R132",
            R::PaperAhead => "R133",
            R::PaperEarlier => "R134",
            R::PaperNotOpened { .. } => "R135",
            R::NeverFromPaper => "R136",
            R::NotLeftYet => "R137",
            R::CoverStillOn { .. } => "R201",
            R::CoverAlreadyOff { .. } => "R202",
            R::PlugStillIn { .. } => "R203",
            R::PlugAlreadyOut { .. } => "R204",
            R::PlugHoleTaken { .. } => "R205",
            R::NotInPlugHole { .. } => "R206",
            R::HoseInUse { .. } => "R207",
            R::HoseNotIn { .. } => "R208",
            R::AirStillOn { .. } => "R209",
            R::AirNotOn { .. } => "R210",
            R::HoldStillIn { .. } => "R211",
            R::HoldNotIn { .. } => "R212",
            R::WrenchStillOn => "R213",
            R::WrenchNotOn => "R214",
            R::CrankElsewhere { .. } => "R215",
            R::CrankMoved { .. } => "R216",
            R::NotAWorkingPosition { .. } => "R217",
            R::TurnsBack { .. } => "R218",
            R::TurnDoesNotLead { .. } => "R219",
            R::SpringHeldNow { .. } => "R220",
            R::ValveUnlocked { .. } => "R221",
            R::OverRating { .. } => "R222",
            R::NotAtItsTop { .. } => "R223",
            R::LookFirst { .. } => "R224",
            R::OutOfTurn { .. } => "R301",
            R::NothingHolds { .. } => "R302",
            R::TooManyLocksDropped { .. } => "R303",
            R::StopperMissing { .. } => "R304",
            R::HoleOpen { .. } => "R305",
            R::AlreadyVerified { .. } => "R306",
            R::PartsSwapped { .. } => "R307",
            R::ValveCannotHaveFallen { .. } => "R308",
            R::StopOverOpenValve { .. } => "R309",
            R::Short { .. } => "R401",
            R::BadCount { .. } => "R402",
            R::NotReplaceable { .. } => "R403",
            R::PartIsHome { .. } => "R404",
            R::BadMove { .. } => "R405",
            R::NoSuchDrop { .. } => "R406",
            R::NotAdrift { .. } => "R407",
            R::SearchIncomplete { .. } => "R408",
            R::NotKit { .. } => "R409",
            R::NotOfOneValve { .. } => "R410",
            R::NoSuchSwap { .. } => "R411",
            R::GateValves { .. } => "R501",
            R::GateLoose { .. } => "R502",
            R::GateAboard { .. } => "R503",
            R::GatePlugsOut { .. } => "R504",
            R::GateAdrift { .. } => "R505",
            R::GateWrench => "R506",
            R::GateNotCounted { .. } => "R507",
            R::GateCountsDiffer { .. } => "R508",
            R::GateCountOff { .. } => "R509",
            R::GateConflict { .. } => "R510",
            R::GateBankOpen { .. } => "R511",
            R::GateKitOut { .. } => "R512",
            R::GateNotConfirmed { .. } => "R513",
        }
    }

    /// Every code that is in use, in order.
    pub const CODES: [&'static str; 90] = [
        "R101", "R102", "R103", "R104", "R105", "R106", "R107", "R108", "R109", "R110", "R111",
        "R112", "R113", "R114", "R115", "R116", "R117", "R118", "R119", "R120", "R121", "R122",
        "R123", "R124", "R125", "R130", "R131", "R132", "R133", "R134", "R135", "R136", "R137",
        "R201", "R202", "R203", "R204", "R205", "R206", "R207", "R208", "R209", "R210", "R211",
        "R212", "R213", "R214", "R215", "R216", "R217", "R218", "R219", "R220", "R221", "R222",
        "R223", "R224", "R301", "R302", "R303", "R304", "R305", "R306", "R307", "R308", "R309",
        "R401", "R402", "R403", "R404", "R405", "R406", "R407", "R408", "R409", "R410", "R411",
        "R501", "R502", "R503", "R504", "R505", "R506", "R507", "R508", "R509", "R510", "R511",
        "R512", "R513",
    ];
}
