//! Events that no state may take: names the engine lacks, figures that are none,
//! counts beyond measure. They are thrown at every so many states of a walk.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    CrankAt, Event, HoldKind, Person, Seal, SearchPlace, Sight, SignOff, Stage,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

/// Events that must be refused in every state.
#[expect(clippy::too_many_lines, reason = "a list: one event after another")]
pub(super) fn nonsense(unused: SignOff) -> Vec<Event> {
    let nowhere = Uuid::from_u128(7);
    let valve = ValveName::new(1, Side::Intake, 9);
    let far = |cylinder, offset_deg| CrankAt {
        cylinder,
        offset_deg,
    };
    let twice = |person: &str| SignOff {
        person: Person::new(person),
        entering: unused.entering,
        proof: None,
    };
    vec![
        Event::PlugOut { cylinder: 0 },
        Event::HoseIn { cylinder: 255 },
        Event::HoldDeclared {
            cylinder: 77,
            hold: HoldKind::Prop,
        },
        Event::CoverOff { bank: 255 },
        Event::BankClosed {
            bank: 9,
            by: unused.clone(),
        },
        Event::PutAboard {
            item: Item::Rag,
            bank: 200,
            count: 1,
        },
        Event::StageSeen {
            valve,
            stage: Stage::Positioned,
            locks_dropped: 0,
            seals_spoiled: 0,
        },
        Event::StageSeen {
            valve: ValveName::new(1, Side::Exhaust, 0),
            stage: Stage::LocksOut,
            locks_dropped: 255,
            seals_spoiled: 255,
        },
        Event::PartReplaced {
            valve,
            item: Item::Lock,
            count: u32::MAX,
        },
        Event::AirOn {
            cylinder: 1,
            bar: f64::NAN,
        },
        Event::AirOn {
            cylinder: 1,
            bar: f64::INFINITY,
        },
        Event::AirOff {
            cylinder: 1,
            bar: f64::NAN,
        },
        Event::CrankTurned {
            from: None,
            to: far(1, f64::NAN),
            turn_deg: 0.0,
        },
        Event::CrankTurned {
            from: None,
            to: far(1, 0.0),
            turn_deg: f64::NAN,
        },
        Event::CrankTurned {
            from: None,
            to: far(200, 0.0),
            turn_deg: f64::MAX,
        },
        Event::KitCounted {
            item: Item::Rag,
            count: u32::MAX,
        },
        Event::StockIssued {
            item: Item::Lock,
            count: u32::MAX,
        },
        Event::StockIssued {
            item: Item::Lock,
            count: 0,
        },
        Event::PutAboard {
            item: Item::Lock,
            bank: 0,
            count: 1,
        },
        Event::PartDropped {
            item: Item::Lock,
            count: 1,
            from: Place::Home,
            bank: Some(250),
            valve: Some(valve),
        },
        Event::PartFound {
            dropped: nowhere,
            found_at: SearchPlace::Sump,
            to: Place::Home,
        },
        Event::SearchSigned {
            dropped: nowhere,
            first: twice("Ada"),
            second: twice("Ada"),
            places: Vec::new(),
        },
        Event::SearchSigned {
            dropped: nowhere,
            first: twice("Ada"),
            second: twice("Ben"),
            places: SearchPlace::LIST.to_vec(),
        },
        Event::taken_back(nowhere),
        Event::ConflictResolved {
            conflict: nowhere,
            by: unused,
            note: String::new(),
            seen: vec![Sight::Read {}],
            second: None,
        },
        Event::Sealed(Box::new(Seal {
            key: "x".into(),
            signature: String::new(),
        })),
        Event::Noted {
            text: "x".repeat(2_001),
        },
        Event::LeakRead {
            cylinder: 1,
            when: trayzero_core::job::Reading::Before,
            supply_bar: f64::NAN,
            cylinder_bar: 0.0,
            heard: Vec::new(),
        },
        Event::BreakawayMeasured {
            torque_nm: f64::NEG_INFINITY,
        },
    ]
}
