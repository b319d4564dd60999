//! What cannot stand beside what is known: what it may be dangerous about, what is to be
//! looked at for it, and against what it stands.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Conflict, CrankAt, Danger, Event, HoldKind, JobState, NextStep, PlugHole, Seal, SearchPlace,
    Sight, Stage,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND};
use trayzero_tests::engines::{one_cylinder, two_cylinders};
use trayzero_tests::entries::Scribe;
use uuid::Uuid;

use super::elsewhere::elsewhere;
use super::{at_the_gate, before, drop_from_kit, last_of};

const VALVE: ValveName = ValveName::new(1, Side::Intake, 1);

fn seen(stage: Stage) -> Event {
    Event::StageSeen {
        valve: VALVE,
        stage,
        locks_dropped: 0,
        seals_spoiled: 0,
    }
}

/// What the last conflict may be dangerous about, and what is looked at for it.
fn told(bay: &mut Bay, event: Event) -> (Vec<Danger>, Vec<Sight>) {
    elsewhere(bay, event);
    let conflict = bay.job.conflicts().last().unwrap();
    let of_it = bay
        .job
        .dangers()
        .filter(|(_, c)| c.entry.id == conflict.entry.id);
    let dangers = of_it.map(|(danger, _)| danger).collect();
    let sights = bay.job.sights_of(conflict.entry.id, &conflict.entry.event);
    (dangers, sights)
}

fn heap(item: Item, place: Place, count: u32) -> Sight {
    Sight::LaidOut { item, place, count }
}

#[test]
#[expect(clippy::too_many_lines, reason = "a table: one row an event")]
fn what_may_hurt_somebody_is_asked_and_what_can_be_seen_is_looked_at() {
    let cylinder = 1;
    let at = CrankAt {
        cylinder,
        offset_deg: 0.0,
    };
    let turned = Event::CrankTurned {
        from: None,
        to: CrankAt { cylinder: 9, ..at },
        turn_deg: 0.0,
    };
    let cord = HoldKind::Cord;
    let (item, count, bank) = (Item::Rag, 1, 0);
    let lock_fell = Event::PartDropped {
        item: Item::Lock,
        count,
        from: Place::Tray,
        bank: None,
        valve: None,
    };
    let rows = vec![
        (
            Event::AirOff { cylinder, bar: 3.0 },
            vec![Danger::Air { cylinder }],
            vec![Sight::Air {
                cylinder,
                bar: Some(4.0),
            }],
        ),
        (
            Event::HoldReleased {
                cylinder,
                hold: cord,
            },
            vec![Danger::Hold { cylinder }],
            vec![Sight::Hold {
                cylinder,
                hold: None,
            }],
        ),
        (
            Event::WrenchOff {},
            vec![Danger::Wrench],
            vec![Sight::Wrench { on: false }],
        ),
        (
            turned,
            vec![Danger::Crank],
            vec![Sight::Crank { at: Some(at) }],
        ),
        (
            Event::PlugOut { cylinder },
            vec![],
            vec![Sight::PlugHole {
                cylinder,
                with: PlugHole::Hose,
            }],
        ),
        (
            Event::CoverOff { bank },
            vec![],
            vec![Sight::Cover { bank, off: true }],
        ),
        (
            Event::TakenOff {
                item: item.clone(),
                bank,
                count,
            },
            vec![],
            vec![Sight::Aboard {
                bank,
                item,
                count: 0,
            }],
        ),
        // Where nothing at the engine is named, it is the heaps on the bench that tell; what
        // is home or adrift lies on none.
        (
            Event::PutAway {
                item: Item::Lock,
                count,
                to: Place::Scrap,
            },
            vec![],
            vec![
                heap(Item::Lock, Place::Tray, 0),
                heap(Item::Lock, Place::Scrap, 0),
            ],
        ),
        (
            Event::KitCounted {
                item: Item::Lock,
                count,
            },
            vec![],
            vec![heap(Item::Lock, Place::Kit, 0)],
        ),
        (
            Event::StockReturned {
                item: Item::NewSeal,
                count: 9,
            },
            vec![],
            vec![heap(Item::NewSeal, Place::Stock, 2)],
        ),
        (
            Event::PartReplaced {
                valve: VALVE,
                item: Item::Retainer,
                count,
            },
            vec![],
            vec![
                heap(Item::Retainer, Place::Tray, 0),
                heap(Item::Retainer, Place::Scrap, 0),
                heap(Item::Retainer, Place::Stock, 0),
            ],
        ),
        (Event::Resumed {}, vec![], vec![Sight::Read {}]),
    ];
    let bay = before(one_cylinder(), Stage::LocksOut);
    for (event, dangers, sights) in rows {
        let shown = told(&mut bay.clone(), event.clone());
        assert_eq!(shown, (dangers, sights), "{event:?}");
    }
    let mut bay = bay.clone();
    let (_, sights) = told(&mut bay, lock_fell);
    let dropped = bay.job.drops()[0].id;
    let missing = Sight::Missing { dropped, count };
    assert_eq!(sights, [missing, heap(Item::Lock, Place::Tray, 0)]);
}

#[test]
fn a_valve_is_dangerous_from_its_pressed_spring_until_its_locks_are_level() {
    for stage in Stage::ALL {
        let mut bay = Bay::open(one_cylinder());
        let (dangers, sights) = told(&mut bay, seen(stage));
        let valve = VALVE;
        let dangerous = !matches!(stage, Stage::Positioned | Stage::Verified);
        let wanted: Vec<Danger> = dangerous
            .then_some(Danger::Valve { valve })
            .into_iter()
            .collect();
        assert_eq!(dangers, wanted, "{stage:?}");
        assert_eq!(sights, [Sight::Valve { valve, stage: None }]);
        // Only air is asked about before somebody puts air on.
        assert!(dangers.iter().all(|d| d.air_cylinder().is_none()));
    }
    let air = Danger::Air { cylinder: 3 };
    assert_eq!(air.air_cylinder(), Some(3));
}

#[test]
fn what_was_found_is_not_missing_any_more() {
    let mut bay = at_the_gate(one_cylinder());
    drop_from_kit(&mut bay, Item::Stopper);
    let dropped = bay.entries.last().unwrap().id;
    let to_the_tray = Event::PartFound {
        dropped,
        found_at: SearchPlace::Sump,
        to: Place::Tray,
    };
    let missing = |count| {
        vec![
            Sight::Missing { dropped, count },
            heap(Item::Stopper, Place::Tray, 0),
        ]
    };
    assert_eq!(told(&mut bay.clone(), to_the_tray.clone()).1, missing(1));
    let found = bay.found(dropped);
    bay.must(found);
    assert_eq!(told(&mut bay, to_the_tray).1, missing(0));
}

#[test]
fn what_is_said_of_an_event_is_looked_at_as_the_event() {
    let mut bay = before(one_cylinder(), Stage::SpringHeld);
    let air_on = last_of(&bay, |e| matches!(e, Event::AirOn { .. }));
    bay.must(seen(Stage::SpringHeld));
    let (cylinder, bar) = (1, Some(4.0));
    let air = (
        vec![Danger::Air { cylinder }],
        vec![Sight::Air { cylinder, bar }],
    );
    assert_eq!(told(&mut bay.clone(), Event::taken_back(air_on)), air);
    // And so is what is said of what was said: here that somebody has looked, without a word
    // of what was seen.
    elsewhere(&mut bay, Event::WrenchOff {});
    elsewhere(
        &mut bay,
        Event::HoldReleased {
            cylinder,
            hold: HoldKind::Cord,
        },
    );
    let dangers = [Danger::Wrench, Danger::Hold { cylinder }];
    for (number, danger) in dangers.into_iter().enumerate() {
        let resolved = Event::ConflictResolved {
            conflict: bay.job.conflicts()[number].entry.id,
            by: bay.scribe.sign(FIRST),
            note: String::new(),
            seen: Vec::new(),
            second: None,
        };
        assert_eq!(told(&mut bay.clone(), resolved).0, [danger]);
    }
}

#[test]
fn what_is_taken_back_waits_for_a_look_as_the_step_itself_would() {
    let bay = before(two_cylinders(), Stage::SpringHeld);
    let air_on = last_of(&bay, |e| matches!(e, Event::AirOn { .. }));
    let turned = last_of(&bay, |e| matches!(e, Event::CrankTurned { .. }));
    let code = |bay: &Bay, event| {
        let mut bay = bay.clone();
        bay.take_back(event).err().map(|refusal| refusal.code())
    };
    let valve = |cylinder| Event::StageSeen {
        valve: ValveName::new(cylinder, Side::Exhaust, 1),
        stage: Stage::LocksIn,
        locks_dropped: 0,
        seals_spoiled: 0,
    };
    let after = |done: Vec<Event>, dispute: Event| {
        let mut bay = bay.clone();
        for event in done {
            bay.must(event);
        }
        let last = bay.entries.last().unwrap().id;
        elsewhere(&mut bay, dispute);
        (bay, last)
    };
    let air_off = Event::AirOff {
        cylinder: 1,
        bar: 4.0,
    };
    let hold = Event::HoldDeclared {
        cylinder: 1,
        hold: HoldKind::Piston,
    };
    // Nobody takes the air off a valve that may hang on it, nor a hold.
    for (cylinder, wanted) in [(1, Some("R224")), (2, None)] {
        let (bay, _) = after(vec![], valve(cylinder));
        assert_eq!(code(&bay, air_on), wanted);
        let (bay, held) = after(vec![hold.clone()], valve(cylinder));
        assert_eq!(code(&bay, held), wanted);
    }
    let (bay, _) = after(vec![], Event::WrenchOff {});
    assert_eq!(code(&bay, air_on), None, "the wrench is no valve");
    // Air, the wrench and the crank wait for whatever is to be looked at.
    let (bay, off) = after(vec![air_off.clone()], valve(2));
    assert_eq!(code(&bay, off), Some("R224"));
    assert_eq!(code(&bay, turned), Some("R224"));
    let (bay, wrench_off) = after(
        vec![air_off, Event::WrenchOn {}, Event::WrenchOff {}],
        valve(2),
    );
    assert_eq!(code(&bay, wrench_off), Some("R224"));
}

/// Against what the last conflict stands.
fn against(job: &JobState) -> Option<Uuid> {
    job.conflicts().last().unwrap().against
}

/// Whether an event is the one that something stands against.
type Stood = fn(&Event) -> bool;

#[test]
fn what_is_told_stands_against_the_last_that_another_said_of_the_same() {
    let bay = before(one_cylinder(), Stage::LocksOut);
    let rows: [(Event, Stood); 5] = [
        (seen(Stage::Positioned), |e| *e == seen(Stage::SpringHeld)),
        (Event::PlugOut { cylinder: 1 }, |e| {
            matches!(e, Event::HoseIn { .. })
        }),
        (Event::CoverOff { bank: 0 }, |e| {
            matches!(e, Event::CoverOff { .. })
        }),
        (
            Event::AirOff {
                cylinder: 1,
                bar: 3.0,
            },
            |e| matches!(e, Event::AirOn { .. }),
        ),
        // Of a hold nobody has said anything: against the last tap.
        (
            Event::HoldReleased {
                cylinder: 1,
                hold: HoldKind::Cord,
            },
            |_| true,
        ),
    ];
    for (event, test) in rows {
        let mut bay = bay.clone();
        let stood = last_of(&bay, test);
        elsewhere(&mut bay, event.clone());
        assert_eq!(against(&bay.job), Some(stood), "{event:?}");
    }
    // A seal says nothing of the work, and nobody stands against themselves.
    let mut bay = bay.clone();
    let last = bay.entries.last().unwrap().id;
    let seal = Event::Sealed(Box::new(Seal {
        key: "0".repeat(64),
        signature: "0".repeat(128),
    }));
    bay.must(seal);
    let mut other = Scribe::new(2, SECOND);
    let text = "I look at the plugs".to_owned();
    for event in [Event::Noted { text }, Event::Resumed {}] {
        bay.job.fold(&other.entry(event));
    }
    assert_eq!(against(&bay.job), Some(last));
}

#[test]
fn an_identity_that_was_given_twice_stands_against_its_first_event() {
    let mut bay = before(one_cylinder(), Stage::LocksOut);
    let cover_off = bay
        .entries
        .iter()
        .find(|e| matches!(e.event, Event::CoverOff { .. }));
    let first = cover_off.unwrap().id;
    let mut other = Scribe::new(2, SECOND);
    other.next = Some(first);
    assert_eq!(bay.job.fold(&other.entry(Event::WrenchOff {})), None);
    assert_eq!(bay.job.conflicts()[0].refusal.code(), "R122");
    assert_eq!(against(&bay.job), Some(first));
}

/// The work goes on here; the auditor knows nothing of what another tablet told.
fn goes_on(bay: &mut Bay, event: Event) {
    let entry = bay.scribe.entry(event);
    bay.job.apply(&entry).unwrap();
}

#[test]
fn what_was_counted_says_nothing_once_another_tells_something_else() {
    let mut bay = at_the_gate(one_cylinder());
    bay.count_twice();
    assert!(bay.job.counts_agree());
    // The wrench on and off again leaves every heap as it was counted.
    for _ in 0..2 {
        elsewhere(&mut bay, Event::HoseOut { cylinder: 1 });
        assert!(!bay.job.counts_agree());
    }
    for event in [Event::WrenchOn {}, Event::WrenchOff {}] {
        goes_on(&mut bay, event);
        assert!(!bay.job.counts_agree());
    }
}

#[test]
fn a_conflict_tells_whether_it_is_open_and_what_was_opened_for_it() {
    let mut bay = at_the_gate(one_cylinder());
    drop_from_kit(&mut bay, Item::Stopper);
    let found = bay.found(bay.entries.last().unwrap().id);
    let found = bay.must(found);
    bay.must(Event::Paused { why: String::new() });
    // A find that was none is told while the job rests: what fell is adrift again.
    elsewhere(&mut bay, Event::taken_back(found));
    elsewhere(&mut bay, Event::HoseOut { cylinder: 1 });
    assert_eq!(bay.job.adrift(), 1);
    let [find, hose] = bay.job.conflicts() else {
        panic!("{:?}", bay.job.conflicts());
    };
    assert!(find.tells_loss() && !hose.tells_loss());
    assert!(find.is_open() && find.reopened().is_empty());
    let (conflict, seen) = (hose.entry.id, bay.job.answers(hose)[0].clone());
    let by = bay.scribe.sign(FIRST);
    goes_on(&mut bay, Event::Resumed {});
    let resolved = Event::ConflictResolved {
        conflict,
        by,
        note: String::new(),
        seen,
        second: None,
    };
    goes_on(&mut bay, resolved);
    let open: Vec<bool> = bay.job.conflicts().iter().map(Conflict::is_open).collect();
    assert_eq!(open, [true, false]);
    let step = bay.job.next_step(None);
    assert!(!matches!(step, NextStep::LookFirst { .. }), "{step:?}");
}
