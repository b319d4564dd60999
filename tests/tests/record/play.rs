//! Jobs played through the state machine, entry by entry, for the record to be made of.

use trayzero::technician::{ScriptedLeak, Technician, honest_count};
use trayzero_core::engine::{Layout, Side, ValveName, shipped};
use trayzero_core::job::{
    Caution, Entry, Event, Finding, FindingKind, HeardAt, JobPhase, JobState, NextStep, Opening,
    Person, Reading, SearchPlace, SignOff, Smoke, Stage, Step, TakeIn,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::record::Record;
use uuid::Uuid;

pub const TECHNICIAN: &str = "Ilka";
pub const SECOND: &str = "Joris";
pub const FOREMAN: &str = "Henrike";
pub const TABLET: Uuid = Uuid::from_u128(0x7ab);

/// 2026-11-24 07:31:00 UTC in milliseconds.
const MORNING_MS: i64 = 1_795_505_460_000;
const TAP_MS: i64 = 41_000;

/// One job as it is played.
pub struct Play {
    pub state: JobState,
    pub entries: Vec<Entry>,
    pub technician: Technician,
    at_ms: i64,
    who: Person,
}

pub fn layout(key: &str) -> Layout {
    let one = shipped().iter().find(|s| s.key == key).unwrap();
    Layout::from_json(one.key, one.json.as_bytes()).unwrap()
}

impl Play {
    pub fn open(layout: Layout, vehicle: &str) -> Self {
        let mut codes = 0;
        let entering = move || {
            codes += 1;
            Uuid::from_u128(0xC0DE_0000_0000 + codes)
        };
        let mut play = Self {
            state: JobState::new(),
            entries: Vec::new(),
            technician: Technician {
                name: Person::new(TECHNICIAN),
                second: Person::new(SECOND),
                foreman: Person::new(FOREMAN),
                leaks: std::collections::BTreeMap::new(),
                found_at: SearchPlace::BenchAndFloor,
                entering: Box::new(entering),
            },
            at_ms: MORNING_MS,
            who: Person::new(TECHNICIAN),
        };
        play.must(Event::JobOpened(Box::new(Opening {
            layout,
            vehicle: vehicle.to_owned(),
            bay: "Bay 3".to_owned(),
            technician: Person::new(TECHNICIAN),
        })));
        play
    }

    pub fn entry(&mut self, event: Event) -> Entry {
        self.at_ms += TAP_MS;
        Entry {
            id: Uuid::from_u128(self.at_ms as u128),
            tablet: TABLET,
            at_ms: self.at_ms,
            offset_min: 60,
            clock: (self.at_ms as u64, 0),
            who: self.who.clone(),
            event,
        }
    }

    /// Proposes an event that has to be taken; gives its identity.
    pub fn must(&mut self, event: Event) -> Uuid {
        let entry = self.entry(event);
        if let Err(refusal) = self.state.apply(&entry) {
            panic!("{:?}: {}", entry.event, refusal.why());
        }
        let id = entry.id;
        self.entries.push(entry);
        id
    }

    pub fn sign(&mut self, person: &str) -> SignOff {
        self.technician.sign_as(&Person::new(person))
    }

    /// Takes the proposed steps until `stop` says so of the step that would come next.
    pub fn work_until(&mut self, mut stop: impl FnMut(&JobState, &NextStep) -> bool) {
        for _ in 0..50_000 {
            let step = self.state.next_step(None);
            if stop(&self.state, &step) || step == NextStep::Nothing {
                return;
            }
            for event in self.technician.tap(&self.state, None) {
                self.must(event);
            }
        }
        panic!("the job does not end: {:?}", self.state.next_step(None));
    }

    pub fn work_to_the_end(&mut self) {
        self.work_until(|_, _| false);
        assert_eq!(self.state.phase(), JobPhase::Closed);
    }

    pub fn rest_until_morning(&mut self) {
        let why = "End of the shift".to_owned();
        self.must(Event::Paused { why });
        self.at_ms += 15 * 3_600_000;
        self.must(Event::Resumed {});
    }

    pub fn record(&self) -> Record {
        Record::of(&self.state, &self.entries, LINK).unwrap()
    }
}

/// The SHA-256 of "abc" (FIPS 180-4) stands for a journal's last link.
pub const LINK: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

/// A whole job without anything unusual.
pub fn plain_job(key: &str) -> Play {
    let mut play = Play::open(layout(key), "sweeper 07");
    play.work_to_the_end();
    play
}

pub fn valve(cylinder: u8, side: Side, place: u8) -> ValveName {
    ValveName::new(cylinder, side, place)
}

/// A job in which everything happens that a record can tell of, up to the closing of the
/// first bank but without it. The layout is `v6-60-24v`.
pub fn eventful_job() -> Play {
    let mut play = Play::open(layout("v6-60-24v"), "sweeper 07, town depot");
    take_in(&mut play);
    work_with_mishaps(&mut play);
    play.work_until(|_, step| matches!(step, NextStep::Gate { .. }));
    play
}

fn take_in(play: &mut Play) {
    play.must(Event::TakeInNoted(Box::new(TakeIn {
        complaint: "A blue cloud at every start after the break, clear again by the gate".into(),
        odometer_km: Some(86_342.0),
        codes: vec!["Misfire, cylinder 3, now and then".into()],
        smoke: vec![Smoke::ColdStart, Smoke::AfterIdling],
        seen: "Plug 3 oily, the others dry.".into(),
    })));
    for (on, odometer_km, litres) in [
        ("2026-07-01", 81_050.0, 1.0),
        ("2026-08-10", 82_680.0, 1.0),
        ("2026-09-14", 84_020.0, 1.0),
        ("2026-10-12", 85_080.0, 1.0),
        ("2026-11-09", 86_010.0, 1.0),
    ] {
        play.must(Event::OilToppedUp {
            on: on.into(),
            odometer_km,
            litres,
        });
    }
    play.must(Event::BreakawayMeasured { torque_nm: 24.5 });
    for caution in [
        Caution::Battery,
        Caution::Air,
        Caution::Spring,
        Caution::Crank,
    ] {
        play.must(Event::CautionSeen { caution });
    }
    let leak = |cylinder_bar, heard: &[HeardAt]| ScriptedLeak {
        supply_bar: 6.0,
        cylinder_bar,
        heard: heard.to_vec(),
    };
    let leaks = [
        ((Reading::Before, 1), leak(5.7, &[])),
        ((Reading::Before, 2), leak(5.2, &[HeardAt::OilFiller])),
        (
            (Reading::Before, 3),
            leak(4.0, &[HeardAt::Exhaust, HeardAt::OilFiller]),
        ),
    ];
    play.technician.leaks = leaks.into();
}

/// Works on to the point where a stage of a valve comes next.
fn work_to(play: &mut Play, at: ValveName, before: Stage) {
    play.work_until(|_, step| {
        matches!(step, NextStep::SeeStage { valve, stage } if *valve == at && *stage == before)
    });
}

fn work_with_mishaps(play: &mut Play) {
    let (first, second) = (valve(1, Side::Intake, 1), valve(1, Side::Intake, 2));
    play.work_until(|state, _| state.ledger().at(&Item::NewSeal, Place::Stock) > 0);
    for (item, count) in [(Item::Lock, 4), (Item::NewSeal, 2)] {
        play.must(Event::StockIssued { item, count });
    }
    let gasket = Item::Other("cover gasket".into());
    let count = 2;
    play.must(Event::StockIssued {
        item: gasket,
        count,
    });
    work_to(play, first, Stage::LocksOut);
    play.must(Event::StageSeen {
        valve: first,
        stage: Stage::LocksOut,
        strays: 1,
        nicked: 0,
    });
    let stray = play.state.drops()[0].id;
    play.must(Event::PartFound {
        dropped: stray,
        found_at: SearchPlace::OnTheHead,
        to: Place::Tray,
    });
    play.must(Event::StageSeen {
        valve: first,
        stage: Stage::SealFitted,
        strays: 0,
        nicked: 1,
    });
    play.must(Event::FindingNoted(Box::new(Finding {
        cylinder: 1,
        valve: Some(first),
        kind: FindingKind::WornGuide { rock_mm: 0.35 },
        text: "Rocks along the engine, little across.".into(),
    })));
    work_to(play, second, Stage::SealFitted);
    lose_a_lock(play, second);
    play.must(Event::FindingNoted(Box::new(Finding {
        cylinder: 2,
        valve: None,
        kind: FindingKind::Other,
        text: "Oil stands in the plug hole.".into(),
    })));
    let withdrawn = play.must(Event::Noted {
        text: "Wrong bay".into(),
    });
    play.must(Event::Withdrawn { event: withdrawn });
    play.rest_until_morning();
    let text = "Second day: same kit, same tray.".to_owned();
    play.must(Event::Noted { text });
    let by = play.sign("Wren");
    play.who = Person::new("Wren");
    play.must(Event::TakenOver { by });
}

/// A lock drops out of the tray and is never found; a new one makes up for it.
fn lose_a_lock(play: &mut Play, valve: ValveName) {
    let dropped = play.must(Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: Some(valve),
    });
    let (first, second) = (play.sign(TECHNICIAN), play.sign(SECOND));
    play.must(Event::SearchSigned {
        dropped,
        first,
        second,
        places: SearchPlace::LIST.to_vec(),
    });
    let item = Item::Lock;
    play.must(Event::TakenFromStock { item, count: 1 });
}

/// The eventful job brought to its end: a first pair of counts that differs, gaskets
/// used, what is left given back.
pub fn eventful_job_closed() -> Play {
    let mut play = eventful_job();
    let mut wrong = honest_count(&play.state);
    wrong[0].count += 1;
    let by = play.sign("Wren");
    play.must(Event::BlindCount { by, lines: wrong });
    let by = play.sign(SECOND);
    let lines = honest_count(&play.state);
    play.must(Event::BlindCount { by, lines });
    let item = Item::Other("cover gasket".into());
    play.must(Event::PartUsed { item, count: 2 });
    for item in [Item::Lock, Item::NewSeal] {
        let count = play.state.ledger().at(&item, Place::Stock);
        play.must(Event::StockReturned { item, count });
    }
    play.work_to_the_end();
    assert!(play.state.step_seen(Step::SmokeWatched).is_some());
    play
}

/// The eventful job in the middle of a valve that only air holds.
pub fn job_mid_valve() -> Play {
    let mut play = Play::open(layout("v6-60-24v"), "sweeper 07, town depot");
    take_in(&mut play);
    work_with_mishaps(&mut play);
    let at = play.state.layout().unwrap().banks[1].cylinders[0];
    work_to(&mut play, valve(at, Side::Exhaust, 1), Stage::SealFitted);
    let item = Item::Stopper;
    let from = Place::Kit;
    let left = play.state.ledger().at(&item, from);
    if left > 0 {
        play.must(Event::PartDropped {
            item,
            count: 1,
            from,
            bank: None,
            valve: None,
        });
    }
    play
}

/// A second tablet says something that cannot be true too.
pub fn job_in_conflict() -> Play {
    let mut play = job_mid_valve();
    let mut other = play.entry(Event::CoverOff { bank: 0 });
    other.tablet = Uuid::from_u128(0x7ac);
    assert!(play.state.fold(&other).is_none());
    play.entries.push(other);
    play
}
