//! One identity in use twice, as people at the two tablets meet it; and an old copy of a data
//! folder that is put back.

use std::fs;

use serde::Serialize;
use trayzero::data::store::sealed;
use trayzero::shop::WhyNotConfirmed;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, JobState};
use trayzero_core::journal::journal_path;
use uuid::Uuid;

use super::faulty::wait_for;
use super::forged::copy_folder;
use super::parts::{Tablet, scratch};
use super::screens::{OpenScreen, empty_shop};
use super::two_screens::{connect, cut_off};

/// How many notes are known here.
fn notes(screen: &mut OpenScreen) -> usize {
    let state = screen.desk().state();
    let all = state.into_iter().flat_map(JobState::timeline);
    all.filter(|past| matches!(past.event, Event::Noted { .. }))
        .count()
}

fn noted(screen: &mut OpenScreen, text: &str) {
    let text = text.to_owned();
    screen.do_at_the_bay(vec![Event::Noted { text }]);
}

/// A data folder was copied to a second tablet, and both write.
#[test]
fn a_copy_is_named_on_both_screens_and_made_a_new_tablet_by_a_button() {
    let (scratch, shop) = empty_shop();
    let (root, copied) = (scratch.path().join("one"), scratch.path().join("two"));
    let mut one = OpenScreen::of(&root, &shop);
    let job = one.new_job("Bay 1");
    noted(&mut one, "of both");
    wait_for("the folder", || {
        one.desk().take_news();
        one.is_mirrored(job)
    });
    drop(one);
    copy_folder(&root, &copied);
    let mut one = OpenScreen::of(&root, &shop);
    one.clock.advance(3_600_000);
    one.open(job);
    noted(&mut one, "at the first");
    wait_for("the first's line", || {
        one.desk().take_news();
        one.is_mirrored(job)
    });
    // The copy is out of reach while it writes.
    cut_off(&shop);
    let mut two = OpenScreen::of(&copied, &shop);
    two.clock.advance(7_200_000);
    two.open(job);
    noted(&mut two, "at the copy");
    connect(&shop);
    for screen in [&mut one, &mut two] {
        screen.desk().carry_out(Intent::Go(Screen::Board));
        screen.wait_until_it_says(EN.identity_twice);
        assert!(screen.hand.says(EN.new_tablet), "the way out on both");
        screen.hand.picture("board-twice");
    }
    let old = two.desk().view().tablet;
    two.hand.tap(EN.new_tablet);
    assert!(two.hand.says(EN.new_tablet_more));
    assert_eq!(two.desk().view().tablet, old, "asked once more");
    two.hand.picture("board-new-tablet");
    two.hand.window.run_steps(60);
    two.hand.tap(EN.new_tablet_yes);
    let new = two.desk().view().tablet;
    assert_ne!(new, old);
    let name = two.desk().view().tablet_name.to_owned();
    assert!(two.hand.says(&EN.is_new_tablet(&name)));
    two.hand.picture("board-is-new-tablet");
    // Both have all three lines, each once, and nobody is named twice any more.
    two.desk().carry_out(Intent::OpenJob(job));
    one.desk().carry_out(Intent::OpenJob(job));
    wait_for("both have all lines", || {
        two.clock.advance(70_000);
        [&mut one, &mut two].into_iter().all(|screen| {
            screen.desk().take_news();
            notes(screen) == 3
        })
    });
    for screen in [&mut one, &mut two] {
        wait_for("nobody is named twice", || {
            screen.desk().take_news();
            let view = screen.desk().view();
            let mut waiting = view.shop.not_confirmed.iter();
            !waiting.any(|one| one.why == WhyNotConfirmed::Twice)
        });
        assert_eq!(screen.desk().state().unwrap().conflicts(), []);
    }
    // It goes on by itself.
    noted(&mut two, "as a new tablet");
    wait_for("what it writes arrives", || {
        two.desk().take_news();
        one.desk().take_news();
        notes(&mut one) == 4
    });
}

/// The data folder of a week ago is put back after a disk has failed.
#[test]
fn an_old_copy_that_is_put_back_fetches_its_own_lines() {
    let scratch = scratch();
    let (root, shop) = (scratch.path().join("one"), scratch.path().join("shop"));
    fs::create_dir(&shop).unwrap();
    let mut tablet = Tablet::new(&root, &shop, "Ada");
    let first = tablet.create("inline-4-8v", "Bay 1");
    tablet.note("before the copy");
    tablet.meet();
    tablet.open = None;
    let old = scratch.path().join("old");
    copy_folder(&root, &old);
    tablet.open = Some(tablet.store.open_job(first).unwrap());
    tablet.note("after the copy");
    tablet.note("and more");
    tablet.meet();
    let second = tablet.create("inline-3-12v", "Bay 2");
    tablet.meet();
    let own = tablet.id();
    let lines = |job: Uuid| fs::read(journal_path(&root, job, own)).unwrap();
    let (all_first, all_second) = (lines(first), lines(second));
    drop(tablet);
    fs::rename(&root, scratch.path().join("lost")).unwrap();
    fs::rename(&old, &root).unwrap();
    assert!(lines(first).len() < all_first.len() && !journal_path(&root, second, own).exists());

    let mut tablet = Tablet::new(&root, &shop, "Ada");
    assert_eq!(tablet.id(), own);
    let round = tablet.meet();
    assert_eq!(
        (round.twice, round.fault),
        (vec![], None),
        "it is no second tablet"
    );
    assert!(round.pulled.contains(&first) && round.pulled.contains(&second));
    let said = round
        .file_faults
        .iter()
        .any(|fault| fault.why.to_string().contains("they were fetched"));
    assert!(said, "{:?}", round.file_faults);
    assert!(
        lines(first) == all_first && lines(second) == all_second,
        "to the byte"
    );
    // It goes on after them, and the folder follows.
    tablet.clock.advance(600_000);
    tablet.open = Some(tablet.store.open_job(first).unwrap());
    tablet.note("goes on");
    let round = tablet.meet();
    assert_eq!((round.twice, round.behind_bytes), (vec![], 0));
    assert!(lines(first).len() > all_first.len());
    assert_eq!(
        fs::read(journal_path(&shop, first, own)).unwrap(),
        lines(first)
    );
}

/// Whoever has written on in the old copy before it met the folder again is two.
#[test]
fn an_old_copy_that_has_written_is_named_and_keeps_its_lines() {
    let scratch = scratch();
    let (root, shop) = (scratch.path().join("one"), scratch.path().join("shop"));
    fs::create_dir(&shop).unwrap();
    let mut tablet = Tablet::new(&root, &shop, "Ada");
    let job = tablet.create("inline-4-8v", "Bay 1");
    tablet.meet();
    tablet.open = None;
    let old = scratch.path().join("old");
    copy_folder(&root, &old);
    tablet.open = Some(tablet.store.open_job(job).unwrap());
    tablet.note("after the copy");
    tablet.meet();
    drop(tablet);
    let mut back = Tablet::new(&old, &shop, "Ada");
    back.open = Some(back.store.open_job(job).unwrap());
    back.clock.advance(900_000);
    back.note("in the old copy");
    let own = fs::read(journal_path(&old, job, back.id())).unwrap();
    let round = back.meet();
    assert_eq!(round.twice, [job]);
    assert_eq!(
        fs::read(journal_path(&old, job, back.id())).unwrap(),
        own,
        "nothing is mixed"
    );
}

/// Somebody holds a tablet's new lines back, and lays its own seal over them where the note of
/// a copy would lie. That is no note: nobody is told to make a new tablet of an honest one.
#[test]
fn a_journals_seal_is_no_note_of_a_copy() {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    fs::create_dir(&shop).unwrap();
    let [mut one, mut other] =
        ["one", "other"].map(|name| Tablet::new(&scratch.path().join(name), &shop, "Ada"));
    let job = one.create("inline-4-8v", "Bay 1");
    one.meet();
    other.meet();
    let path = journal_path(&shop, job, one.id());
    let files = [path.clone(), path.with_extension("seal")];
    let before = files.each_ref().map(|file| fs::read(file).unwrap());
    one.note("held back");
    one.meet();
    fs::copy(&files[1], path.with_extension("twin")).unwrap();
    for (file, bytes) in files.iter().zip(before) {
        fs::write(file, bytes).unwrap();
    }
    let round = other.meet();
    assert_eq!(round.not_confirmed, []);
    assert_eq!(round.file_faults, []);
}

/// What a tablet tells of itself, with its fields in their order.
#[derive(Serialize)]
struct Card {
    tablet: Uuid,
    name: &'static str,
}

/// Somebody shows more and more tablets in the folder of a tablet that has no shop yet.
#[test]
fn no_more_tablets_are_met_than_are_stated() {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    fs::create_dir(&shop).unwrap();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    let thief = Tablet::new(&scratch.path().join("thief"), &shop, "Eve");
    one.meet();
    for round in 0..3_u128 {
        fs::remove_dir_all(shop.join("tablets")).unwrap();
        fs::create_dir(shop.join("tablets")).unwrap();
        for n in 1..=300 {
            let tablet = Uuid::from_u128(round * 1_000 + n);
            let card = Card { tablet, name: "T" };
            let path = shop.join(format!("tablets/{tablet}.json"));
            sealed::write(&path, "trayzero tablet 1", &card, thief.store.tablet()).unwrap();
        }
        one.meet();
    }
    let pins = fs::metadata(one.root.join("pins.json")).unwrap().len();
    assert_eq!(one.meet().tablets.len(), 500);
    assert!(pins < 200 << 10, "{pins} bytes");
}
