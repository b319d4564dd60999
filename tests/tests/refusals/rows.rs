//! One row for every refusal: what leads there, and the event that is refused.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{CrankAt, Event, HoldKind, NextStep, Seal, SearchPlace, Sight, Stage};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, FOREMAN, SECOND, opening};
use trayzero_tests::engines::one_cylinder;

use super::events::*;
use super::leads::*;

/// The code, what is done first, and the event that is refused then.
pub type Row = (&'static str, fn() -> Bay, fn(&mut Bay) -> Event);

pub const JOB_ROWS: &[Row] = &[
    ("R101", empty, |_| Event::WrenchOn {}),
    ("R102", opened, |_| opening(one_cylinder())),
    ("R103", empty, |_| {
        let mut layout = one_cylinder();
        layout.bore_mm = -1.0;
        opening(layout)
    }),
    ("R104", closed, |_| Event::WrenchOn {}),
    (
        "R105",
        || {
            with(
                opened(),
                [Event::Paused {
                    why: "Lunch".into(),
                }],
            )
        },
        |_| Event::PlugOut { cylinder: 1 },
    ),
    ("R106", opened, |_| Event::Resumed {}),
    ("R107", opened, |_| Event::Noted {
        text: "x".repeat(2_001),
    }),
    ("R108", opened, |_| Event::BreakawayMeasured {
        torque_nm: f64::NAN,
    }),
    ("R109", opened, |_| Event::PlugOut { cylinder: 9 }),
    ("R110", opened, |_| {
        seen(ValveName::new(1, Side::Intake, 9), Stage::Positioned, 0)
    }),
    ("R111", opened, |_| Event::CoverOff { bank: 9 }),
    ("R112", opened, |_| Event::taken_back(NOWHERE)),
    ("R113", opened, |bay| Event::taken_back(last(bay))),
    (
        "R114",
        || with(kitted(), [Event::PlugOut { cylinder: 1 }]),
        |bay| {
            let event = last(bay);
            bay.must(Event::VentedCoverIn { cylinder: 1 });
            Event::taken_back(event)
        },
    ),
    ("R115", before_spring_held, |bay| {
        let event = last(bay);
        assert!(matches!(bay.job.event_of(event), Some(Event::AirOn { .. })));
        let held = next_stage(bay);
        bay.must(held);
        Event::taken_back(event)
    }),
    ("R116", opened, |bay| {
        let by = bay.scribe.sign(FIRST);
        bay.must(Event::TakenOver { by: by.clone() });
        Event::TakenOver { by }
    }),
    ("R117", opened, |bay| {
        let first = bay.true_count(FIRST);
        bay.must(first);
        bay.true_count(FIRST)
    }),
    ("R118", opened, |bay| Event::ConflictResolved {
        conflict: NOWHERE,
        by: bay.scribe.sign(FIRST),
        note: String::new(),
        seen: vec![Sight::Read {}],
        second: None,
    }),
    ("R119", opened, |_| {
        Event::Sealed(Box::new(Seal {
            key: "0".repeat(64),
            signature: "not hex".into(),
        }))
    }),
    (
        "R120",
        || with(before(opened(), Stage::Positioned), [leak(3.0)]),
        |_| seen(INTAKE, Stage::Positioned, 0),
    ),
    ("R121", opened, |bay| Event::ForemanAgreed {
        cylinder: 1,
        by: bay.scribe.sign(FOREMAN),
    }),
    ("R122", opened, |bay| {
        bay.scribe.become_another();
        Event::WrenchOn {}
    }),
    ("R123", hose_told, |bay| resolution(bay, Vec::new())),
    ("R124", hose_told, |bay| {
        resolution(bay, vec![Sight::Read {}])
    }),
    ("R125", bank_closed, |bay| {
        let closing = bay
            .entries
            .iter()
            .rfind(|e| matches!(e.event, Event::BankClosed { .. }));
        Event::taken_back(closing.unwrap().id)
    }),
    ("R130", opened, |_| Event::Noted { text: " ".into() }),
    ("R131", opened, |_| picture("no hash")),
    ("R132", full_of_pictures, |_| picture(HASH)),
    ("R133", opened, |bay| {
        let done_ms = bay.scribe.at_ms + 3_600_000;
        paper(bay, done_ms)
    }),
    ("R134", opened, |bay| {
        let done_ms = bay.scribe.at_ms - 3_600_000;
        paper(bay, done_ms)
    }),
    ("R135", opened, |bay| {
        bay.scribe.paper = Some(NOWHERE);
        Event::CoverOff { bank: 0 }
    }),
    ("R137", opened, |bay| followed_up(bay, 1_000.0)),
    ("R136", opened, |bay| {
        let done_ms = bay.scribe.at_ms;
        let batch = paper(bay, done_ms);
        bay.scribe.paper = Some(bay.must(batch));
        close_bank(bay)
    }),
];

pub const ENGINE_ROWS: &[Row] = &[
    ("R201", opened, |_| seen(INTAKE, Stage::Positioned, 0)),
    (
        "R202",
        || with(opened(), [Event::CoverOff { bank: 0 }]),
        |_| Event::CoverOff { bank: 0 },
    ),
    ("R203", kitted, |_| Event::VentedCoverIn { cylinder: 1 }),
    (
        "R204",
        || with(opened(), [Event::PlugOut { cylinder: 1 }]),
        |_| Event::PlugOut { cylinder: 1 },
    ),
    (
        "R205",
        || {
            let hole = [
                Event::PlugOut { cylinder: 1 },
                Event::VentedCoverIn { cylinder: 1 },
            ];
            with(kitted(), hole)
        },
        |_| Event::HoseIn { cylinder: 1 },
    ),
    ("R206", kitted, |_| Event::HoseOut { cylinder: 1 }),
    ("R207", before_spring_held, |_| Event::HoseOut {
        cylinder: 1,
    }),
    ("R208", kitted, |_| Event::AirOn {
        cylinder: 1,
        bar: 4.0,
    }),
    ("R209", before_spring_held, |_| Event::WrenchOn {}),
    ("R210", kitted, |_| Event::AirOff {
        cylinder: 1,
        bar: 4.0,
    }),
    (
        "R211",
        || {
            let hold = Event::HoldDeclared {
                cylinder: 1,
                hold: HoldKind::Cord,
            };
            with(before(opened(), Stage::Positioned), [hold])
        },
        |_| Event::HoldDeclared {
            cylinder: 1,
            hold: HoldKind::Prop,
        },
    ),
    ("R212", kitted, |_| Event::HoldReleased {
        cylinder: 1,
        hold: HoldKind::Cord,
    }),
    (
        "R213",
        || with(kitted(), [Event::WrenchOn {}]),
        |_| Event::WrenchOn {},
    ),
    ("R214", kitted, |_| Event::WrenchOff {}),
    ("R215", kitted, |_| Event::HoldDeclared {
        cylinder: 1,
        hold: HoldKind::Piston,
    }),
    (
        "R216",
        || with(kitted(), [Event::WrenchOn {}]),
        |_| turn(Some(AT_2), AT_1, 360.0),
    ),
    (
        "R217",
        || with(kitted(), [Event::WrenchOn {}]),
        |_| {
            let to = CrankAt {
                offset_deg: 5.0,
                ..AT_1
            };
            turn(None, to, 5.0)
        },
    ),
    (
        "R218",
        || with(kitted(), [Event::WrenchOn {}, turn(None, AT_1, 0.0)]),
        |_| turn(Some(AT_1), AT_2, -360.0),
    ),
    (
        "R219",
        || with(kitted(), [Event::WrenchOn {}, turn(None, AT_1, 0.0)]),
        |_| turn(Some(AT_1), AT_2, 100.0),
    ),
    ("R220", before_locks_out, |_| Event::AirOff {
        cylinder: 1,
        bar: 4.0,
    }),
    ("R221", unlocked, |_| Event::AirOff {
        cylinder: 1,
        bar: 4.0,
    }),
    (
        "R222",
        || {
            let mut bay = opened();
            bay.work_until(|_, step| matches!(step, NextStep::AirOn { .. }));
            bay
        },
        |_| Event::AirOn {
            cylinder: 1,
            bar: 7.1,
        },
    ),
    ("R223", off_its_top, |bay| {
        leak_of(bay.job.crank().map_or(1, |at| at.cylinder))
    }),
    ("R224", wrench_told, |_| Event::WrenchOn {}),
];

pub const VALVE_ROWS: &[Row] = &[
    ("R301", opened, |_| seen(INTAKE, Stage::LocksOut, 0)),
    (
        "R302",
        || {
            with(
                before_spring_held(),
                [Event::AirOff {
                    cylinder: 1,
                    bar: 4.0,
                }],
            )
        },
        |_| seen(INTAKE, Stage::SpringHeld, 0),
    ),
    ("R303", before_locks_out, |_| {
        seen(INTAKE, Stage::LocksOut, 3)
    }),
    (
        "R304",
        || {
            let off = Event::TakenOff {
                item: Item::Stopper,
                bank: 0,
                count: 1,
            };
            with(before_locks_out(), [off])
        },
        |_| seen(INTAKE, Stage::LocksOut, 0),
    ),
    (
        "R305",
        || {
            let bay = before(opened_two(), Stage::LocksOut);
            with(bay, [Event::VentedCoverOut { cylinder: 2 }])
        },
        |_| seen(INTAKE, Stage::LocksOut, 0),
    ),
    ("R306", before_clearing, |_| Event::CylinderWanted {
        cylinder: 1,
    }),
    ("R307", swapped, |_| seen(INTAKE, Stage::Verified, 0)),
    ("R308", before_locks_out, |_| fell(INTAKE)),
    ("R309", unlocked, |bay| Event::JobStopped {
        by: bay.scribe.sign(FIRST),
        why: "the bay is needed".into(),
    }),
];

pub const PART_ROWS: &[Row] = &[
    ("R401", opened, |_| Event::StockReturned {
        item: Item::Lock,
        count: 1,
    }),
    ("R402", opened, |_| Event::KitCounted {
        item: Item::Rag,
        count: 0,
    }),
    ("R403", opened, |_| Event::StockIssued {
        item: Item::OldSeal,
        count: 1,
    }),
    ("R404", before_locks_out, |_| Event::PartReplaced {
        valve: INTAKE,
        item: Item::Lock,
        count: 1,
    }),
    ("R405", unlocked, |_| Event::PutAway {
        item: Item::Lock,
        count: 1,
        to: Place::Home,
    }),
    ("R406", opened, |_| found(NOWHERE)),
    (
        "R407",
        || with(at_the_gate(), [drop_stopper()]),
        |bay| {
            let dropped = last(bay);
            bay.must(found(dropped));
            found(dropped)
        },
    ),
    (
        "R408",
        || with(at_the_gate(), [drop_stopper()]),
        |bay| Event::SearchSigned {
            dropped: last(bay),
            first: bay.scribe.sign(FIRST),
            second: bay.scribe.sign(SECOND),
            places: vec![SearchPlace::Sump],
        },
    ),
    ("R409", opened, |_| Event::KitCounted {
        item: Item::Lock,
        count: 1,
    }),
    ("R410", opened, |_| shims_swapped()),
    ("R411", opened, |_| Event::SwapMended { swapped: NOWHERE }),
];

pub const GATE_ROWS: &[Row] = &[
    (
        "R501",
        || with(opened(), [Event::CoverOff { bank: 0 }]),
        close_bank,
    ),
    (
        "R502",
        || {
            let spare = [
                Event::StockIssued {
                    item: Item::Lock,
                    count: 1,
                },
                Event::TakenFromStock {
                    item: Item::Lock,
                    count: 1,
                },
            ];
            with(at_the_gate(), spare)
        },
        close_bank,
    ),
    ("R503", before_clearing, close_bank),
    (
        "R504",
        || with(at_the_gate(), [Event::PlugOut { cylinder: 1 }]),
        close_bank,
    ),
    ("R505", || with(at_the_gate(), [drop_stopper()]), close_bank),
    (
        "R506",
        || with(at_the_gate(), [Event::WrenchOn {}]),
        close_bank,
    ),
    ("R507", at_the_gate, close_bank),
    ("R508", at_the_gate, |bay| {
        counted(bay, [0, 1]);
        close_bank(bay)
    }),
    ("R509", at_the_gate, |bay| {
        counted(bay, [1, 1]);
        close_bank(bay)
    }),
    (
        "R510",
        || {
            let mut bay = at_the_gate();
            bay.count_twice();
            // Another tablet wrote that a hose came out where none was in.
            let other = trayzero_tests::entries::Scribe::new(2, SECOND)
                .entry(Event::HoseOut { cylinder: 1 });
            assert_eq!(bay.job.fold(&other), None);
            bay
        },
        close_bank,
    ),
    ("R511", opened, close_job),
    (
        "R513",
        || {
            let mut bay = at_the_gate();
            bay.count_twice();
            bay.job.set_unconfirmed(2);
            assert_eq!(bay.job.unconfirmed(), 2);
            bay
        },
        close_bank,
    ),
    (
        "R512",
        || with(bank_closed(), [Event::WrenchOn {}]),
        close_job,
    ),
];
