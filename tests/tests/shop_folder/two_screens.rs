//! Two tablets at one engine: what each bay shows while they cannot hear one another, and
//! once they contradict one another.

use std::fs;
use std::path::Path;

use egui_kittest::kittest::{By, Queryable};
use trayzero::desk::Outcome;
use trayzero::ui::intent::{Intent, Screen, SignedAct};
use trayzero::ui::screens::bay::bar_words;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, NextStep, Person};
use trayzero_tests::engines::one_cylinder;
use uuid::Uuid;

use super::converge::technician;
use super::faulty::wait_for;
use super::hand::label;
use super::parts::Tablet;
use super::screens::{OpenScreen, empty_shop};
use super::told_screens::Two;

impl OpenScreen {
    /// Taps on by the next step until one that is wanted comes.
    pub fn work_until(&mut self, is_due: impl Fn(&NextStep) -> bool) {
        let mut signs = technician(&Person::new("Ada"), 1);
        for _ in 0..400 {
            let step = self.desk().view().job.unwrap().next.clone();
            if is_due(&step) {
                self.hand.window.run();
                return;
            }
            let events = signs.answer(self.desk().state().unwrap(), &step);
            self.do_at_the_bay(events);
        }
        panic!("the step does not come");
    }

    pub fn do_at_the_bay(&mut self, events: Vec<Event>) {
        self.clock.advance(1_000);
        let taken = self.desk().carry_out(Intent::Tap(events));
        assert_eq!(taken, Outcome::Taken, "{:?}", self.desk().view().notice);
    }

    pub fn open(&mut self, job: Uuid) {
        wait_for("the job", || {
            self.desk().take_news();
            self.desk()
                .view()
                .jobs
                .iter()
                .any(|listed| listed.job == job)
        });
        self.desk().carry_out(Intent::OpenJob(job));
        self.hand.window.run();
        self.shut_the_card();
    }

    /// The card for whoever comes back lies over the bay.
    pub fn shut_the_card(&mut self) {
        self.hand.window.state_mut().screens.bay.sheets.close();
        self.hand.window.run();
    }

    /// Where a text stands, in points from the top of the screen.
    fn top_of(&self, text: &str) -> f32 {
        let all = self.hand.window.query_all(By::new());
        let found = all.into_iter().find(|node| label(node).contains(text));
        found.unwrap_or_else(|| panic!("{text}")).rect().top()
    }

    /// What the big bar says.
    pub fn bar(&mut self) -> String {
        let view = self.desk().view();
        let job = view.job.as_ref().unwrap();
        bar_words(&view, job, job.next, job.layout().unwrap()).0
    }
}

/// Takes the folder away from everybody.
pub fn cut_off(shop: &Path) {
    fs::rename(shop, shop.with_extension("away")).unwrap();
}

pub fn connect(shop: &Path) {
    fs::rename(shop.with_extension("away"), shop).unwrap();
}

#[test]
fn a_bay_that_is_cut_off_says_since_when_and_whose_figures_may_be_old() {
    let (scratch, shop) = empty_shop();
    let mut other = Tablet::new(&scratch.path().join("two"), &shop, "Ben");
    let job = other.create("inline-4-8v", "Bay 2");
    other.meet();
    let name = other.store.tablet().name().to_owned();
    let mut screen = OpenScreen::of(&scratch.path().join("one"), &shop);
    let own = screen.new_job("Bay 1");
    wait_for("the first copy", || screen.is_mirrored(own));
    screen.open(job);
    assert!(!screen.hand.says("Not in touch"));
    cut_off(&shop);
    wait_for("a round that fails", || {
        screen.desk().take_news();
        screen.desk().view().shop.fault.is_some()
    });
    // The last good round was at 01:53, for no clock has moved since.
    screen.clock.advance(2 * 60_000);
    screen.hand.window.run();
    assert!(!screen.hand.says("Not in touch"), "not yet");
    let due = screen.desk().wakes_in_ms();
    assert!(
        due.is_some_and(|ms| ms <= 1),
        "drawn again by itself: {due:?}"
    );
    screen.clock.advance(1_000);
    screen.hand.window.run();
    let said = format!("Not in touch since 01:53: figures of {name} may be old");
    assert!(screen.hand.says(&said));
    screen.hand.picture("bay-out-of-touch");
    // What nobody else has told of is not old.
    screen.desk().carry_out(Intent::OpenJob(own));
    screen.hand.window.run();
    assert!(!screen.hand.says("Not in touch"));
    screen.desk().carry_out(Intent::OpenJob(job));
    screen.hand.window.run();
    screen.clock.advance(24 * 3_600_000);
    screen.hand.window.run();
    assert!(
        screen.hand.says("Not in touch since 2026-11-30 01:53"),
        "a day later"
    );
    connect(&shop);
    screen.wait_until_silent("Not in touch");
}

#[test]
fn a_bay_that_was_never_in_touch_says_so() {
    let (scratch, shop) = empty_shop();
    let root = scratch.path().join("one");
    let mut other = Tablet::new(&scratch.path().join("two"), &shop, "Ben");
    let job = other.create("inline-4-8v", "Bay 2");
    other.meet();
    let mut before = OpenScreen::of(&root, &shop);
    before.open(job);
    drop(before);
    cut_off(&shop);
    let mut screen = OpenScreen::of(&root, &shop);
    screen.desk().carry_out(Intent::OpenJob(job));
    screen.wait_until_it_says("Not in touch yet: figures of ");
    connect(&shop);
    screen.wait_until_silent("Not in touch");
}

/// Air on at one tablet, the wrench on at the other.
#[test]
fn two_bays_that_contradict_each_other_both_say_what_to_look_at() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    let job = one.new_job("Bay 1");
    one.work_until(|step| matches!(step, NextStep::AirOn { .. }));
    wait_for("the folder", || {
        one.desk().take_news();
        one.is_mirrored(job)
    });
    let mut two = OpenScreen::of(&scratch.path().join("two"), &shop);
    two.clock.advance(3_600_000);
    two.open(job);
    one.clock.advance(3_600_000);
    cut_off(&shop);
    let cylinder = one.desk().state().unwrap().crank().unwrap().cylinder;
    one.do_at_the_bay(vec![Event::AirOn { cylinder, bar: 4.0 }]);
    // Later than the air, by both clocks.
    two.clock.advance(3_600_000);
    two.do_at_the_bay(vec![Event::WrenchOn {}]);
    two.hand.window.run();
    assert!(two.hand.says(EN.wrench_on), "its own wrench");
    let asked = "Wrench on the crank?";
    assert!(!one.hand.says(asked) && !two.hand.says(asked));
    connect(&shop);
    for screen in [&mut one, &mut two] {
        // Each signs what it has tapped, and others take it in.
        screen.clock.advance(70_000);
        screen.desk().take_news();
    }
    for screen in [&mut one, &mut two] {
        screen.wait_until_it_says(asked);
        screen.clock.advance(2 * 3_600_000);
        // Whoever comes back reads it there, and from when what the other tablet tells is.
        screen
            .hand
            .window
            .state_mut()
            .screens
            .bay
            .sheets
            .open(Sheet::Card);
        screen.hand.window.run();
        assert!(screen.hand.says(EN.look_first));
        assert!(screen.hand.says("it rests since, or is cut off"));
        screen.hand.picture("bay-contradicted-card");
        screen.shut_the_card();
        assert!(screen.hand.says(EN.look_first));
        let bar = screen.bar();
        assert_eq!(bar, EN.bar_look, "no step before the look");
        assert!(
            screen.top_of(asked) < screen.top_of(&bar),
            "above the big bar"
        );
        assert!(!screen.hand.says(EN.wrench_off), "nobody knows");
        assert!(screen.hand.says(EN.danger_wrench), "where the wrench stood");
        screen.hand.picture("bay-contradicted");
        screen.desk().carry_out(Intent::LeaveJob);
        screen.hand.window.run();
        let row = screen.named("Bay 1 · Van in Bay 1");
        assert!(
            row.contains("1 conflict to be resolved: wrench on the crank?"),
            "{row}"
        );
        assert_eq!(screen.desk().view().screen, Screen::Bays);
        screen.hand.picture("bays-contradicted");
    }
}

#[test]
fn nobody_signs_for_what_another_tablet_has_settled_meanwhile() {
    let is_due = |step: &NextStep| matches!(step, NextStep::AirOn { .. });
    let mut two = Two::until(one_cylinder(), is_due);
    let cylinder = two.ada.state().crank().unwrap().cylinder;
    two.ada
        .do_at_the_bay(vec![Event::AirOn { cylinder, bar: 4.0 }]);
    two.ben.clock.advance(3_600_000);
    two.ben.do_at_the_bay(vec![Event::WrenchOn {}]);
    two.meet();
    let conflict = two.ben.state().open_conflicts().next().unwrap().entry.id;
    two.ben.sheet(Sheet::Sign(SignedAct::ResolveConflict {
        conflict,
        seen: Vec::new(),
        by_two: false,
    }));
    assert!(!two.ben.hand.says(EN.settled_elsewhere));
    let answer = two.ada.answer(0, &["Ada"]);
    two.ada.do_at_the_bay(vec![answer]);
    two.meet_again(|state| state.open_conflicts().next().is_none());
    two.ben.hand.window.run();
    assert!(two.ben.hand.says(EN.settled_elsewhere));
    assert!(!two.ben.hand.says(EN.choose_your_name));
}
