//! Two tablets each tell another turn of the crank, and it stands where neither says.

use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::{EN, capital};
use trayzero_core::job::{CrankAt, Event, NextStep, Sight};

use super::parts::layout;
use super::told_screens::Two;

fn at(cylinder: u8) -> CrankAt {
    CrankAt {
        cylinder,
        offset_deg: 0.0,
    }
}

fn turn(from: Option<CrankAt>, to: CrankAt, turn_deg: f64) -> Event {
    Event::CrankTurned { from, to, turn_deg }
}

/// Both have turned it from where nobody knew: Ada to the first cylinder, Ben to the third.
fn turned_apart() -> Two {
    let mut two = Two::until(layout("inline-4-8v"), |step| {
        matches!(step, NextStep::Turn { .. })
    });
    assert_eq!(two.ada.state().crank(), None);
    for (screen, cylinder) in two.both().into_iter().zip([1, 3]) {
        let turned = turn(None, at(cylinder), 0.0);
        screen.do_at_the_bay(vec![Event::WrenchOn {}, turned, Event::WrenchOff {}]);
    }
    two.meet();
    two
}

#[test]
fn the_crank_is_said_to_stand_where_neither_tablet_has_it() {
    let mut two = turned_apart();
    for screen in two.both() {
        assert_eq!(screen.bar(), EN.bar_look);
        assert!(screen.hand.says(&capital(EN.danger_crank)));
        assert_eq!(
            screen.refuses(Event::WrenchOn {}),
            "R224",
            "the worst case holds"
        );
    }
    let ada = &mut two.ada;
    assert!(
        !ada.hand.says(EN.turn_then(3, 180.0, None).as_str()),
        "from where?"
    );
    ada.sheet(Sheet::Conflicts);
    let neither = EN.neither_but(EN.crank_nowhere);
    for answer in [EN.crank_at(1, 0.0), EN.crank_at(3, 0.0), neither.clone()] {
        assert!(
            ada.hand.says(&capital(&answer)),
            "{answer}: {:?}",
            ada.hand.names()
        );
    }
    assert!(
        !ada.hand.says(EN.neither_of_them),
        "there is an answer for it"
    );
    ada.hand.picture("told-crank-neither");
    let answers: Vec<Vec<Sight>> = {
        let state = ada.state();
        let conflict = state.open_conflicts().next().unwrap();
        state.answers(conflict)
    };
    let told = [Some(at(1)), Some(at(3)), None];
    assert_eq!(answers, told.map(|at| vec![Sight::Crank { at }]));
    let looked = ada.answer(2, &["Noor"]);
    ada.do_at_the_bay(vec![looked]);
    ada.hand.window.run();
    assert_eq!(
        (ada.state().crank(), ada.state().open_conflicts().count()),
        (None, 0)
    );
    ada.sheet(Sheet::Crank);
    assert!(ada.hand.says(&capital(EN.crank_nowhere)) || ada.hand.says(EN.crank_nowhere));
    assert!(!ada.hand.says(EN.crank_unknown), "it was turned");
    // From there it is turned to a cylinder as at the start, and both know it.
    let step = ada.desk().view().job.unwrap().next.clone();
    assert!(matches!(step, NextStep::Turn { .. }), "{step:?}");
    let turned = turn(None, at(1), 0.0);
    ada.do_at_the_bay(vec![Event::WrenchOn {}, turned, Event::WrenchOff {}]);
    two.meet_again(|state| state.crank() == Some(at(1)) && state.open_conflicts().count() == 0);
}

#[test]
fn the_crank_is_said_to_stand_where_the_second_tablet_has_it() {
    let mut two = turned_apart();
    let looked = two.ada.answer(1, &["Noor"]);
    two.ada.do_at_the_bay(vec![looked]);
    assert_eq!(two.ada.state().crank(), Some(at(3)));
    two.meet_again(|state| state.crank() == Some(at(3)));
}
