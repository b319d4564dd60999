//! The outcome of a shop log: one order for the lines of all tablets, and what it comes to.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;
use uuid::Uuid;

use super::apply::founded;
use super::{Line, Refused, Shop, WhyRefused};
use crate::journal::Link;

/// There is no line with the shop key, or it does not found a shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("the line that founds the shop is not there, or does not hold")]
pub struct NotFounded;

type At = (Uuid, u64);

/// The lines that can be placed, and what each had seen.
struct PlacedLines<'a> {
    lines: BTreeMap<At, &'a Line>,
    /// For each line up to which number of each tablet it knew, itself included.
    knew: BTreeMap<At, BTreeMap<Uuid, u64>>,
    waiting: Vec<(Uuid, u64, Uuid)>,
}

impl<'a> PlacedLines<'a> {
    fn of(files: &'a BTreeMap<Uuid, Vec<Line>>) -> Self {
        let mut placed = PlacedLines {
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
        let placed = PlacedLines::of(files);
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
    fn take_away_first(&mut self, placed: &PlacedLines<'_>, done: &mut BTreeSet<At>) {
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
    fn find_taken(&mut self, placed: &PlacedLines<'_>) {
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
