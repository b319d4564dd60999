//! What a line of the shop log can say.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What a person may do besides the work itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Works at a bay.
    Technician,
    /// Counts a second time, and searches with somebody.
    Second,
    /// Agrees to exceptions, and changes the crew.
    Foreman,
    /// Gives parts out and takes them back.
    Stores,
}

impl Role {
    /// Every role, in the order in which a screen offers them.
    pub const ALL: [Role; 4] = [Role::Technician, Role::Second, Role::Foreman, Role::Stores];
}

/// A tablet as the shop knows it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TabletCard {
    /// Its identity.
    pub tablet: Uuid,
    /// Its name.
    pub name: String,
    /// The public key it signs with (Ed25519), 64 hex digits.
    pub key: String,
    /// The public key that secrets reach it under (X25519), 64 hex digits; a tablet of an
    /// older program has none yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub box_key: Option<String>,
    /// The tablet that it was a copy of, before it became one of its own. Lines came along
    /// that people had signed there: their signatures stand in its journals too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub was: Option<Uuid>,
}

/// A person's key, and which locked form of the secret half belongs to it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PersonKey {
    /// The public key (Ed25519), 64 hex digits.
    pub key: String,
    /// SHA-256 of the locked form, 64 hex digits. The form itself holds a random salt and
    /// is never in the log, so no code can be tried against this.
    pub lock: String,
}

/// A place in a tablet's journal of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JournalPlace {
    /// The job.
    pub job: Uuid,
    /// Bytes up to the end of a line.
    pub bytes: u64,
    /// The link of that line, 64 hex digits.
    pub link: String,
}

/// A file in the shop folder, in the name of a tablet that is none of the shop.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StrangerFile {
    /// The job that it is said to be about.
    pub job: Uuid,
    /// The tablet that it is said to be of.
    pub tablet: Uuid,
    /// Its length.
    pub bytes: u64,
    /// SHA-256 of it, 64 hex digits.
    pub hash: String,
}

/// Somebody who joins.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NewPerson {
    /// The name that taps and signatures carry.
    pub name: String,
    /// What they may do.
    pub role: Role,
    /// Their key; `None` until they have a code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<PersonKey>,
    /// They had a code under the version before. Entering it once makes their key.
    #[serde(default, skip_serializing_if = "is_false")]
    pub has_old_code: bool,
    /// They had left before the shop was taken over; the name stands under old lines.
    #[serde(default, skip_serializing_if = "is_false")]
    pub has_left: bool,
}

/// What a line of the shop log says.
///
/// In files the variant's name is the one key of an object. A published variant never
/// changes its name or meaning.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Deed {
    /// The shop begins: its first tablet and its first foreman. A shop of the version
    /// before brings along the tablets and people that it had.
    Founded {
        /// The tablet that founds it.
        tablet: TabletCard,
        /// The foreman who founds it, with a key.
        foreman: NewPerson,
        /// Tablets taken over.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        tablets: Vec<TabletCard>,
        /// People taken over.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        people: Vec<NewPerson>,
        /// The shop ran under the version before, so that older lines carry no person's
        /// own signature.
        #[serde(default, skip_serializing_if = "is_false")]
        is_taken_over: bool,
    },
    /// A tablet becomes a member, or one again.
    TabletAdmitted {
        /// What it is.
        card: TabletCard,
    },
    /// A tablet is lost or leaves: what it signs from a moment on does not count.
    TabletStruckOff {
        /// The tablet.
        tablet: Uuid,
        /// From when, wall clock in milliseconds since 1970 UTC.
        from_ms: i64,
        /// How far its journals were known then. Up to there they stand; whoever has a lost
        /// tablet can set its clock, so no date says what it had sealed before.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        stands: Vec<JournalPlace>,
    },
    /// A member goes on with another key.
    TabletKeyChanged {
        /// What it is now.
        card: TabletCard,
        /// How far its journals were known then, under the key before.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        stands: Vec<JournalPlace>,
    },
    /// The tablet itself says what it is called and under which key secrets reach it.
    TabletTold {
        /// Its name.
        name: String,
        /// The key, 64 hex digits.
        box_key: String,
    },
    /// Somebody joins.
    PersonAdded {
        /// Who.
        person: NewPerson,
    },
    /// A foreman gives somebody a new key, because the code is forgotten or was never set,
    /// or takes it away.
    PersonKeyed {
        /// Whose.
        name: String,
        /// The key; `None` takes it away.
        key: Option<PersonKey>,
    },
    /// A person has another code for the same key.
    PersonRelocked {
        /// Who; the same who answers for the line.
        name: String,
        /// SHA-256 of the new locked form, 64 hex digits.
        lock: String,
    },
    /// Somebody taken over has entered the old code, and has a key of their own from now on.
    PersonKeyMade {
        /// Who; the same who answers for the line, with the new key.
        name: String,
        /// The key.
        key: PersonKey,
    },
    /// A person gets another role.
    RoleChanged {
        /// Whose.
        name: String,
        /// The role.
        role: Role,
    },
    /// A person leaves. What they have signed stands.
    PersonRemoved {
        /// Who.
        name: String,
    },
    /// Whether codes of four and five characters may be set in this shop.
    ShortCodes {
        /// Whether they may.
        are_allowed: bool,
    },
    /// A foreman has looked at a stranger's file: as long as it is just this file, it holds
    /// up nothing.
    FileDismissed {
        /// The file.
        file: StrangerFile,
    },
}

impl Deed {
    /// Whether it is one that the log of a shop can begin with.
    pub(super) fn is_founding(&self) -> bool {
        matches!(self, Deed::Founded { .. })
    }

    /// Whether it takes something away from a tablet or a person. Such a line goes before
    /// everything that was written without knowing of it.
    pub(super) fn takes_away(&self) -> bool {
        match self {
            Deed::TabletStruckOff { .. }
            | Deed::TabletKeyChanged { .. }
            | Deed::PersonKeyed { .. }
            | Deed::PersonRemoved { .. } => true,
            Deed::RoleChanged { role, .. } => *role != Role::Foreman,
            Deed::ShortCodes { are_allowed } => !are_allowed,
            Deed::Founded { .. }
            | Deed::TabletAdmitted { .. }
            | Deed::TabletTold { .. }
            | Deed::PersonAdded { .. }
            | Deed::PersonRelocked { .. }
            | Deed::PersonKeyMade { .. }
            | Deed::FileDismissed { .. } => false,
        }
    }
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_false(it: &bool) -> bool {
    !it
}
