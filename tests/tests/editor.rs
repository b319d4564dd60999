//! The layouts and their editor, and the settings, in a driven window: what a person can
//! do there, and that every control is named, large enough and reached by the keyboard.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

#[path = "editor/hand.rs"]
mod hand;
#[path = "editor/typed.rs"]
mod typed;

use std::collections::BTreeSet;

use egui::{Key, Vec2, vec2};
use egui_kittest::kittest::NodeT;
use hand::{Hand, label};
use trayzero::data::crew::Role;
use trayzero::data::layouts::library;
use trayzero::data::settings::SettingsFile;
use trayzero::ui::intent::{Intent, Screen, TypedCode};
use trayzero::ui::theme::TARGET;
use trayzero::ui::words::EN;
use trayzero_core::parts::Item;

/// Smallest and largest screens, across and upright.
const SIZES: [Vec2; 4] = [
    vec2(1024.0, 600.0),
    vec2(800.0, 1280.0),
    vec2(1280.0, 800.0),
    vec2(2560.0, 1600.0),
];

const PARTS: [&str; 5] = [
    EN.engine_part,
    EN.valves_word,
    EN.figures_word,
    EN.positions_word,
    EN.kit_word,
];

/// Makes a two-cylinder of two banks in the editor, as a shop would.
fn make_small_engine(hand: &mut Hand) {
    hand.tap(EN.new_layout);
    hand.write(EN.name_word, "Yard pump");
    hand.write(EN.cylinders_front_back, "1");
    hand.tap(EN.add_bank);
    let second: Vec<String> = hand.names();
    assert!(
        second
            .iter()
            .any(|n| *n == format!("{} no. 2", EN.bank_name))
    );
}

#[test]
fn an_engine_made_only_in_the_editor_opens_a_job() {
    let mut hand = Hand::at(Screen::Layouts, vec2(1280.0, 800.0));
    hand.picture("layouts");
    hand.tap(EN.new_layout);
    hand.picture("editor-new");
    hand.write(EN.name_word, "Yard pump");
    hand.write(EN.cylinders_front_back, "1 2");
    assert!(
        hand.says("is a cylinder of no bank"),
        "the order still has 3 and 4"
    );
    assert!(hand.says("! in no bank"), "and the ring's list says so");
    hand.picture("editor-faults");
    hand.write(EN.order_as_typed, "1 2");
    hand.write(EN.intervals_as_typed, "180 540");
    hand.tap(EN.valves_word);
    hand.tap(&format!("{}: {}", EN.intake_valves, EN.minus_one));
    hand.tap(&format!("{}: {}", EN.exhaust_valves, EN.minus_one));
    hand.tap(EN.figures_word);
    for (field, text) in [
        (EN.bore_mm, "72,5"),
        (EN.stroke_mm, "66"),
        (EN.rod_mm, "4.5 in"),
        (EN.breakaway_nm, "9"),
    ] {
        hand.write(field, text);
    }
    hand.tap(EN.kit_word);
    hand.tap(&format!("{}: {}", EN.add, EN.item_word));
    hand.tap(&EN.item(&Item::Stopper));
    hand.write(EN.how_many, "3");
    assert!(hand.says(EN.no_faults));
    hand.picture("editor-good");
    let save = hand
        .names()
        .into_iter()
        .find(|n| n.starts_with(EN.save_layout));
    hand.tap(&save.unwrap());
    hand.picture("layouts-saved");
    let kept = library(&hand.folder.path().join("layouts"));
    let layout = &kept.find("own/yard-pump").unwrap().layout;
    assert_eq!(layout.valve_count(), 4);
    assert_eq!(layout.firing_intervals_deg, Some(vec![180.0, 540.0]));
    assert!(
        (layout.rod_mm - 4.5 * 25.4).abs() < 1e-9,
        "{}",
        layout.rod_mm
    );
    open_a_job(&mut hand);
    let state = hand.window.state().desk.state().unwrap();
    assert_eq!(state.layout().unwrap().name, "Yard pump");
    assert_eq!(state.valves().count(), 4);
}

fn open_a_job(hand: &mut Hand) {
    // Only one of the crew opens a job.
    hand.window.state_mut().carry_out(Intent::AddPerson {
        name: "Ada".into(),
        role: Role::Foreman,
        code: TypedCode("714025".into()),
        by: None,
    });
    hand.tap(EN.back);
    hand.tap(EN.new_job);
    hand.tap(&format!("Yard pump, {}", EN.n_valves(4)));
    hand.write(EN.vehicle, "Van 12");
    hand.write(EN.bay, "Bay 1");
    hand.tap("Ada");
    let open = hand
        .names()
        .into_iter()
        .find(|n| n.starts_with(EN.open_job));
    hand.tap(&open.unwrap());
}

#[test]
fn what_is_no_number_stays_as_typed_and_nothing_is_lost_on_the_way_out() {
    let mut hand = Hand::at(Screen::Layouts, vec2(1280.0, 800.0));
    make_small_engine(&mut hand);
    hand.tap(EN.figures_word);
    hand.write(EN.bore_mm, "about 90");
    assert!(hand.says(&EN.no_number("about 90")));
    hand.tap(EN.engine_part);
    hand.tap(EN.figures_word);
    assert_eq!(hand.control(EN.bore_mm).value().unwrap(), "about 90");
    hand.tap(EN.back);
    assert!(hand.says(EN.unsaved_work), "leaving asks first");
    hand.picture("editor-unsaved");
    hand.tap(EN.keep_editing);
    assert_eq!(hand.control(EN.bore_mm).value().unwrap(), "about 90");
    hand.tap(EN.back);
    hand.tap(EN.throw_away);
    hand.control(EN.new_layout);
}

#[test]
fn an_own_layout_is_copied_from_a_shipped_one_and_changed_in_its_file() {
    let mut hand = Hand::at(Screen::Layouts, vec2(1280.0, 800.0));
    let name = "V6, 60 degrees, 24 valves";
    let row = hand.names().into_iter().find(|n| n.starts_with(name));
    hand.tap(&row.unwrap_or_else(|| panic!("{name} is not among {:?}", hand.names())));
    hand.picture("layouts-v6");
    hand.tap(EN.copy_layout);
    hand.write(EN.name_word, "Six of the yard");
    for part in PARTS {
        hand.tap(part);
        hand.picture(&format!("editor-v6-{}", part.to_lowercase()));
    }
    let save = |hand: &mut Hand| {
        let bar = hand
            .names()
            .into_iter()
            .find(|n| n.starts_with(EN.save_layout));
        hand.tap(&bar.unwrap());
    };
    save(&mut hand);
    hand.tap(EN.change_layout);
    hand.tap(EN.figures_word);
    hand.write(EN.bore_mm, "88.25");
    save(&mut hand);
    let kept = library(&hand.folder.path().join("layouts"));
    let own: Vec<&str> = kept.entries.iter().map(|e| e.key.as_str()).collect();
    let own: Vec<&&str> = own.iter().filter(|k| k.starts_with("own/")).collect();
    assert_eq!(own, [&"own/six-of-the-yard"]);
    let layout = &kept.find("own/six-of-the-yard").unwrap().layout;
    assert!((layout.bore_mm - 88.25).abs() < 1e-9);
    let out = hand.folder.path().join("out.json");
    hand.write(EN.file_to_write, &out.display().to_string());
    hand.tap(EN.write_file);
    assert!(out.is_file());
    hand.write(EN.file_to_read, &out.display().to_string());
    hand.tap(EN.read_in_file);
    let kept = library(&hand.folder.path().join("layouts"));
    assert_eq!(&kept.find("own/out").unwrap().layout, layout_of(&kept));
    hand.write(EN.file_to_read, "/nowhere/engine.json");
    hand.tap(EN.read_in_file);
    assert!(
        hand.says("/nowhere/engine.json"),
        "the notice names the file"
    );
}

fn layout_of(kept: &trayzero::data::layouts::LayoutLibrary) -> &trayzero_core::engine::Layout {
    &kept.find("own/six-of-the-yard").unwrap().layout
}

#[test]
fn the_settings_count_at_once_or_when_saved() {
    let mut hand = Hand::at(Screen::Settings, vec2(1280.0, 800.0));
    hand.picture("settings");
    hand.tap(EN.night);
    hand.tap("US");
    hand.write(EN.hose_rating, "90 psi");
    hand.write(EN.reminder_minutes, "900");
    assert!(hand.says(EN.out_of_range));
    hand.write(EN.reminder_minutes, "15");
    let saves: Vec<usize> = (0..hand.names().len())
        .filter(|i| hand.names()[*i].starts_with(EN.save_these))
        .collect();
    assert_eq!(saves.len(), 3, "this tablet, hours, air");
    hand.controls().nth(saves[0]).unwrap().click_accesskit();
    hand.window.run();
    hand.picture("settings-night");
    let kept = SettingsFile::read(hand.folder.path());
    assert_eq!(kept.faults, []);
    // 1 psi = 6894.757293 Pa (NIST SP 811, appendix B.8).
    let wanted = 90.0 * 6_894.757_293 / 1e5;
    assert!((kept.settings.hose_rating_bar - wanted).abs() < 1e-6);
    assert_eq!(kept.settings.air_reminder_min, 15);
    assert!(
        (kept.settings.tester_rating_bar - 7.0).abs() < 1e-12,
        "not touched"
    );
    hand.tap("Deutsch");
    assert!(hand.says("Einstellungen"));
    hand.picture("settings-german");
}

/// In portrait and in landscape the groups are drawn in another order.
#[test]
fn what_was_saved_in_the_settings_stays_on_the_way_out_and_what_was_typed_beside_it() {
    for size in SIZES {
        let mut hand = Hand::at(Screen::Settings, size);
        let shop = hand.folder.path().join("shop");
        std::fs::create_dir(&shop).unwrap();
        hand.write(EN.hose_rating, "8.5");
        hand.write(EN.default_bay, "Bay 4");
        hand.write(EN.shop_folder_path, &shop.display().to_string());
        let is_save = |name: &String| *name == EN.save_these;
        let order = hand.names();
        let bay = order.iter().position(|n| n == EN.default_bay).unwrap();
        let save = bay + order[bay..].iter().position(is_save).unwrap();
        hand.controls().nth(save).unwrap().click_accesskit();
        hand.window.run();
        let kept = |hand: &Hand| SettingsFile::read(hand.folder.path()).settings;
        assert_eq!(kept(&hand).shop_folder, Some(shop.clone()), "{size}");
        hand.tap(EN.back);
        let kept = kept(&hand);
        assert_eq!(kept.shop_folder, Some(shop), "{size}");
        assert_eq!(kept.default_bay, "Bay 4", "{size}");
        assert!((kept.hose_rating_bar - 8.5).abs() < 1e-9, "{size}");
    }
}

#[test]
fn a_fault_that_is_tapped_brings_its_field_into_sight() {
    let mut hand = Hand::at(Screen::Layouts, vec2(1024.0, 600.0));
    hand.tap(EN.new_layout);
    hand.tap(EN.show_all);
    for field in [EN.breakaway_nm, EN.bore_mm, EN.name_word] {
        let names = hand.names();
        let is_fault = |n: &&String| n.starts_with(field) && n.ends_with(EN.stands_empty);
        hand.tap(names.iter().find(is_fault).unwrap());
        let rect = hand.control(field).rect();
        let room = egui::Rect::from_min_max(egui::pos2(0.0, 210.0), egui::pos2(540.0, 600.0));
        assert!(room.contains_rect(rect), "{field}: {rect:?}");
    }
}

#[test]
fn the_first_person_is_a_foreman_whose_code_is_typed_twice() {
    let mut hand = Hand::at(Screen::Settings, vec2(1280.0, 800.0));
    hand.tap(EN.add_person);
    hand.write(EN.person_name, "Ada");
    hand.tap(EN.go_on);
    let type_code = |hand: &mut Hand, code: &str| {
        for digit in code.chars() {
            hand.tap(&digit.to_string());
        }
    };
    type_code(&mut hand, "295173");
    hand.picture("settings-code");
    hand.tap(EN.go_on);
    type_code(&mut hand, "295174");
    assert!(hand.says(EN.codes_differ));
    hand.tap(EN.try_again);
    type_code(&mut hand, "295173");
    hand.tap(EN.go_on);
    type_code(&mut hand, "295173");
    hand.tap(&format!("{}, Ada", EN.add_person));
    let view = hand.window.state().desk.view();
    assert_eq!(view.crew.len(), 1);
    assert!(view.crew[0].is_foreman() && view.crew[0].has_code);
    hand.tap(&format!("{} Ada", EN.reset_code));
    hand.picture("settings-crew");
}

/// Names and sizes of what is on the screen.
fn check_controls(hand: &Hand, what: &str) -> usize {
    let mut count = 0;
    for node in hand.controls() {
        let name = label(&node);
        assert!(!name.trim().is_empty(), "{what}: a control without a name");
        let rect = node.rect();
        let side = rect.width().min(rect.height());
        assert!(side >= TARGET - 0.6, "{what}: {name:?} is {rect:?}");
        count += 1;
    }
    count
}

#[test]
fn every_control_is_named_and_large_on_every_screen() {
    let mut count = 0;
    for size in SIZES {
        for percent in [100, 200] {
            let what = format!("{}x{} at {percent} %", size.x, size.y);
            let mut hand = Hand::with_text(Screen::Layouts, size, percent);
            count += check_controls(&hand, &what);
            hand.picture(&format!("layouts-{what}").replace(' ', "-"));
            hand.tap(EN.copy_layout);
            for part in PARTS {
                hand.tap(part);
                count += check_controls(&hand, &format!("{what}, {part}"));
            }
            hand.tap(EN.positions_word);
            hand.tap(&format!("{}: {}", EN.add, EN.remark));
            count += check_controls(&hand, &what);
            hand.picture(&format!("editor-{what}").replace(' ', "-"));
            let mut hand = Hand::with_text(Screen::Settings, size, percent);
            count += check_controls(&hand, &what);
            hand.picture(&format!("settings-{what}").replace(' ', "-"));
        }
    }
    println!("{count} controls looked at");
    assert!(count > 500);
}

#[test]
fn the_keyboard_reaches_every_control() {
    for screen in [Screen::Layouts, Screen::Settings] {
        let mut hand = Hand::at(screen, vec2(1024.0, 600.0));
        if screen == Screen::Layouts {
            hand.tap(EN.new_layout);
        }
        let open: BTreeSet<String> = hand
            .controls()
            .filter(|n| !n.accesskit_node().is_disabled())
            .map(|n| label(&n))
            .collect();
        let mut reached = BTreeSet::new();
        for _ in 0..3 * open.len() {
            hand.window.key_press(Key::Tab);
            hand.window.run();
            let focused = hand
                .controls()
                .find(egui_kittest::Node::is_focused)
                .map(|n| label(&n));
            reached.extend(focused);
        }
        let missed: Vec<&String> = open.difference(&reached).collect();
        assert!(
            missed.is_empty(),
            "{screen:?}: the keyboard misses {missed:?}"
        );
    }
}

#[test]
fn a_form_keeps_its_places_while_faults_come_and_go_and_a_line_goes_by_two_taps() {
    let mut hand = Hand::at(Screen::Layouts, vec2(1280.0, 800.0));
    hand.tap(EN.new_layout);
    hand.tap(EN.figures_word);
    let fields = [EN.bore_mm, EN.stroke_mm, EN.rod_mm, EN.breakaway_nm];
    let places = |hand: &Hand| fields.map(|name| hand.control(name).rect());
    hand.write(EN.bore_mm, "90");
    let good = places(&hand);
    let is_still = |hand: &Hand| {
        let moved = places(hand).into_iter().zip(good);
        moved
            .into_iter()
            .all(|(now, was)| (now.min - was.min).length() < 1.0)
    };
    hand.write(EN.bore_mm, "about 90");
    assert!(hand.says(&EN.no_number("about 90")));
    assert!(is_still(&hand), "a fault moves no field");
    hand.write(EN.bore_mm, "90");
    assert!(is_still(&hand), "nor does it when it goes");
    hand.tap(EN.kit_word);
    hand.tap(&format!("{}: {}", EN.add, EN.item_word));
    hand.tap(&EN.item(&Item::Stopper));
    let named = |hand: &Hand| {
        let all = hand.names().into_iter();
        all.filter(|n| n.starts_with(EN.remove)).collect::<Vec<_>>()
    };
    let remove = named(&hand).pop().unwrap();
    let finger = hand.control(&remove).rect().center();
    hand.tap(&remove);
    hand.control(EN.how_many);
    let cancel = hand.control(EN.cancel).rect();
    assert!(cancel.contains(finger), "under the finger it is left");
    let goes = hand.control(EN.remove_it).rect();
    assert!(!goes.contains(finger));
    hand.tap(EN.cancel);
    hand.control(EN.how_many);
    hand.tap(&remove);
    hand.tap(EN.remove_it);
    assert!(!hand.names().iter().any(|n| n == EN.how_many));
}
