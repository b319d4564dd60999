//! What a screen may ask for. Screens read and propose; one function carries out.

use std::collections::BTreeSet;
use std::path::PathBuf;

use trayzero_core::engine::Layout;
use trayzero_core::job::{
    CountLine, Event, FollowUp, Opening, PaperSheet, Person, Picture, PictureOf, SearchPlace, Sight,
};
use trayzero_core::journal::Link;
use trayzero_core::shop_log::{Role, StrangerFile, TabletCard};
use uuid::Uuid;

use crate::data::settings::Settings;
use crate::ui::first_use::FirstUse;

/// The screens.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Screen {
    /// The bays of this tablet.
    #[default]
    Bays,
    /// A new job.
    NewJob,
    /// The open job at the fender.
    Bay,
    /// All bays of the shop.
    Board,
    /// The engine layouts and their editor.
    Layouts,
    /// Settings, crew, backup.
    Settings,
    /// A record from a file.
    Record,
}

/// A sheet of paper as it is to be entered.
#[derive(Clone, Debug, PartialEq)]
pub struct PaperEntry {
    /// What is ticked and written.
    pub sheet: PaperSheet,
    /// Who has done it, as the paper says.
    pub done_by: Person,
    /// Up to when, as the paper says: wall clock in milliseconds.
    pub done_ms: i64,
    /// Offset of that clock from UTC in minutes.
    pub done_offset_min: i16,
}

/// What a signature is for.
#[derive(Clone, Debug, PartialEq)]
pub enum SignedAct {
    /// One person's blind count.
    Count(Vec<CountLine>),
    /// The cover of a bank goes on.
    CloseBank(u8),
    /// The job is finished.
    CloseJob,
    /// The job ends unfinished.
    StopJob(String),
    /// The signer takes the bay over.
    TakeOver,
    /// The foreman has seen a cylinder past the limit.
    ForemanAgrees(u8),
    /// Two people have searched everywhere.
    Search(Uuid, Vec<SearchPlace>),
    /// Somebody has looked at a conflict.
    ResolveConflict {
        /// The conflict's event.
        conflict: Uuid,
        /// What was seen.
        seen: Vec<Sight>,
        /// It takes a second person: a foreman, or one who has counted.
        by_two: bool,
    },
    /// What was done on paper is entered.
    Paper(Box<PaperEntry>),
    /// What was seen after the vehicle left.
    FollowUp(Box<FollowUp>),
    /// An event is taken back that takes so many signatures.
    TakeBack(Uuid, usize),
}

impl SignedAct {
    /// How many different people must sign.
    pub fn signers(&self) -> usize {
        match self {
            SignedAct::Search(..) => 2,
            SignedAct::ResolveConflict { by_two, .. } => 1 + usize::from(*by_two),
            SignedAct::TakeBack(_, signers) => *signers,
            _ => 1,
        }
    }

    /// Whether only a foreman may sign.
    pub fn needs_foreman(&self) -> bool {
        matches!(self, SignedAct::ForemanAgrees(_))
    }
}

/// A code as typed. It never shows itself, not even in a crash text.
#[derive(Clone, PartialEq, Eq, Default)]
pub struct TypedCode(pub String);

impl std::fmt::Debug for TypedCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("TypedCode(..)")
    }
}

/// What a foreman agrees to about the crew and the shop's tablets.
#[derive(Clone, Debug, PartialEq)]
pub enum ShopChange {
    /// A person gets another role.
    Role(Person, Role),
    /// A person leaves.
    Remove(Person),
    /// The crew of the version before is taken over, with these tablets.
    TakeOver(BTreeSet<Uuid>),
    /// This tablet, which has a crew of its own, joins the shop with this key.
    Join(Link),
    /// This tablet goes on from a backup and comes back.
    ComeBack,
    /// A tablet is admitted, or goes on with another key.
    Admit(Box<TabletCard>),
    /// A tablet is lost: from now on it does not count.
    StrikeOff(Uuid),
    /// A stranger's file is dismissed: as it is, it holds up nothing.
    Dismiss(Box<StrangerFile>),
    /// Whether codes of four and five characters may be set.
    ShortCodes(bool),
}

/// Who keeps a layout, and the versions that it takes the place of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptBy {
    /// Who, as they say; empty where nobody says.
    pub who: String,
    /// The versions, by their names.
    pub from: Vec<String>,
}

/// What a screen asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Intent {
    /// Show another screen.
    Go(Screen),
    /// Open a job of this tablet.
    OpenJob(Uuid),
    /// Open a job to read only.
    ReadJob(Uuid),
    /// Show some more of the finished jobs.
    ShowFinished,
    /// Read the finished jobs by week.
    ShowHistory,
    /// Make a job and open it.
    NewJob(Box<Opening>),
    /// Leave the open job.
    LeaveJob,
    /// Events of one tap, all or none.
    Tap(Vec<Event>),
    /// An act with the codes of those who sign it.
    Sign {
        /// What is signed.
        act: SignedAct,
        /// Who signs, with the code as typed.
        codes: Vec<(Person, TypedCode)>,
    },
    /// Hand the open job to another tablet.
    HandOver(Uuid),
    /// Take an event back.
    TakeBack(Uuid),
    /// The pedal was held: take the latest event back, if there is one and nobody has to
    /// sign for it.
    PedalTakesBack(Option<Uuid>),
    /// The person has read what was shown.
    Read,
    /// A first-use card was read and is not wanted any more.
    HideCard(FirstUse),
    /// Change the settings.
    Settings(Box<Settings>),
    /// Give this tablet another name.
    RenameTablet(String),
    /// Add a person to the crew.
    AddPerson {
        /// Name.
        name: String,
        /// What they may do.
        role: Role,
        /// Their code.
        code: TypedCode,
        /// A foreman's name and code, once there is a foreman.
        by: Option<(Person, TypedCode)>,
    },
    /// A foreman has held a tablet's changed key against the tablet itself.
    AcceptKey {
        /// The tablet.
        tablet: Uuid,
        /// The key that was looked at, 64 hex digits.
        key: String,
        /// The foreman and their code.
        by: (Person, TypedCode),
    },
    /// A change of the crew or of the shop's tablets, with the foreman who agrees.
    ChangeShop {
        /// What is changed.
        change: ShopChange,
        /// The foreman and their code.
        by: (Person, TypedCode),
    },
    /// Join the shop with this key, both screens having shown the same words; for a tablet
    /// without a foreman of its own.
    JoinShop(Link),
    /// This copy of a tablet that is in use twice becomes a new one.
    BecomeNewTablet,
    /// Set a crew that does not hold aside and begin anew.
    BeginCrewAnew,
    /// A foreman gives a person a new code.
    ResetCode {
        /// Whose code.
        person: Person,
        /// The new code.
        code: TypedCode,
        /// The foreman and their code.
        by: (Person, TypedCode),
    },
    /// A person changes their own code.
    ChangeCode {
        /// Whose code.
        person: Person,
        /// The new code.
        code: TypedCode,
        /// The code until now.
        old: TypedCode,
    },
    /// Keep an own layout under a file name.
    SaveLayout {
        /// File name without its ending.
        stem: String,
        /// The layout.
        layout: Box<Layout>,
        /// Who keeps it, and what it takes the place of.
        by: KeptBy,
    },
    /// Offer a version of a layout of the shop here no more (false), or again (true).
    OfferLayout(String, bool),
    /// Read a layout file from anywhere into the own folder.
    ImportLayout(String),
    /// Write a layout to a file anywhere.
    ExportLayout {
        /// The file.
        path: String,
        /// The layout.
        layout: Box<Layout>,
    },
    /// Write the record of the open job.
    WriteRecord,
    /// Write the work sheet of the open job's engine, to be ticked by pen.
    WriteWorkSheet,
    /// Open a record from a file.
    OpenRecord(PathBuf),
    /// Draw a page of the open record, counted from 0, so many pixels wide.
    DrawPage(usize, u16),
    /// Look at the open record's job as its bay showed it.
    SeeRecordsBay,
    /// Let the open record go.
    CloseRecord,
    /// Have the system's own program show the open record.
    ShowRecord,
    /// Write the open record into a folder.
    WriteRecordTo(PathBuf),
    /// Ask which printers the system knows.
    AskPrinters,
    /// Print the open record on this printer.
    PrintRecord(String),
    /// Look into a folder, to choose from it.
    LookInto(PathBuf),
    /// Look into the camera's folder, and go on doing so for a while.
    WatchPictures,
    /// Read small pictures of the open job.
    ShowPictures(Vec<Picture>),
    /// Read one of them large.
    EnlargePicture(Box<Picture>),
    /// Add a photograph to the open job.
    AddPicture {
        /// The file.
        from: PathBuf,
        /// Where it belongs.
        of: PictureOf,
        /// What is to be seen.
        remark: String,
    },
    /// Events of one tap, and photographs that belong to what they note.
    TapWithPictures(Vec<Event>, Vec<PathBuf>),
    /// Copy all data to a folder.
    Backup(String),
    /// Bring data back from a backup folder into a new folder.
    Restore(String),
    /// Lock the screen for wiping.
    Lock,
    /// A long press has woken it.
    Wake,
}

impl Intent {
    /// Events of one tap, with photographs where there are some.
    pub fn tap_with(events: Vec<Event>, pictures: Vec<PathBuf>) -> Self {
        if pictures.is_empty() {
            Intent::Tap(events)
        } else {
            Intent::TapWithPictures(events, pictures)
        }
    }
}
