//! A yard of so many bays, each at another point of its job, as a board has them: played in
//! memory, so that many cost little.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use trayzero::data::shop_hours::ShopHours;
use trayzero::shop::{
    BoardFilter, Card, History, Looking, Lost, LostTo, Often, Tile, Week, in_order, monday_of,
};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Entry, Event, JobState, Opening, Person, Reading, SearchPlace, Stage};
use trayzero_core::journal::{Hlc, Writer, event_id};
use trayzero_core::parts::{Item, Place};
use trayzero_core::plan::{JobHours, ShopPace};
use uuid::Uuid;

use crate::demo_script::technician::Technician;
use crate::dice::Dice;

/// When the yard is looked at: Thursday 2026-11-26, 11:40 an hour east of Greenwich.
pub const NOW_MS: i64 = 1_795_689_600_000;
/// Its offset from UTC in minutes.
pub const OFFSET_MIN: i16 = 60;
const MINUTE_MS: i64 = 60_000;

/// Engines that stand in the yard, one after the other.
const ENGINES: [&str; 6] = [
    "inline-4-16v",
    "v6-60-24v",
    "inline-3-12v",
    "v8-cross-plane-32v",
    "flat-4-16v",
    "inline-6-24v",
];
const PEOPLE: [&str; 5] = ["Ilka", "Tomas", "Noor", "Ada", "Wren"];
const VEHICLES: [&str; 6] = [
    "sweeper 07",
    "yard tractor 2",
    "lift 3",
    "pump set 1",
    "trailer 9",
    "roller 2",
];

/// How a bay stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// At work, so many of ten valves verified.
    Working(u8),
    /// A valve is unlocked, air on, somebody at it.
    Unlocked,
    /// Air on and nobody at it.
    AirForgotten,
    /// A lock is adrift.
    Adrift,
    /// One person has counted.
    SecondCount,
    /// A cylinder leaks past the limit.
    Foreman,
    /// Nothing tapped for long.
    Quiet,
    /// Work rests.
    Rests,
}

/// How the bays of a yard stand: every fifth or so needs somebody.
const STANDS: [Stand; 20] = [
    Stand::Working(3),
    Stand::SecondCount,
    Stand::Unlocked,
    Stand::Working(7),
    Stand::Adrift,
    Stand::Working(9),
    Stand::Working(1),
    Stand::Rests,
    Stand::Working(5),
    Stand::Foreman,
    Stand::Working(0),
    Stand::Working(8),
    Stand::AirForgotten,
    Stand::Working(2),
    Stand::Working(6),
    Stand::Unlocked,
    Stand::Working(4),
    Stand::Quiet,
    Stand::Working(9),
    Stand::Working(3),
];

/// A shipped engine.
///
/// # Panics
/// If there is none of that key.
pub fn engine(key: &str) -> Layout {
    let one = shipped().iter().find(|one| one.key == key);
    let one = one.unwrap_or_else(|| panic!("{key} is shipped"));
    match Layout::from_json(one.key, one.json.as_bytes()) {
        Ok(layout) => layout,
        Err(faults) => panic!("{key}: {faults:?}"),
    }
}

fn technician(name: &str, number: u128) -> Technician {
    let mut entering = number << 64;
    Technician {
        name: Person::new(name),
        second: Person::new("Joris"),
        foreman: Person::new("Henrike"),
        leaks: BTreeMap::new(),
        found_at: SearchPlace::BenchAndFloor,
        entering: Box::new(move || {
            entering += 1;
            Uuid::from_u128(entering)
        }),
    }
}

/// A job under way: its events and the state that they come to.
#[derive(Clone, Debug)]
pub struct Played {
    /// Its number, from 1.
    pub number: u128,
    /// What was tapped.
    pub entries: Vec<Entry>,
    /// What it comes to.
    pub state: JobState,
}

impl Played {
    /// Its identity.
    pub fn job(&self) -> Uuid {
        Uuid::from_u128(self.number)
    }

    /// Its one tablet.
    pub fn tablet(&self) -> Uuid {
        Uuid::from_u128((1 << 100) + self.number)
    }

    /// Writes its journal.
    ///
    /// # Panics
    /// Where the folder does not take it.
    pub fn write(&self, root: &Path) {
        let opened = Writer::open(root, self.job(), self.tablet());
        let mut writer = opened.unwrap_or_else(|e| panic!("{e}")).writer;
        for part in self.entries.chunks(500) {
            writer.append(part).unwrap_or_else(|e| panic!("{e}"));
        }
    }
}

/// Plays a job until it stands so; the last tap lies `idle_min` back.
fn play(number: u128, opening: Opening, stand: Stand) -> Played {
    let mut script = technician(&opening.technician.0, number);
    let valves = opening.layout.valve_count();
    let mut state = JobState::new();
    let mut events = vec![Event::JobOpened(Box::new(opening))];
    let entry = |n: usize, event: &Event| entry(number, n, NOW_MS, event.clone());
    state.fold(&entry(0, &events[0]));
    let is_there = |state: &JobState| match stand {
        Stand::Working(tenths) => state.verified_count() * 10 >= valves * usize::from(tenths),
        Stand::Unlocked | Stand::Adrift => {
            state.verified_count() * 3 >= valves
                && state
                    .valves()
                    .any(|(_, v)| v.stage() == Some(Stage::LocksOut))
        }
        Stand::AirForgotten => state.verified_count() > 0 && state.air_on().is_some(),
        Stand::SecondCount => state.round_counts().len() == 1,
        Stand::Foreman => state.layout().is_some(),
        Stand::Quiet | Stand::Rests => state.verified_count() * 2 >= valves,
    };
    while !is_there(&state) {
        let tapped = script.tap(&state, None);
        assert!(!tapped.is_empty(), "the script has an answer to every step");
        for event in tapped {
            if is_there(&state) {
                break;
            }
            state.fold(&entry(events.len(), &event));
            events.push(event);
        }
    }
    events.extend(match stand {
        Stand::Adrift => Some(Event::PartDropped {
            item: Item::Lock,
            count: 1,
            from: Place::Tray,
            bank: None,
            valve: None,
        }),
        Stand::Rests => Some(Event::Paused {
            why: "waits for a gasket".into(),
        }),
        Stand::Foreman => Some(Event::LeakRead {
            cylinder: 1,
            when: Reading::Before,
            supply_bar: 6.0,
            cylinder_bar: 3.4,
            heard: Vec::new(),
        }),
        _ => None,
    });
    let idle_min = match stand {
        Stand::Quiet => 95,
        Stand::AirForgotten => 25,
        _ => 1 + (number % 7) as i64,
    };
    stamped(number, &events, NOW_MS - idle_min * MINUTE_MS)
}

/// The events of a job a minute and a half apart, the last of them at a moment.
fn stamped(number: u128, events: &[Event], last_ms: i64) -> Played {
    let step = MINUTE_MS * 3 / 2;
    let first = last_ms - step * (events.len() as i64 - 1);
    let mut played = Played {
        number,
        entries: Vec::with_capacity(events.len()),
        state: JobState::new(),
    };
    for (n, event) in events.iter().enumerate() {
        let entry = entry(number, n, first + step * n as i64, event.clone());
        played.state.fold(&entry);
        played.entries.push(entry);
    }
    assert_eq!(
        played.state.open_conflicts().count(),
        0,
        "one tablet agrees with itself"
    );
    played
}

fn entry(number: u128, n: usize, at_ms: i64, event: Event) -> Entry {
    let mut chance = [0; 10];
    chance[..4].copy_from_slice(&(number as u32).to_be_bytes());
    chance[6..].copy_from_slice(&(n as u32).to_be_bytes());
    let who = Person::new(PEOPLE[number as usize % PEOPLE.len()]);
    Entry {
        id: event_id(at_ms, &chance),
        tablet: Uuid::from_u128((1 << 100) + number),
        at_ms,
        offset_min: OFFSET_MIN,
        clock: Hlc::default().tick(at_ms).pair(),
        after: None,
        paper: None,
        who,
        event,
    }
}

fn opening(number: usize) -> Opening {
    Opening {
        order_number: None,
        layout: engine(ENGINES[number % ENGINES.len()]),
        vehicle: VEHICLES[number % VEHICLES.len()].into(),
        bay: format!("Bay {number}"),
        technician: Person::new(PEOPLE[number % PEOPLE.len()]),
    }
}

/// So many bays.
pub fn bays(count: usize) -> Vec<Played> {
    let bay = |number: usize| {
        let stand = STANDS[(number - 1) % STANDS.len()];
        play(number as u128, opening(number), stand)
    };
    (1..=count).map(bay).collect()
}

/// So many bays at work, none of which needs anybody.
pub fn calm_bays(count: usize) -> Vec<Played> {
    let bay = |number: usize| {
        let stand = Stand::Working((number * 3 % 10) as u8);
        play(number as u128, opening(number), stand)
    };
    (1..=count).map(bay).collect()
}

/// What a yard has learned that has finished a few jobs.
pub fn pace() -> ShopPace {
    let hours: Vec<JobHours> = (1..=4).map(finished_hours).collect();
    let hours: Vec<&JobHours> = hours.iter().collect();
    ShopPace::learn(&hours, &[])
}

fn finished_hours(number: u128) -> JobHours {
    let mut script = technician("Ilka", number);
    let mut state = JobState::new();
    let mut events = vec![Event::JobOpened(Box::new(opening(number as usize)))];
    state.fold(&entry(number, 0, NOW_MS, events[0].clone()));
    loop {
        let tapped = script.tap(&state, None);
        if tapped.is_empty() {
            break;
        }
        for event in tapped {
            state.fold(&entry(number, events.len(), NOW_MS, event.clone()));
            events.push(event);
        }
    }
    let played = stamped(number, &events, NOW_MS - 86_400_000);
    let card = Card::of(played.job(), &played.state, Vec::new());
    let hours = card.summary.finished_hours();
    hours.map_or_else(|| panic!("the job is over"), |hours| (*hours).clone())
}

/// Thirty weeks of a yard's finished jobs, the last of them that of a moment (wall clock in
/// milliseconds).
pub fn history(now_ms: i64) -> History {
    let mut dice = Dice::new(30);
    let places = [
        None,
        Some(SearchPlace::Sump),
        Some(SearchPlace::BenchAndFloor),
        Some(SearchPlace::BenchAndFloor),
        Some(SearchPlace::OnTheHead),
        Some(SearchPlace::OnThePerson),
    ];
    let items = [
        Item::Lock,
        Item::Lock,
        Item::Rag,
        Item::Other("hook tool".into()),
    ];
    let week = |back: i64| {
        let mut week = Week {
            monday: monday_of(now_ms - back * 7 * 24 * 60 * MINUTE_MS, &looking().zone)?,
            closed: dice.below(14),
            stopped: dice.below(2),
            ..Week::default()
        };
        week.valves = week.closed * 24;
        week.timed_valves = week.valves;
        week.closed_min = week.valves as f64 * (17.0 + dice.below(90) as f64 / 10.0);
        for _ in 0..dice.below(5) {
            let item = dice.one_of(&items);
            let often = Often { times: 1, parts: 1 };
            let lost = Lost {
                times: 1,
                minutes: 4.0 + dice.below(70) as f64,
            };
            week.lost.insert(LostTo::Dropped(item.clone()), lost);
            week.fell.insert((item, dice.one_of(&places)), often);
        }
        if dice.once_in(6) {
            let lost = |minutes| Lost { times: 1, minutes };
            week.lost.insert(LostTo::Foreman, lost(22.0));
            week.lost.insert(LostTo::Conflict, lost(9.0));
        }
        (week.closed + week.stopped > 0).then_some(week)
    };
    History {
        weeks: (0..30).rev().filter_map(week).collect(),
        undated: 1,
        since: trayzero::shop::SinceThen {
            unseen: 31,
            down: 7,
            not_clear: 2,
            up: 1,
            not_known: 3,
        },
    }
}

/// The cards of jobs, each with its time to go.
pub fn cards(jobs: &[Played], pace: &ShopPace) -> Vec<Arc<Card>> {
    let card = |job: &Played| {
        let mut card = Card::of(job.job(), &job.state, vec![job.tablet()]);
        card.work_out_to_go(pace);
        Arc::new(card)
    };
    jobs.iter().map(card).collect()
}

/// From where and when the yard is looked at.
pub fn looking() -> Looking {
    Looking {
        now_ms: NOW_MS,
        zone: trayzero::ui::times::zone(NOW_MS, OFFSET_MIN),
        air_reminder_min: 10,
        hours: ShopHours::default(),
        own: None,
        out_of_touch_ms: None,
    }
}

/// The tiles of cards, the one that needs somebody most first.
pub fn tiles(cards: &[Arc<Card>]) -> Vec<Tile> {
    let looking = looking();
    let placed = in_order(
        cards,
        BoardFilter::UnderWay,
        NOW_MS,
        looking.air_reminder_min,
    );
    placed.iter().map(|one| Tile::of(one, &looking)).collect()
}
