//! First-use cards: one a screen, shown until hidden, never in the way.

use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use egui::{Rect, Vec2, vec2};
use trayzero::data::settings::SettingsFile;
use trayzero::data::store::Store;
use trayzero::demo::{DemoFolder, open_demo_folder};
use trayzero::ui::first_use::FirstUse;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::{EN, Language, Words};

use super::tablet::{NOW, Tablet};

const ACROSS: Vec2 = vec2(1280.0, 800.0);

/// A way to the screen of every card; the bay is that of the first job.
const WAYS: [(FirstUse, Screen, Option<Sheet>); 11] = [
    (FirstUse::Bays, Screen::Bays, None),
    (FirstUse::NewJob, Screen::NewJob, None),
    (FirstUse::Board, Screen::Board, None),
    (FirstUse::Layouts, Screen::Layouts, None),
    (FirstUse::Settings, Screen::Settings, None),
    (FirstUse::Bay, Screen::Bay, None),
    (FirstUse::Parts, Screen::Bay, Some(Sheet::Parts)),
    (FirstUse::Gate, Screen::Bay, Some(Sheet::Gate(0))),
    (FirstUse::TakeIn, Screen::Bay, Some(Sheet::TakeIn)),
    (FirstUse::Crank, Screen::Bay, Some(Sheet::Crank)),
    (FirstUse::Drop, Screen::Bay, Some(Sheet::Drop)),
];

fn demo() -> DemoFolder {
    open_demo_folder(NOW).unwrap()
}

fn hide(words: &Words, card: FirstUse) -> String {
    format!("{}: {}", words.hide_card, words.first_use_title(card))
}

fn shown(tablet: &Tablet, words: &Words) -> Vec<FirstUse> {
    let is_shown = |card: &FirstUse| tablet.place(&hide(words, *card)).is_some();
    FirstUse::ALL.into_iter().filter(is_shown).collect()
}

fn walk_to(
    tablet: &mut Tablet,
    demo: &DemoFolder,
    (_, place, sheet): &(FirstUse, Screen, Option<Sheet>),
) {
    if *place == Screen::Bay {
        tablet.ask(Intent::OpenJob(demo.jobs()[0]));
    } else {
        tablet.ask(Intent::LeaveJob);
        tablet.go(*place);
    }
    if let Some(sheet) = sheet {
        tablet.lay(sheet.clone());
    }
}

/// The layout editor, which opens from the layouts.
fn to_editor(tablet: &mut Tablet) {
    tablet.ask(Intent::LeaveJob);
    tablet.go(Screen::Layouts);
    tablet.tap(EN.new_layout);
}

#[test]
fn each_screen_of_the_demo_has_its_card_until_it_is_hidden_for_good() {
    let demo = demo();
    let mut tablet = Tablet::open(demo.path(), ACROSS);
    for way in &WAYS {
        walk_to(&mut tablet, &demo, way);
        assert_eq!(shown(&tablet, &EN), [way.0]);
        tablet.keep(&format!("first-use-{}", way.0.key()), ACROSS);
        assert!(tablet.says(EN.first_use_text(way.0)));
        tablet.tap(&hide(&EN, way.0));
        assert_eq!(shown(&tablet, &EN), []);
        assert!(!tablet.says(EN.first_use_text(way.0)));
    }
    to_editor(&mut tablet);
    assert_eq!(shown(&tablet, &EN), [FirstUse::Editor]);
    tablet.keep("first-use-layout editor", ACROSS);
    tablet.tap(&hide(&EN, FirstUse::Editor));
    drop(tablet);
    assert_eq!(
        kept(demo.path()).len(),
        FirstUse::ALL.len(),
        "every card is in this test"
    );
    let mut again = Tablet::open(demo.path(), ACROSS);
    for way in &WAYS {
        walk_to(&mut again, &demo, way);
        assert_eq!(shown(&again, &EN), [], "{way:?} after a restart");
    }
    to_editor(&mut again);
    assert_eq!(shown(&again, &EN), []);
}

fn kept(data: &Path) -> Vec<String> {
    let settings = SettingsFile::read(data).settings;
    settings.cards_seen.into_iter().collect()
}

#[test]
fn the_settings_bring_the_cards_back_and_put_them_all_off() {
    let demo = demo();
    let mut tablet = Tablet::open(demo.path(), ACROSS);
    tablet.tap(&hide(&EN, FirstUse::Bays));
    tablet.go(Screen::Settings);
    tablet.tap(EN.first_use_again);
    tablet.go(Screen::Bays);
    assert_eq!(shown(&tablet, &EN), [FirstUse::Bays]);
    tablet.go(Screen::Settings);
    tablet.tap(EN.first_use_none);
    assert_eq!(shown(&tablet, &EN), []);
    tablet.go(Screen::Bays);
    assert_eq!(shown(&tablet, &EN), []);
}

#[test]
fn a_new_data_folder_shows_the_cards_and_one_that_was_there_does_not() {
    let root = tempfile::tempdir().unwrap();
    let (new, old) = (root.path().join("new"), root.path().join("old"));
    drop(Store::open(&old, NOW).unwrap());
    // What leads through the first day stands alone until it is put away.
    for _ in 0..2 {
        let first = Tablet::open(&new, ACROSS);
        assert_eq!(shown(&first, &EN), []);
        assert!(first.says(EN.first_day_more));
    }
    let mut first = Tablet::open(&new, ACROSS);
    first.tap(&format!("{}: {}", EN.hide_card, EN.first_day));
    assert_eq!(shown(&first, &EN), [FirstUse::Bays]);
    assert!(!first.says(EN.first_day_more));
    let again = Tablet::open(&new, ACROSS);
    assert_eq!(shown(&again, &EN), [FirstUse::Bays]);
    let old = Tablet::open(&old, ACROSS);
    assert_eq!(shown(&old, &EN), []);
    assert!(!old.says(EN.first_day_more));
}

/// Places of the next step's bar and of the figures that never leave.
fn fixed_places(tablet: &Tablet, words: &Words) -> Vec<Rect> {
    let view = tablet.shell().desk.view();
    let job = view.job.as_ref().unwrap();
    let (bar, _) = words.next_step(&tablet.shell().screens.bay.step(job), job.layout().unwrap());
    let mut places = tablet.places(&bar);
    assert_eq!(places.len(), 1, "{bar}");
    for figure in [words.loose, words.aboard, words.adrift, words.air] {
        let found = tablet.places(figure);
        assert!(!found.is_empty(), "{figure}: {:#?}", tablet.spoken());
        places.extend(found);
    }
    places
}

#[test]
fn the_bays_card_lies_over_nothing_and_moves_neither_the_bar_nor_the_figures() {
    let demo = demo();
    let (mut seen, mut no_room) = (0, Vec::new());
    for size in [
        ACROSS,
        vec2(800.0, 1280.0),
        vec2(1024.0, 600.0),
        vec2(2560.0, 1600.0),
    ] {
        for language in Language::ALL {
            for percent in [100, 150, 200] {
                let mut tablet = Tablet::open(demo.path(), size);
                let words = language.words();
                tablet.set(|s| {
                    s.language = language;
                    s.text_percent = percent;
                    s.cards_seen.clear();
                });
                tablet.ask(Intent::OpenJob(demo.jobs()[0]));
                let before = fixed_places(&tablet, words);
                let Some(button) = tablet.place(&hide(words, FirstUse::Bay)) else {
                    no_room.push((size, percent, language));
                    continue;
                };
                for place in &before {
                    assert!(!place.intersects(button), "{size} {percent} {place}");
                }
                tablet.tap(&hide(words, FirstUse::Bay));
                assert_eq!(before, fixed_places(&tablet, words), "{size} {percent}");
                seen += 1;
            }
        }
    }
    assert!(seen >= 12, "the card had no room in {no_room:?}");
}

#[test]
fn a_second_tap_where_the_card_was_does_not_reach_what_moved_there() {
    let demo = demo();
    let mut tablet = Tablet::open(demo.path(), ACROSS);
    let at = tablet.place(&hide(&EN, FirstUse::Bays)).unwrap().center();
    tablet.tap_at(at);
    assert_eq!(shown(&tablet, &EN), []);
    tablet.tap_at(at);
    assert!(
        tablet.shell().desk.state().is_none(),
        "too quick to be meant"
    );
    tablet.rest();
    tablet.tap_at(at);
    assert!(tablet.shell().desk.state().is_some(), "a row lies there");
}

#[test]
fn a_place_that_has_never_answered_is_not_there_already() {
    let root = tempfile::tempdir().unwrap();
    let (data, shop) = (root.path().join("data"), root.path().join("shop"));
    let mut tablet = Tablet::open(&data, ACROSS);
    let folder = |tablet: &Tablet| {
        let told = tablet.spoken();
        let begin = format!("2 {}", EN.first_day_folder);
        told.into_iter()
            .find(|said| said.starts_with(&begin))
            .unwrap()
    };
    assert!(folder(&tablet).contains(EN.first_day_folder_more));
    tablet.set(|settings| settings.shop_folder = Some(shop.clone()));
    tablet.hear_the_shop();
    assert!(folder(&tablet).contains(EN.first_day_folder_silent));
    std::fs::create_dir(&shop).unwrap();
    let until = Instant::now() + Duration::from_mins(1);
    while !folder(&tablet).contains(EN.is_there) {
        assert!(Instant::now() < until, "{}", folder(&tablet));
        sleep(Duration::from_millis(100));
        tablet.hear_the_shop();
    }
}
