//! The whole reachable state space of small engines, walked within the bounds that each
//! test states. `TRAYZERO_LONG=1` widens them: two cylinders also with locks replaced
//! (1.6 million states, some minutes), two banks also with wrong counts.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use trayzero_core::job::HoldKind;
use trayzero_tests::engines::{bucket_cylinder, one_cylinder, two_banks, two_cylinders};
use trayzero_tests::figures::say;
use trayzero_tests::walk::{Bounds, Figures, walk};

fn walked(bounds: &Bounds) -> Figures {
    let began = std::time::Instant::now();
    let figures = walk(bounds).unwrap_or_else(|f| panic!("{}: {f:#?}", bounds.name));
    println!(
        "walk {}: states {} transitions {} taken back {} refused {} closed {} depth {} \
         codes {} seconds {:.0}",
        bounds.name,
        figures.states,
        figures.transitions,
        figures.taken_back,
        figures.refused,
        figures.closed,
        figures.depth,
        figures.codes.len(),
        began.elapsed().as_secs_f64(),
    );
    say("states walked", figures.states as u64);
    say("transitions walked", figures.transitions as u64);
    figures
}

/// Whether the long form is asked for: `TRAYZERO_LONG=1`.
fn long() -> bool {
    std::env::var_os("TRAYZERO_LONG").is_some_and(|v| v == "1")
}

/// A prepared engine on which nothing is lost: the other walks add to it.
fn plain(name: &'static str, layout: trayzero_core::engine::Layout) -> Bounds {
    Bounds {
        prepared: true,
        drops_max: 0,
        locks_lost_max: 0,
        seals_spoiled_max: 0,
        holds: &[],
        pauses: false,
        stops: false,
        ..Bounds::wide(name, layout)
    }
}

#[test]
fn one_cylinder_is_walked_with_a_lock_dropped_found_and_replaced() {
    walked(&Bounds {
        drops_max: 1,
        locks_lost_max: 1,
        ..plain("one cylinder, lock lost", one_cylinder())
    });
}

#[test]
fn one_cylinder_is_walked_with_a_mechanical_hold_and_a_nicked_seal() {
    walked(&Bounds {
        holds: &[HoldKind::Cord],
        seals_spoiled_max: 1,
        ..plain("one cylinder, cord and nick", one_cylinder())
    });
}

#[test]
fn one_cylinder_is_walked_with_air_that_falls_away_and_a_hold() {
    walked(&Bounds {
        air_lost: true,
        holds: &[HoldKind::Piston],
        plugs_any_time: false,
        ..plain("one cylinder, air lost", one_cylinder())
    });
}

#[test]
fn buckets_are_walked_with_two_shims_swapped() {
    walked(&Bounds {
        swaps: true,
        plugs_any_time: false,
        wrong_counts: false,
        ..plain("buckets, shims swapped", bucket_cylinder())
    });
}

#[test]
fn one_cylinder_is_walked_from_the_opening_with_rests_and_stops() {
    walked(&Bounds {
        prepared: false,
        pauses: true,
        stops: true,
        early_counts: true,
        ..plain("one cylinder, rests and stops", one_cylinder())
    });
}

#[test]
fn two_cylinders_are_walked_with_a_lock_dropped_and_found() {
    walked(&Bounds {
        drops_max: 1,
        locks_lost_max: 1,
        spare_locks: long(),
        plugs_any_time: false,
        wrong_counts: false,
        ..plain("two cylinders, lock lost", two_cylinders())
    });
}

/// The bound: one cylinder with two valves, one lock dropped, no wrong counts; in every
/// state each two events that it takes, one a tablet, in both orders.
#[test]
fn one_cylinder_is_walked_with_every_two_events_told_by_two_tablets() {
    let figures = walked(&Bounds {
        drops_max: 1,
        locks_lost_max: 1,
        spare_locks: false,
        plugs_any_time: false,
        wrong_counts: false,
        pauses: long(),
        stops: long(),
        take_back_depth: 3,
        two_tablets: true,
        ..plain("one cylinder, two tablets", one_cylinder())
    });
    println!("merged from two tablets: {}", figures.merged);
    say("pairs of events merged", figures.merged as u64);
    assert!(figures.merged > 50_000, "{figures:?}");
}

#[test]
fn two_banks_are_walked() {
    walked(&Bounds {
        plugs_any_time: false,
        wrong_counts: long(),
        ..plain("two banks", two_banks())
    });
}
