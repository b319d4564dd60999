//! Where the new parts went, what was thrown away, and the kit.

use std::collections::BTreeMap;

use serde::Serialize;

use super::timeline::Timeline;
use crate::job::{Event, Stage};
use crate::parts::{Item, Place};

/// One kind of part.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartLine {
    /// The part.
    pub item: Item,
    /// New ones issued from the store.
    pub issued: u32,
    /// New ones that went onto the engine.
    pub used: u32,
    /// New ones spoiled before they were fitted.
    pub spoiled: u32,
    /// New ones given back to the store.
    pub returned: u32,
    /// New ones still in stock at the bay: they go back to the store.
    pub left: u32,
    /// In the scrap box, old ones and spoiled ones together.
    pub scrapped: u32,
    /// Dropped and not found.
    pub adrift: u32,
    /// Searched for by two people, signed for and not found.
    pub unfound: u32,
}

/// One kind of kit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KitRow {
    /// The kit.
    pub item: Item,
    /// How many were counted in.
    pub counted_in: u32,
    /// How many are in the kit now.
    pub in_kit: u32,
    /// How many are in or on the engine.
    pub aboard: u32,
    /// Dropped and not found.
    pub adrift: u32,
    /// Searched for by two people, signed for and not found.
    pub unfound: u32,
}

/// What the events say of one kind of part.
#[derive(Default)]
struct Flow {
    issued: u32,
    used: u32,
    spoiled: u32,
    returned: u32,
}

/// Every part that came from the store or went to the scrap box.
pub(super) fn part_lines(timeline: &Timeline) -> Vec<PartLine> {
    let flows = flows(timeline);
    let parts = timeline
        .state
        .ledger()
        .accounts()
        .filter_map(|(item, account)| {
            let none = Flow::default();
            let flow = flows.get(&item).unwrap_or(&none);
            let scrapped = account.at(Place::Scrap);
            let kit_alone = item.is_kit() && flow.issued == 0;
            if kit_alone || flow.issued + scrapped == 0 {
                return None;
            }
            Some(PartLine {
                issued: flow.issued,
                used: flow.used,
                spoiled: flow.spoiled,
                returned: flow.returned,
                left: account.at(Place::Stock),
                scrapped,
                adrift: account.at(Place::Adrift),
                unfound: account.at(Place::Unfound),
                item,
            })
        });
    parts.collect()
}

/// Every piece of kit that was counted in.
pub(super) fn kit_lines(timeline: &Timeline) -> Vec<KitRow> {
    let accounts = timeline.state.ledger().accounts();
    accounts
        .filter(|(item, account)| item.is_kit() && account.counted_in > 0)
        .map(|(item, account)| KitRow {
            counted_in: account.counted_in,
            in_kit: account.at(Place::Kit),
            aboard: account.at(Place::Aboard),
            adrift: account.at(Place::Adrift),
            unfound: account.at(Place::Unfound),
            item,
        })
        .collect()
}

fn flows(timeline: &Timeline) -> BTreeMap<Item, Flow> {
    let mut flows: BTreeMap<Item, Flow> = BTreeMap::new();
    for entry in &timeline.standing {
        match &entry.event {
            Event::StockIssued { item, count } => of(&mut flows, item).issued += count,
            Event::StockReturned { item, count } => of(&mut flows, item).returned += count,
            Event::TakenFromStock { item, count }
            | Event::PartUsed { item, count }
            | Event::PartReplaced { item, count, .. } => of(&mut flows, item).used += count,
            // What had come from stock to the tray and was not needed is new again.
            Event::PutAway {
                item,
                count,
                to: Place::Stock,
            } => {
                let flow = of(&mut flows, item);
                flow.used = flow.used.saturating_sub(*count);
            }
            Event::StageSeen {
                stage: Stage::SealFitted,
                seals_spoiled,
                ..
            } => {
                let flow = of(&mut flows, &Item::NewSeal);
                flow.used += 1;
                flow.spoiled += u32::from(*seals_spoiled);
            }
            _ => {}
        }
    }
    flows
}

fn of<'a>(flows: &'a mut BTreeMap<Item, Flow>, item: &Item) -> &'a mut Flow {
    flows.entry(item.clone()).or_default()
}
