//! The closing of every bank with both counts it rests on, and the counts that led to
//! no closing.

use std::collections::BTreeMap;

use serde::Serialize;

use super::timeline::Timeline;
use super::{By, bank_name};
use crate::engine::Layout;
use crate::job::{CountLine, Entry, Event};
use crate::parts::{Item, Place};

/// One closing of a bank.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closing {
    /// Name of the bank.
    pub bank: String,
    /// Who signed for the cover, and when.
    #[serde(flatten)]
    pub by: By,
    /// Whether the cover is on still.
    pub stands: bool,
    /// Who counted first, and when.
    pub first: Option<By>,
    /// Who counted as the second person, and when.
    pub second: Option<By>,
    /// Both counts line by line.
    pub lines: Vec<CountPair>,
}

/// One line of both counts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CountPair {
    /// The item.
    pub item: Item,
    /// Where it was laid out.
    pub place: Place,
    /// What the first person saw.
    pub first: Option<u32>,
    /// What the second person saw.
    pub second: Option<u32>,
}

/// A count that no closing rests on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OtherCount {
    /// Who counted, and when.
    #[serde(flatten)]
    pub by: By,
    /// What was seen.
    pub lines: Vec<CountLine>,
}

/// Closings in order, and the counts that led to none.
pub(super) fn closings(timeline: &Timeline, layout: &Layout) -> (Vec<Closing>, Vec<OtherCount>) {
    let mut closings = Vec::new();
    let mut counts: Vec<(&Entry, bool)> = Vec::new();
    for entry in &timeline.standing {
        match &entry.event {
            Event::BlindCount { .. } => counts.push((entry, false)),
            Event::BankClosed { bank, by } => {
                let from = counts.len().saturating_sub(2);
                let pair = &mut counts[from..];
                for (_, led) in pair.iter_mut() {
                    *led = true;
                }
                let [first, second] = [0, 1].map(|i| pair.get(i).map(|(e, _)| *e));
                let known = timeline.state.bank(usize::from(*bank));
                closings.push(Closing {
                    bank: bank_name(layout, usize::from(*bank)),
                    by: By::signed(entry, &by.person),
                    stands: known.is_some_and(|b| b.closed_in == Some(entry.id)),
                    first: first.and_then(counted_by),
                    second: second.and_then(counted_by),
                    lines: pairs(first, second),
                });
            }
            _ => {}
        }
    }
    let others = counts.iter().filter(|(_, led)| !led);
    let others = others.filter_map(|(e, _)| {
        Some(OtherCount {
            by: counted_by(e)?,
            lines: lines_of(e).to_vec(),
        })
    });
    (closings, others.collect())
}

fn counted_by(entry: &Entry) -> Option<By> {
    match &entry.event {
        Event::BlindCount { by, .. } => Some(By::signed(entry, &by.person)),
        _ => None,
    }
}

fn lines_of(entry: &Entry) -> &[CountLine] {
    match &entry.event {
        Event::BlindCount { lines, .. } => lines,
        _ => &[],
    }
}

fn pairs(first: Option<&Entry>, second: Option<&Entry>) -> Vec<CountPair> {
    let mut pairs: Vec<CountPair> = Vec::new();
    let mut place_of: BTreeMap<(&Item, Place), usize> = BTreeMap::new();
    for (is_second, entry) in [(false, first), (true, second)] {
        for line in entry.map(lines_of).unwrap_or_default() {
            let index = *place_of.entry((&line.item, line.place)).or_insert_with(|| {
                pairs.push(CountPair {
                    item: line.item.clone(),
                    place: line.place,
                    first: None,
                    second: None,
                });
                pairs.len() - 1
            });
            let pair = &mut pairs[index];
            *(if is_second {
                &mut pair.second
            } else {
                &mut pair.first
            }) = Some(line.count);
        }
    }
    pairs
}
