//! A shop: its tablets and its people, with their keys.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use super::{JournalPlace, Refused, Role, StrangerFile};
use crate::journal::{Link, Members};

/// A key of a tablet or a person, and for which lines it counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MemberKey {
    /// Public key (Ed25519), 64 hex digits.
    pub key: String,
    /// The moment up to which what it signs counts, in milliseconds since 1970 UTC; `None`
    /// while it is in use.
    pub until_ms: Option<i64>,
}

/// A tablet of the shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MemberTablet {
    /// Its name.
    pub name: String,
    /// Its keys; the last is the one in use.
    pub keys: Vec<MemberKey>,
    /// The key under which secrets reach it, 64 hex digits.
    pub box_key: Option<String>,
    /// The tablet that it was a copy of.
    pub was: Option<Uuid>,
    /// When it was struck off; what it signs from then on does not count.
    pub struck_from_ms: Option<i64>,
    /// How far its journals stand although it was struck off.
    pub stands: Vec<JournalPlace>,
}

impl MemberTablet {
    /// The key in use; `None` once it is struck off.
    pub fn key(&self) -> Option<&str> {
        in_use(&self.keys)
    }
}

/// A person of the shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopPerson {
    /// What they may do.
    pub role: Role,
    /// What they could do before, each with the moment of the change that ended it, in
    /// milliseconds since 1970 UTC.
    pub roles_before: Vec<(Role, i64)>,
    /// Their keys; the last may be in use.
    pub keys: Vec<MemberKey>,
    /// SHA-256 of the locked form of the key in use, 64 hex digits.
    pub lock: Option<String>,
    /// The code of the version before makes their key once it is entered.
    pub has_old_code: bool,
    /// They are not in the shop any more.
    pub has_left: bool,
}

impl ShopPerson {
    /// The key in use.
    pub fn key(&self) -> Option<&str> {
        in_use(&self.keys)
    }

    /// What they could do at a moment, in milliseconds since 1970 UTC.
    pub fn role_at(&self, at_ms: i64) -> Role {
        let then = self.roles_before.iter().find(|(_, until)| at_ms <= *until);
        then.map_or(self.role, |(role, _)| *role)
    }

    pub(super) fn turn_to(&mut self, role: Role, at_ms: i64) {
        self.roles_before.push((self.role, at_ms));
        self.role = role;
    }

    /// Whether they are a foreman who can agree to something.
    pub fn can_agree(&self) -> bool {
        self.role == Role::Foreman && !self.has_left && self.key().is_some()
    }
}

fn in_use(keys: &[MemberKey]) -> Option<&str> {
    let last = keys.last().filter(|key| key.until_ms.is_none());
    last.map(|key| key.key.as_str())
}

/// A shop as its log has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shop {
    /// The shop key.
    pub key: Link,
    /// When it was founded, by the clock of the tablet that did.
    pub founded_ms: i64,
    /// It ran under the version before.
    pub is_taken_over: bool,
    /// Its tablets, those struck off included.
    pub tablets: BTreeMap<Uuid, MemberTablet>,
    /// Its people by name, those who have left included.
    pub people: BTreeMap<String, ShopPerson>,
    /// Codes of four and five characters may be set.
    pub short_codes: bool,
    /// Files of strangers that a foreman has dismissed.
    pub dismissed: BTreeSet<StrangerFile>,
    /// Lines of each tablet that are part of the log, whether they changed anything or not:
    /// what a tablet keeps, and says that it has seen.
    pub taken: BTreeMap<Uuid, (u64, Link)>,
    /// Lines that count for nothing, sorted.
    pub refused: Vec<Refused>,
    /// Lines that name others which are not there, or are there otherwise: tablet, number
    /// and the tablet whose lines are missing.
    pub waiting: Vec<(Uuid, u64, Uuid)>,
    /// Who joined in which order, for [`Shop::rank`].
    pub(super) joined: Vec<String>,
}

impl Shop {
    /// Foremen who can agree to something.
    pub fn foremen(&self) -> usize {
        self.people.values().filter(|p| p.can_agree()).count()
    }

    /// Tablets that are members now.
    pub fn members(&self) -> impl Iterator<Item = (Uuid, &MemberTablet)> {
        let all = self.tablets.iter();
        all.filter(|(_, tablet)| tablet.key().is_some())
            .map(|(id, tablet)| (*id, tablet))
    }

    /// Whose lines of journals count. A key that was struck off or given up seals nothing any
    /// more, whenever it says it did; what it had sealed stands as far as the log says.
    pub fn journal_members(&self) -> Members {
        let mut members = Members::default();
        for (id, tablet) in &self.tablets {
            for key in &tablet.keys {
                members.admit(*id, &key.key);
                if key.until_ms.is_some() {
                    members.strike_off(*id, &key.key);
                }
            }
            for place in &tablet.stands {
                if let Some(link) = Link::from_hex(&place.link) {
                    members.let_stand(place.job, *id, place.bytes, link);
                }
            }
        }
        for file in &self.dismissed {
            if let Some(hash) = Link::from_hex(&file.hash) {
                members.dismiss(file.job, file.tablet, file.bytes, hash);
            }
        }
        members
    }

    /// Whether a tablet is a member under a key.
    pub fn is_member(&self, tablet: Uuid, key: &str) -> bool {
        let known = self.tablets.get(&tablet);
        known.is_some_and(|known| known.key() == Some(key))
    }
}
