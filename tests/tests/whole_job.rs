//! Whole jobs, from the opening to the closing, with the tray at zero at the end.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use trayzero_core::engine::{Layout, ValveName, shipped};
use trayzero_core::job::{
    Event, Finding, FindingKind, JobPhase, JobState, Milestone, NextStep, SearchPlace, Stage,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::{one_cylinder, shipped_engine, two_cylinders};

#[path = "whole_job/asked.rs"]
mod asked;
#[path = "whole_job/buckets.rs"]
mod buckets;
#[path = "whole_job/engine_ran.rs"]
mod engine_ran;
#[path = "whole_job/hands_order.rs"]
mod hands_order;
#[path = "whole_job/lost_air.rs"]
mod lost_air;
#[path = "whole_job/noted.rs"]
mod noted;

/// Works until the given stage of any valve is the next step, and names that valve.
fn work_up_to(bay: &mut Bay, wanted: Stage) -> ValveName {
    let mut found = None;
    bay.work_until(|_, step| match step {
        NextStep::SeeStage { valve, stage } if *stage == wanted => {
            found = Some(*valve);
            true
        }
        _ => false,
    });
    found.unwrap()
}

fn seen(valve: ValveName, stage: Stage, locks_dropped: u8, seals_spoiled: u8) -> Event {
    Event::StageSeen {
        valve,
        stage,
        locks_dropped,
        seals_spoiled,
    }
}

fn ends_with_the_tray_at_zero(bay: &Bay) {
    assert_eq!(bay.job.phase(), JobPhase::Closed);
    assert_eq!(bay.job.loose(), 0);
    assert_eq!(bay.job.aboard(), 0);
    assert_eq!(bay.job.adrift(), 0);
}

#[test]
fn every_shipped_layout_is_played_to_closed_with_the_tray_at_zero() {
    let mut valves = 0;
    let mut events = 0;
    for one in shipped() {
        let layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
        let (count, locks) = (layout.valve_count(), u32::from(layout.locks_per_valve));
        let mut bay = Bay::open(layout);
        bay.work_to_the_end();
        ends_with_the_tray_at_zero(&bay);
        assert_eq!(bay.job.verified_count(), count, "{}", one.key);
        let all = count as u32;
        assert_eq!(bay.at(&Item::OldSeal, Place::Scrap), all, "{}", one.key);
        assert_eq!(bay.at(&Item::NewSeal, Place::Home), all, "{}", one.key);
        assert_eq!(bay.at(&Item::Lock, Place::Home), all * locks, "{}", one.key);
        valves += count;
        events += bay.entries.len();
    }
    println!(
        "whole jobs: layouts {} valves {valves} events {events}",
        shipped().len()
    );
}

#[test]
fn one_lock_out_and_one_dropped_is_found_again() {
    let mut bay = Bay::open(shipped_engine("inline-4-16v"));
    let valve = work_up_to(&mut bay, Stage::LocksOut);
    let drop = bay.must(seen(valve, Stage::LocksOut, 1, 0));
    assert_eq!(bay.at(&Item::Lock, Place::Tray), 1);
    assert_eq!(bay.at(&Item::Lock, Place::Adrift), 1);
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
    let refusal = bay.refused(seen(valve, Stage::LocksIn, 0, 0));
    assert_eq!(refusal.code(), "R401", "{refusal:?}");
    bay.must(Event::PartFound {
        dropped: drop,
        found_at: SearchPlace::OnTheHead,
        to: Place::Tray,
    });
    bay.must(seen(valve, Stage::LocksIn, 0, 0));
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
}

#[test]
fn one_worn_lock_is_replaced_from_stock() {
    let mut bay = Bay::open(two_cylinders());
    let valve = work_up_to(&mut bay, Stage::SealFitted);
    let replaced = Event::PartReplaced {
        valve,
        item: Item::Lock,
        count: 1,
    };
    let refusal = bay.refused(replaced.clone());
    assert_eq!(
        refusal.code(),
        "R401",
        "no new lock was issued: {refusal:?}"
    );
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 1,
    });
    bay.must(replaced);
    assert_eq!(bay.at(&Item::Lock, Place::Tray), 2);
    assert_eq!(bay.at(&Item::Lock, Place::Scrap), 1);
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert_eq!(bay.at(&Item::Lock, Place::Home), 8);
}

#[test]
fn a_nicked_seal_goes_to_scrap_and_a_second_new_one_is_used() {
    let mut bay = Bay::open(two_cylinders());
    let valve = work_up_to(&mut bay, Stage::SealFitted);
    bay.must(seen(valve, Stage::SealFitted, 0, 1));
    assert_eq!(bay.at(&Item::NewSeal, Place::Scrap), 1);
    assert_eq!(bay.at(&Item::NewSeal, Place::Home), 1);
    assert_eq!(bay.at(&Item::NewSeal, Place::Stock), 2);
    // Four were issued for four valves: the last one finds none until one is issued.
    bay.work_until(|job, step| match step {
        NextStep::SeeStage { stage, .. } => {
            *stage == Stage::SealFitted && job.ledger().at(&Item::NewSeal, Place::Stock) == 0
        }
        _ => false,
    });
    let NextStep::SeeStage { valve: last, stage } = bay.job.next_step(None) else {
        panic!("{:?}", bay.job.next_step(None));
    };
    let refusal = bay.refused(seen(last, stage, 0, 0));
    assert_eq!(refusal.code(), "R401", "{refusal:?}");
    bay.must(Event::StockIssued {
        item: Item::NewSeal,
        count: 1,
    });
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert_eq!(bay.at(&Item::NewSeal, Place::Home), 4);
}

#[test]
fn a_seal_nicked_while_it_is_looked_at_is_replaced_where_it_sits() {
    let mut bay = Bay::open(one_cylinder());
    let valve = work_up_to(&mut bay, Stage::SealFitted);
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
    bay.must(Event::StockIssued {
        item: Item::NewSeal,
        count: 1,
    });
    bay.must(Event::PartReplaced {
        valve,
        item: Item::NewSeal,
        count: 1,
    });
    assert_eq!(bay.at(&Item::NewSeal, Place::Home), 1);
    assert_eq!(bay.at(&Item::NewSeal, Place::Scrap), 1);
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
}

#[test]
fn the_gate_opens_for_an_unfound_lock_only_when_two_have_searched_and_signed() {
    let mut bay = Bay::open(one_cylinder());
    let valve = work_up_to(&mut bay, Stage::LocksOut);
    let drop = bay.must(seen(valve, Stage::LocksOut, 1, 0));
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 1,
    });
    bay.must(Event::TakenFromStock {
        item: Item::Lock,
        count: 1,
    });
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
    bay.must(seen(valve, Stage::LocksIn, 0, 0));
    // The lock stays adrift: the next step asks for it before another valve is opened.
    bay.work_until(|_, step| matches!(step, NextStep::FindPart { .. }));
    assert_eq!(
        bay.job.next_step(None),
        NextStep::FindPart { dropped: drop }
    );
    bay.count_twice();
    let by = bay.scribe.sign("Ilse Brandt");
    let refusal = bay.refused(Event::BankClosed { bank: 0, by });
    assert_eq!(refusal.code(), "R505", "{refusal:?}");
    let searched = bay.searched(drop);
    bay.must(searched);
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert_eq!(bay.at(&Item::Lock, Place::Unfound), 1);
    assert_eq!(bay.at(&Item::Lock, Place::Home), 4);
}

#[test]
fn a_torn_seal_leaves_a_piece_adrift_until_it_is_found() {
    let mut bay = Bay::open(one_cylinder());
    let valve = work_up_to(&mut bay, Stage::SealFitted);
    bay.must(seen(valve, Stage::SealFitted, 0, 0));
    let torn = bay.must(Event::FindingNoted(Box::new(Finding {
        cylinder: valve.cylinder,
        valve: Some(valve),
        kind: FindingKind::SealTorn { missing: 2 },
        text: "Lip and spring are missing.".to_owned(),
    })));
    assert_eq!(bay.at(&Item::SealPiece, Place::Adrift), 2);
    bay.must(seen(valve, Stage::LocksIn, 0, 0));
    bay.work_until(|_, step| matches!(step, NextStep::FindPart { .. }));
    let refusal = bay.refused(Event::PartFound {
        dropped: torn,
        found_at: SearchPlace::OilReturn,
        to: Place::Tray,
    });
    assert_eq!(refusal.code(), "R405", "a piece goes to the scrap box");
    bay.must(Event::PartFound {
        dropped: torn,
        found_at: SearchPlace::OilReturn,
        to: Place::Scrap,
    });
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert_eq!(bay.at(&Item::SealPiece, Place::Scrap), 2);
}

#[test]
fn a_lost_plug_is_made_up_for_from_the_store() {
    let mut bay = Bay::open(one_cylinder());
    work_up_to(&mut bay, Stage::SpringHeld);
    let drop = bay.must(Event::PartDropped {
        item: Item::Plug,
        count: 1,
        from: Place::Aside,
        bank: None,
        valve: None,
    });
    let searched = bay.searched(drop);
    bay.must(searched);
    bay.must(Event::StockIssued {
        item: Item::Plug,
        count: 1,
    });
    bay.must(Event::TakenFromStock {
        item: Item::Plug,
        count: 1,
    });
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert_eq!(bay.at(&Item::Plug, Place::Home), 1);
    assert_eq!(bay.at(&Item::Plug, Place::Unfound), 1);
}

#[test]
fn the_last_leak_down_is_read_through_the_plug_hole_of_a_closed_bank() {
    let mut bay = Bay::open(one_cylinder());
    bay.work_until(|_, step| {
        matches!(step, NextStep::ReadLeak { when, .. }
        if *when == trayzero_core::job::Reading::After)
    });
    assert!(bay.job.is_bank_closed(0));
    assert!(bay.job.cylinder(1).unwrap().plug_out, "asked for before");
    for event in [
        Event::VentedCoverOut { cylinder: 1 },
        Event::HoseIn { cylinder: 1 },
        Event::AirOn {
            cylinder: 1,
            bar: 4.0,
        },
    ] {
        bay.must(event);
    }
    let by = bay.scribe.sign("Ilse Brandt");
    let refusal = bay.refused(Event::JobClosed { by });
    assert!(matches!(refusal.code(), "R504" | "R512"), "{refusal:?}");
    // The proposed steps bring the air off, the hose out and the plug in by themselves.
    bay.work_to_the_end();
    ends_with_the_tray_at_zero(&bay);
    assert!(!bay.job.cylinder(1).unwrap().plug_out);
}

#[test]
fn the_furthest_end_that_is_reached_is_told_and_no_other() {
    let mut bay = Bay::open(two_cylinders());
    bay.work_to_the_end();
    let mut job = JobState::new();
    let reached = bay.entries.iter().filter_map(|entry| {
        let milestone = job.apply(entry).unwrap().milestone?;
        Some(match milestone {
            Milestone::ValveVerified(valve) => format!("valve of cylinder {}", valve.cylinder),
            other => format!("{other:?}"),
        })
    });
    let ends = [
        "valve of cylinder 1",
        "CylinderVerified(1)",
        "valve of cylinder 2",
        "BankVerified(0)",
        "BankClosed(0)",
        "JobClosed",
    ];
    assert_eq!(reached.collect::<Vec<_>>(), ends);
}
