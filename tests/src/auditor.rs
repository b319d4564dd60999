//! The auditor: a second, naive model of the parts. It keeps, for every event that
//! stands, what a person at the bench would say went from where to where, and adds all
//! of it up anew at every look. It shares nothing with the ledger but the event's words.
//! Beside it somebody keeps an eye on the engine.

mod course;
mod engine;

use std::collections::{BTreeMap, BTreeSet};

use trayzero_core::engine::{AdaptorRule, Follower, Layout};
use trayzero_core::job::{Entry, Event, FindingKind, JobState, Stage};
use trayzero_core::parts::{Item, Ledger, Place};
use uuid::Uuid;

use engine::AtTheEngine;

/// A place as the auditor sees it: the shop's own, or one of the two outsides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Spot {
    /// Counted in from the vehicle or the tool wall.
    Outside,
    /// Of the store.
    Store,
    /// In the bay.
    In(Place),
}

/// So many went from one spot to another.
#[derive(Clone, Debug)]
struct Slip {
    item: Item,
    count: u32,
    from: Spot,
    to: Spot,
}

/// The auditor of one job.
#[derive(Clone, Debug, Default)]
pub struct Auditor {
    layout: Option<Layout>,
    /// The slips of every event that stands, by its identity.
    slips: Vec<(Uuid, Vec<Slip>)>,
    /// Every event, and those of them that were taken back.
    entries: Vec<Entry>,
    taken_back: BTreeSet<Uuid>,
    /// What the job said of how often something moved.
    moves: u64,
}

impl Auditor {
    /// Writes down an event that the job has taken, and tells the first difference to what
    /// it shows now, in words.
    pub fn take(&mut self, entry: &Entry, job: &JobState) -> Option<String> {
        let is_about = match &entry.event {
            Event::Withdrawn { event, .. } => *event,
            _ => entry.id,
        };
        if let Event::JobOpened(opening) = &entry.event {
            self.layout = Some(opening.layout.clone());
        }
        let slips = self.slips_of(&entry.event);
        if !slips.is_empty() {
            self.slips.push((entry.id, slips));
        }
        self.entries.push(entry.clone());
        let is_still = !self.moves_something(is_about);
        if is_about != entry.id {
            self.slips.retain(|(id, _)| *id != is_about);
            self.taken_back.insert(is_about);
        }
        let moves = std::mem::replace(&mut self.moves, job.moves());
        self.ledger_differs(job.ledger())
            .or_else(|| self.engine_differs(job))
            .or_else(|| {
                let stands = |entry: &Entry| !self.taken_back.contains(&entry.id);
                course::differs(&self.entries, stands, job)
            })
            .or_else(|| (!is_still && job.moves() <= moves).then(|| "no move was counted".into()))
    }

    /// Whether a count taken before the event says nothing any more: something is elsewhere,
    /// a cover aside, or a valve is.
    fn moves_something(&self, event: Uuid) -> bool {
        let slips = self.slips.iter().filter(|(id, _)| *id == event);
        let mut moved = slips.flat_map(|(_, slips)| slips);
        let found = self.entries.iter().find(|e| e.id == event);
        let at_a_valve = found.is_some_and(|e| matches!(e.event, Event::StageSeen { .. }));
        at_a_valve || moved.any(|slip| slip.item != Item::Cover)
    }

    fn engine_differs(&self, job: &JobState) -> Option<String> {
        let stands = |entry: &&Entry| !self.taken_back.contains(&entry.id);
        let standing = self.entries.iter().filter(stands);
        let layout = self.layout.as_ref()?;
        let shown = job.adaptor_in_use().map(str::to_owned);
        let told = AtTheEngine::after(layout, standing).differs_from(job);
        told.or_else(|| {
            let on_the_tool = self.adaptor_on_the_tool(layout);
            (on_the_tool != shown).then(|| format!("{on_the_tool:?} is on the tool, not {shown:?}"))
        })
    }

    /// What pressed the last spring stays on the tool, also where that was taken back.
    fn adaptor_on_the_tool(&self, layout: &Layout) -> Option<String> {
        let valve = self
            .entries
            .iter()
            .rev()
            .find_map(|entry| match entry.event {
                Event::StageSeen {
                    valve,
                    stage: Stage::SpringHeld,
                    ..
                } => Some(valve),
                _ => None,
            })?;
        let of_it = |rule: &&AdaptorRule| {
            (rule.cylinder, &rule.valve) == (valve.cylinder, &valve.within_cylinder())
        };
        let rule = layout.adaptors.iter().find(of_it);
        Some(rule.map_or("standard", |rule| &rule.adaptor).to_owned())
    }

    fn ledger_differs(&self, ledger: &Ledger) -> Option<String> {
        let sums = self.sums();
        let mut items: Vec<Item> = ledger.accounts().map(|(item, _)| item).collect();
        items.extend(sums.keys().map(|(item, _)| item.clone()));
        items.sort();
        items.dedup();
        let sum = |item: &Item, spot| sums.get(&(item.clone(), spot)).copied().unwrap_or(0);
        for item in items {
            let account = ledger.account(&item);
            let mut figures = vec![
                (Spot::Outside, -i64::from(account.counted_in)),
                (Spot::Store, -i64::from(account.issued)),
            ];
            figures.extend(Place::ALL.map(|place| (Spot::In(place), i64::from(account.at(place)))));
            for (spot, theirs) in figures {
                let ours = sum(&item, spot);
                if ours != theirs {
                    return Some(format!("{item} {spot:?}: auditor {ours}, ledger {theirs}"));
                }
            }
        }
        None
    }

    /// All slips added up: what went in less what went out.
    fn sums(&self) -> BTreeMap<(Item, Spot), i64> {
        let mut sums = BTreeMap::new();
        for slip in self.slips.iter().flat_map(|(_, slips)| slips) {
            let count = i64::from(slip.count);
            *sums.entry((slip.item.clone(), slip.to)).or_insert(0) += count;
            *sums.entry((slip.item.clone(), slip.from)).or_insert(0) -= count;
        }
        sums
    }

    /// The item and the count that a drop reported.
    fn dropped(&self, drop: Uuid) -> Option<(Item, u32)> {
        let (_, slips) = self.slips.iter().find(|(id, _)| *id == drop)?;
        let slip = slips.iter().find(|s| s.to == Spot::In(Place::Adrift))?;
        Some((slip.item.clone(), slip.count))
    }

    fn slips_of(&self, event: &Event) -> Vec<Slip> {
        use Place::{Adrift, Aside, Home, Kit, Scrap, Stock, Tray, Unfound};
        let inside = |item: &Item, count: u32, from: Place, to: Place| Slip {
            item: item.clone(),
            count,
            from: Spot::In(from),
            to: Spot::In(to),
        };
        let waits_at = |item: &Item| match item {
            Item::Cover | Item::Plug => Aside,
            _ => Tray,
        };
        match event {
            Event::JobOpened(opening) => fitted_at_first(&opening.layout),
            Event::StageSeen {
                stage,
                locks_dropped,
                seals_spoiled,
                ..
            } => self.stage_slips(*stage, u32::from(*locks_dropped), u32::from(*seals_spoiled)),
            Event::KitCounted { item, count } => vec![Slip {
                from: Spot::Outside,
                ..inside(item, *count, Kit, Kit)
            }],
            Event::StockIssued { item, count } => vec![Slip {
                from: Spot::Store,
                ..inside(item, *count, Stock, Stock)
            }],
            Event::StockReturned { item, count } => vec![Slip {
                to: Spot::Store,
                ..inside(item, *count, Stock, Stock)
            }],
            Event::TakenFromStock { item, count } => {
                vec![inside(item, *count, Stock, waits_at(item))]
            }
            Event::PutAway { item, count, to } => vec![inside(item, *count, Tray, *to)],
            Event::PutAboard { item, count, .. } => vec![inside(item, *count, Kit, Place::Aboard)],
            Event::TakenOff { item, count, .. } => vec![inside(item, *count, Place::Aboard, Kit)],
            Event::PartUsed { item, count } => vec![inside(item, *count, Stock, Home)],
            Event::PartReplaced { item, count, .. } => {
                let serves = match item {
                    Item::NewSeal => Home,
                    _ => Tray,
                };
                vec![
                    inside(item, *count, serves, Scrap),
                    inside(item, *count, Stock, serves),
                ]
            }
            Event::PartDropped {
                item, count, from, ..
            } => vec![inside(item, *count, *from, Adrift)],
            Event::FindingNoted(finding) => match finding.kind {
                FindingKind::SealTorn { missing } if missing > 0 => vec![Slip {
                    from: Spot::Outside,
                    ..inside(&Item::SealPiece, missing, Adrift, Adrift)
                }],
                _ => Vec::new(),
            },
            Event::PartFound { dropped, to, .. } => self
                .dropped(*dropped)
                .map(|(item, count)| inside(&item, count, Adrift, *to))
                .into_iter()
                .collect(),
            Event::SearchSigned { dropped, .. } => self
                .dropped(*dropped)
                .map(|(item, count)| inside(&item, count, Adrift, Unfound))
                .into_iter()
                .collect(),
            _ => engine_slip(event).into_iter().collect(),
        }
    }

    /// What one stage moves, told part by part.
    fn stage_slips(&self, stage: Stage, locks_dropped: u32, seals_spoiled: u32) -> Vec<Slip> {
        let Some(layout) = &self.layout else {
            return Vec::new();
        };
        let locks = u32::from(layout.locks_per_valve);
        let springs = u32::from(layout.springs_per_valve);
        let followers = u32::from(layout.follower != Follower::None);
        let shims = shims_of_a_valve(layout);
        let told = match stage {
            Stage::Positioned => vec![
                (Item::Follower, followers, Place::Home, Place::Tray),
                (Item::Shim, shims, Place::Home, Place::Tray),
            ],
            Stage::SpringHeld => Vec::new(),
            Stage::LocksOut => vec![
                (Item::Lock, locks - locks_dropped, Place::Home, Place::Tray),
                (Item::Lock, locks_dropped, Place::Home, Place::Adrift),
                (Item::Retainer, 1, Place::Home, Place::Tray),
                (Item::Spring, springs, Place::Home, Place::Tray),
            ],
            Stage::SealFitted => vec![
                (Item::OldSeal, 1, Place::Home, Place::Scrap),
                (Item::NewSeal, seals_spoiled, Place::Stock, Place::Scrap),
                (Item::NewSeal, 1, Place::Stock, Place::Home),
            ],
            Stage::LocksIn => vec![
                (Item::Lock, locks, Place::Tray, Place::Home),
                (Item::Retainer, 1, Place::Tray, Place::Home),
                (Item::Spring, springs, Place::Tray, Place::Home),
            ],
            Stage::Verified => vec![
                (Item::Follower, followers, Place::Tray, Place::Home),
                (Item::Shim, shims, Place::Tray, Place::Home),
            ],
        };
        told.into_iter()
            .filter(|(_, count, ..)| *count > 0)
            .map(|(item, count, from, to)| Slip {
                item,
                count,
                from: Spot::In(from),
                to: Spot::In(to),
            })
            .collect()
    }
}

/// One thing that goes in or comes off at the engine.
fn engine_slip(event: &Event) -> Option<Slip> {
    use Place::{Aboard, Aside, Home, Kit};
    let (item, from, to) = match event {
        Event::CoverOff { .. } => (Item::Cover, Home, Aside),
        Event::BankClosed { .. } => (Item::Cover, Aside, Home),
        Event::PlugOut { .. } => (Item::Plug, Home, Aside),
        Event::PlugIn { .. } => (Item::Plug, Aside, Home),
        Event::VentedCoverIn { .. } => (Item::VentedCover, Kit, Aboard),
        Event::VentedCoverOut { .. } => (Item::VentedCover, Aboard, Kit),
        Event::HoseIn { .. } => (Item::Hose, Kit, Aboard),
        Event::HoseOut { .. } => (Item::Hose, Aboard, Kit),
        Event::WrenchOn {} => (Item::Wrench, Kit, Aboard),
        Event::WrenchOff {} => (Item::Wrench, Aboard, Kit),
        _ => return None,
    };
    Some(Slip {
        item,
        count: 1,
        from: Spot::In(from),
        to: Spot::In(to),
    })
}

/// A bucket lies on one shim, unless its layout says that it has none.
fn shims_of_a_valve(layout: &Layout) -> u32 {
    match (layout.follower, layout.shims_per_valve) {
        (Follower::Bucket, None) => 1,
        (Follower::Bucket, Some(count)) => u32::from(count),
        _ => 0,
    }
}

/// What an engine has fitted before anyone touches it.
fn fitted_at_first(layout: &Layout) -> Vec<Slip> {
    let mut counts: BTreeMap<Item, u32> = BTreeMap::new();
    for bank in &layout.banks {
        *counts.entry(Item::Cover).or_default() += 1;
        for _ in &bank.cylinders {
            *counts.entry(Item::Plug).or_default() += 1;
            for _ in 0..layout.intake_valves + layout.exhaust_valves {
                *counts.entry(Item::OldSeal).or_default() += 1;
                *counts.entry(Item::Retainer).or_default() += 1;
                *counts.entry(Item::Lock).or_default() += u32::from(layout.locks_per_valve);
                *counts.entry(Item::Spring).or_default() += u32::from(layout.springs_per_valve);
                *counts.entry(Item::Shim).or_default() += shims_of_a_valve(layout);
                if layout.follower != Follower::None {
                    *counts.entry(Item::Follower).or_default() += 1;
                }
            }
        }
    }
    counts
        .into_iter()
        .filter(|(_, count)| *count > 0)
        .map(|(item, count)| Slip {
            item,
            count,
            from: Spot::Outside,
            to: Spot::In(Place::Home),
        })
        .collect()
}
