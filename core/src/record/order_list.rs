//! The order list of the job: what the layout says, what came, what went in, and what
//! goes back to the store.

use serde::Serialize;

use crate::job::JobState;
use crate::parts::{Item, Place};

/// One line: all that is ordered under names which are counted as one kind.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OrderListRow {
    /// The kind that the ledger counts.
    pub counted_as: Item,
    /// The names on the layout's list; empty for what was issued without being on it.
    pub names: Vec<String>,
    /// How many the list says.
    pub to_order: u32,
    /// How many were issued, less what went back to the store already.
    pub issued: u32,
    /// How many of those are not in stock any more: fitted, spoiled or lost.
    pub used: u32,
    /// How many are in stock at the bay and go back once the job is over.
    pub goes_back: u32,
}

/// The order list in the layout's order, then whatever else was issued.
pub fn order_list(state: &JobState) -> Vec<OrderListRow> {
    let mut rows: Vec<OrderListRow> = Vec::new();
    let listed = state.layout().and_then(|l| l.order_list.as_deref());
    for line in listed.unwrap_or_default() {
        let item = counted_as(&line.item);
        if let Some(row) = rows.iter_mut().find(|r| r.counted_as == item) {
            row.to_order += line.count;
            row.names.push(line.item.clone());
        } else {
            rows.push(row_of(state, item, vec![line.item.clone()], line.count));
        }
    }
    for (item, account) in state.ledger().accounts() {
        if account.issued > 0 && !rows.iter().any(|r| r.counted_as == item) {
            rows.push(row_of(state, item, Vec::new(), 0));
        }
    }
    rows
}

fn row_of(state: &JobState, item: Item, names: Vec<String>, to_order: u32) -> OrderListRow {
    let account = state.ledger().account(&item);
    let goes_back = account.at(Place::Stock);
    OrderListRow {
        names,
        to_order,
        issued: account.issued,
        used: account.issued.saturating_sub(goes_back),
        goes_back,
        counted_as: item,
    }
}

/// The kind under which the ledger counts what an order list names. The list is free
/// text: a stem seal counts as a new seal, and a name that begins with the word of a
/// part which comes from the store counts as that part (`lock, spare`). Anything else
/// is a part of its own name, such as a gasket.
pub fn counted_as(name: &str) -> Item {
    let lower = name.trim().to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
    let has = |word: &str| words.iter().any(|w| w.trim_end_matches('s') == word);
    let alone = matches!(words[..], ["seal" | "seals"]);
    if alone || (has("seal") && (has("stem") || has("new"))) {
        return Item::NewSeal;
    }
    let first = words.first().map(|w| w.trim_end_matches('s'));
    let parts = [Item::Lock, Item::Retainer, Item::Spring, Item::Follower];
    let part = parts.into_iter().find(|p| first == Some(p.word()));
    part.unwrap_or_else(|| {
        let short: String = name
            .trim()
            .chars()
            .take(crate::parts::ITEM_NAME_MAX)
            .collect();
        short.parse().unwrap_or_else(|_| Item::Other(short.into()))
    })
}
