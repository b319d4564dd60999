//! Somebody fills the shop folder with tablets that ask to become members: the one in the
//! foreman's hand is found by what it shows.

use std::fs;

use egui_kittest::kittest::Queryable;
use trayzero::data::crew::Role;
use trayzero::data::settings::Settings;
use trayzero::data::store::{Store, sealed};
use trayzero::desk::Outcome;
use trayzero::ui::intent::{Intent, Screen, ShopChange, TypedCode};
use trayzero::ui::words::{DE, EN, Language};
use trayzero_core::shop_log::TabletCard;
use uuid::Uuid;

use super::faulty::wait_for;
use super::members::mira;
use super::parts::START;
use super::screens::{OpenScreen, empty_shop};

const RUBBISH: usize = 300;

#[test]
fn among_many_that_ask_the_tablet_in_the_hand_is_found_by_its_words() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.found_shop();
    let mut two = OpenScreen::of(&scratch.path().join("two"), &shop);
    let (id, name) = (
        two.desk().view().tablet,
        two.desk().view().tablet_name.to_owned(),
    );
    let thief = Store::open(&scratch.path().join("thief"), START).unwrap();
    let thief = thief.tablet();
    fs::create_dir_all(shop.join("members")).unwrap();
    for n in 1..=RUBBISH {
        let card = TabletCard {
            tablet: Uuid::from_u128(n as u128),
            name: format!("Copy {n}"),
            key: thief.public_key(),
            box_key: None,
            was: None,
        };
        let path = shop.join(format!("members/{}.json", card.tablet));
        sealed::write(&path, "trayzero member 1", &card, thief).unwrap();
    }
    one.desk().carry_out(Intent::Go(Screen::Settings));
    one.wait_until_it_says(&EN.many_ask(RUBBISH + 1));
    assert!(!one.hand.says("Copy 1"), "nobody is offered by chance");
    let asking = &one.desk().view().membership.asking;
    let found = asking.iter().find(|asking| asking.card.tablet == id);
    let (words, key) = found
        .map(|a| (a.words.clone(), a.card.key.clone()))
        .unwrap();
    one.hand.picture("many-ask");
    one.hand.write(EN.shown_there, "nothing like it");
    assert!(one.hand.says(EN.nothing_fits));
    // Whatever of it the other tablet shows will do, in capitals and without blanks too.
    let shown = [
        words.split(' ').next().unwrap().to_uppercase(),
        words.replace(' ', ""),
        name.to_lowercase(),
        key[..8].to_owned(),
    ];
    for shown in shown {
        one.hand.write(EN.shown_there, &shown);
        assert!(one.hand.says(&words), "{shown}");
        assert_eq!(one.named("Admit"), EN.admit_tablet(&name), "{shown}");
        assert!(!one.hand.says("Copy 1"), "{shown}");
    }
    one.hand.picture("many-ask-found");
    one.hand.tap(&EN.admit_tablet(&name));
    assert!(one.hand.says(&EN.same_words(&words)));
    let card = one.admit(&mut two);
    assert_eq!(card.tablet, id);
}

/// What lies in the folder may change under the finger: the words are asked once more, of the
/// shop that was tapped, before it is joined.
#[test]
fn a_shop_is_joined_by_its_words_alone() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.found_shop();
    let mut two = OpenScreen::of(&scratch.path().join("two"), &shop);
    two.desk().carry_out(Intent::Go(Screen::Settings));
    let id = two.desk().view().tablet;
    let mut asking = Vec::new();
    wait_for("the other tablet asks", || {
        two.desk().take_news();
        one.desk().take_news();
        asking.clone_from(&one.desk().view().membership.asking);
        asking.iter().any(|asking| asking.card.tablet == id)
    });
    one.agree(ShopChange::Admit(Box::new(asking[0].card.clone())));
    two.wait_until_it_says(EN.was_admitted);
    two.hand.tap(EN.join_this_shop);
    assert!(!two.desk().view().membership.has_shop, "asked once more");
    assert!(two.hand.says(&EN.shop_shows(&asking[0].words)));
    two.hand.picture("join-once-more");
    two.hand.window.run_steps(60);
    two.hand.tap(EN.join_it);
    assert!(two.desk().view().membership.is_member);
}

/// Which keys somebody's code is typed with is theirs: the next person finds the digits.
#[test]
fn the_letters_of_a_code_are_closed_again_for_the_next_person() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.found_shop();
    let added = one.desk().carry_out(Intent::AddPerson {
        name: "Ada".into(),
        role: Role::Foreman,
        code: TypedCode("gasket".to_owned()),
        by: Some(mira()),
    });
    assert_eq!(added, Outcome::Taken);
    one.desk().carry_out(Intent::Go(Screen::Settings));
    wait_for("both are foremen", || {
        one.hand.window.run();
        one.hand.names().contains(&EN.role_or_leaving("Ada"))
    });
    one.hand.tap(EN.allow_short_codes);
    let keys = |one: &OpenScreen, key: &str| one.hand.names().iter().any(|name| name == key);
    one.hand.tap("Ada");
    assert!(keys(&one, "abc") && keys(&one, "7") && !keys(&one, "k"));
    one.hand.tap("abc");
    assert!(keys(&one, "123") && keys(&one, "k") && !keys(&one, "7"));
    one.hand.tap("Mira");
    assert!(keys(&one, "abc") && keys(&one, "7") && !keys(&one, "k"));
    one.hand.tap("Ada");
    assert!(
        keys(&one, "abc") && !keys(&one, "k"),
        "nor does it tell of hers"
    );
}

/// A wrong code is said beside its keys, and they stay where they are from one code to the
/// next: upright and lying, with the text twice as large, in German, where the lines above the
/// keys are longest.
#[test]
fn a_wrong_code_is_said_beside_its_keys_which_stay_in_place() {
    for size in [egui::vec2(800.0, 1280.0), egui::vec2(1280.0, 800.0)] {
        let (scratch, shop) = empty_shop();
        let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
        one.found_shop();
        one.hand.window.set_size(size);
        let settings = Settings {
            language: Language::German,
            text_percent: 200,
            ..one.desk().settings().clone()
        };
        one.desk().carry_out(Intent::Settings(Box::new(settings)));
        one.desk().carry_out(Intent::Go(Screen::Settings));
        one.hand.window.run();
        let key = |one: &OpenScreen| one.hand.control("7").rect().min;
        let code = |one: &mut OpenScreen, code: &str| {
            for digit in code.chars() {
                one.hand.tap(&digit.to_string());
            }
            one.hand.window.run_steps(60);
        };
        one.hand.tap(&format!("{} Mira", DE.reset_code));
        let places = [DE.go_on, DE.go_on].map(|go_on| {
            let place = key(&one);
            code(&mut one, "258013");
            one.hand.tap(go_on);
            one.hand.window.run_steps(60);
            place
        });
        assert_eq!(places, [key(&one); 2], "from one code to the next");
        code(&mut one, "714026");
        one.hand.tap(DE.foreman_agrees);
        one.hand.window.run_steps(60);
        let said = one.hand.window.get_by_label_contains("der Code ist falsch");
        let (said, seven) = (said.rect(), one.hand.control("7").rect());
        assert!(said.top() > seven.bottom(), "{said}");
        assert!(said.bottom() < size.y, "in sight: {said} of {size}");
        assert!(seven.top() > 192.0, "and the keys with it: {seven}");
        let has_room = size.y > size.x;
        assert_eq!(has_room, seven.min == places[0], "moved where it must be");
    }
}
