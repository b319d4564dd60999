//! Blind counts: the list betrays no figure, and what came out right is not counted again.

use trayzero_core::job::Event;
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND, true_lines};
use trayzero_tests::engines::one_cylinder;

use super::{at_the_gate, close_bank, drop_from_kit};

/// Somebody counts what is there, but sees one more of the lines of those numbers.
fn count(bay: &mut Bay, person: &str, one_more: &[usize]) {
    let mut lines = true_lines(&bay.job);
    for at in one_more {
        lines[*at].count += 1;
    }
    let by = bay.scribe.sign(person);
    bay.must(Event::BlindCount { by, lines });
}

#[test]
fn the_count_list_names_what_may_lie_there_and_not_what_does() {
    let mut bay = at_the_gate(one_cylinder());
    let at_the_gate = bay.job.count_list();
    let names = at_the_gate
        .iter()
        .map(|(item, place)| format!("{place:?} {item}"));
    let all = [
        "Tray lock",
        "Tray retainer",
        "Tray spring",
        "Tray follower",
        "Kit vented cover",
        "Kit stopper",
        "Kit hose",
        "Kit wrench",
        "Scrap old seal",
        "Stock new seal",
        "Aside cover",
        "Aside plug",
    ];
    assert_eq!(names.collect::<Vec<_>>(), all);
    // What was entered by mistake is nowhere to be counted.
    let mirror = bay.must(Event::KitCounted {
        item: Item::Other("Mirror".into()),
        count: 1,
    });
    bay.take_back(mirror).unwrap();
    assert_eq!(bay.job.count_list(), at_the_gate);
    for item in [Item::Stopper, Item::VentedCover] {
        drop_from_kit(&mut bay, item);
    }
    assert_eq!(
        bay.job.count_list(),
        at_the_gate,
        "with nothing left in the kit"
    );
    let before = Bay::open(one_cylinder()).job.count_list();
    assert!(
        before.contains(&(Item::OldSeal, Place::Scrap)),
        "{before:?}"
    );
}

#[test]
fn only_what_differs_or_is_off_is_counted_again_and_by_whom_it_waits_for() {
    let mut bay = at_the_gate(one_cylinder());
    let list = bay.job.count_list();
    let again = |bay: &Bay| {
        let again = bay.job.count_again()?;
        let by = again.counts.iter().map(|count| count.by.to_string());
        Some((again.items, by.collect::<Vec<_>>()))
    };
    // A count that is void, for something moved since, is no count of before.
    count(&mut bay, SECOND, &[3]);
    bay.must(Event::WrenchOn {});
    bay.must(Event::WrenchOff {});
    count(&mut bay, FIRST, &[0, 2]);
    assert_eq!(again(&bay), None, "one count says nothing yet");
    assert!(bay.job.is_count_open());
    count(&mut bay, SECOND, &[1, 2]);
    let items = list[..3].to_vec();
    let both = vec![FIRST.to_owned(), SECOND.to_owned()];
    assert_eq!(again(&bay), Some((items.clone(), both)));
    count(&mut bay, FIRST, &[]);
    assert_eq!(again(&bay), Some((items, vec![SECOND.to_owned()])));
    assert!(bay.job.is_count_open());
    count(&mut bay, SECOND, &[]);
    assert_eq!(again(&bay), None, "nothing is left to count");
    assert!(!bay.job.is_count_open());
    let close = close_bank(&mut bay, 0);
    bay.must(close);
    // The cover that went on is no longer where both have counted it.
    assert!(!bay.job.counts_agree() && !bay.job.is_count_open());
}

#[test]
fn a_count_that_is_taken_back_is_gone_and_the_other_stays() {
    let mut bay = at_the_gate(one_cylinder());
    bay.count_twice();
    let second = bay.entries.last().unwrap().id;
    bay.take_back(second).unwrap();
    let by = |c: &trayzero_core::job::CountTaken| c.by.to_string();
    let all: Vec<_> = bay.job.counts().iter().map(by).collect();
    let round: Vec<_> = bay.job.round_counts().into_iter().map(by).collect();
    assert_eq!(
        (all, round),
        (vec![FIRST.to_owned()], vec![FIRST.to_owned()])
    );
}
