//! A state without identities and times, as one number.

use std::hash::{DefaultHasher, Hash, Hasher};

use trayzero_core::engine::Layout;
use trayzero_core::job::{DropStatus, JobState};
use trayzero_core::parts::Place;

use crate::bay::true_lines;

/// Two states with the same key allow the same events. 128 bits: among ten million
/// states the chance that two different ones share a key is below 1e-24.
pub(super) fn key_of(job: &JobState) -> u128 {
    let mut low = DefaultHasher::new();
    let mut high = DefaultHasher::new();
    0x7a65_726f_u32.hash(&mut high);
    feed(job, &mut low);
    feed(job, &mut high);
    u128::from(low.finish()) | u128::from(high.finish()) << 64
}

fn feed(job: &JobState, into: &mut impl Hasher) {
    job.phase().hash(into);
    job.wrench_on().hash(into);
    if let Some(at) = job.crank() {
        (at.cylinder, at.offset_deg.to_bits()).hash(into);
    }
    for (valve, known) in job.valves() {
        (valve.cylinder, known.stages_seen).hash(into);
    }
    for number in job.layout().into_iter().flat_map(Layout::cylinders) {
        let Some(c) = job.cylinder(number) else {
            continue;
        };
        let hole = (c.plug_out, c.vented_cover_in, c.hose_in);
        (hole, c.air_bar.map(f64::to_bits), c.hold).hash(into);
        c.air_lost.hash(into);
    }
    for bank in (0..job.bank_count()).filter_map(|b| job.bank(b)) {
        (bank.cover_off, bank.closed_in.is_some(), &bank.aboard).hash(into);
    }
    for (item, account) in job.ledger().accounts() {
        (item, account.counted_in, account.issued).hash(into);
        Place::ALL.map(|place| account.at(place)).hash(into);
    }
    for drop in job.drops() {
        let status = match drop.status {
            DropStatus::Adrift => 0,
            DropStatus::Found(_) => 1,
            DropStatus::Unfound(_) => 2,
        };
        (&drop.item, drop.count, drop.from, drop.valve, status).hash(into);
    }
    for swap in job.open_swaps() {
        (&swap.item, swap.valve, swap.own).hash(into);
    }
    let counts = job.round_counts();
    counts.len().hash(into);
    if !counts.is_empty() {
        let lines = true_lines(job);
        for count in counts {
            (&count.by, count.lines == lines).hash(into);
        }
    }
}
