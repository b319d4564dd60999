//! Whose lines count: the tablets of a shop, as its log says.
//!
//! The log itself is read and checked elsewhere; this is what it comes to. A line of
//! another tablet counts once something at or after it in the same chain says so: a seal
//! by a key that the tablet was admitted with, or the log, which names a place up to
//! which a journal stands ([`Members::let_stand`]). The places serve where a seal cannot:
//! for a tablet that was lost, whose key nobody can trust any more, and for lines that
//! the version before has left without a seal.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use super::{JournalFile, Link};

/// The tablets of a shop, with the keys that each may seal with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Members {
    keys: BTreeMap<Uuid, BTreeSet<String>>,
    /// Keys that were struck off.
    struck: BTreeMap<Uuid, BTreeSet<String>>,
    /// By job and tablet: where a journal stands by the word of the log.
    stands: BTreeMap<(Uuid, Uuid), BTreeSet<(u64, Link)>>,
    /// By job and tablet: files of strangers that a foreman has dismissed, by length and hash.
    dismissed: BTreeMap<(Uuid, Uuid), BTreeSet<(u64, Link)>>,
}

impl Members {
    /// A tablet by itself, or a shop without a log: its own key alone.
    pub fn own_only(tablet: Uuid, key: &str) -> Self {
        let mut members = Self::default();
        members.admit(tablet, key);
        members
    }

    /// The tablet may seal with this key (64 hex digits). A tablet may have several, one
    /// after the other; each counts until it is struck off.
    pub fn admit(&mut self, tablet: Uuid, key: &str) {
        self.keys.entry(tablet).or_default().insert(key.to_owned());
    }

    /// From here on a seal by this key counts for nothing, whenever it says that it was
    /// made: who has a lost tablet can set its clock. What the key has sealed before stands
    /// up to the places that [`Members::let_stand`] names.
    pub fn strike_off(&mut self, tablet: Uuid, key: &str) {
        if let Some(keys) = self.keys.get_mut(&tablet) {
            keys.remove(key);
        }
        self.struck
            .entry(tablet)
            .or_default()
            .insert(key.to_owned());
    }

    /// Whether a key of this tablet was struck off: its seals count for nothing, and are
    /// nobody's forgery either as long as all that they are on stands.
    pub fn struck_off(&self, tablet: Uuid, key: &str) -> bool {
        let struck = self.struck.get(&tablet);
        struck.is_some_and(|keys| keys.contains(key))
    }

    /// The first so many bytes of a tablet's journal of a job stand if they end with a line
    /// of this link, whatever its seals are worth.
    pub fn let_stand(&mut self, job: Uuid, tablet: Uuid, bytes: u64, link: Link) {
        let places = self.stands.entry((job, tablet)).or_default();
        places.insert((bytes, link));
    }

    /// A foreman has looked at a file of a tablet that is none of the shop: as long as it is
    /// just this file, it holds up nothing.
    pub fn dismiss(&mut self, job: Uuid, tablet: Uuid, bytes: u64, hash: Link) {
        let files = self.dismissed.entry((job, tablet)).or_default();
        files.insert((bytes, hash));
    }

    /// Whether a file of this length and hash was dismissed. A tablet that was admitted since
    /// is a stranger no more.
    pub fn dismisses(&self, job: Uuid, tablet: Uuid, bytes: u64, hash: Link) -> bool {
        let files = self.dismissed.get(&(job, tablet));
        let is_one = files.is_some_and(|files| files.contains(&(bytes, hash)));
        is_one && !self.knows(tablet)
    }

    /// The same of a file that lies there. It is read only if one of its length was dismissed.
    pub fn dismisses_file(&self, job: Uuid, file: &JournalFile) -> bool {
        let files = self.dismissed.get(&(job, file.tablet));
        let mut files = files.into_iter().flatten();
        files.any(|(bytes, _)| *bytes == file.bytes)
            && file
                .hash()
                .is_ok_and(|hash| self.dismisses(job, file.tablet, file.bytes, hash))
    }

    /// Whether a seal by this key counts for this tablet's lines.
    pub fn covers(&self, tablet: Uuid, key: &str) -> bool {
        self.keys
            .get(&tablet)
            .is_some_and(|keys| keys.contains(key))
    }

    /// Whether a tablet's journal of a job stands up to here by the word of the log.
    pub fn stands(&self, job: Uuid, tablet: Uuid, bytes: u64, link: Link) -> bool {
        let places = self.stands.get(&(job, tablet));
        places.is_some_and(|places| places.contains(&(bytes, link)))
    }

    /// Whether any line of this tablet can count: it was admitted at some time.
    pub fn knows(&self, tablet: Uuid) -> bool {
        self.keys.contains_key(&tablet)
    }

    /// The keys that count for a tablet, in order.
    pub fn keys_of(&self, tablet: Uuid) -> impl Iterator<Item = &str> {
        self.keys
            .get(&tablet)
            .into_iter()
            .flatten()
            .map(String::as_str)
    }

    /// Every tablet that was admitted at some time, in order.
    pub fn tablets(&self) -> impl Iterator<Item = Uuid> + '_ {
        self.keys.keys().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const JOB: Uuid = Uuid::from_u128(1);
    const TABLET: Uuid = Uuid::from_u128(2);

    #[test]
    fn an_unknown_tablet_and_an_unknown_key_count_for_nothing() {
        let members = Members::own_only(TABLET, "aa");
        assert!(members.covers(TABLET, "aa"));
        assert!(!members.covers(TABLET, "bb"));
        assert!(
            !members.covers(JOB, "aa"),
            "a key counts for its own tablet alone"
        );
        assert!(members.knows(TABLET) && !members.knows(JOB));
    }

    #[test]
    fn a_struck_off_key_counts_no_more_and_what_stands_is_named() {
        let mut members = Members::own_only(TABLET, "aa");
        members.admit(TABLET, "bb");
        members.strike_off(TABLET, "aa");
        members.let_stand(JOB, TABLET, 700, Link([7; 32]));
        assert!(!members.covers(TABLET, "aa"));
        assert!(members.covers(TABLET, "bb"), "the changed key");
        assert!(members.struck_off(TABLET, "aa") && !members.struck_off(TABLET, "bb"));
        assert!(members.stands(JOB, TABLET, 700, Link([7; 32])));
        assert!(
            !members.stands(JOB, TABLET, 700, Link([8; 32])),
            "another line there"
        );
        assert!(!members.stands(JOB, TABLET, 701, Link([7; 32])));
        assert!(members.knows(TABLET));
    }
}
