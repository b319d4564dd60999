//! One order for the lines of all tablets.

use std::cmp::Ordering;
use std::collections::{HashMap, HashSet};

use uuid::Uuid;

use crate::job::Entry;

/// The entries of several journals in the one order that every tablet agrees on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Merged {
    /// Sorted by clock, then tablet, and by what was made after what; of each tablet each identity once.
    pub entries: Vec<Entry>,
    /// Identities that came with different contents; a person has to look at them. Of one
    /// tablet the entry that sorts first stands in [`Merged::entries`], of two tablets both
    /// do: an event is known by its tablet and its identity, and the state makes a conflict
    /// of the second one.
    pub clashes: Vec<Uuid>,
}

/// Where an entry stands: by its clock, or right behind what it was made after.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct PlaceInOrder {
    clock: (u64, u32),
    behind: usize,
}

/// Merges journals. Whatever order they come in, the answer is the same; and the same
/// entry twice is one.
///
/// Within one journal the clock rises strictly with the number, so clock and tablet tell
/// any two honest entries apart. Identity and contents come after them only to keep the
/// order fixed where somebody has tampered with a file. An entry that says what it was made
/// after stands behind that, and so does what follows it in its journal: a tablet does not
/// follow a clock that is far ahead of its own, and what it writes keeps its place all the
/// same.
pub fn merge(journals: impl IntoIterator<Item = Vec<Entry>>) -> Merged {
    let mut all: Vec<Entry> = journals.into_iter().flatten().collect();
    all.sort_by(order);
    let mut merged = Merged {
        entries: Vec::with_capacity(all.len()),
        clashes: Vec::new(),
    };
    let mut seen = HashSet::with_capacity(all.len());
    for entry in all {
        if seen.insert(entry.id) {
            merged.entries.push(entry);
        } else if !is_standing(&merged.entries, &entry) {
            if !merged.clashes.contains(&entry.id) {
                merged.clashes.push(entry.id);
            }
            let key = (entry.tablet, entry.id);
            if merged.entries.iter().all(|e| (e.tablet, e.id) != key) {
                merged.entries.push(entry);
            }
        }
    }
    merged.clashes.sort_unstable();
    if merged.entries.iter().any(|entry| entry.after.is_some()) {
        let places = places(&merged.entries);
        let mut placed: Vec<(PlaceInOrder, Entry)> =
            places.into_iter().zip(merged.entries).collect();
        placed.sort_by(|(a, x), (b, y)| a.cmp(b).then_with(|| order(x, y)));
        merged.entries = placed.into_iter().map(|(_, entry)| entry).collect();
    }
    merged
}

/// The places of entries in the order of their clocks. An entry that is not there holds
/// nobody back; of a ring, which nobody honest can write, one link is left out.
fn places(entries: &[Entry]) -> Vec<PlaceInOrder> {
    let mut at_of = HashMap::with_capacity(entries.len());
    let mut last_of = HashMap::new();
    let mut in_its_journal = Vec::with_capacity(entries.len());
    for (at, entry) in entries.iter().enumerate() {
        at_of.insert((entry.tablet, entry.id), at);
        in_its_journal.push(last_of.insert(entry.tablet, at));
    }
    let before = |at: usize| {
        let entry = &entries[at];
        let named = entry.after.as_deref().filter(|of| of.0 != entry.tablet);
        let named = named.and_then(|of| at_of.get(of).copied());
        [in_its_journal[at], named].into_iter().flatten()
    };
    let mut places: Vec<Option<PlaceInOrder>> = vec![None; entries.len()];
    let mut is_begun = vec![false; entries.len()];
    let mut way = Vec::new();
    for start in 0..entries.len() {
        way.push(start);
        while let Some(&at) = way.last() {
            is_begun[at] = true;
            // What is begun and has no place yet is on the way to here: a ring.
            if let Some(first) = before(at).find(|of| !is_begun[*of]) {
                way.push(first);
                continue;
            }
            way.pop();
            let own = PlaceInOrder {
                clock: entries[at].clock,
                behind: 0,
            };
            let behind = before(at).filter_map(|of| places[of]).max();
            let behind = behind.map(|of| PlaceInOrder {
                behind: of.behind + 1,
                ..of
            });
            places[at] = behind.max(Some(own));
        }
    }
    places.into_iter().flatten().collect()
}

/// The order of entries that do not say what they were made after: clock, tablet, identity,
/// contents.
pub fn order(a: &Entry, b: &Entry) -> Ordering {
    (a.clock, a.tablet, a.id)
        .cmp(&(b.clock, b.tablet, b.id))
        .then_with(|| {
            if a == b {
                Ordering::Equal
            } else {
                format!("{a:?}").cmp(&format!("{b:?}"))
            }
        })
}

/// Whether this very entry is already there. Equal entries sort next to each other, so
/// only the last one with its clock can be it.
fn is_standing(entries: &[Entry], entry: &Entry) -> bool {
    entries
        .iter()
        .rev()
        .take_while(|e| e.clock == entry.clock)
        .any(|e| e == entry)
}
