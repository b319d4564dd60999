//! Whoever comes back to a bay, or takes it over, is told by one screen where things
//! stand; and air that is on for long asks for a look. Read from the accessibility tree.

use std::sync::Arc;

use egui_kittest::kittest::{By, Queryable};
use tempfile::TempDir;
use trayzero::data::crew::{Crew, Role};
use trayzero::data::settings::Settings;
use trayzero::data::store::{Clock, SetClock, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::units;
use trayzero::ui::words::EN;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, JobState, Person};
use uuid::Uuid;

use super::converge::technician;
use super::hand::Hand;
use super::parts::{LIGHT, SIZE, START, Tablet, opening};

const MINUTE_MS: i64 = 60_000;

/// A job that Ada left with a valve unlocked, and a window of the tablet that has it.
struct Bay {
    hand: Hand,
    clock: Arc<SetClock>,
    job: Uuid,
    valve: ValveName,
    bar: f64,
}

/// Plays a job on a store until a valve is unlocked, and leaves a word.
fn left_mid_valve(store: &Store, clock: &SetClock) -> (Uuid, ValveName, f64) {
    let ada = Person::new("Ada");
    let opening = opening("inline-4-8v", "Bay 1", &ada);
    let mut open = store.create_job(opening, clock.now()).unwrap();
    let mut script = technician(&ada, 4);
    while open.state().unlocked().next().is_none() {
        let events = script.tap(open.state(), None);
        let now = clock.advance(20_000);
        open.propose(now, &ada, &events).unwrap();
    }
    let text = "spring sits tight on this one".to_owned();
    open.propose(clock.advance(1_000), &ada, &[Event::Noted { text }])
        .unwrap();
    let valve = open.state().unlocked().next().unwrap();
    let bar = open.state().air_on().unwrap().1;
    let job = open.id();
    open.close(clock.now(), &ada);
    (job, valve, bar)
}

fn bay() -> Bay {
    let folder = tempfile::tempdir().unwrap();
    let clock = Arc::new(SetClock::at(START));
    let store = Store::open(folder.path(), clock.now()).unwrap();
    let (job, valve, bar) = left_mid_valve(&store, &clock);
    let mut crew = Crew::open(store.root(), Arc::clone(store.tablet()), LIGHT);
    crew.add_first_foreman("Mira", &"714025".into(), clock.now())
        .unwrap();
    let agreed = crew
        .approve(&Person::new("Mira"), &"714025".into(), clock.now())
        .unwrap();
    let role = Role::Technician;
    crew.add("Ben", role, Some(&"258614".into()), agreed, clock.now())
        .unwrap();
    clock.advance(25 * MINUTE_MS);
    Bay {
        hand: window(store, &clock, folder),
        clock,
        job,
        valve,
        bar,
    }
}

fn window(store: Store, clock: &Arc<SetClock>, folder: TempDir) -> Hand {
    let mut desk = Desk::open(store, Arc::clone(clock) as Arc<dyn Clock>).unwrap();
    // Nobody is reminded of air unless the test says so.
    let settings = Settings {
        air_reminder_min: 120,
        ..desk.settings().clone()
    };
    desk.carry_out(Intent::Settings(Box::new(settings)));
    Hand::over(desk, folder, Screen::Bays, SIZE)
}

impl Bay {
    fn open(&mut self) {
        let name = self.named("Bay 1 · Van in Bay 1");
        self.hand.tap(&name);
    }

    fn named(&self, start: &str) -> String {
        let names = self.hand.names();
        let found = names.iter().find(|name| name.starts_with(start));
        found
            .unwrap_or_else(|| panic!("{start}: {names:?}"))
            .clone()
    }

    fn state(&self) -> &JobState {
        self.hand.window.state().desk.state().unwrap()
    }

    fn wait(&mut self, minutes: i64) {
        self.clock.advance(minutes * MINUTE_MS);
        self.hand.window.run();
    }

    fn shows_card(&self) -> bool {
        self.hand.says(EN.welcome_back)
    }

    fn say_air_after(&mut self, minutes: u16) {
        let desk = &mut self.hand.window.state_mut().desk;
        let settings = Settings {
            air_reminder_min: minutes,
            ..desk.settings().clone()
        };
        desk.carry_out(Intent::Settings(Box::new(settings)));
    }
}

#[test]
fn a_job_left_mid_valve_by_somebody_else_is_told_by_one_screen() {
    let mut bay = bay();
    bay.open();
    assert!(bay.shows_card(), "it shows by itself");
    bay.hand.picture("card-by-itself");
    let pressure = units::pressure(bay.bar, Settings::default().figures());
    let told = [
        format!("{}: {}", EN.unlocked_now, EN.valve(bay.valve)),
        format!("{}: {} {pressure}", EN.held_by, EN.air),
        format!("{}: ", EN.loose),
        "2 locks".to_owned(),
        format!("Ada · {}: {}", EN.last_tap, EN.ago(25)),
        "spring sits tight on this one".to_owned(),
        EN.comes_next.to_owned(),
    ];
    for words in &told {
        assert!(bay.hand.says(words), "{words}");
    }
    let others = bay.state().valves().count() - bay.state().unlocked().count();
    assert_eq!(others, 7, "one valve alone is unlocked");
    let unlocked = format!("{}: ", EN.unlocked_now);
    let all = bay
        .hand
        .window
        .query_all(By::new().label_contains(&unlocked));
    assert_eq!(all.count(), 1, "and one alone is told as unlocked");
    let events = bay.state().event_count();
    bay.hand.tap(EN.stands_as_shown);
    assert!(!bay.shows_card());
    assert_eq!(bay.state().event_count(), events, "looking changes nothing");
}

#[test]
fn who_has_just_been_there_is_not_told_again_and_who_was_away_is() {
    let mut bay = bay();
    bay.open();
    bay.hand.tap(EN.stands_as_shown);
    bay.hand.tap(EN.back);
    bay.wait(1);
    bay.open();
    assert!(!bay.shows_card(), "a minute at the board");
    bay.hand.tap(EN.back);
    bay.wait(30);
    bay.open();
    assert!(bay.shows_card(), "half an hour away");
    bay.hand.tap(EN.stands_as_shown);
    bay.wait(5);
    assert!(!bay.shows_card());
    bay.wait(20);
    assert!(bay.shows_card(), "the bay was open and nobody tapped");
    bay.hand.tap(EN.close);
    bay.wait(20);
    assert!(!bay.shows_card(), "once for each quiet");
}

#[test]
fn who_takes_over_is_told_where_things_stand() {
    let mut bay = bay();
    bay.open();
    bay.hand.tap(EN.stands_as_shown);
    bay.hand.tap(EN.more);
    bay.hand.tap(EN.take_over);
    bay.hand.tap("Ben");
    for digit in "258614".chars() {
        bay.hand.tap(&digit.to_string());
    }
    let sign = bay.named(EN.sign);
    bay.hand.tap(&sign);
    assert_eq!(bay.state().technician(), Some(&Person::new("Ben")));
    assert!(bay.shows_card());
    assert!(bay.hand.says(&EN.valve(bay.valve)));
}

#[test]
fn air_that_is_on_for_long_asks_for_a_look_in_the_bay() {
    let mut bay = bay();
    bay.open();
    bay.hand.tap(EN.stands_as_shown);
    let cylinder = bay.valve.cylinder;
    let asked = |bay: &Bay| bay.hand.says(&format!("Air on in cylinder {cylinder} for"));
    assert!(!asked(&bay));
    bay.say_air_after(35);
    bay.wait(11);
    assert!(asked(&bay), "a note above the bar");
    assert!(!bay.shows_card(), "it was looked at eleven minutes ago");
    bay.wait(24);
    assert!(asked(&bay) && bay.shows_card());
    bay.hand.picture("card-air");
    let events = bay.state().event_count();
    let steady = bay.named(EN.gauge_steady);
    bay.hand.tap(&steady);
    assert!(!asked(&bay) && !bay.shows_card());
    assert_eq!(bay.state().event_count(), events + 1);
    let last = bay.state().facts().last().unwrap();
    let text = EN.air_looked_at(cylinder);
    assert_eq!(last.event, Event::Noted { text });
    assert_eq!(last.who, Person::new("Ada"));
    bay.wait(34);
    assert!(!asked(&bay));
    bay.wait(1);
    assert!(asked(&bay), "and asks again");
}

#[test]
fn a_press_on_the_board_shows_the_card_and_reads_only() {
    let bay = bay();
    let mut hand = bay.hand;
    let shell = hand.window.state_mut();
    let returned = shell.desk.carry_out(Intent::ReadJob(bay.job));
    assert_eq!(returned, trayzero::desk::Outcome::Returned);
    let events = shell.desk.state().unwrap().event_count();
    let text = "a reader's".to_owned();
    shell
        .desk
        .carry_out(Intent::Tap(vec![Event::Noted { text }]));
    assert_eq!(shell.desk.state().unwrap().event_count(), events);
    assert!(shell.desk.view().job.unwrap().read_only.is_some());
}

#[test]
fn the_word_of_another_tablet_brings_the_card_too() {
    let scratch = super::parts::scratch();
    let shop = scratch.path().join("shop");
    std::fs::create_dir(&shop).unwrap();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    let mut two = Tablet::new(&scratch.path().join("two"), &shop, "Ben");
    let (_, valve, _) = left_mid_valve(&one.store, &one.clock);
    one.meet();
    two.meet();
    let clock = Arc::new(SetClock::at(one.clock.advance(3 * MINUTE_MS)));
    let store = Store::open(&two.root, clock.now()).unwrap();
    let mut hand = window(store, &clock, tempfile::tempdir().unwrap());
    let row = hand.names().into_iter().find(|n| n.starts_with("Bay 1"));
    hand.tap(&row.unwrap());
    let text = format!("{}: {}", EN.unlocked_now, EN.valve(valve));
    assert!(hand.says(&text), "{text}");
    assert!(hand.says(EN.welcome_back));
}
