//! What a new tap is asked on top of the rules: words where there is nothing but words,
//! and nobody walks away from air, a pressed spring or a valve that only air holds.

use trayzero_core::job::{Event, Finding, FindingKind, HoldKind, Refusal, Stage};

use super::events::{AT_1, HASH, INTAKE, leak_of, picture, turn};
use super::leads::*;

fn rest(why: &str) -> Event {
    Event::Paused { why: why.into() }
}

fn something_else(text: &str) -> Event {
    Event::FindingNoted(Box::new(Finding {
        cylinder: 1,
        valve: Some(INTAKE),
        kind: FindingKind::Other,
        text: text.into(),
    }))
}

fn held(hold: HoldKind) -> Event {
    Event::HoldDeclared { cylinder: 1, hold }
}

#[test]
fn a_tap_of_today_is_asked_more_than_an_old_journal() {
    let note = |text: &str| Event::Noted { text: text.into() };
    let put_off = Event::CylinderPutOff { cylinder: 1 };
    let scored = Event::FindingNoted(Box::new(Finding {
        cylinder: 1,
        valve: Some(INTAKE),
        kind: FindingKind::ScoredStem,
        text: String::new(),
    }));
    let gapes = [
        Event::PlugOut { cylinder: 1 },
        Event::WrenchOn {},
        turn(None, AT_1, 0.0),
    ];
    // What is done first, what is asked for then, and the code of what stands against it.
    let rows = vec![
        (opened(), rest(""), Some("R130")),
        (opened(), rest(" \n"), Some("R130")),
        (opened(), rest("the day is over"), None),
        (opened(), note(""), Some("R130")),
        (opened(), note("oil on the floor"), None),
        (opened(), something_else(""), Some("R130")),
        (opened(), something_else("a mark on the guide"), None),
        (opened(), scored, None),
        (opened(), picture(HASH), None),
        // Work is broken off at any time, but never without a word: the bell rings.
        (before_spring_held(), rest("lunch"), None),
        (unlocked(), rest(""), Some("R130")),
        (unlocked(), rest("the bell rings"), None),
        (opened(), leak_of(1), Some("R203")),
        (read_through_one_hole(), leak_of(2), Some("R215")),
        (
            with(at_first_top(), [Event::WrenchOn {}]),
            leak_of(1),
            Some("R213"),
        ),
        (before_spring_held(), leak_of(1), Some("R205")),
        (at_first_top(), leak_of(1), None),
        (before_spring_held(), put_off.clone(), Some("R209")),
        (before_locks_out(), put_off.clone(), Some("R220")),
        (unlocked(), put_off.clone(), Some("R221")),
        (
            with(
                before(opened(), Stage::Positioned),
                [held(HoldKind::Piston)],
            ),
            put_off.clone(),
            Some("R211"),
        ),
        (opened(), put_off, None),
        // A cord goes through the plug hole, which the hose fills; a piston does not.
        (before_spring_held(), held(HoldKind::Cord), Some("R205")),
        (before_spring_held(), held(HoldKind::Piston), None),
        (with(kitted(), gapes), held(HoldKind::Cord), None),
    ];
    for (mut bay, event, code) in rows {
        let against = bay.job.objection(&event);
        assert_eq!(against.as_ref().map(Refusal::code), code, "{event:?}");
        // The journals of before hold such lines, and they still read.
        let entry = bay.scribe.entry(event);
        assert!(bay.job.apply(&entry).is_ok());
    }
}
