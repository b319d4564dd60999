//! What the record says, against what was done.

use std::collections::BTreeMap;

use trayzero_core::job::{Event, HoldKind, JobState, Sight};
use trayzero_core::job::{Smoke, Stage, TakeIn};
use trayzero_core::parts::Item;
use trayzero_core::plan::{Loss, LossKind, WorkPhase};
use trayzero_core::record::{
    Ending, FindingName, HeldBy, JobStatus, OpenPoint, Reason, SignedFor, Speaks, Suspect,
    counted_as, evidence, order_list,
};
use trayzero_tests::bay::{FIRST, FOREMAN, SECOND};
use trayzero_tests::engines::shipped_engine;
use trayzero_tests::entries::TAP_MS;

use crate::play::{
    NIGHT_MS, RELIEF, eventful_job, eventful_job_closed, job_in_conflict, job_mid_valve,
    job_resolved, open, plain_job, record_of,
};

#[test]
fn a_finished_job_leaves_nothing_open() {
    let record = record_of(&plain_job("inline-4-16v"));
    assert_eq!(record.status, JobStatus::Finished);
    assert_eq!(record.open_points, Vec::new());
    assert!(record.valves.iter().all(|v| v.stages.len() == 6));
    assert_eq!(record.check_value, "ba7816bf8f01");
    assert_eq!(record.closings.len(), 1);
    assert!(record.closings[0].stands);
}

#[test]
fn both_counts_of_a_closing_stand_beside_each_other() {
    let record = record_of(&eventful_job_closed());
    assert_eq!(record.closings.len(), 2);
    for closing in &record.closings {
        let (first, second) = (closing.first.as_ref(), closing.second.as_ref());
        assert_ne!(first.map(|b| &b.who), second.map(|b| &b.who));
        assert!(!closing.lines.is_empty());
        for line in &closing.lines {
            assert_eq!(line.first, line.second, "{:?}", line.item);
        }
    }
    assert_eq!(record.other_counts.len(), 2, "the pair that differed");
}

#[test]
fn every_new_part_is_accounted_for() {
    for play in [
        eventful_job_closed(),
        eventful_job(),
        plain_job("v12-60-48v"),
    ] {
        let record = record_of(&play);
        assert!(!record.parts.is_empty());
        for part in record.parts.iter().filter(|p| p.issued > 0) {
            let gone = part.used + part.spoiled + part.returned + part.left;
            assert_eq!(part.issued, gone, "{:?}", part.item);
        }
    }
    let record = record_of(&eventful_job_closed());
    let seals = record
        .parts
        .iter()
        .find(|p| p.item == Item::NewSeal)
        .unwrap();
    assert_eq!((seals.used, seals.spoiled, seals.left), (24, 1, 0));
    let locks = record.parts.iter().find(|p| p.item == Item::Lock).unwrap();
    assert_eq!((locks.used, locks.returned, locks.unfound), (1, 3, 1));
}

#[test]
fn drops_end_as_they_ended() {
    let record = record_of(&eventful_job_closed());
    let ends: Vec<&Ending> = record.drops.iter().map(|d| &d.ending).collect();
    assert!(matches!(
        ends[..],
        [Ending::Found { .. }, Ending::Unfound { .. }]
    ));
    let lost = OpenPoint::Unfound {
        item: Item::Lock,
        count: 1,
    };
    assert_eq!(record.open_points, vec![lost], "signed for, and still said");
}

/// Clearance by hand: w L / (L + 2h) with w 0.35 and the layout's lengths, worked out
/// on paper from similar triangles.
#[test]
fn a_worn_guide_has_its_clearance() {
    let record = record_of(&eventful_job());
    let finding = &record.findings[0];
    assert_eq!(finding.kind, FindingName::WornGuide);
    let guide = shipped_engine("v6-60-24v").guide.unwrap();
    let by_hand = 0.35 * guide.length_mm / (guide.length_mm + 2.0 * guide.tip_above_mm);
    assert!((finding.clearance_mm.unwrap() - by_hand).abs() < 1e-12);
    let of_valve = record.valves.iter().flat_map(|v| &v.findings);
    assert_eq!(of_valve.count(), 1, "the other one is on a cylinder");
}

#[test]
fn working_minutes_leave_the_night_out() {
    let play = eventful_job_closed();
    let record = record_of(&play);
    let on_valves: f64 = record.valves.iter().filter_map(|v| v.working_min).sum();
    assert!(on_valves > 0.0 && on_valves <= record.working_min);
    // 15 hours of rest are in the clock times and not in the minutes.
    let clock = record.ended.unwrap().at_ms - record.opened.unwrap().at_ms;
    let rest = clock as f64 / 60_000.0 - record.working_min;
    assert!(
        (rest - (NIGHT_MS + TAP_MS) as f64 / 60_000.0).abs() < 1e-6,
        "{rest}"
    );
}

/// The picture of the phases adds up, and so does what was lost.
#[test]
fn the_phases_add_up_to_the_working_time_and_the_losses_to_the_time_lost() {
    let record = record_of(&eventful_job_closed());
    let phase = |wanted: WorkPhase| {
        let mut lines = record.time_spent.phases.iter();
        lines.find(|line| line.phase == wanted).unwrap().minutes
    };
    let whole: f64 = record.time_spent.phases.iter().map(|p| p.minutes).sum();
    assert!((whole - record.working_min).abs() < 1e-9, "{whole}");
    let on_valves: f64 = record.valves.iter().filter_map(|v| v.working_min).sum();
    assert!((on_valves - phase(WorkPhase::Valves)).abs() < 1e-9);
    let lost: f64 = record.time_spent.losses.iter().map(|l| l.minutes).sum();
    assert!((lost - phase(WorkPhase::Lost)).abs() < 1e-9);
    let dropped = |loss: &&Loss| matches!(loss.kind, LossKind::Dropped { .. });
    let drops = record.time_spent.losses.iter().filter(dropped).count();
    assert_eq!(drops, record.drops.len(), "each drop with what it cost");
    for wanted in WorkPhase::ALL {
        assert!(phase(wanted) > 0.0, "{wanted:?}");
    }
}

#[test]
fn what_was_taken_back_is_told_and_counts_for_nothing() {
    let record = record_of(&eventful_job());
    assert_eq!(record.withdrawn.len(), 1);
    assert_eq!(record.withdrawn[0].summary.what, "noted");
    assert!(record.notes.iter().all(|n| n.text != "Wrong bay"));
}

#[test]
fn whoever_signed_or_took_over_is_named() {
    let record = record_of(&eventful_job_closed());
    let names = record.crew.technicians.iter().map(|b| b.who.to_string());
    assert_eq!(names.collect::<Vec<_>>(), [FIRST, RELIEF]);
    let kinds = record
        .signatures
        .iter()
        .fold(BTreeMap::new(), |mut kinds, s| {
            *kinds.entry(s.signed_for).or_insert(0) += 1;
            kinds
        });
    assert_eq!(kinds[&SignedFor::ForemanAgreed], 1);
    assert_eq!(
        kinds[&SignedFor::SearchFirst],
        kinds[&SignedFor::SearchSecond]
    );
    assert_eq!(kinds[&SignedFor::BankClosed], 2);
    assert_eq!(kinds[&SignedFor::JobClosed], 1);
}

#[test]
fn a_job_left_mid_valve_says_what_holds_it() {
    let record = record_of(&job_mid_valve());
    assert!(!record.finished);
    let has = |test: fn(&OpenPoint) -> bool| record.open_points.iter().any(test);
    assert!(has(|p| matches!(
        p,
        OpenPoint::ValveUnlocked {
            stage: Stage::LocksOut,
            ..
        }
    )));
    assert!(has(|p| matches!(p, OpenPoint::AirOn { .. })));
    assert!(has(|p| matches!(p, OpenPoint::Loose { .. })));
    assert!(has(|p| matches!(p, OpenPoint::BankOpen { .. })));
}

#[test]
fn a_conflict_is_told_with_both_sides() {
    let record = record_of(&job_in_conflict());
    let conflict = &record.conflicts[0];
    assert_eq!(conflict.summary.what, "cover_off");
    assert_eq!(conflict.against.as_ref().unwrap().summary.what, "cover_off");
    assert_eq!(conflict.resolved, None);
    assert!(matches!(
        record.open_points[0],
        OpenPoint::Conflicts { count: 1 }
    ));
}

#[test]
fn a_resolved_conflict_tells_what_was_seen_and_both_who_looked() {
    let record = record_of(&job_resolved());
    let resolved = record.conflicts[0].resolved.as_ref().unwrap();
    assert_eq!(resolved.by.who.to_string(), SECOND);
    assert_eq!(resolved.second.as_ref().unwrap().to_string(), FOREMAN);
    assert_eq!(resolved.seen, [Sight::Cover { bank: 0, off: true }]);
    let signed = record.signatures.iter().rev().take(2);
    let signed: Vec<_> = signed
        .map(|s| (s.signed_for, s.by.who.to_string()))
        .collect();
    let two = [
        (SignedFor::ConflictSecond, FOREMAN.to_owned()),
        (SignedFor::ConflictResolved, SECOND.to_owned()),
    ];
    assert_eq!(signed, two);
}

fn state_after(note: TakeIn, leaks: &[(u8, f64)]) -> JobState {
    let mut play = open(shipped_engine("inline-3-12v"), "pump 2");
    play.must(Event::TakeInNoted(Box::new(note)));
    for (cylinder, cylinder_bar) in leaks {
        play.must(Event::LeakRead {
            cylinder: *cylinder,
            when: trayzero_core::job::Reading::Before,
            supply_bar: 6.0,
            cylinder_bar: *cylinder_bar,
            heard: Vec::new(),
        });
    }
    play.job
}

/// Common practice in the trade, no source: smoke after idling with cylinders that hold
/// air points to the seals, smoke under load to the rings.
#[test]
fn evidence_speaks_for_and_against() {
    let note = |smoke: &[Smoke]| TakeIn {
        smoke: smoke.to_vec(),
        ..TakeIn::default()
    };
    let tight = [(1, 5.7), (2, 5.8), (3, 5.6)];
    let lines = evidence(&state_after(note(&[Smoke::AfterIdling]), &tight));
    let said = |about, speaks| {
        lines
            .iter()
            .filter(move |l| (l.about, l.speaks) == (about, speaks))
    };
    assert_eq!(said(Suspect::Seals, Speaks::For).count(), 2);
    assert_eq!(said(Suspect::Rings, Speaks::Against).count(), 1);
    assert_eq!(said(Suspect::Seals, Speaks::Against).count(), 0);

    let leaky = [(1, 5.7), (2, 4.0), (3, 5.6)];
    let lines = evidence(&state_after(note(&[Smoke::UnderLoad]), &leaky));
    let past = Reason::PastLimit { cylinders: vec![2] };
    assert!(
        lines
            .iter()
            .any(|l| l.reason == past && l.speaks == Speaks::Against)
    );
    assert!(
        lines
            .iter()
            .any(|l| l.about == Suspect::Rings && l.reason == Reason::SmokeUnderLoad)
    );
    assert_eq!(evidence(&state_after(note(&[]), &[])), Vec::new());
}

#[test]
fn the_order_list_counts_what_the_ledger_counts() {
    for (name, item) in [
        ("intake stem seal", Item::NewSeal),
        ("seal", Item::NewSeal),
        ("Stem seals, exhaust", Item::NewSeal),
        ("lock, spare", Item::Lock),
        ("locks", Item::Lock),
        ("cover gasket", Item::Other("cover gasket".into())),
        ("plug tube seal", Item::Other("plug tube seal".into())),
    ] {
        assert_eq!(counted_as(name), item, "{name}");
    }
    let play = eventful_job_closed();
    let rows = order_list(&play.job);
    let row = |item: &Item| rows.iter().find(|r| r.counted_as == *item).unwrap();
    let seals = row(&Item::NewSeal);
    assert_eq!((seals.to_order, seals.used, seals.goes_back), (24, 25, 0));
    assert_eq!(row(&Item::Other("cover gasket".into())).used, 2);
}

/// What held each valve, read off the events by hand: the last pressure said of its cylinder
/// before its locks came out.
#[test]
fn each_valve_tells_what_held_it_while_its_locks_were_out() {
    let play = plain_job("v6-60-24v");
    let record = record_of(&play);
    let mut bar_of = BTreeMap::new();
    let mut expected = BTreeMap::new();
    for entry in &play.entries {
        match &entry.event {
            Event::AirOn { cylinder, bar } => drop(bar_of.insert(*cylinder, *bar)),
            Event::StageSeen {
                valve,
                stage: Stage::LocksOut,
                ..
            } => drop(expected.insert(*valve, bar_of[&valve.cylinder])),
            _ => {}
        }
    }
    assert_eq!(expected.len(), record.valves.len());
    for line in &record.valves {
        let bar = expected[&line.valve];
        assert_eq!(line.held_by, [HeldBy::Air { bar }], "{:?}", line.valve);
    }
    // A hold takes over, and one valve hangs on both.
    let mut bay = job_mid_valve();
    let at = bay.job.unlocked().next().unwrap();
    let (cylinder, hold) = (at.cylinder, HoldKind::Cord);
    bay.must(Event::HoldDeclared { cylinder, hold });
    let record = record_of(&bay);
    let line = record.valves.iter().find(|line| line.valve == at).unwrap();
    assert!(matches!(
        line.held_by[..],
        [
            HeldBy::Air { .. },
            HeldBy::Hold {
                hold: HoldKind::Cord
            }
        ]
    ));
    let untouched = record.valves.iter().filter(|line| line.stage.is_none());
    assert!({ untouched }.all(|line| line.held_by.is_empty()));
}
