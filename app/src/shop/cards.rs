//! What each tablet shows of itself in the shop folder, in files that only it can seal.
//!
//! Whoever can write there can fill the folder with such files. So those of the shop's own
//! tablets are read in every round whatever else lies there, and of the others so many a
//! round, in turn: every one of them is read in the end, and none costs a round more.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::ops::Bound;
use std::path::{Path, PathBuf};

use trayzero_core::shop_log::TabletCard;
use uuid::Uuid;

use crate::data::crew::{CrewFault, LogSight, WhyFaulty};
use crate::data::store::sealed;

/// What the seal of a card is for.
pub(super) const CARD_PURPOSE: &str = "trayzero member 1";
/// The most names that are looked at.
const NAMES_MAX: usize = 20_000;
/// The most cards of tablets that nobody knows that are read in a round, and kept.
const READ_MAX: usize = 200;
const KEPT_MAX: usize = 2_000;
/// The most cards that do not hold that are told of.
const FAULTS_MAX: usize = 100;

/// The cards of a folder as far as they were read.
#[derive(Debug, Default)]
pub(super) struct Cards {
    others: BTreeMap<Uuid, Result<TabletCard, CrewFault>>,
    /// The one that was read last.
    last: Option<Uuid>,
}

impl Cards {
    /// One round over the folder of cards; `known` are the shop's own tablets.
    pub fn round(&mut self, folder: &Path, known: &BTreeSet<Uuid>, sight: &mut LogSight) {
        let names = fs::read_dir(folder).into_iter().flatten().flatten();
        let mut there = BTreeSet::new();
        let mut faults = Vec::new();
        for path in names.take(NAMES_MAX).map(|name| name.path()) {
            if path.extension().is_none_or(|e| e != "json") {
                continue;
            }
            let stem = path.file_stem().and_then(|stem| stem.to_str());
            match stem.and_then(|stem| stem.parse::<Uuid>().ok()) {
                Some(id) if known.contains(&id) => {}
                Some(id) => {
                    there.insert(id);
                }
                None => faults.push(CrewFault::of(&path, WhyFaulty::OtherCard)),
            }
        }
        self.read_others(folder, &there);
        if there.len() > KEPT_MAX {
            let why = WhyFaulty::TooMany(there.len(), KEPT_MAX);
            faults.insert(0, CrewFault::of(folder, why));
        }
        let own = known.iter().filter_map(|id| read(folder, *id));
        for card in own.chain(self.others.values().cloned()) {
            match card {
                Ok(card) => sight.cards.push(card),
                Err(fault) => faults.push(fault),
            }
        }
        faults.truncate(FAULTS_MAX);
        sight.faults.extend(faults);
    }

    /// Reads some more of those that nobody knows, from where the last round stopped.
    fn read_others(&mut self, folder: &Path, there: &BTreeSet<Uuid>) {
        self.others.retain(|id, _| there.contains(id));
        let after = self.last.map_or(Bound::Unbounded, Bound::Excluded);
        let rest = there.range((after, Bound::Unbounded));
        let begun = there.range(..=self.last.unwrap_or_default());
        let in_turn: Vec<Uuid> = rest.chain(begun).take(READ_MAX).copied().collect();
        for id in in_turn {
            self.last = Some(id);
            if self.others.len() >= KEPT_MAX && !self.others.contains_key(&id) {
                continue;
            }
            match read(folder, id) {
                Some(card) => self.others.insert(id, card),
                None => self.others.remove(&id),
            };
        }
    }
}

/// The card of a tablet, if there is one.
fn read(folder: &Path, tablet: Uuid) -> Option<Result<TabletCard, CrewFault>> {
    let path: PathBuf = folder.join(format!("{tablet}.json"));
    match sealed::read::<TabletCard>(&path, CARD_PURPOSE) {
        Ok(Some(read)) => {
            let card = read.payload;
            let is_its_own = read.key == card.key && card.tablet == tablet;
            let faulty = |why| Err(CrewFault::of(&path, why));
            Some(match card.holds() {
                Ok(()) if is_its_own => Ok(card),
                Ok(()) => faulty(WhyFaulty::OtherCard),
                Err(why) => faulty(WhyFaulty::NoCard(why)),
            })
        }
        Ok(None) => None,
        Err(error) => Some(Err(error.into())),
    }
}
