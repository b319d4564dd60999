//! Lines of the shop log that count for nothing.

use serde::Serialize;
use thiserror::Error;
use uuid::Uuid;

/// A line that counts for nothing.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Refused {
    /// The tablet under whose name it stands.
    pub tablet: Uuid,
    /// Its number.
    pub n: u64,
    /// Why.
    pub why: WhyRefused,
}

/// Why a line of the shop log has no right to what it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Error, Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // The texts say what they are.
pub enum WhyRefused {
    #[error("a shop is founded once")]
    FoundedOnce,
    #[error("it is another shop's line")]
    OtherShop,
    #[error("the tablet is no member under this key")]
    NoMember,
    #[error("it is not signed with the key that this person has")]
    OtherKey,
    #[error("no foreman has signed it")]
    NoForeman,
    #[error("it is for the person alone")]
    NotTheirOwn,
    #[error("the tablet is a member already")]
    MemberAlready,
    #[error("a key that was struck off does not come back; the tablet needs a new one")]
    StruckKey,
    #[error("the shop has no room for another tablet")]
    TabletsFull,
    #[error("it is the file of a tablet of the shop")]
    MembersFile,
    #[error("the shop has dismissed as many files as it can")]
    DismissedFull,
    #[error("the tablet is no member")]
    NotMember,
    #[error("it names more journals than a line may")]
    TooManyPlaces,
    #[error("it is the last tablet of the shop")]
    LastTablet,
    #[error("the tablet has or had this key already")]
    TabletsKeyAgain,
    #[error("the name is in use")]
    NameInUse,
    #[error("the shop has no room for another person")]
    PeopleFull,
    #[error("somebody has or had this key already")]
    PersonsKeyAgain,
    #[error("the person has a key, or none that an old code makes")]
    NoOldCode,
    #[error("nobody of that name is in the shop")]
    Nobody,
    #[error("it is the last foreman with a code")]
    LastForeman,
    #[error("the name cannot be one")]
    NoName,
    #[error("it is not 64 hex digits")]
    NoHex,
}
