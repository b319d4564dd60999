//! The nine ways in which two tablets could close over what one of them had been told, each
//! as it happens at a bay: what each taps, what both know in the end, and what must hold.
#![allow(clippy::unwrap_used)]

use trayzero_core::job::{
    Event, JobState, NextStep, Refusal, SearchPlace, Sight, Stage, found_places,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, FOREMAN, SECOND};
use trayzero_tests::engines::{one_cylinder, two_cylinders};
use trayzero_tests::entries::Scribe;
use trayzero_tests::told::Tablet;
use uuid::Uuid;

/// Two tablets that know the same, cut off from one another.
struct Two {
    ada: Tablet,
    ben: Tablet,
}

impl Two {
    fn at(bay: &Bay) -> Self {
        Self {
            ada: Tablet::new(2, bay.entries.clone()),
            ben: Tablet::new(3, bay.entries.clone()),
        }
    }

    /// Ben's clock runs on, so that his next line comes after what Ada has done.
    fn ben_goes_on(&mut self) {
        let text = "cleaning".to_owned();
        for _ in 0..6 {
            let said = Event::Noted { text: text.clone() };
            self.ben.propose(said).unwrap();
        }
    }

    /// They see each other again.
    fn meet(&mut self) {
        let (ada, ben) = (self.ada.entries.clone(), self.ben.entries.clone());
        self.ada.hear(&ben);
        self.ben.hear(&ada);
        assert_eq!(format!("{:?}", self.ada.job), format!("{:?}", self.ben.job));
    }
}

fn until(mut bay: Bay, stop: impl Fn(&NextStep) -> bool) -> Bay {
    bay.work_until(|_, step| stop(step));
    bay
}

fn at_stage(wanted: Stage) -> Bay {
    until(
        Bay::open(one_cylinder()),
        |step| matches!(step, NextStep::SeeStage { stage, .. } if *stage == wanted),
    )
}

fn at_the_gate() -> Bay {
    let mut bay = Bay::open(one_cylinder());
    bay.must(Event::KitCounted {
        item: Item::Rag,
        count: 2,
    });
    until(bay, |step| matches!(step, NextStep::Gate { .. }))
}

fn seen(job: &JobState, stage: Stage, locks_dropped: u8) -> Event {
    let next = job.valves().find(|(_, v)| v.next_stage() == Some(stage));
    Event::StageSeen {
        valve: next.unwrap().0,
        stage,
        locks_dropped,
        seals_spoiled: 0,
    }
}

fn lock_dropped() -> Event {
    Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Tray,
        bank: None,
        valve: None,
    }
}

fn rag_aboard() -> Event {
    Event::PutAboard {
        item: Item::Rag,
        bank: 0,
        count: 1,
    }
}

fn code(answer: Result<Uuid, Refusal>) -> &'static str {
    answer.unwrap_err().code()
}

fn count_twice(tablet: &mut Tablet) {
    for person in [FIRST, SECOND] {
        let lines = trayzero_tests::bay::true_lines(&tablet.job);
        let by = tablet.sign(person);
        tablet.propose(Event::BlindCount { by, lines }).unwrap();
    }
}

fn close_bank(tablet: &mut Tablet) -> Result<Uuid, Refusal> {
    let by = tablet.sign(FIRST);
    tablet.propose(Event::BankClosed { bank: 0, by })
}

/// Answers the first open conflict with the answer of that number.
fn answer(tablet: &mut Tablet, number: usize, people: &[&str]) -> Result<Uuid, Refusal> {
    let conflict = tablet.job.open_conflicts().next().unwrap();
    let (id, seen) = (
        conflict.entry.id,
        tablet.job.answers(conflict)[number].clone(),
    );
    let by = tablet.sign(people[0]);
    let second = people.get(1).map(|person| tablet.sign(person));
    tablet.propose(Event::ConflictResolved {
        conflict: id,
        by,
        note: String::new(),
        seen,
        second,
    })
}

#[test]
fn row_1_a_lock_reported_missing_while_the_job_rests_elsewhere_is_still_missing() {
    let mut two = Two::at(&at_stage(Stage::SealFitted));
    two.ada
        .propose(Event::Paused { why: String::new() })
        .unwrap();
    let told = two.ben.propose(lock_dropped()).unwrap();
    two.meet();
    assert_eq!(two.ada.job.adrift(), 1);
    assert_eq!(two.ada.job.drops_adrift().next().unwrap().id, told);
    two.ada.propose(Event::Resumed {}).unwrap();
    let found = Event::PartFound {
        dropped: told,
        found_at: SearchPlace::Sump,
        to: found_places(&Item::Lock)[0],
    };
    two.ada.propose(found).unwrap();
    assert_eq!(two.ada.job.adrift(), 0);
}

#[test]
fn row_2_both_see_the_locks_out_and_the_one_that_flew_off_stays_told() {
    let mut two = Two::at(&at_stage(Stage::LocksOut));
    let out = seen(&two.ada.job, Stage::LocksOut, 0);
    two.ada.propose(out).unwrap();
    let flew_off = seen(&two.ben.job, Stage::LocksOut, 1);
    two.ben.propose(flew_off).unwrap();
    two.meet();
    let job = &two.ada.job;
    assert_eq!(job.conflicts()[0].refusal.code(), "R301");
    assert_eq!(job.adrift(), 1);
    // Of the two locks that the tray should hold one is missing.
    assert_eq!(job.ledger().at(&Item::Lock, Place::Tray), 1);
    // One person does not end it, and an answer says what was seen.
    assert_eq!(code(answer(&mut two.ada, 0, &[FIRST])), "R125");
    answer(&mut two.ada, 0, &[FIRST, FOREMAN]).unwrap();
    assert_eq!(two.ada.job.adrift(), 1);
}

#[test]
fn row_3_a_lock_dropped_from_a_tray_that_is_empty_elsewhere_stays_told() {
    let mut two = Two::at(&at_stage(Stage::LocksIn));
    let home = seen(&two.ada.job, Stage::LocksIn, 0);
    two.ada.propose(home).unwrap();
    two.ben.propose(lock_dropped()).unwrap();
    two.meet();
    let job = &two.ada.job;
    assert_eq!(job.conflicts()[0].refusal.code(), "R401");
    assert_eq!(job.adrift(), 1);
    assert!(job.ledger().is_conserved());
    // Both stand until two people say that it is the same one, or none.
    let conflict = job.open_conflicts().next().unwrap();
    let missing: Vec<u32> = job
        .answers(conflict)
        .iter()
        .flatten()
        .filter_map(|s| match s {
            Sight::Missing { count, .. } => Some(*count),
            _ => None,
        })
        .collect();
    assert_eq!(missing, [1, 0]);
    assert_eq!(code(answer(&mut two.ada, 1, &[FIRST])), "R125");
    answer(&mut two.ada, 1, &[FIRST, FOREMAN]).unwrap();
    assert_eq!(two.ada.job.adrift(), 0);
}

#[test]
fn row_4_a_rag_put_aboard_after_both_counts_voids_them() {
    let mut two = Two::at(&at_the_gate());
    count_twice(&mut two.ada);
    // The other tablet has no rag in its kit any more, so that its line cannot stand.
    two.ada
        .propose(Event::PutAboard {
            item: Item::Rag,
            bank: 0,
            count: 2,
        })
        .unwrap();
    two.ben.propose(rag_aboard()).unwrap();
    two.ada
        .propose(Event::TakenOff {
            item: Item::Rag,
            bank: 0,
            count: 2,
        })
        .unwrap();
    count_twice(&mut two.ada);
    two.meet();
    assert_eq!(two.ada.job.aboard(), 1, "the rag that Ben put there");
    let refused = close_bank(&mut two.ada).unwrap_err();
    assert!(refused.code().starts_with("R5"), "{refused:?}");
    while two.ada.job.open_conflicts().next().is_some() {
        answer(&mut two.ada, 0, &[FIRST, FOREMAN]).unwrap();
    }
    let gate: Vec<&str> = two.ada.job.gate(0).iter().map(Refusal::code).collect();
    assert_eq!(gate, ["R503", "R507"], "the rag, and the counts are void");
    two.ada
        .propose(Event::TakenOff {
            item: Item::Rag,
            bank: 0,
            count: 1,
        })
        .unwrap();
    assert_eq!(code(close_bank(&mut two.ada)), "R507");
    count_twice(&mut two.ada);
    close_bank(&mut two.ada).unwrap();
}

#[test]
fn row_5_a_rag_put_aboard_by_who_had_not_heard_of_the_closing_opens_the_bank() {
    let mut two = Two::at(&at_the_gate());
    count_twice(&mut two.ada);
    close_bank(&mut two.ada).unwrap();
    two.ben_goes_on();
    two.ben.propose(rag_aboard()).unwrap();
    two.meet();
    let job = &two.ada.job;
    assert_eq!(job.conflicts()[0].refusal.code(), "R201");
    assert!(!job.is_bank_closed(0) && job.bank(0).unwrap().cover_off);
    assert_eq!(job.conflicts()[0].reopened(), [0]);
    assert_eq!(job.aboard(), 1);
    answer(&mut two.ada, 0, &[FIRST, FOREMAN]).unwrap();
    assert_eq!(code(close_bank(&mut two.ada)), "R503");
}

#[test]
fn row_6_nobody_turns_the_crank_under_air_that_was_not_looked_at() {
    let bay = until(Bay::open(two_cylinders()), |step| {
        matches!(step, NextStep::AirOn { .. })
    });
    let mut two = Two::at(&bay);
    two.ada.propose(Event::WrenchOn {}).unwrap();
    two.ben
        .propose(Event::AirOn {
            cylinder: 1,
            bar: 4.0,
        })
        .unwrap();
    two.meet();
    assert_eq!(two.ada.job.conflicts()[0].refusal.code(), "R213");
    let (from, to) = (two.ada.job.crank(), two.ada.job.crank().unwrap());
    let turn = Event::CrankTurned {
        from,
        to,
        turn_deg: 0.0,
    };
    assert_eq!(code(two.ada.propose(turn.clone())), "R224");
    two.ada.propose(Event::WrenchOff {}).unwrap();
    assert_eq!(code(two.ada.propose(Event::WrenchOn {})), "R224");
    let air = Event::AirOn {
        cylinder: 1,
        bar: 4.0,
    };
    assert_eq!(code(two.ada.propose(air)), "R224");
    // Somebody looks: there is air, as Ben said. From then on the state says so.
    let conflict = two.ada.job.open_conflicts().next().unwrap();
    let answers = two.ada.job.answers(conflict);
    let air_is_on = |seen: &Vec<Sight>| {
        seen.contains(&Sight::Air {
            cylinder: 1,
            bar: Some(4.0),
        })
    };
    let number = answers.iter().position(air_is_on).unwrap();
    answer(&mut two.ada, number, &[FIRST]).unwrap();
    assert_eq!(two.ada.job.air_on(), Some((1, 4.0)));
    assert_eq!(code(two.ada.propose(Event::WrenchOn {})), "R209");
}

#[test]
fn row_7_behind_a_cover_nothing_is_lost_again_in_silence() {
    let mut bay = at_the_gate();
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 1,
    });
    let dropped = bay.must(Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Stock,
        bank: None,
        valve: None,
    });
    // A report is not taken back by whoever is there.
    assert_eq!(bay.refused(Event::taken_back(dropped)).code(), "R125");
    let searched = bay.searched(dropped);
    let searched = bay.must(searched);
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 1,
    });
    bay.must(Event::TakenFromStock {
        item: Item::Lock,
        count: 1,
    });
    let put_away = bay.must(Event::PutAway {
        item: Item::Lock,
        count: 1,
        to: Place::Scrap,
    });
    bay.count_twice();
    let by = bay.scribe.sign(FIRST);
    let closing = bay.must(Event::BankClosed { bank: 0, by });
    for event in [searched, put_away] {
        assert_eq!(bay.take_back(event).unwrap_err().code(), "R114");
    }
    bay.take_back(closing).unwrap();
    for event in [put_away, searched] {
        bay.take_back(event).unwrap();
    }
    assert_eq!((bay.job.loose(), bay.job.adrift()), (1, 1));
}

#[test]
fn row_7_a_find_taken_back_by_who_had_not_heard_of_the_closing_opens_the_bank() {
    let mut bay = at_the_gate();
    bay.must(Event::StockIssued {
        item: Item::Lock,
        count: 1,
    });
    let dropped = bay.must(Event::PartDropped {
        item: Item::Lock,
        count: 1,
        from: Place::Stock,
        bank: None,
        valve: None,
    });
    let to = Place::Scrap;
    assert!(found_places(&Item::Lock).contains(&to));
    let found = bay.must(Event::PartFound {
        dropped,
        found_at: SearchPlace::BenchAndFloor,
        to,
    });
    let mut two = Two::at(&bay);
    count_twice(&mut two.ada);
    close_bank(&mut two.ada).unwrap();
    two.ben_goes_on();
    two.ben.propose(Event::taken_back(found)).unwrap();
    two.meet();
    for tablet in [&two.ada, &two.ben] {
        assert_eq!(tablet.job.adrift(), 1, "the loss stands again");
        assert!(!tablet.job.is_bank_closed(0), "and the bank is open for it");
    }
}

#[test]
fn row_8_what_was_signed_is_taken_back_signed() {
    let mut bay = at_the_gate();
    bay.count_twice();
    let counted = bay.entries.last().unwrap().id;
    let by = bay.scribe.sign(FIRST);
    let closing = bay.must(Event::BankClosed { bank: 0, by });
    for (event, needed) in [(closing, 1), (counted, 1)] {
        assert_eq!(bay.job.signatures_to_take_back(event), needed);
        let refusal = bay.refused(Event::taken_back(event));
        assert_eq!(refusal.code(), "R125");
    }
    bay.work_to_the_end();
    let closed = bay.entries.last().unwrap().id;
    assert_eq!(bay.refused(Event::taken_back(closed)).code(), "R125");
    // One person twice is one person.
    let mut bay = at_the_gate();
    let dropped = bay.must(Event::PartDropped {
        item: Item::Rag,
        count: 1,
        from: Place::Kit,
        bank: None,
        valve: None,
    });
    let by = vec![bay.scribe.sign(FIRST), bay.scribe.sign(FIRST)];
    let twice = Event::Withdrawn { event: dropped, by };
    assert_eq!(bay.refused(twice).code(), "R117");
    bay.take_back(dropped).unwrap();
}

#[test]
fn row_9_every_tablet_that_knows_says_what_to_look_at() {
    let bay = until(Bay::open(two_cylinders()), |step| {
        matches!(step, NextStep::AirOn { .. })
    });
    let mut two = Two::at(&bay);
    two.ada
        .propose(Event::AirOn {
            cylinder: 1,
            bar: 4.0,
        })
        .unwrap();
    two.ben.propose(Event::WrenchOn {}).unwrap();
    two.meet();
    for tablet in [&two.ada, &two.ben] {
        let asked: Vec<_> = tablet.job.dangers().map(|(danger, _)| danger).collect();
        assert_eq!(asked, [trayzero_core::job::Danger::Wrench]);
        // The bay asks it above the bar, and the card of whoever comes back: see the
        // scenes of the walk through the screens.
    }
}

/// Lines as the version before wrote them, without signatures and without what was seen.
#[test]
fn lines_of_the_version_before_still_read_and_nothing_that_they_told_is_lost() {
    let mut bay = at_the_gate();
    let dropped = bay.must(Event::PartDropped {
        item: Item::Rag,
        count: 1,
        from: Place::Kit,
        bank: None,
        valve: None,
    });
    let mut tablet = Tablet::new(2, bay.entries.clone());
    let withdrawn = format!(r#"{{"withdrawn":{{"event":"{dropped}"}}}}"#);
    let resolved = format!(
        r#"{{"conflict_resolved":{{"conflict":"{dropped}","by":{{"person":"{FOREMAN}","entering":"{dropped}"}},"note":""}}}}"#
    );
    let mut scribe = Scribe::new(9, FIRST);
    scribe.at_ms = bay.scribe.at_ms + 3_600_000;
    for (line, code) in [(withdrawn, "R125"), (resolved, "R123")] {
        let event: Event = serde_json::from_str(&line).unwrap();
        assert_eq!(serde_json::to_string(&event).unwrap(), line);
        tablet.hear(&[scribe.entry(event)]);
        let last = tablet.job.conflicts().last().unwrap();
        assert_eq!(last.refusal.code(), code);
        assert_eq!(tablet.job.adrift(), 1);
    }
}

/// Lines as this version writes them, word for word: a later one has to read them too.
#[test]
fn lines_with_what_was_seen_and_a_second_signature_read_word_for_word() {
    let by = r#"{"person":"Ruth Okafor","entering":"00000000-0000-0000-0000-000000000005"}"#;
    let proof = "ab".repeat(64);
    let proved = by.replace('}', &format!(r#","proof":"{proof}"}}"#));
    let of = r#""00000000-0000-0000-0000-000000000004""#;
    let seen = r#"[{"air":{"cylinder":2,"bar":4.0}},{"air":{"cylinder":3}},{"hold":{"cylinder":1,"hold":"cord"}},{"wrench":{"on":false}},{"crank":{"at":{"cylinder":1,"offset_deg":0.0}}},{"plug_hole":{"cylinder":1,"with":"hose"}},{"cover":{"bank":0,"off":true}},{"laid_out":{"item":"lock","place":"tray","count":2}},{"missing":{"dropped":"00000000-0000-0000-0000-000000000004","count":0}},{"read":{}}]"#;
    let lines = [
        format!(
            r#"{{"conflict_resolved":{{"conflict":{of},"by":{by},"note":"","seen":{seen},"second":{by}}}}}"#
        ),
        format!(r#"{{"withdrawn":{{"event":{of},"by":[{by},{proved}]}}}}"#),
    ];
    for line in lines {
        let event: Event = serde_json::from_str(&line).unwrap();
        assert_eq!(serde_json::to_string(&event).unwrap(), line);
    }
}
