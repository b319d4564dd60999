//! The outcome of a shop log: one order for the lines of all tablets, and what it comes to.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;
use uuid::Uuid;

use super::apply::founded;
use super::{Deed, JournalPlace, Line, Refused, Role, StrangerFile, WhyRefused};
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

/// There is no line with the shop key, or it does not found a shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("the line that founds the shop is not there, or does not hold")]
pub struct NotFounded;

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

type At = (Uuid, u64);

/// The lines that can be placed, and what each had seen.
struct Placed<'a> {
    lines: BTreeMap<At, &'a Line>,
    /// For each line up to which number of each tablet it knew, itself included.
    knew: BTreeMap<At, BTreeMap<Uuid, u64>>,
    waiting: Vec<(Uuid, u64, Uuid)>,
}

impl<'a> Placed<'a> {
    fn of(files: &'a BTreeMap<Uuid, Vec<Line>>) -> Self {
        let mut placed = Placed {
            lines: BTreeMap::new(),
            knew: BTreeMap::new(),
            waiting: Vec::new(),
        };
        let mut next: BTreeMap<Uuid, usize> = files.keys().map(|tablet| (*tablet, 0)).collect();
        loop {
            let mut is_moving = false;
            placed.waiting.clear();
            for (tablet, lines) in files {
                let at = next.get_mut(tablet);
                let Some(at) = at else { continue };
                while let Some(line) = lines.get(*at) {
                    match placed.knowledge_of(line) {
                        Ok(knew) => {
                            let place = (*tablet, line.body().n);
                            placed.lines.insert(place, line);
                            placed.knew.insert(place, knew);
                            *at += 1;
                            is_moving = true;
                        }
                        Err(missing) => {
                            placed.waiting.push((*tablet, line.body().n, missing));
                            break;
                        }
                    }
                }
            }
            if !is_moving {
                return placed;
            }
        }
    }

    /// What a line knew; the tablet whose lines are missing otherwise.
    fn knowledge_of(&self, line: &Line) -> Result<BTreeMap<Uuid, u64>, Uuid> {
        let body = line.body();
        let mut knew = match body.n {
            0 | 1 => BTreeMap::new(),
            n => self
                .knew
                .get(&(body.tablet, n - 1))
                .cloned()
                .unwrap_or_default(),
        };
        for (tablet, (n, link)) in &body.seen {
            let seen = self.lines.get(&(*tablet, *n));
            if *tablet == body.tablet || seen.is_none_or(|seen| seen.link().to_string() != *link) {
                return Err(*tablet);
            }
            for (of, n) in &self.knew[&(*tablet, *n)] {
                let known = knew.entry(*of).or_insert(0);
                *known = (*known).max(*n);
            }
        }
        knew.insert(body.tablet, body.n);
        Ok(knew)
    }

    fn knows(&self, line: At, other: At) -> bool {
        let knew = self.knew[&line].get(&other.0).copied().unwrap_or(0);
        line != other && knew >= other.1
    }

    /// A place that is later than that of every line it knew.
    fn rank(&self, line: At) -> (u64, Uuid, u64) {
        (self.knew[&line].values().sum(), line.0, line.1)
    }

    /// Lines in an order in which each stands after those it knew.
    fn sorted(&self, lines: impl IntoIterator<Item = At>) -> Vec<At> {
        let mut sorted: Vec<At> = lines.into_iter().collect();
        sorted.sort_by_key(|line| self.rank(*line));
        sorted
    }
}

impl Shop {
    /// What the files of a shop come to. The answer depends on the lines alone, not on the
    /// order in which they came.
    ///
    /// A line stands after the lines it knew of. Among those that did not know of each
    /// other the ones that take something away go first, so that a tablet that is struck
    /// off or a person whose key is taken away gains nothing by writing on, under whatever
    /// date. Of two that take away from each other the one whose person joined first goes
    /// first.
    ///
    /// # Errors
    /// [`NotFounded`].
    pub fn of(key: Link, files: &BTreeMap<Uuid, Vec<Line>>) -> Result<Shop, NotFounded> {
        let is_founding = |lines: &&Vec<Line>| lines.first().is_some_and(|l| l.link() == key);
        let first = files.values().find(is_founding).ok_or(NotFounded)?;
        let mut shop = founded(&first[0]).ok_or(NotFounded)?;
        let placed = Placed::of(files);
        let founder = (first[0].body().tablet, 1);
        let mut done = BTreeSet::from([founder]);
        shop.take_away_first(&placed, &mut done);
        let rest = placed.lines.keys().filter(|line| !done.contains(*line));
        for at in placed.sorted(rest.copied().collect::<Vec<At>>()) {
            shop.apply(placed.lines[&at]);
        }
        shop.waiting.clone_from(&placed.waiting);
        shop.find_taken(&placed);
        shop.refused.sort();
        Ok(shop)
    }

    /// Applies the lines that take something away, each with what it knew before it.
    fn take_away_first(&mut self, placed: &Placed<'_>, done: &mut BTreeSet<At>) {
        let takes = |at: &At| placed.lines[at].body().deed.takes_away();
        let mut left: BTreeSet<At> = placed.lines.keys().copied().filter(takes).collect();
        while !left.is_empty() {
            let is_ready = |at: &&At| !left.iter().any(|other| placed.knows(**at, *other));
            let first = left.iter().filter(is_ready).min_by_key(|at| {
                let line = placed.lines[*at];
                (self.standing(line), placed.rank(**at))
            });
            let Some(at) = first.copied() else { return };
            left.remove(&at);
            let before = placed.lines.keys().copied();
            let before = before.filter(|other| !done.contains(other) && placed.knows(at, *other));
            let before = placed.sorted(before.collect::<Vec<At>>());
            let mut trial = self.clone();
            for other in &before {
                trial.apply(placed.lines[other]);
            }
            // One that has no right to take away moves nothing to the front either; it is
            // looked at again in its turn.
            if trial.apply(placed.lines[&at]) {
                *self = trial;
                done.extend(before);
                done.insert(at);
            }
        }
    }

    /// How early the person who answers for a line has joined.
    fn standing(&self, line: &Line) -> usize {
        let by = line.body().by.as_deref();
        let found = self
            .joined
            .iter()
            .position(|name| Some(name.as_str()) == by);
        found.unwrap_or(usize::MAX)
    }

    /// Which lines are part of the log: those under a key that the tablet has or had, and
    /// everything that those knew of.
    fn find_taken(&mut self, placed: &Placed<'_>) {
        let mut taken: BTreeMap<Uuid, u64> = BTreeMap::new();
        for (at, line) in &placed.lines {
            let is_known = self
                .tablets
                .get(&at.0)
                .is_some_and(|tablet| tablet.keys.iter().any(|key| key.key == line.key()));
            if !is_known {
                continue;
            }
            for (tablet, n) in &placed.knew[at] {
                let most = taken.entry(*tablet).or_insert(0);
                *most = (*most).max(*n);
            }
        }
        let with_link = |(tablet, n): (Uuid, u64)| {
            let link = placed.lines.get(&(tablet, n))?.link();
            Some((tablet, (n, link)))
        };
        self.taken = taken.into_iter().filter_map(with_link).collect();
    }

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

    /// Whether this line would change the shop as it is, and why not otherwise.
    ///
    /// # Errors
    /// The reason.
    pub fn would_take(&self, line: &Line) -> Result<(), WhyRefused> {
        self.clone().try_apply(line)
    }

    /// Takes a line in. One that has no right to what it says is noted, and changes nothing.
    pub(super) fn apply(&mut self, line: &Line) -> bool {
        match self.try_apply(line) {
            Ok(()) => true,
            Err(why) => {
                self.refused.push(Refused {
                    tablet: line.body().tablet,
                    n: line.body().n,
                    why,
                });
                false
            }
        }
    }
}

/// Whether a deed is one that the log of this shop can begin with.
pub(super) fn is_founding(deed: &Deed) -> bool {
    matches!(deed, Deed::Founded { .. })
}
