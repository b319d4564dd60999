//! One order for the lines of all tablets.

use std::cmp::Ordering;
use std::collections::HashSet;

use uuid::Uuid;

use crate::job::Entry;

/// The entries of several journals in the one order that every tablet agrees on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Merged {
    /// Sorted by clock, then tablet; of each tablet each identity once.
    pub entries: Vec<Entry>,
    /// Identities that came with different contents; a person has to look at them. Of one
    /// tablet the entry that sorts first stands in [`Merged::entries`], of two tablets both
    /// do: an event is known by its tablet and its identity, and the state makes a conflict
    /// of the second one.
    pub clashes: Vec<Uuid>,
}

/// Merges journals. Whatever order they come in, the answer is the same; and the same
/// entry twice is one.
///
/// Within one journal the clock rises strictly with the number, so clock and tablet tell
/// any two honest entries apart. Identity and contents come after them only to keep the
/// order fixed where somebody has tampered with a file.
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
    merged
}

/// The order of entries: clock, tablet, identity, contents.
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
