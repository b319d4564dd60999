//! What is typed in the settings and not saved yet: nothing of it is lost without a word.

use egui::vec2;
use trayzero::data::settings::SettingsFile;
use trayzero::ui::intent::Screen;
use trayzero::ui::words::EN;

use super::hand::Hand;

#[test]
fn hours_that_were_typed_are_kept_on_the_way_out_and_what_does_not_hold_is_named() {
    let mut hand = Hand::at(Screen::Settings, vec2(1280.0, 800.0));
    let kept = |hand: &Hand| SettingsFile::read(hand.folder.path()).settings;
    hand.write(EN.work_from, "6:15");
    hand.tap(EN.back);
    assert_eq!(kept(&hand).shop_hours.from_min, 375);
    assert_eq!(hand.window.state().desk.view().screen, Screen::Bays);
    // Hours that end before they begin, a name without a code and a folder without a backup
    // are named; what holds beside them is kept all the same.
    hand.tap(EN.settings);
    hand.write(EN.work_to, "5:00");
    hand.write(EN.default_bay, "Bay 4");
    hand.write(EN.backup_to, "/somewhere");
    hand.tap(EN.add_person);
    hand.write(EN.person_name, "Ada");
    hand.tap(EN.back);
    assert!(hand.says(EN.unsaved_work));
    let named = [EN.crew, EN.shop_hours_word, EN.backup_word].join(" \u{b7} ");
    assert!(hand.says(&named), "{named}");
    assert_eq!(kept(&hand).default_bay, "Bay 4");
    assert_eq!(kept(&hand).shop_hours.from_min, 375);
    hand.tap(EN.keep_editing);
    assert!(!hand.says(EN.unsaved_work) && hand.says("5:00") && hand.says("Ada"));
    hand.tap(EN.back);
    hand.picture("settings-not-kept");
    hand.tap(EN.throw_away);
    assert_eq!(hand.window.state().desk.view().screen, Screen::Bays);
    hand.tap(EN.settings);
    assert!(hand.says("6:15") && !hand.says("5:00"));
}

#[test]
fn what_is_typed_stays_when_something_else_is_done_and_when_the_units_change() {
    let mut hand = Hand::at(Screen::Settings, vec2(1280.0, 800.0));
    hand.write(EN.work_from, "6:15");
    hand.write(EN.default_bay, "Bay 4");
    hand.write(EN.hose_rating, "8.5");
    hand.tap("US");
    assert!(hand.says("6:15") && hand.says("Bay 4"));
    // 8.5 bar in pounds per square inch (NIST SP 811, appendix B.8: 6894.757293 Pa).
    assert!(
        hand.says("123.3 psi"),
        "what was typed is the same pressure"
    );
    let folder = tempfile::tempdir().unwrap();
    hand.write(EN.backup_to, &folder.path().display().to_string());
    hand.tap(EN.backup_now);
    assert!(hand.says("6:15") && hand.says("Bay 4") && hand.says("123.3 psi"));
    assert_eq!(
        hand.control(EN.backup_to).value(),
        Some(String::new()),
        "it is done"
    );
}
