//! What was told lost stays lost until it is found, searched for or looked at, whatever
//! two to four tablets say against each other. `TRAYZERO_LONG=1` runs 20,000 of them.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use trayzero_core::engine::Layout;
use trayzero_core::job::{Entry, Event};
use trayzero_core::parts::Item;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::{one_cylinder, two_banks, two_cylinders};
use trayzero_tests::figures::say;
use trayzero_tests::told::{Tally, run};

/// One whole job with rags in its kit, from which each run takes some of the beginning.
fn whole(layout: Layout) -> (Vec<Entry>, Layout) {
    let mut bay = Bay::open(layout.clone());
    bay.must(Event::KitCounted {
        item: Item::Rag,
        count: 2,
    });
    bay.work_to_the_end();
    (bay.entries, layout)
}

fn runs(seeds: impl Iterator<Item = u64>) -> Tally {
    let jobs = [one_cylinder(), two_cylinders(), two_banks()].map(whole);
    let mut tally = Tally::default();
    for seed in seeds {
        let (entries, layout) = &jobs[(seed % 3) as usize];
        let ran = run(seed, entries, layout, &mut tally);
        if let Err(inside) = ran {
            panic!("seed {seed}: {inside}");
        }
    }
    tally
}

#[test]
fn nothing_that_was_told_lost_is_closed_in() {
    let long = std::env::var_os("TRAYZERO_LONG").is_some_and(|v| v == "1");
    let count = if long { 20_000 } else { 1_500 };
    let tally = runs(0..count);
    println!("told: {tally:?}");
    say("runs of tablets with losses", tally.runs);
    // Runs that prove something have lost, contradicted, resolved and closed a lot.
    assert!(tally.losses > tally.runs / 2, "{tally:?}");
    assert!(tally.conflicts > tally.runs / 2, "{tally:?}");
    assert!(tally.resolved > tally.runs / 2, "{tally:?}");
    assert!(tally.taken_back > tally.runs / 4, "{tally:?}");
    assert!(tally.reopened > tally.runs / 100, "{tally:?}");
    assert!(tally.covers_on > tally.runs / 2, "{tally:?}");
    assert!(tally.jobs_closed > tally.runs / 2, "{tally:?}");
}

#[test]
fn nothing_is_closed_in_with_seeds_of_today() {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    let start = now.unwrap().as_nanos() as u64 / 1_000;
    let tally = runs(start..start + 500);
    say("runs of tablets with losses", tally.runs);
}
