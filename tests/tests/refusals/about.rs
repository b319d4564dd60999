//! What an event is about: its bank, its cylinder, and whether it tells of a loss.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{CrankAt, Event, Finding, FindingKind, HoldKind, Reading, Stage};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{FOREMAN, signed};
use trayzero_tests::engines::two_banks;

use super::events::{AT_2, close_job, turn};
use super::leads::opened;

#[test]
#[expect(clippy::too_many_lines, reason = "a table: one row an event")]
fn an_event_is_about_the_bank_and_the_cylinder_that_it_names() {
    let layout = two_banks();
    let (cylinder, bar, was_bar, count, item) = (2, 4.0, 4.0, 1, Item::Rag);
    let hold = HoldKind::Cord;
    let valve = ValveName::new(2, Side::Intake, 1);
    let by = signed(FOREMAN, 1);
    let stage = |locks_dropped| Event::StageSeen {
        valve,
        stage: Stage::LocksOut,
        locks_dropped,
        seals_spoiled: 0,
    };
    let fell = |bank, valve| Event::PartDropped {
        item: Item::Lock,
        count,
        from: Place::Tray,
        bank,
        valve,
    };
    let torn = |missing| {
        Event::FindingNoted(Box::new(Finding {
            cylinder,
            valve: None,
            kind: FindingKind::SealTorn { missing },
            text: String::new(),
        }))
    };
    let leak = Event::LeakRead {
        cylinder,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar: 5.0,
        heard: Vec::new(),
    };
    // Cylinder 2 is alone in bank 1.
    let rows = [
        (leak, Some(1), Some(2), false),
        (
            Event::ForemanAgreed {
                cylinder,
                by: by.clone(),
            },
            Some(1),
            Some(2),
            false,
        ),
        (Event::PlugOut { cylinder }, Some(1), Some(2), false),
        (Event::PlugIn { cylinder }, Some(1), Some(2), false),
        (Event::VentedCoverIn { cylinder }, Some(1), Some(2), false),
        (Event::VentedCoverOut { cylinder }, Some(1), Some(2), false),
        (Event::HoseIn { cylinder }, Some(1), Some(2), false),
        (Event::HoseOut { cylinder }, Some(1), Some(2), false),
        (Event::AirOn { cylinder, bar }, Some(1), Some(2), false),
        (Event::AirOff { cylinder, bar }, Some(1), Some(2), false),
        (
            Event::AirReadAnew {
                cylinder,
                was_bar,
                bar,
            },
            Some(1),
            Some(2),
            false,
        ),
        (
            Event::AirLost { cylinder, was_bar },
            Some(1),
            Some(2),
            false,
        ),
        (
            Event::HoldDeclared { cylinder, hold },
            Some(1),
            Some(2),
            false,
        ),
        (
            Event::HoldReleased { cylinder, hold },
            Some(1),
            Some(2),
            false,
        ),
        (Event::CylinderPutOff { cylinder }, Some(1), Some(2), false),
        (Event::CylinderWanted { cylinder }, Some(1), Some(2), false),
        (turn(None, AT_2, 0.0), Some(1), Some(2), false),
        (torn(1), Some(1), Some(2), true),
        (torn(0), Some(1), Some(2), false),
        (stage(1), Some(1), None, true),
        (stage(0), Some(1), None, false),
        (
            Event::PartReplaced {
                valve,
                item: Item::Lock,
                count,
            },
            Some(1),
            None,
            false,
        ),
        (fell(Some(0), Some(valve)), Some(0), None, true),
        (fell(None, Some(valve)), Some(1), None, true),
        (fell(None, None), None, None, true),
        (Event::CoverOff { bank: 1 }, Some(1), None, false),
        (Event::BankClosed { bank: 1, by }, Some(1), None, false),
        (
            Event::PutAboard {
                item: item.clone(),
                bank: 1,
                count,
            },
            Some(1),
            None,
            false,
        ),
        (
            Event::TakenOff {
                item,
                bank: 1,
                count,
            },
            Some(1),
            None,
            false,
        ),
        (Event::WrenchOn {}, None, None, false),
        (close_job(&mut opened()), None, None, false),
    ];
    for (event, bank, of_cylinder, tells_drop) in rows {
        assert_eq!(event.bank(Some(&layout)), bank, "{event:?}");
        assert_eq!(event.cylinder(), of_cylinder, "{event:?}");
        assert_eq!(event.tells_drop(), tells_drop, "{event:?}");
    }
}

#[test]
fn a_stage_is_written_with_what_fell_and_what_was_spoiled_and_without_zeros() {
    let event = |locks_dropped, seals_spoiled| Event::StageSeen {
        valve: ValveName::new(1, Side::Exhaust, 2),
        stage: Stage::LocksOut,
        locks_dropped,
        seals_spoiled,
    };
    let plain =
        r#"{"stage_seen":{"valve":{"cylinder":1,"side":"exhaust","place":2},"stage":"locks_out"}}"#;
    let more = |more: &str| plain.replace("}}", &format!("{more}}}}}"));
    for (event, line) in [
        (event(0, 0), plain.to_owned()),
        (event(2, 0), more(r#","strays":2"#)),
        (event(0, 1), more(r#","nicked":1"#)),
    ] {
        assert_eq!(serde_json::to_string(&event).unwrap(), line);
        assert_eq!(serde_json::from_str::<Event>(&line).unwrap(), event);
    }
}

#[test]
fn a_piston_stands_alike_at_both_tops_of_its_cylinder() {
    let rows = [
        (0.0, 0.0),
        (10.0, 10.0),
        (-10.0, -10.0),
        (180.0, 180.0),
        (190.0, -170.0),
        (350.0, -10.0),
        (360.0, 0.0),
        (370.0, 10.0),
        (-350.0, 10.0),
    ];
    for (offset_deg, off_top_deg) in rows {
        let at = CrankAt {
            cylinder: 1,
            offset_deg,
        };
        assert_eq!(at.off_top_deg(), off_top_deg, "{offset_deg}");
    }
}
