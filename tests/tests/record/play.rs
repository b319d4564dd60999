//! Jobs played through the state machine, entry by entry, for the record to be made of.

use trayzero::ui::words::EN;
use trayzero_core::engine::{Layout, Side, ValveName};
use trayzero_core::job::{
    Caution, Event, Finding, FindingKind, HeardAt, NextStep, Opening, Person, Reading, SearchPlace,
    Smoke, Stage, Step, TakeIn,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::record::Record;
use trayzero_tests::bay::{Bay, FIRST, FOREMAN, SECOND, true_lines};
use trayzero_tests::engines::shipped_engine;
use uuid::Uuid;

/// The technician of the second day.
pub const RELIEF: &str = "Wren";

/// The night between the two days, milliseconds.
pub const NIGHT_MS: i64 = 15 * 3_600_000;

/// The SHA-256 of "abc" (FIPS 180-4) stands for a journal's last link.
pub const LINK: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

/// A bay with a job on a vehicle of this name.
pub fn open(layout: Layout, vehicle: &str) -> Bay {
    let mut bay = Bay::empty();
    bay.must(Event::JobOpened(Box::new(Opening {
        order_number: None,
        layout,
        vehicle: vehicle.to_owned(),
        bay: "Bay 3".to_owned(),
        technician: Person::new(FIRST),
    })));
    bay
}

/// The record of a bay's job.
pub fn record_of(bay: &Bay) -> Record {
    Record::of(&bay.job, &bay.entries, LINK, |why| EN.refusal_why(why)).unwrap()
}

fn rest_until_morning(bay: &mut Bay) {
    let why = "End of the shift".to_owned();
    bay.must(Event::Paused { why });
    bay.scribe.at_ms += NIGHT_MS;
    bay.must(Event::Resumed {});
}

/// A whole job without anything unusual.
pub fn plain_job(key: &str) -> Bay {
    let mut bay = open(shipped_engine(key), "sweeper 07");
    bay.work_to_the_end();
    bay
}

pub fn valve(cylinder: u8, side: Side, place: u8) -> ValveName {
    ValveName::new(cylinder, side, place)
}

/// A job in which everything happens that a record can tell of, up to the closing of the
/// first bank but without it. The layout is `v6-60-24v`.
pub fn eventful_job() -> Bay {
    let mut bay = open(shipped_engine("v6-60-24v"), "sweeper 07, town depot");
    take_in(&mut bay);
    work_with_mishaps(&mut bay);
    bay.work_until(|_, step| matches!(step, NextStep::Gate { .. }));
    bay
}

fn take_in(bay: &mut Bay) {
    bay.must(Event::TakeInNoted(Box::new(TakeIn {
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
        bay.must(Event::OilToppedUp {
            on: on.into(),
            odometer_km,
            litres,
        });
    }
    bay.must(Event::BreakawayMeasured { torque_nm: 24.5 });
    for caution in [
        Caution::Battery,
        Caution::Air,
        Caution::Spring,
        Caution::Crank,
    ] {
        bay.must(Event::CautionSeen { caution });
    }
    for (cylinder, cylinder_bar, heard) in [
        (1, 5.7, vec![]),
        (2, 5.2, vec![HeardAt::OilFiller]),
        (3, 4.0, vec![HeardAt::Exhaust, HeardAt::OilFiller]),
    ] {
        bay.must(Event::LeakRead {
            cylinder,
            when: Reading::Before,
            supply_bar: 6.0,
            cylinder_bar,
            heard,
        });
    }
}

/// Works on to the point where a stage of a valve comes next.
fn work_to(bay: &mut Bay, at: ValveName, before: Stage) {
    bay.work_until(|_, step| {
        matches!(step, NextStep::SeeStage { valve, stage } if *valve == at && *stage == before)
    });
}

fn work_with_mishaps(bay: &mut Bay) {
    let (first, second) = (valve(1, Side::Intake, 1), valve(1, Side::Intake, 2));
    bay.work_until(|state, _| state.ledger().at(&Item::NewSeal, Place::Stock) > 0);
    for (item, count) in [(Item::Lock, 4), (Item::NewSeal, 2)] {
        bay.must(Event::StockIssued { item, count });
    }
    let gasket = Item::Other("cover gasket".into());
    let count = 2;
    bay.must(Event::StockIssued {
        item: gasket,
        count,
    });
    work_to(bay, first, Stage::LocksOut);
    bay.must(Event::StageSeen {
        valve: first,
        stage: Stage::LocksOut,
        locks_dropped: 1,
        seals_spoiled: 0,
    });
    let stray = bay.job.drops()[0].id;
    bay.must(Event::PartFound {
        dropped: stray,
        found_at: SearchPlace::OnTheHead,
        to: Place::Tray,
    });
    bay.must(Event::StageSeen {
        valve: first,
        stage: Stage::SealFitted,
        locks_dropped: 0,
        seals_spoiled: 1,
    });
    bay.must(Event::FindingNoted(Box::new(Finding {
        cylinder: 1,
        valve: Some(first),
        kind: FindingKind::WornGuide { rock_mm: 0.35 },
        text: "Rocks along the engine, little across.".into(),
    })));
    work_to(bay, second, Stage::SealFitted);
    lose_a_lock(bay, second);
    bay.must(Event::FindingNoted(Box::new(Finding {
        cylinder: 2,
        valve: None,
        kind: FindingKind::Other,
        text: "Oil stands in the plug hole.".into(),
    })));
    let withdrawn = bay.must(Event::Noted {
        text: "Wrong bay".into(),
    });
    bay.take_back(withdrawn).unwrap();
    rest_until_morning(bay);
    let text = "Second day: same kit, same tray.".to_owned();
    bay.must(Event::Noted { text });
    let by = bay.scribe.sign(RELIEF);
    bay.must(Event::TakenOver { by });
}

/// A lock drops out of the tray and is never found; a new one makes up for it.
fn lose_a_lock(bay: &mut Bay, valve: ValveName) {
    let dropped = bay.must(Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: Some(valve),
    });
    let (first, second) = (bay.scribe.sign(FIRST), bay.scribe.sign(SECOND));
    bay.must(Event::SearchSigned {
        dropped,
        first,
        second,
        places: SearchPlace::LIST.to_vec(),
    });
    let item = Item::Lock;
    bay.must(Event::TakenFromStock { item, count: 1 });
}

/// The eventful job brought to its end: a first pair of counts that differs, gaskets
/// used, what is left given back.
pub fn eventful_job_closed() -> Bay {
    let mut bay = eventful_job();
    let mut wrong = true_lines(&bay.job);
    wrong[0].count += 1;
    let by = bay.scribe.sign(RELIEF);
    bay.must(Event::BlindCount { by, lines: wrong });
    let by = bay.scribe.sign(SECOND);
    let lines = true_lines(&bay.job);
    bay.must(Event::BlindCount { by, lines });
    let item = Item::Other("cover gasket".into());
    bay.must(Event::PartUsed { item, count: 2 });
    for item in [Item::Lock, Item::NewSeal] {
        let count = bay.job.ledger().at(&item, Place::Stock);
        bay.must(Event::StockReturned { item, count });
    }
    bay.work_to_the_end();
    assert!(bay.job.step_seen(Step::SmokeWatched).is_some());
    bay
}

/// The eventful job in the middle of a valve that only air holds.
pub fn job_mid_valve() -> Bay {
    let mut bay = open(shipped_engine("v6-60-24v"), "sweeper 07, town depot");
    take_in(&mut bay);
    work_with_mishaps(&mut bay);
    let at = bay.job.layout().unwrap().banks[1].cylinders[0];
    work_to(&mut bay, valve(at, Side::Exhaust, 1), Stage::SealFitted);
    let item = Item::Stopper;
    let from = Place::Kit;
    let left = bay.job.ledger().at(&item, from);
    if left > 0 {
        bay.must(Event::PartDropped {
            item,
            count: 1,
            from,
            bank: None,
            valve: None,
        });
    }
    bay
}

/// A second tablet says something that cannot be true too.
pub fn job_in_conflict() -> Bay {
    let mut bay = job_mid_valve();
    let mut other = bay.scribe.entry(Event::CoverOff { bank: 0 });
    other.tablet = Uuid::from_u128(0x7ac);
    assert!(bay.job.fold(&other).is_none());
    bay.entries.push(other);
    bay
}

/// The same after two people have looked.
pub fn job_resolved() -> Bay {
    let mut bay = job_in_conflict();
    let conflict = bay.job.open_conflicts().next().unwrap();
    let (id, seen) = (conflict.entry.id, bay.job.answers(conflict)[0].clone());
    let event = Event::ConflictResolved {
        conflict: id,
        by: bay.scribe.sign(SECOND),
        note: String::new(),
        seen,
        second: Some(bay.scribe.sign(FOREMAN)),
    };
    bay.must(event);
    bay
}

/// A job stopped with the covers off.
pub fn stopped_job() -> Bay {
    let mut bay = open(shipped_engine("v8-cross-plane-16v"), "grader 1");
    bay.work_until(|_, step| matches!(step, NextStep::Turn { .. }));
    let why = "The customer wants the engine replaced".to_owned();
    let by = bay.scribe.sign(FIRST);
    bay.must(Event::JobStopped { by, why });
    bay
}
