//! Shops with a foreman on real screens: who is let in, and what a foreman answers for.

use std::fs;
use std::path::Path;

use trayzero::cli;
use trayzero::data::crew::CodeError;
use trayzero::desk::Outcome;
use trayzero::shop::Admitted;
use trayzero::ui::intent::{Intent, Screen, ShopChange, SignedAct, TypedCode};
use trayzero::ui::words::{DE, EN};
use trayzero_core::job::{Event, JobState, Person};
use trayzero_core::journal::journal_path;
use trayzero_core::shop_log::{Role, TabletCard};
use trayzero_tests::why_refused::WHY_REFUSED;
use uuid::Uuid;

use super::faulty::wait_for;
use super::forged::copy_folder;
use super::screens::{OpenScreen, empty_shop};
use super::two_screens::{connect, cut_off};

const MIRAS_CODE: &str = "714025";

pub fn mira() -> (Person, TypedCode) {
    (Person::new("Mira"), TypedCode(MIRAS_CODE.to_owned()))
}

impl OpenScreen {
    /// Mira is the first foreman, and the shop begins.
    pub fn found_shop(&mut self) {
        let added = self.desk().carry_out(Intent::AddPerson {
            name: "Mira".into(),
            role: Role::Foreman,
            code: mira().1,
            by: None,
        });
        assert_eq!(added, Outcome::Taken);
    }

    /// What a foreman agrees to.
    pub fn agree(&mut self, change: ShopChange) {
        let by = mira();
        let outcome = self.desk().carry_out(Intent::ChangeShop { change, by });
        assert_eq!(outcome, Outcome::Taken, "{:?}", self.desk().view().notice);
    }

    /// Mira admits the other tablet here, and it joins. Gives its card.
    pub fn admit(&mut self, other: &mut OpenScreen) -> TabletCard {
        let id = other.desk().view().tablet;
        let mut card = None;
        wait_for("the other tablet asks", || {
            other.desk().take_news();
            self.desk().take_news();
            let view = self.desk().view();
            let mut asking = view.membership.asking.iter();
            card = asking.find(|asking| asking.card.tablet == id).cloned();
            card.is_some()
        });
        let card = card.unwrap().card;
        self.agree(ShopChange::Admit(Box::new(card.clone())));
        let mut key = None;
        wait_for("it is admitted", || {
            other.desk().take_news();
            let view = other.desk().view();
            let mut offers = view.membership.offers.iter();
            key = offers.find(|offer| offer.is_admitted).map(|o| o.key);
            key.is_some()
        });
        other.desk().carry_out(Intent::JoinShop(key.unwrap()));
        wait_for("its codes have come", || {
            other.desk().take_news();
            self.desk().take_news();
            let view = other.desk().view();
            view.membership.is_member && view.crew.iter().any(|m| m.has_code)
        });
        card
    }

    /// Mira takes the bay over here, by her code.
    fn mira_takes_over(&mut self) {
        self.clock.advance(1_000);
        let signed = Intent::Sign {
            act: SignedAct::TakeOver,
            codes: vec![mira()],
        };
        let outcome = self.desk().carry_out(signed);
        assert_eq!(outcome, Outcome::Taken, "{:?}", self.desk().view().notice);
    }

    fn take_overs(&mut self) -> usize {
        let state = self.desk().state().into_iter();
        let all = state.flat_map(JobState::timeline);
        all.filter(|past| matches!(past.event, Event::TakenOver { .. }))
            .count()
    }
}

fn check(shop: &Path) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let line = ["trayzero", "check", shop.to_str().unwrap()];
    let code = cli::run(line, &mut out, &mut err);
    (code, String::from_utf8([out, err].concat()).unwrap())
}

/// Somebody signs on a copy while it is out of reach. The copy becomes a tablet of its own,
/// and is admitted: what was signed stays signed, for whoever reads.
#[test]
fn what_was_signed_on_a_copy_stays_signed_once_it_is_a_tablet_of_its_own() {
    let (scratch, shop) = empty_shop();
    let (root, copied) = (scratch.path().join("one"), scratch.path().join("two"));
    let mut one = OpenScreen::of(&root, &shop);
    one.found_shop();
    let job = one.new_job("Bay 1");
    wait_for("the folder", || {
        one.clock.advance(70_000);
        one.desk().take_news();
        one.is_mirrored(job)
    });
    drop(one);
    copy_folder(&root, &copied);
    let mut one = OpenScreen::of(&root, &shop);
    one.clock.advance(3_600_000);
    one.open(job);
    one.mira_takes_over();
    wait_for("the first's line", || {
        one.desk().take_news();
        one.is_mirrored(job)
    });
    let old = one.desk().view().tablet;
    cut_off(&shop);
    let mut two = OpenScreen::of(&copied, &shop);
    two.clock.advance(7_200_000);
    two.open(job);
    two.mira_takes_over();
    connect(&shop);
    two.desk().carry_out(Intent::Go(Screen::Board));
    two.wait_until_it_says(EN.identity_twice);
    two.desk().carry_out(Intent::BecomeNewTablet);
    let card = one.admit(&mut two);
    assert_eq!(card.was, Some(old), "it says what it was a copy of");
    two.desk().carry_out(Intent::OpenJob(job));
    one.desk().carry_out(Intent::OpenJob(job));
    for (screen, whose) in [(&mut one, "the first"), (&mut two, "the copy")] {
        wait_for(whose, || {
            screen.clock.advance(70_000);
            screen.desk().take_news();
            screen.take_overs() == 2
        });
        let state = screen.desk().state().unwrap();
        assert_eq!(state.conflicts(), [], "{whose}");
        assert_eq!(state.unconfirmed(), 0, "{whose}: nothing holds the gate");
    }
    for screen in [&mut one, &mut two] {
        screen.desk().end();
    }
    let (code, said) = check(&shop);
    assert!(!said.contains("not signed"), "{said}");
    assert_eq!(code, cli::EXIT_DONE, "{said}");
    // In the copy's own folder the end of the old journal lies aside, and nothing else is said.
    // How many seals stand between the lines is a matter of time.
    let (_, said) = check(&copied);
    assert!(
        !said.contains("not signed") && said.contains(" lines: every line holds"),
        "{said}"
    );
}

/// What a foreman reads before the copy is admitted.
#[test]
fn a_foreman_is_told_that_a_tablet_was_a_copy() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.found_shop();
    let own = one.desk().view().tablet_name.to_owned();
    let was: Uuid = one.desk().view().tablet;
    let root = scratch.path().join("two");
    let mut two = OpenScreen::of(&root, &shop);
    let name = two.desk().view().tablet_name.to_owned();
    drop(two);
    let path = root.join("tablet.json");
    let text = fs::read_to_string(&path).unwrap();
    let text = text.replacen('{', &format!("{{\"was\":\"{was}\","), 1);
    fs::write(&path, text).unwrap();
    let two = OpenScreen::of(&root, &shop);
    one.desk().carry_out(Intent::Go(Screen::Settings));
    one.wait_until_it_says(&EN.was_a_copy_of(&name, &own));
    one.hand.picture("tablet-was-a-copy");
    drop(two);
}

/// Somebody puts a file of a tablet that nobody knows into the folder. It holds the gate on
/// both tablets; a foreman dismisses it on one, and it holds nothing on either, nor for whoever
/// looks from outside, until somebody changes it.
#[test]
fn a_strangers_file_is_dismissed_for_the_whole_shop_until_it_changes() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.found_shop();
    let mut two = OpenScreen::of(&scratch.path().join("two"), &shop);
    one.admit(&mut two);
    let job = one.new_job("Bay 1");
    wait_for("the folder", || {
        one.clock.advance(70_000);
        one.desk().take_news();
        one.is_mirrored(job)
    });
    two.open(job);
    let held = |screen: &mut OpenScreen| {
        screen.desk().take_news();
        screen.desk().state().unwrap().unconfirmed()
    };
    let stranger = Uuid::from_u128(0xE0E);
    let path = journal_path(&shop, job, stranger);
    fs::write(&path, "{\"format\":1}\n").unwrap();
    for screen in [&mut one, &mut two] {
        wait_for("it holds the gate", || held(screen) == 1);
        screen.desk().carry_out(Intent::Go(Screen::Board));
        screen.wait_until_it_says(EN.stranger_way);
    }
    one.desk().carry_out(Intent::Go(Screen::Settings));
    one.wait_until_it_says(EN.stranger_file_more);
    one.hand.picture("stranger-file");
    one.hand.tap(EN.dismiss_file);
    one.hand.picture("stranger-file-agree");
    let file = one.desk().view().shop.strangers[0].clone();
    assert_eq!((file.job, file.tablet, file.bytes), (job, stranger, 13));
    // Nobody but a foreman.
    let change = ShopChange::Dismiss(Box::new(file.clone()));
    let by = (Person::new("Mira"), TypedCode("714026".to_owned()));
    let wrong = one.desk().carry_out(Intent::ChangeShop { change, by });
    assert_eq!((wrong, held(&mut one)), (Outcome::Stayed, 1));
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    one.agree(ShopChange::Dismiss(Box::new(file)));
    for screen in [&mut one, &mut two] {
        wait_for("it holds nothing", || held(screen) == 0);
        let view = screen.desk().view();
        assert_eq!(
            (&view.shop.strangers[..], &view.shop.not_confirmed[..]),
            (&[][..], &[][..])
        );
    }
    let outside = Admitted::of(&shop, None).unwrap();
    assert_eq!(outside.board(&shop).unwrap().card(job).unwrap().blocks, []);
    let (code, said) = check(&shop);
    assert!(said.contains("a foreman has dismissed it"), "{said}");
    assert_eq!(code, cli::EXIT_NO, "a check stays strict");
    // It changes, as long as before.
    fs::write(&path, "{\"format\":2}\n").unwrap();
    for screen in [&mut one, &mut two] {
        wait_for("it is told again", || held(screen) == 1);
    }
    let outside = Admitted::of(&shop, None).unwrap();
    let board = outside.board(&shop).unwrap();
    assert_ne!(board.card(job).unwrap().blocks, []);
    // And as it was once more: that very file was dismissed.
    fs::write(&path, "{\"format\":1}\n").unwrap();
    for screen in [&mut one, &mut two] {
        wait_for("it is the dismissed file", || held(screen) == 0);
    }
}

/// Mira changes her own code to a word, on the keys of the glass; nobody else agrees. It works
/// on the other tablet too, and the old one no more.
#[test]
fn a_person_changes_their_own_code_to_a_word_on_the_glass() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.found_shop();
    let mut two = OpenScreen::of(&scratch.path().join("two"), &shop);
    one.admit(&mut two);
    one.desk().carry_out(Intent::Go(Screen::Settings));
    one.hand.window.run();
    one.hand.tap(&EN.role_or_leaving("Mira"));
    one.hand.tap(EN.own_code);
    one.hand.picture("own-code");
    one.hand.tap("abc");
    one.hand.picture("own-code-letters");
    let word = |one: &mut OpenScreen| {
        for letter in "gasket".chars() {
            one.hand.tap(&letter.to_string());
        }
        one.hand.window.run_steps(60);
        one.hand.tap(EN.go_on);
    };
    word(&mut one);
    word(&mut one);
    one.hand.tap("123");
    let bar = |one: &mut OpenScreen| one.named(EN.own_code);
    for (code, is_right) in [("714026", false), (MIRAS_CODE, true)] {
        for digit in code.chars() {
            one.hand.tap(&digit.to_string());
        }
        one.hand.window.run_steps(60);
        let name = bar(&mut one);
        one.hand.tap(&name);
        let notice = one.desk().view().notice.is_some();
        assert_eq!(notice, !is_right, "{code}");
        std::thread::sleep(std::time::Duration::from_millis(1_100));
        one.hand.window.run_steps(60);
    }
    let tries = |screen: &mut OpenScreen, code: &str| {
        let change = ShopChange::ShortCodes(false);
        let by = (Person::new("Mira"), TypedCode(code.to_owned()));
        let outcome = screen.desk().carry_out(Intent::ChangeShop { change, by });
        std::thread::sleep(std::time::Duration::from_millis(1_100));
        outcome
    };
    assert_eq!(tries(&mut one, MIRAS_CODE), Outcome::Stayed);
    assert_eq!(tries(&mut one, "gasket"), Outcome::Taken);
    wait_for("the new code reaches the other tablet", || {
        two.desk().take_news();
        tries(&mut two, "gasket") == Outcome::Taken
    });
}

/// Why a line of the shop log counts for nothing, in each language.
#[test]
fn a_refused_line_of_the_log_says_why_in_both_languages() {
    let mut seen = std::collections::BTreeSet::new();
    for why in WHY_REFUSED {
        let [en, de] = [&EN, &DE].map(|words| words.refused_line("log/x.jsonl", 7, why));
        assert!(en.contains("line 7") && de.contains("Zeile 7"), "{en} {de}");
        assert_ne!(en.rsplit(": ").next(), de.rsplit(": ").next(), "{why:?}");
        assert!(
            seen.insert(en) && seen.insert(de),
            "{why:?} is told as another"
        );
    }
}

/// Why a code is not taken, in each language.
#[test]
fn a_code_that_is_not_taken_says_why_in_both_languages() {
    let mira = || "Mira".to_owned();
    let all = [
        CodeError::NoSuchPerson(mira()),
        CodeError::NoCode(mira()),
        CodeError::Wrong { wait_s: 4 },
        CodeError::Wait { wait_s: 4 },
        CodeError::NoForeman(mira()),
        CodeError::LastForeman(mira()),
        CodeError::BadName(mira()),
        CodeError::NotTheFirst,
        CodeError::Full(500),
        CodeError::TooSimple,
        CodeError::NotHere(mira()),
        CodeError::TakeOverFirst,
        CodeError::Unhashed(mira()),
    ];
    for error in all {
        let [en, de] = [&EN, &DE].map(|words| words.error(&error));
        assert_ne!(en, de);
        for said in ["Mira", "4 s", "500"] {
            assert_eq!(en.contains(said), de.contains(said), "{en} {de}");
        }
    }
}
