//! Two tablets cut off from one another, one of which is told of a loss: what each screen
//! says once they meet, what it offers, and what it refuses. The ninth case, air against the
//! wrench, stands in `two_screens`.
// Long because it is a list: one case after another, each with its own taps.

use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};

use tempfile::TempDir;
use trayzero::desk::Outcome;
use trayzero::ui::intent::{Intent, Screen, TypedCode};
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::view::Notice;
use trayzero::ui::words::{EN, capital};
use trayzero_core::engine::Layout;
use trayzero_core::job::{
    Event, JobPhase, JobState, NextStep, Refusal, SearchPlace, Sight, SignOff, Stage, found_places,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::shop_log::Role;
use trayzero_tests::bay::{signed, true_lines};
use trayzero_tests::engines::{one_cylinder, two_cylinders};
use uuid::Uuid;

use super::faulty::wait_for;
use super::screens::{OpenScreen, empty_shop};
use super::two_screens::{connect, cut_off};

/// Two tablets at one bay, cut off from one another.
pub struct Two {
    _scratch: TempDir,
    pub shop: PathBuf,
    pub ada: OpenScreen,
    pub ben: OpenScreen,
}

impl Two {
    /// Both know a job that was worked on until a step is due.
    pub fn until(layout: Layout, is_due: impl Fn(&NextStep) -> bool) -> Self {
        let (scratch, shop) = empty_shop();
        let mut ada = OpenScreen::of(&scratch.path().join("one"), &shop);
        let job = ada.new_job_on(layout, "Bay 1");
        ada.do_at_the_bay(vec![Event::KitCounted {
            item: Item::Rag,
            count: 2,
        }]);
        ada.work_until(is_due);
        wait_for("the folder", || {
            ada.desk().take_news();
            ada.is_mirrored(job)
        });
        let mut ben = OpenScreen::of(&scratch.path().join("two"), &shop);
        // Ben's next line comes after whatever Ada does meanwhile.
        ben.clock.advance(2 * 3_600_000);
        ben.open(job);
        ada.clock.advance(3_600_000);
        let known = ada.state().event_count();
        wait_for("the same lines", || {
            ben.desk().take_news();
            ben.state().event_count() == known
        });
        cut_off(&shop);
        Self {
            _scratch: scratch,
            shop,
            ada,
            ben,
        }
    }

    fn at_stage(wanted: Stage) -> Self {
        Self::until(
            one_cylinder(),
            |step| matches!(step, NextStep::SeeStage { stage, .. } if *stage == wanted),
        )
    }

    pub fn at_the_gate() -> Self {
        Self::until(one_cylinder(), |step| matches!(step, NextStep::Gate { .. }))
    }

    /// They see each other again, until both know that they contradict each other.
    pub fn meet(&mut self) {
        self.meet_in(|state| state.open_conflicts().next().is_some());
    }

    /// The same until something stands on both.
    pub fn meet_in(&mut self, is_told: impl Fn(&JobState) -> bool) {
        connect(&self.shop);
        for screen in self.both() {
            // Each signs what it has tapped.
            screen.clock.advance(70_000);
            screen.desk().take_news();
        }
        wait_for("what the other tells", || {
            let [ada, ben] = self.both();
            ada.desk().take_news();
            ben.desk().take_news();
            let (ada, ben) = (ada.state(), ben.state());
            ada.event_count() == ben.event_count() && is_told(ada) && is_told(ben)
        });
        for screen in self.both() {
            screen.hand.window.run();
            screen.shut_the_card();
        }
    }

    /// Both come to know what one of them has done since.
    pub fn meet_again(&mut self, is_told: impl Fn(&JobState) -> bool) {
        for screen in self.both() {
            screen.clock.advance(70_000);
            screen.desk().take_news();
        }
        wait_for("what one of them did", || {
            let [ada, ben] = self.both();
            ada.desk().take_news();
            ben.desk().take_news();
            is_told(ada.state()) && is_told(ben.state())
        });
    }

    pub fn both(&mut self) -> [&mut OpenScreen; 2] {
        [&mut self.ada, &mut self.ben]
    }
}

impl OpenScreen {
    pub fn state(&mut self) -> &JobState {
        self.desk().state().unwrap()
    }

    /// The event is refused, with its code, its reason and its way out.
    pub fn refuses(&mut self, event: Event) -> &'static str {
        self.clock.advance(1_000);
        let outcome = self.desk().carry_out(Intent::Tap(vec![event]));
        assert_eq!(outcome, Outcome::Stayed);
        let view = self.desk().view();
        let Some(Notice::Refused { why, way_out, code }) = view.notice else {
            panic!("{:?}", view.notice);
        };
        assert!(!why.is_empty() && !way_out.is_empty(), "{code}");
        code
    }

    pub fn sheet(&mut self, sheet: Sheet) {
        let sheets = &mut self.hand.window.state_mut().screens.bay.sheets;
        sheets.close();
        sheets.open(sheet);
        self.hand.window.run();
    }

    /// The sheet of conflicts says each of these and that two people sign.
    fn offers_for_two(&mut self, answers: &[&str]) {
        self.sheet(Sheet::Conflicts);
        assert!(self.hand.says(EN.conflict_lost), "two people");
        for answer in answers {
            assert!(self.hand.says(answer), "{answer}: {:?}", self.hand.names());
        }
        self.hand.window.state_mut().screens.bay.sheets.close();
        self.hand.window.run();
    }

    /// The answer of that number to the first open conflict, as an event.
    pub fn answer(&mut self, number: usize, people: &[&str]) -> Event {
        let state = self.state();
        let conflict = state.open_conflicts().next().unwrap();
        Event::ConflictResolved {
            conflict: conflict.entry.id,
            by: sign(people[0]),
            note: String::new(),
            seen: state.answers(conflict)[number].clone(),
            second: people.get(1).map(|person| sign(person)),
        }
    }

    fn resolve_all(&mut self) {
        while self.state().open_conflicts().next().is_some() {
            let event = self.answer(0, &["Noor", "Mira"]);
            self.do_at_the_bay(vec![event]);
        }
        self.hand.window.run();
    }

    pub fn count_twice(&mut self) {
        for person in ["Ada", "Noor"] {
            let lines = true_lines(self.state());
            let by = sign(person);
            self.do_at_the_bay(vec![Event::BlindCount { by, lines }]);
        }
    }

    pub fn last(&mut self) -> Uuid {
        let (event, _) = self.state().undo_offer().unwrap();
        event
    }
}

/// An entering of a person's code.
pub fn sign(person: &str) -> SignOff {
    static ENTERED: AtomicU64 = AtomicU64::new(1 << 20);
    signed(person, ENTERED.fetch_add(1, Ordering::Relaxed))
}

fn seen(state: &JobState, stage: Stage, locks_dropped: u8) -> Event {
    let mut valves = state.valves();
    let next = valves.find(|(_, valve)| valve.next_stage() == Some(stage));
    Event::StageSeen {
        valve: next.unwrap().0,
        stage,
        locks_dropped,
        seals_spoiled: 0,
    }
}

fn dropped(item: Item, from: Place) -> Event {
    Event::PartDropped {
        item,
        count: 1,
        from,
        bank: None,
        valve: None,
    }
}

fn rags(count: u32) -> (Event, Event) {
    let (item, bank) = (Item::Rag, 0);
    let on = Event::PutAboard {
        item: item.clone(),
        bank,
        count,
    };
    (on, Event::TakenOff { item, bank, count })
}

pub fn close_bank() -> Event {
    Event::BankClosed {
        bank: 0,
        by: sign("Ada"),
    }
}

#[test]
fn case_1_a_lock_lost_while_the_job_rests_elsewhere_stays_on_both_screens() {
    let mut two = Two::at_stage(Stage::SealFitted);
    two.ada.do_at_the_bay(vec![Event::Paused {
        why: "another job".to_owned(),
    }]);
    two.ben
        .do_at_the_bay(vec![dropped(Item::Lock, Place::Tray)]);
    two.meet_in(|state| state.adrift() == 1 && state.phase() == JobPhase::Paused);
    for screen in two.both() {
        assert!(screen.hand.says("adrift: 1"));
        assert_eq!(screen.bar(), EN.bar_resume);
    }
    let ada = &mut two.ada;
    ada.do_at_the_bay(vec![Event::Resumed {}]);
    ada.sheet(Sheet::Adrift);
    assert!(ada.hand.says("1 lock"));
    let dropped = ada.state().drops_adrift().next().unwrap().id;
    ada.do_at_the_bay(vec![Event::PartFound {
        dropped,
        found_at: SearchPlace::Sump,
        to: found_places(&Item::Lock)[0],
    }]);
    ada.hand.window.run();
    assert!(ada.hand.says("adrift: 0"));
}

#[test]
fn case_2_both_see_the_locks_out_and_two_people_sign_for_the_one_that_flew_off() {
    let mut two = Two::at_stage(Stage::LocksOut);
    let out = seen(two.ada.state(), Stage::LocksOut, 0);
    let flew_off = seen(two.ben.state(), Stage::LocksOut, 1);
    two.ada.do_at_the_bay(vec![out]);
    two.ben.do_at_the_bay(vec![flew_off]);
    two.meet();
    for screen in two.both() {
        assert!(screen.hand.says("adrift: 1") && screen.hand.says("loose: "));
        assert_eq!(screen.bar(), EN.bar_look, "no stage before the look");
    }
    // The rest with real codes, on a tablet by itself.
    cut_off(&two.shop);
    let ada = &mut two.ada;
    let crew = [("Mira", "714025"), ("Noor", "258614")];
    for (at, (name, code)) in crew.into_iter().enumerate() {
        let by = (at > 0).then(|| ("Mira", TypedCode("714025".into())));
        let added = ada.desk().carry_out(Intent::AddPerson {
            name: name.into(),
            role: if at == 0 {
                Role::Foreman
            } else {
                Role::Technician
            },
            code: TypedCode(code.into()),
            by: by.map(|(who, code)| (trayzero_core::job::Person::new(who), code)),
        });
        assert_eq!(added, Outcome::Taken, "{:?}", ada.desk().view().notice);
    }
    ada.hand.window.run();
    let bar = ada.named(EN.bar_look);
    ada.hand.tap(&bar);
    assert!(ada.hand.says(EN.conflict_lost) && ada.hand.says(EN.conflict_why));
    ada.hand.picture("told-two-answers");
    let state = ada.state();
    let conflict = state.open_conflicts().next().unwrap();
    let (banks, sights) = (&one_cylinder().banks, &state.answers(conflict)[0]);
    let figures = trayzero::data::settings::Settings::default().figures();
    let words = sights.iter().map(|s| EN.sight(s, banks, figures));
    let words = capital(&words.collect::<Vec<_>>().join(" · "));
    let answer = ada.named(&words);
    ada.hand.tap(&answer);
    for (name, code) in crew.into_iter().rev() {
        assert!(ada.state().open_conflicts().next().is_some());
        ada.hand.tap(name);
        for digit in code.chars() {
            ada.hand.tap(&digit.to_string());
        }
        ada.clock.advance(5_000);
        ada.hand.window.run_steps(60);
        let bar = ada.named(EN.sign);
        ada.hand.tap(&bar);
        ada.hand.window.run_steps(60);
    }
    let notice = ada.desk().view().notice.cloned();
    assert_eq!(ada.state().open_conflicts().count(), 0, "{notice:?}");
    assert!(ada.hand.says("adrift: 1"), "looking does not find it");
    assert_ne!(ada.bar(), EN.bar_look);
}

#[test]
fn case_3_a_lock_dropped_from_a_tray_that_is_empty_elsewhere_is_asked_for() {
    let mut two = Two::at_stage(Stage::LocksIn);
    let home = seen(two.ada.state(), Stage::LocksIn, 0);
    two.ada.do_at_the_bay(vec![home]);
    two.ben
        .do_at_the_bay(vec![dropped(Item::Lock, Place::Tray)]);
    two.meet();
    for screen in two.both() {
        assert!(screen.hand.says("adrift: 1"));
        screen.offers_for_two(&["1 still missing", "0 still missing"]);
    }
    // One person does not end it, and nothing is answered by nothing.
    let alone = two.ben.answer(1, &["Noor"]);
    assert_eq!(two.ben.refuses(alone), "R125");
    let mut empty = two.ben.answer(1, &["Noor", "Mira"]);
    if let Event::ConflictResolved { seen, .. } = &mut empty {
        seen.clear();
    }
    assert_eq!(two.ben.refuses(empty), "R123");
    let none = two.ben.answer(1, &["Noor", "Mira"]);
    two.ben.do_at_the_bay(vec![none]);
    two.ben.hand.window.run();
    assert!(two.ben.hand.says("adrift: 0"), "two people have said so");
}

#[test]
fn case_4_a_rag_put_aboard_after_both_counts_shuts_the_gate_until_it_is_off_and_counted() {
    let mut two = Two::at_the_gate();
    let (on, off) = rags(2);
    two.ada.do_at_the_bay(vec![on]);
    two.ben.do_at_the_bay(vec![rags(1).0]);
    two.ada.clock.advance(2 * 3_600_000);
    two.ada.do_at_the_bay(vec![off]);
    two.ada.count_twice();
    two.ada.sheet(Sheet::Gate(0));
    assert!(two.ada.hand.says(EN.gate_open), "as far as Ada knows");
    two.meet();
    let ada = &mut two.ada;
    assert!(ada.hand.says("aboard: 1"));
    ada.sheet(Sheet::Gate(0));
    assert!(ada.hand.says(EN.gate_shut) && !ada.hand.says(EN.gate_open));
    let conflict = Refusal::GateConflict { conflicts: 1 };
    assert!(ada.hand.says(&EN.refusal_why(&conflict)));
    assert!(ada.refuses(close_bank()).starts_with("R5"));
    ada.resolve_all();
    assert!(ada.hand.says("aboard: 1"));
    assert_eq!(ada.refuses(close_bank()), "R503");
    ada.do_at_the_bay(vec![rags(1).1]);
    assert_eq!(ada.refuses(close_bank()), "R507", "the old counts are void");
    ada.sheet(Sheet::Gate(0));
    assert!(ada.hand.says(EN.first_count), "both count again");
    ada.count_twice();
    ada.do_at_the_bay(vec![close_bank()]);
}

#[test]
fn case_5_a_rag_put_aboard_by_who_had_not_heard_of_the_closing_opens_the_bank() {
    let mut two = Two::at_the_gate();
    two.ada.count_twice();
    two.ada.do_at_the_bay(vec![close_bank()]);
    two.ben.do_at_the_bay(vec![rags(1).0]);
    two.meet();
    for screen in two.both() {
        assert!(screen.hand.says("aboard: 1"));
        assert_eq!(
            screen.bar(),
            EN.bar_clear("A"),
            "the bank is worked on again"
        );
        screen.offers_for_two(&[]);
        assert_eq!(
            screen
                .refuses(Event::JobClosed { by: sign("Ada") })
                .get(..2),
            Some("R5")
        );
    }
    two.ada.resolve_all();
    assert_eq!(two.ada.refuses(close_bank()), "R503");
    assert_eq!(two.ada.bar(), EN.bar_clear("A"));
}

#[test]
fn case_6_nobody_turns_the_crank_under_air_that_was_not_looked_at() {
    let mut two = Two::until(two_cylinders(), |step| {
        matches!(step, NextStep::AirOn { .. })
    });
    let at = two.ada.state().crank().unwrap();
    let cylinder = at.cylinder;
    let air = Event::AirOn { cylinder, bar: 4.0 };
    two.ada.do_at_the_bay(vec![Event::WrenchOn {}]);
    two.ben.do_at_the_bay(vec![air.clone()]);
    two.meet();
    let turned = Event::CrankTurned {
        from: Some(at),
        to: at,
        turn_deg: 0.0,
    };
    for screen in two.both() {
        let asked = EN.danger_air(cylinder);
        assert!(screen.hand.says(&format!("{asked}: {}", EN.unknown)));
        assert!(
            !screen.hand.says(&format!("{}: {}", EN.air, EN.off)),
            "nobody knows"
        );
        assert!(screen.hand.says(&capital(&asked)) && screen.hand.says(EN.look_first));
        assert_eq!(screen.bar(), EN.bar_look);
        assert_eq!(screen.refuses(turned.clone()), "R224");
        screen.hand.picture("told-air-asked");
    }
    let ada = &mut two.ada;
    ada.desk().carry_out(Intent::LeaveJob);
    ada.hand.window.run();
    assert_eq!(ada.desk().view().screen, Screen::Bays);
    let asked = format!("{} · Bay 1: {}", EN.danger_air(cylinder), EN.unknown);
    assert!(ada.hand.says(&asked), "over the list of bays too");
    let job = ada.desk().view().jobs[0].job;
    ada.open(job);
    // With the wrench on nobody can have seen what Ben says; off it may be at any time.
    ada.do_at_the_bay(vec![Event::WrenchOff {}]);
    for event in [Event::WrenchOn {}, air] {
        assert_eq!(ada.refuses(event), "R224");
    }
    let there = Sight::Air {
        cylinder,
        bar: Some(4.0),
    };
    let state = ada.state();
    let conflict = state.open_conflicts().next().unwrap();
    let answers = state.answers(conflict);
    let number = answers.iter().position(|seen| seen.contains(&there));
    let number = number.unwrap();
    let looked = ada.answer(number, &["Noor"]);
    ada.do_at_the_bay(vec![looked]);
    ada.hand.window.run();
    assert!(
        ada.hand
            .says(&format!("{}: 4.0 bar", EN.air_on_cylinder(cylinder)))
    );
    assert_eq!(ada.refuses(Event::WrenchOn {}), "R209");
}

#[test]
fn case_7_a_find_taken_back_behind_a_cover_opens_the_bank_on_both() {
    let mut two = Two::at_the_gate();
    connect(&two.shop);
    two.ada.do_at_the_bay(vec![dropped(Item::Rag, Place::Kit)]);
    let lost = two.ada.last();
    two.ada.hand.window.run();
    assert!(two.ada.hand.says("adrift: 1"));
    // A report is not taken back by whoever is there.
    two.ada.hand.window.run_steps(60);
    assert_eq!(two.ada.refuses(Event::taken_back(lost)), "R125");
    two.ada.do_at_the_bay(vec![Event::PartFound {
        dropped: lost,
        found_at: SearchPlace::BenchAndFloor,
        to: found_places(&Item::Rag)[0],
    }]);
    let found = two.ada.last();
    two.ada.clock.advance(70_000);
    two.ada.desk().take_news();
    wait_for("the find", || {
        two.ben.desk().take_news();
        two.ben.state().event_of(found).is_some()
    });
    cut_off(&two.shop);
    two.ada.count_twice();
    two.ada.do_at_the_bay(vec![close_bank()]);
    assert_eq!(
        two.ada.refuses(Event::taken_back(found)),
        "R114",
        "behind the cover"
    );
    two.ben.do_at_the_bay(vec![Event::taken_back(found)]);
    two.meet_in(|state| state.adrift() == 1);
    for screen in two.both() {
        assert!(screen.hand.says("adrift: 1"), "the loss stands again");
        assert_eq!(screen.bar(), EN.bar_find, "and is looked for");
        assert!(!screen.state().is_bank_closed(0));
    }
}

#[test]
fn case_8_what_was_signed_is_not_taken_back_by_a_tap() {
    let mut two = Two::at_the_gate();
    let ada = &mut two.ada;
    ada.count_twice();
    ada.do_at_the_bay(vec![close_bank()]);
    let closing = ada.last();
    ada.hand.window.run();
    let events = ada.state().event_count();
    // The finger's way: the button opens the sheet of the codes.
    ada.hand.window.run_steps(60);
    let button = ada.named(EN.take_back);
    ada.hand.tap(&button);
    assert!(ada.state().is_bank_closed(0));
    assert!(
        ada.hand.says(EN.take_back) && ada.hand.says(EN.no_crew),
        "{:?}",
        ada.hand.names()
    );
    assert_eq!(ada.state().event_count(), events, "nothing was written");
    ada.hand.picture("told-take-back");
    // The pedal's way, and anybody else's.
    assert_eq!(ada.refuses(Event::taken_back(closing)), "R125");
    let by = vec![sign("Ada")];
    ada.do_at_the_bay(vec![Event::Withdrawn { event: closing, by }]);
    assert!(!ada.state().is_bank_closed(0));
}
