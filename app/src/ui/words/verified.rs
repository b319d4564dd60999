//! What is said of a record that is checked: one thing a line, for the command line and the
//! window alike.
//!
//! [`VerifySaid`] is what was seen; the words of each language stand in a file of their own.
//! Details that come from a line of a journal or from the system stay as they were given.

use thiserror::Error;
use trayzero_core::journal::JournalWhy;
use trayzero_core::shop_log::{EndUnsigned, LineFault, NotSigned, WhyRefused};
use uuid::Uuid;

use crate::record::pdf_file::NotRead;

/// A tablet by the name that the shop gives it, where it is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalledTablet {
    /// Its name in the shop.
    pub name: Option<String>,
    /// Its identity.
    pub tablet: Uuid,
}

/// What is wrong with a list of attachments.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("line {line}: {why}")]
pub struct ListFault {
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong with it.
    pub why: WhyNoList,
}

/// What is wrong with a line of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum WhyNoList {
    /// There are too many.
    #[error("the list is longer than any that is read")]
    TooLong,
    /// It has another form.
    #[error("it is not a SHA-256 value, two blanks and a name")]
    OtherForm,
    /// Its name has come before.
    #[error("it names an attachment again")]
    Again,
}

/// A value of the record's JSON, short enough for a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FigureTold {
    /// There is none.
    Missing,
    /// A list of so many.
    List(usize),
    /// Several values by name.
    There,
    /// The value as JSON.
    Text(String),
}

/// What was seen of a record.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // The texts say what they are.
pub enum VerifySaid {
    // The attachments, their list and its signature.
    NothingAttached,
    AddedUnlisted,
    NotTakenOut(NotRead),
    ThereTwice,
    Missing,
    ListFault(ListFault),
    Changed,
    Added,
    ListEmpty,
    AllOnList(usize),
    ListNotSigned,
    NoPublicKey,
    ListSigned,
    SignatureWrong,
    MakingUnread(String),
    MakingFormat {
        format: u32,
        known: u32,
    },
    // The shop and its log.
    OtherShop {
        there: Vec<String>,
        wanted: String,
    },
    NoLog,
    TwoLogs,
    FoundingBroken,
    SaysOtherShop(Option<String>),
    ShopAsWanted {
        key: String,
        words: String,
    },
    ShopToCompare {
        key: String,
        words: String,
    },
    LogTooLarge {
        bytes: usize,
        most: usize,
    },
    LogLine {
        line: usize,
        why: LineFault,
    },
    LogTorn,
    LogRefused {
        line: u64,
        why: WhyRefused,
    },
    LogWaits {
        line: u64,
        missing: Uuid,
    },
    LogHolds {
        lines: usize,
        tablets: usize,
        people: usize,
    },
    NoSigner,
    SignerIsMember {
        who: CalledTablet,
        words: String,
    },
    SignerNotKnown {
        who: CalledTablet,
        words: String,
    },
    SignerWithoutLog {
        who: CalledTablet,
        words: String,
    },
    SignerToCompare {
        who: CalledTablet,
        words: String,
    },
    SignerOtherKey {
        who: CalledTablet,
        words: String,
    },
    // The journals.
    SealWithoutJournal,
    JournalsTooLarge {
        bytes: usize,
        most: usize,
    },
    NoJournal,
    PictureNotNamed,
    OtherPicture,
    PicturesNamed(usize),
    NobodyVouches,
    SealWrong {
        line: Option<u64>,
        why: JournalWhy,
    },
    NoSeal,
    NotSealed(u64),
    JournalHolds(u64),
    LineFault {
        line: u64,
        field: String,
        why: JournalWhy,
    },
    LineTorn(u64),
    NewerLines(u64),
    SealedMissing(u64),
    SignaturesUnknown(usize),
    NotSigned(Box<NotSigned>),
    NothingSigned,
    SignaturesHold(usize),
    // The ends that people signed.
    EndsOfOtherJob,
    EndsUnread(String),
    EndsNotSigned,
    EndsOfOtherTablet,
    /// Without a reason: no key of theirs is known.
    PersonNotSigned {
        person: String,
        why: Option<EndUnsigned>,
    },
    EndsByNobody,
    MissingSinceClosing,
    ChangedSinceClosing,
    EndsHold {
        people: Vec<String>,
        journals: usize,
        later: usize,
    },
    // The figures.
    NeverOpened,
    RecordTooLarge(usize),
    RecordUnread(String),
    FigureDiffers {
        at: String,
        told: FigureTold,
        made: FigureTold,
    },
    FiguresHold(usize),
    ValueHolds(String),
    ValueDiffers {
        told: Option<String>,
        made: String,
    },
    // The pages.
    PagesUnread(NotRead),
    PagesHold(usize),
    PageChanged(usize),
    OtherVersion {
        theirs: String,
        ours: &'static str,
    },
    NotPrintedAgain,
    PrintUnknown,
    NotPrinted(String),
    SameBytes,
    SameFigures,
    PageDiffers(usize),
}
