//! A shop of a thousand jobs of two years, made in seconds: a handful of jobs are played by
//! the scripted technician, each is told again and again with other identities and times.

use std::collections::BTreeMap;
use std::path::Path;

use trayzero::data::store::{Stamp, Store};
use trayzero_core::engine::Layout;
use trayzero_core::job::{
    Entry, Event, JobPhase, JobState, Opening, Person, Reading, SearchPlace, SignOff, Stage,
};
use trayzero_core::journal::{Hlc, Writer, event_id};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::demo_script::technician::{ScriptedLeak, Technician};
use trayzero_tests::dice::Dice;
use trayzero_tests::engines::{one_cylinder, two_cylinders};
use uuid::Uuid;

/// When the shop is looked at: Thursday 2026-11-26, 11:40 an hour east of Greenwich.
pub const NOW: Stamp = Stamp {
    at_ms: 1_795_689_600_000,
    offset_min: 60,
};
const DAY_MS: i64 = 86_400_000;
/// Days over which the jobs lie.
const DAYS: usize = 730;

/// What goes wrong in a job, or otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Turn {
    /// Nothing.
    Plain,
    /// A lock falls and is found.
    Found(SearchPlace),
    /// Two parts fall and one of the locks that come out; all are found.
    FallTwice,
    /// A lock falls and is never found.
    Unfound,
    /// What was told of as fallen had not.
    TakenBack,
    /// A cylinder leaks and the foreman agrees.
    Foreman,
    /// It is stopped while a lock is adrift.
    Stopped,
    /// It is closed, opened again and closed once more.
    ClosedTwice,
    /// It is under way.
    UnderWay,
}

const TURNS: [Turn; 12] = [
    Turn::Plain,
    Turn::Found(SearchPlace::Sump),
    Turn::Plain,
    Turn::Found(SearchPlace::OnThePerson),
    Turn::FallTwice,
    Turn::Unfound,
    Turn::TakenBack,
    Turn::Plain,
    Turn::Foreman,
    Turn::Stopped,
    Turn::ClosedTwice,
    Turn::UnderWay,
];

/// A technician whose entered codes are all different.
fn technician(found_at: SearchPlace) -> Technician {
    let mut entering = 0_u128;
    Technician {
        name: Person::new("Ilka"),
        second: Person::new("Joris"),
        foreman: Person::new("Henrike"),
        leaks: BTreeMap::new(),
        found_at,
        entering: Box::new(move || {
            entering += 1;
            Uuid::from_u128(entering)
        }),
    }
}

/// A job that is being played.
struct Play {
    script: Technician,
    state: JobState,
    events: Vec<Event>,
}

/// The identity that the event with this number has while a job is played.
fn played_id(number: usize) -> Uuid {
    Uuid::from_u128(number as u128 + 1)
}

impl Play {
    fn tell(&mut self, event: Event) {
        let number = self.events.len();
        let at_ms = number as i64 * 60_000;
        let entry = Entry {
            id: played_id(number),
            tablet: Uuid::nil(),
            at_ms,
            offset_min: NOW.offset_min,
            clock: Hlc::default().tick(at_ms).pair(),
            who: Person::new("Ilka"),
            event: event.clone(),
            after: None,
            paper: None,
        };
        self.state.apply(&entry).unwrap();
        self.events.push(event);
    }

    /// Goes on with the script until something is so, or the job is over.
    fn until(&mut self, is_so: impl Fn(&JobState) -> bool) {
        while !is_so(&self.state) {
            let tapped = self.script.tap(&self.state, None);
            if tapped.is_empty() {
                return;
            }
            for event in tapped {
                self.tell(event);
            }
        }
    }

    fn drop_lock(&mut self) -> Uuid {
        self.drop(Item::Lock, Place::Tray)
    }

    fn drop(&mut self, item: Item, from: Place) -> Uuid {
        let id = played_id(self.events.len());
        self.tell(Event::PartDropped {
            item,
            count: 1,
            from,
            bank: None,
            valve: None,
        });
        id
    }

    fn sign(&mut self, name: &str) -> SignOff {
        self.script.sign_as(&Person::new(name))
    }
}

/// The events of a job that takes this turn.
fn play(layout: Layout, turn: Turn) -> Vec<Event> {
    let found_at = match turn {
        Turn::Found(place) => place,
        _ => SearchPlace::BenchAndFloor,
    };
    let mut play = Play {
        script: technician(found_at),
        state: JobState::new(),
        events: Vec::new(),
    };
    if turn == Turn::Foreman {
        let leak = ScriptedLeak {
            cylinder_bar: 3.5,
            ..ScriptedLeak::default()
        };
        play.script.leaks.insert((Reading::Before, 1), leak);
    }
    play.tell(Event::JobOpened(Box::new(Opening {
        order_number: None,
        layout,
        vehicle: "Van 12".to_owned(),
        bay: "Bay 2".to_owned(),
        technician: Person::new("Ilka"),
    })));
    let locks_in_tray = |state: &JobState| state.ledger().at(&Item::Lock, Place::Tray) > 0;
    play.until(locks_in_tray);
    match turn {
        Turn::Plain | Turn::Foreman => {}
        Turn::Found(_) => {
            play.drop_lock();
        }
        Turn::FallTwice => fall_twice(&mut play),
        Turn::Unfound => {
            let dropped = play.drop_lock();
            let (first, second) = (play.sign("Ilka"), play.sign("Joris"));
            play.tell(Event::SearchSigned {
                dropped,
                first,
                second,
                places: SearchPlace::LIST.to_vec(),
            });
        }
        Turn::TakenBack => {
            let event = play.drop_lock();
            let by = vec![play.sign("Ilka"), play.sign("Joris")];
            play.tell(Event::Withdrawn { event, by });
        }
        Turn::Stopped => {
            play.until(|state| state.verified_count() > 0 && state.air_on().is_none());
            play.drop(Item::OldSeal, Place::Scrap);
            let by = play.sign("Ilka");
            let why = "the head is cracked".to_owned();
            play.tell(Event::JobStopped { by, why });
            return play.events;
        }
        Turn::ClosedTwice => {
            play.until(|_| false);
            let event = played_id(play.events.len() - 1);
            let by = vec![play.sign("Ilka")];
            play.tell(Event::Withdrawn { event, by });
        }
        Turn::UnderWay => {
            play.drop_lock();
            return play.events;
        }
    }
    play.until(|_| false);
    assert_eq!(play.state.phase(), JobPhase::Closed, "{turn:?}");
    play.events
}

/// A lock falls, later one that comes out, and an old seal with it.
fn fall_twice(play: &mut Play) {
    play.drop_lock();
    let held = |state: &JobState| {
        let mut valves = state.valves();
        let held = valves.find(|(_, valve)| valve.stage() == Some(Stage::SpringHeld));
        held.map(|(name, _)| name)
    };
    play.until(|state| held(state).is_some());
    let valve = held(&play.state).unwrap();
    play.tell(Event::StageSeen {
        valve,
        stage: Stage::LocksOut,
        locks_dropped: 1,
        seals_spoiled: 0,
    });
    play.drop(Item::OldSeal, Place::Scrap);
}

/// Puts so many jobs into a new data folder.
pub fn fill(root: &Path, jobs: usize) {
    let store = Store::open(root, NOW).unwrap();
    let tablet = store.tablet().id();
    let engines = [one_cylinder(), two_cylinders()];
    let played: Vec<Vec<Event>> = engines
        .iter()
        .flat_map(|engine| TURNS.map(|turn| play(engine.clone(), turn)))
        .collect();
    let mut dice = Dice::new(20_261_126);
    for number in 0..jobs {
        let events = &played[number % played.len()];
        // The days on which jobs end; by day, so that no clock of anybody's is in doubt.
        let noon_ms = NOW.at_ms - (1 + dice.below(DAYS) as i64) * DAY_MS;
        let last_ms = noon_ms + dice.below(6 * 3_600) as i64 * 1_000;
        let mut back_ms = 0;
        let mut times: Vec<i64> = events
            .iter()
            .map(|_| {
                let at_ms = last_ms - back_ms;
                back_ms += 1_000 * (5 + dice.below(180) as i64);
                if dice.below(60) == 0 {
                    back_ms += 15 * 3_600_000;
                }
                at_ms
            })
            .collect();
        times.reverse();
        let entries = told(number, tablet, events, &times);
        let job = Uuid::from_u128(number as u128 + 1);
        let mut writer = Writer::open(root, job, tablet).unwrap().writer;
        writer.append(&entries).unwrap();
    }
}

/// A played job as another one: its own identities, wherever one event names another.
fn told(number: usize, tablet: Uuid, events: &[Event], times: &[i64]) -> Vec<Entry> {
    let id = |n: usize| {
        let mut random = [0; 10];
        random[..4].copy_from_slice(&(number as u32).to_be_bytes());
        random[6..].copy_from_slice(&(n as u32).to_be_bytes());
        event_id(times[n], &random)
    };
    let other = |played: &Uuid| id(played.as_u128() as usize - 1);
    let renamed = |event: &Event| {
        let mut event = event.clone();
        match &mut event {
            Event::PartFound { dropped, .. } | Event::SearchSigned { dropped, .. } => {
                *dropped = other(dropped);
            }
            Event::Withdrawn { event, .. } => *event = other(event),
            _ => {}
        }
        event
    };
    let entry = |(n, event): (usize, &Event)| Entry {
        id: id(n),
        tablet,
        at_ms: times[n],
        offset_min: NOW.offset_min,
        clock: Hlc::default().tick(times[n]).pair(),
        who: Person::new("Ilka"),
        event: renamed(event),
        after: None,
        paper: None,
    };
    events.iter().enumerate().map(entry).collect()
}
