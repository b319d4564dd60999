//! Any two tablets with the same lines show the same order, however the lines came.

use proptest::prelude::*;
use trayzero_core::job::{Entry, Event};
use trayzero_core::journal::{Hlc, merge};
use uuid::Uuid;

use crate::support::{entry, small_event};

/// What three tablets do: write, or hear of another's lines; each with a wall clock that
/// is wrong by its own amount and may jump.
#[derive(Clone, Debug)]
struct Deed {
    tablet: usize,
    hears: Option<usize>,
    wall_ms: i64,
}

fn deeds() -> impl Strategy<Value = Vec<Deed>> {
    let deed = (0..3_usize, prop::option::of(0..3_usize), 0..5_000_i64).prop_map(
        |(tablet, hears, wall_ms)| Deed {
            tablet,
            hears,
            wall_ms,
        },
    );
    prop::collection::vec(deed, 1..60)
}

/// An entry, and the identities of what its writer had seen by then.
type Written = (Entry, Vec<Uuid>);

/// Plays the deeds; the journals of the three tablets, and for each entry what its writer
/// had seen by then.
fn play(deeds: &[Deed]) -> (Vec<Vec<Entry>>, Vec<Written>) {
    let mut journals = vec![Vec::new(); 3];
    let mut clocks = [Hlc::default(); 3];
    let mut seen: Vec<Vec<Uuid>> = vec![Vec::new(); 3];
    let mut history = Vec::new();
    for (step, deed) in deeds.iter().enumerate() {
        if let Some(other) = deed.hears {
            clocks[deed.tablet] = clocks[deed.tablet].observe(clocks[other]);
            let heard = seen[other].clone();
            seen[deed.tablet].extend(heard);
            continue;
        }
        let tablet = Uuid::from_u128(deed.tablet as u128 + 1);
        let mut entry = entry(
            tablet,
            step as u32,
            Hlc::default(),
            small_event(step as u32),
        );
        entry.at_ms = deed.wall_ms + deed.tablet as i64 * 1_000;
        let clock = clocks[deed.tablet].tick(entry.at_ms);
        clocks[deed.tablet] = clock;
        entry.clock = clock.pair();
        history.push((entry.clone(), seen[deed.tablet].clone()));
        seen[deed.tablet].push(entry.id);
        journals[deed.tablet].push(entry);
    }
    (journals, history)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn the_order_does_not_depend_on_the_way_the_lines_came(
        deeds in deeds(),
        cuts in prop::collection::vec(0..60_usize, 3),
        turn in 0..3_usize,
    ) {
        let (journals, history) = play(&deeds);
        let whole = merge(journals.clone());
        prop_assert_eq!(whole.entries.len(), history.len(), "nothing is dropped");
        prop_assert!(whole.clashes.is_empty());

        // In another order of files, each in two parts with an overlap, parts merged first.
        let mut parts = Vec::new();
        for (journal, cut) in journals.iter().zip(&cuts) {
            let cut = cut % (journal.len() + 1);
            parts.push(journal[cut..].to_vec());
            parts.push(journal[..(cut + 2).min(journal.len())].to_vec());
        }
        parts.rotate_left(turn);
        let half = merge(parts[..3].to_vec()).entries;
        let mut rest = parts[3..].to_vec();
        rest.push(half);
        prop_assert_eq!(&merge(rest), &whole);

        // What a tablet had seen when it wrote stands before what it wrote.
        let place = |id: Uuid| whole.entries.iter().position(|e| e.id == id);
        for (entry, seen) in &history {
            for before in seen {
                prop_assert!(place(*before) < place(entry.id));
            }
        }
    }

    /// Whatever somebody says that lines were made after (rings, lines that are nowhere, their
    /// own next line), there is one order, every line once.
    #[test]
    fn what_lines_say_that_they_were_made_after_gives_one_order(
        deeds in deeds(),
        named in prop::collection::vec(
            (any::<prop::sample::Index>(), any::<prop::sample::Index>()),
            1..20,
        ),
        cut in 0..60_usize,
    ) {
        let (mut journals, history) = play(&deeds);
        let mut all: Vec<(Uuid, Uuid)> = history.iter().map(|(e, _)| (e.tablet, e.id)).collect();
        all.push((Uuid::from_u128(9), Uuid::from_u128(9)));
        for (which, what) in &named {
            let which = all[which.index(all.len())].1;
            let mut entries = journals.iter_mut().flatten();
            if let Some(entry) = entries.find(|entry| entry.id == which) {
                entry.after = Some(Box::new(all[what.index(all.len())]));
            }
        }
        let whole = merge(journals.clone());
        prop_assert_eq!(whole.entries.len(), history.len());
        let mut lines: Vec<Entry> = journals.concat();
        lines.reverse();
        let rest = lines.split_off(cut % (lines.len() + 1));
        prop_assert_eq!(&merge([merge([rest]).entries, lines]), &whole);
    }
}

#[test]
fn one_identity_with_two_contents_is_a_clash_whichever_comes_first() {
    let first = entry(Uuid::from_u128(1), 1, Hlc::default(), small_event(1));
    let mut forged = first.clone();
    forged.event = Event::WrenchOff {};
    let mut moved = first.clone();
    moved.clock.0 += 5;
    for other in [forged, moved] {
        let one = merge([vec![first.clone()], vec![other.clone()]]);
        let two = merge([vec![other.clone(), first.clone()], vec![first.clone()]]);
        assert_eq!(one, two);
        assert_eq!(one.clashes, [first.id]);
        assert_eq!(one.entries.len(), 1);
    }
}

#[test]
fn one_identity_of_two_tablets_is_two_events_and_neither_displaces_the_other() {
    let first = entry(Uuid::from_u128(1), 1, Hlc::default(), small_event(1));
    let mut forged = entry(Uuid::from_u128(2), 1, Hlc::default(), small_event(2));
    forged.id = first.id;
    forged.clock = (first.clock.0 - 1, 0);
    let one = merge([vec![first.clone()], vec![forged.clone()]]);
    let two = merge([vec![forged.clone(), forged.clone()], vec![first.clone()]]);
    assert_eq!(one, two);
    assert_eq!(one.entries, [forged, first.clone()]);
    assert_eq!(one.clashes, [first.id]);
}
