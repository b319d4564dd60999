//! After two counts that differ the screen says what is to be laid out and counted anew, and
//! nothing else: those who have counted count that alone, somebody else counts everything.

use egui::vec2;
use trayzero::ui::intent::Intent;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::Language;
use trayzero_core::job::{Event, Person, SignOff};
use trayzero_tests::bay::true_lines;
use uuid::Uuid;

use super::sheets::says;
use super::shop::furnished;
use super::stage::Stage;

/// Somebody counts what is there, but sees so many more of the item at a place of the list.
fn count(stage: &mut Stage, who: &str, more_of: &[usize]) {
    let mut lines = true_lines(stage.shell.desk.state().unwrap());
    for at in more_of {
        lines[*at].count += 1;
    }
    let by = SignOff {
        person: Person::new(who),
        entering: Uuid::now_v7(),
        proof: None,
    };
    let event = Event::BlindCount { by, lines };
    stage.shell.carry_out(Intent::Tap(vec![event]));
    stage.settle();
}

#[test]
fn only_what_differs_is_said_to_be_counted_anew_and_is() {
    for language in Language::ALL {
        let (_folder, jobs, mut stage) = furnished(language, vec2(1280.0, 800.0));
        let w = stage.words;
        stage.job(jobs.depot[3], false);
        let list = stage.shell.desk.state().unwrap().count_list();
        // One item in which the two differ, one in which both differ from what is there.
        count(&mut stage, "Wren", &[0, 2]);
        count(&mut stage, "Ilka", &[2]);
        let name = |at: usize| {
            let (item, place) = &list[at];
            format!("{}: {}", w.place(*place), w.items_n_word(item))
        };
        stage.shell.screens.bay.sheets.open(Sheet::Gate(0));
        stage.settle();
        let anew = format!("{}: {} · {}", w.count_again_why, name(0), name(2));
        assert!(says(&stage, &anew), "the gate names what is counted anew");
        for everything in ["everything", "Alles auslegen"] {
            assert!(!says(&stage, everything), "and nothing else");
        }
        let counts = |stage: &mut Stage, who: &str| {
            stage.shell.screens.bay.sheets.close();
            stage.shell.screens.bay.sheets.open(Sheet::Count(0));
            stage.settle();
            assert!(says(stage, &anew) && says(stage, w.else_counts_all));
            stage.tap(who);
        };
        counts(&mut stage, "Wren");
        assert!(says(&stage, &w.n_of_m(1, 2)), "two items are counted");
        stage.job(jobs.depot[3], false);
        counts(&mut stage, w.somebody_else);
        assert!(says(&stage, &w.n_of_m(1, list.len())), "all are counted");
    }
}
