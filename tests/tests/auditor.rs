//! The auditor beside the ledger over long random work: every proposal is drawn from a
//! seed, most of it nonsense to the state machine, and after every event that is taken
//! both recount all parts.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::collections::BTreeSet;

use proptest::prelude::*;
use trayzero_tests::figures::say;
use trayzero_tests::hands::{Dice, Hands, Tally};

/// The seed of the short run; a failing run prints its own.
const SEED: u64 = 0x7a65_726f;

/// Works job after job until so many events were taken.
fn work(seed: u64, steps_min: u64) -> Tally {
    let mut all = Tally::default();
    let mut dice = Dice::new(seed);
    while all.taken < steps_min {
        let mut hands = Hands::new(dice.next());
        hands.work(400);
        all.add(&hands.tally);
    }
    all
}

#[test]
fn the_auditor_agrees_with_the_ledger_after_every_step_of_random_work() {
    let long = std::env::var_os("TRAYZERO_LONG").is_some_and(|v| v == "1");
    let steps = if long { 1_000_000 } else { 50_000 };
    let tally = work(SEED, steps);
    println!(
        "auditor: seed {SEED:#x} jobs {} steps {} taken back {} refused {} closed {} kinds of refusal {}",
        tally.jobs,
        tally.taken,
        tally.taken_back,
        tally.refused,
        tally.closed,
        tally.codes.len(),
    );
    say("random events audited", tally.taken);
    // A run that proves something has taken back, refused, dropped and closed a lot.
    assert!(tally.taken_back * 20 > tally.taken, "{tally:?}");
    assert!(tally.drops * 200 > tally.taken, "{tally:?}");
    assert_eq!(tally.closed, tally.jobs, "every job comes to its end");
    assert!(tally.codes.len() > 45, "{:?}", tally.codes);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Sequences that proptest draws, and shortens when one fails.
    #[test]
    fn the_auditor_agrees_on_sequences_that_proptest_draws(
        choices in prop::collection::vec(any::<u64>(), 1..400)
    ) {
        let mut hands = Hands::new(0);
        for choice in choices {
            hands.step(&mut Dice::new(choice));
        }
        let codes: BTreeSet<&str> = hands.tally.codes.clone();
        prop_assert!(hands.tally.taken > 0 || !codes.is_empty());
    }
}
