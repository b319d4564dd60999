//! The furnished depot, bay by bay.

use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Caution, CrankAt, DropStatus, Entry, Event, FindingKind, JobPhase, JobState,
    LOSS_LIMIT_PERCENT, NextStep, Person, Refusal, SearchPlace, Stage,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::phases::JobClock;

use trayzero::data::crew::{Code, CodeCost, Crew};
use trayzero::data::store::{Stamp, Store};
use trayzero::demo::open_demo_folder;
use trayzero_tests::demo_script::depot::{BayScript, depot};
use trayzero_tests::demo_script::technician::next_stop;

/// Wednesday 2026-11-25, 11:00 in a zone two hours east of Greenwich.
const NOW: Stamp = Stamp {
    at_ms: 1_795_597_200_000,
    offset_min: 120,
};

const MINUTE_MS: i64 = 60_000;

struct Job {
    script: BayScript,
    entries: Vec<Entry>,
    state: JobState,
}

fn furnished_at(now: Stamp) -> Vec<Job> {
    let folder = open_demo_folder(now).unwrap();
    let store = Store::open(folder.path(), now).unwrap();
    let read = |(id, script): (&uuid::Uuid, BayScript)| {
        let job = store.open_job(*id).unwrap();
        assert_eq!(job.faults().count(), 0, "{}", script.vehicle);
        assert!(job.read_only().is_none(), "{}", script.vehicle);
        Job {
            script,
            entries: job.entries(),
            state: job.state().clone(),
        }
    };
    let jobs = folder.jobs().iter().zip(depot().unwrap().bays);
    jobs.map(read).collect()
}

fn jobs() -> &'static [Job] {
    static JOBS: OnceLock<Vec<Job>> = OnceLock::new();
    JOBS.get_or_init(|| furnished_at(NOW))
}

fn job(vehicle: &str) -> &'static Job {
    jobs().iter().find(|j| j.script.vehicle == vehicle).unwrap()
}

/// Whoever looks from outside, and believes no tablet about a person, believes the depot.
#[test]
fn every_signature_of_the_depot_is_by_the_key_of_whoever_signs() {
    let folder = open_demo_folder(NOW).unwrap();
    let store = Store::open(folder.path(), NOW).unwrap();
    let crew = Crew::open(folder.path(), store.tablet().clone(), CodeCost::default());
    let shop = crew.shop().unwrap();
    let mut held = 0;
    for job in folder.jobs() {
        for entry in store.open_job(*job).unwrap().entries() {
            shop.proves(*job, &entry).unwrap();
            held += entry.event.signatures().count();
        }
    }
    println!("signatures of the depot held against its people's keys: {held}");
    assert!(held >= 5, "{held}");
    let key = shop.key.to_string();
    let args = [
        "trayzero",
        "check",
        folder.path().to_str().unwrap(),
        "--shop-key",
        &key,
    ];
    let mut said = Vec::new();
    let code = trayzero::cli::run(args, &mut said, &mut Vec::new());
    assert_eq!(code, 0, "{}", String::from_utf8_lossy(&said));
}

fn stage(job: &Job, cylinder: u8, valve: &str) -> Option<Stage> {
    let name = ValveName::parse(cylinder, valve).unwrap();
    job.state.valve(name).unwrap().stage()
}

/// The same job played into an empty state by the journal's entries.
fn replayed(entries: &[Entry], mut after_each: impl FnMut(&JobState)) -> JobState {
    let mut state = JobState::new();
    for entry in entries {
        state.apply(entry).unwrap();
        after_each(&state);
    }
    state
}

#[test]
fn the_crew_signs_with_the_codes_that_the_depot_gives_them() {
    let folder = open_demo_folder(NOW).unwrap();
    let store = Store::open(folder.path(), NOW).unwrap();
    let tablet = Arc::clone(store.tablet());
    let mut crew = Crew::open(folder.path(), tablet, CodeCost::default());
    assert_eq!(crew.fault(), None);
    let cards = depot().unwrap().crew;
    assert_eq!(crew.members().count(), cards.len());
    for member in crew.members() {
        let card = cards.iter().find(|c| c.name == *member.person.0).unwrap();
        assert_eq!(member.role, card.role, "{}", card.name);
        assert!(member.has_code, "{}", card.name);
    }
    for card in &cards {
        let person = Person::new(&card.name);
        let code = Code::from(card.code.as_str());
        let sign = crew.enter_code(&person, &code, NOW).unwrap();
        assert_eq!(sign.person, person);
    }
    let henrike = Person::new("Henrike");
    assert!(
        crew.enter_code(&henrike, &Code::from("903157"), NOW)
            .is_err()
    );
}

#[test]
fn five_jobs_stand_in_four_bays_with_their_take_ins() {
    let bays: BTreeSet<&str> = jobs().iter().map(|j| j.state.bay()).collect();
    assert_eq!(bays.len(), 4);
    assert_eq!(jobs().len(), 5);
    for Job { script, state, .. } in jobs() {
        assert_eq!(state.bay(), script.bay);
        assert_eq!(state.vehicle(), script.vehicle);
        assert_eq!(state.technician(), Some(&script.technician));
        assert_eq!(state.take_in_note(), Some(&script.take_in));
        for leak in &script.leaks {
            let read = state.leak(leak.cylinder, leak.when).unwrap();
            assert_eq!(
                (read.supply_bar, read.cylinder_bar, read.heard),
                (leak.supply_bar, leak.cylinder_bar, &leak.heard[..])
            );
        }
        let topped_up = |e: &&Entry| matches!(e.event, Event::OilToppedUp { .. });
        let jobs_top_ups = job(&script.vehicle).entries.iter().filter(topped_up);
        assert_eq!(jobs_top_ups.count(), script.top_ups.len());
    }
}

#[test]
fn bay_1_waits_for_the_foreman_with_every_cover_on() {
    let Job { state, entries, .. } = job("fire pump 2");
    assert_eq!(state.phase(), JobPhase::Open);
    assert!(state.valves().all(|(_, v)| v.stages_seen == 0));
    assert!(state.foreman_wanted(5).unwrap() > LOSS_LIMIT_PERCENT);
    let opened = |e: &&Entry| matches!(e.event, Event::CoverOff { .. } | Event::StageSeen { .. });
    assert_eq!(entries.iter().filter(opened).count(), 0);
}

#[test]
fn bay_2_has_a_lock_adrift_under_air() {
    let job = job("mower carrier 4");
    let state = &job.state;
    assert_eq!(stage(job, 3, "intake 1"), Some(Stage::LocksIn));
    assert_eq!(stage(job, 3, "intake 2"), Some(Stage::LocksOut));
    assert_eq!(state.adrift(), 1);
    let drop = state.drops_adrift().next().unwrap();
    assert_eq!((&drop.item, drop.count), (&Item::Lock, 1));
    assert_eq!(drop.valve, Some(ValveName::new(3, Side::Intake, 2)));
    assert_eq!(state.ledger().at(&Item::Lock, Place::Tray), 1);
    assert_eq!(state.air_on().unwrap().0, 3);
    assert_eq!(state.verified_count(), 4);
    let worn = job.entries.iter().find_map(|e| match &e.event {
        Event::FindingNoted(finding) => Some(finding.kind.clone()),
        _ => None,
    });
    assert_eq!(worn, Some(FindingKind::WornGuide { rock_mm: 0.35 }));
}

#[test]
fn bay_3_is_in_the_middle_of_cylinder_3_with_the_air_on() {
    let job = job("sweeper 07");
    let state = &job.state;
    assert_eq!(state.phase(), JobPhase::Open);
    assert!(state.cylinder_verified(1) && state.cylinder_verified(2));
    assert_eq!(state.verified_count(), 8);
    assert_eq!(stage(job, 3, "exhaust 1"), Some(Stage::LocksIn));
    assert_eq!(stage(job, 3, "exhaust 2"), Some(Stage::LocksOut));
    for waiting in ["intake 1", "intake 2"] {
        assert_eq!(stage(job, 3, waiting), Some(Stage::Positioned));
    }
    // The layout works cylinder 3 seven degrees to either side of its top.
    let at = CrankAt {
        cylinder: 3,
        offset_deg: -7.0,
    };
    assert_eq!(state.crank(), Some(at));
    let (cylinder, bar) = state.air_on().unwrap();
    let rating = state.layout().unwrap().pressure_rating_bar;
    assert!(cylinder == 3 && bar > 0.0 && bar <= rating, "{bar}");
    assert_eq!(state.breakaway_nm(), Some((24.5, true)));
    assert_eq!(state.adrift(), 0);
    // Four followers; two locks, a spring and a retainer of exhaust 2.
    assert_eq!(state.loose(), 8);
    // Two new seals were used on cylinder 1, intake 2.
    assert_eq!(state.ledger().at(&Item::NewSeal, Place::Scrap), 1);
    let next = state.next_step(next_stop(state).unwrap());
    let seal = NextStep::SeeStage {
        valve: ValveName::new(3, Side::Exhaust, 2),
        stage: Stage::SealFitted,
    };
    assert_eq!(next, seal);
}

#[test]
fn bay_4_is_ready_for_the_counts() {
    let Job { state, entries, .. } = job("snow blower 11");
    assert_eq!(state.verified_count(), 16);
    assert_eq!((state.loose(), state.aboard(), state.adrift()), (0, 0, 0));
    assert!(state.counts().is_empty());
    let layout = state.layout().unwrap();
    assert!(
        layout
            .cylinders()
            .all(|c| !state.cylinder(c).unwrap().plug_out)
    );
    for bank in 0..2 {
        let holds: Vec<&str> = state.gate(bank).iter().map(Refusal::code).collect();
        assert_eq!(holds, ["R507"], "only the counts are missing");
    }
    // Cylinder 6 is past the limit; the foreman has seen it.
    let agreed = entries.iter().find_map(|e| match &e.event {
        Event::ForemanAgreed { cylinder, by } => Some((*cylinder, by.person.clone())),
        _ => None,
    });
    assert_eq!(agreed, Some((6, Person::new("Henrike"))));
    assert_eq!(state.foreman_wanted(6), None);
    assert_eq!(state.ledger().at(&Item::Lock, Place::Scrap), 1);
}

#[test]
fn the_closed_job_found_its_lock_and_was_counted_by_two() {
    let Job { state, .. } = job("hoist truck 5");
    assert_eq!(state.phase(), JobPhase::Closed);
    assert!(state.is_bank_closed(0));
    assert_eq!((state.loose(), state.aboard(), state.adrift()), (0, 0, 0));
    let counted: Vec<&str> = state.counts().iter().map(|c| &*c.by.0).collect();
    assert_eq!(counted, ["Tomas", "Joris"]);
    let [drop] = state.drops() else {
        panic!("{:?}", state.drops());
    };
    let DropStatus::Found(found) = drop.status else {
        panic!("{drop:?}");
    };
    let at = state.fact_of(found).map(|f| &f.event);
    let on_the_person = SearchPlace::OnThePerson;
    assert!(
        matches!(at, Some(Event::PartFound { found_at, .. }) if *found_at == on_the_person),
        "{at:?}"
    );
}

#[test]
fn each_journal_replays_to_the_same_state_with_the_ledger_balanced_throughout() {
    for Job { entries, state, .. } in jobs() {
        let layout = state.layout().unwrap();
        let fitted = u32::from(layout.locks_per_valve) * layout.valve_count() as u32;
        let again = replayed(entries, |state| {
            assert!(state.ledger().is_conserved());
            assert_eq!(state.broken_invariant(), None);
            // Counted here by hand: the locks fitted at the start, and those issued.
            let locks = state.ledger().account(&Item::Lock);
            assert_eq!(locks.total(), fitted + locks.issued);
        });
        assert_eq!(again, *state);
        assert_eq!(state.conflicts(), []);
    }
}

#[test]
fn every_caution_was_seen_before_what_it_warns_of() {
    for Job { entries, state, .. } in jobs() {
        if state.verified_count() == 0 {
            continue;
        }
        let first = |wanted: &dyn Fn(&Event) -> bool| {
            entries.iter().position(|e| wanted(&e.event)).unwrap()
        };
        let seen = |caution: Caution| {
            first(&|e| matches!(e, Event::CautionSeen { caution: c } if *c == caution))
        };
        assert!(seen(Caution::Spring) < first(&|e| matches!(e, Event::StageSeen { .. })));
        assert!(seen(Caution::Air) < first(&|e| matches!(e, Event::AirOn { .. })));
        assert!(seen(Caution::Crank) < first(&|e| matches!(e, Event::CrankTurned { .. })));
        assert!(seen(Caution::Heat) < first(&|e| matches!(e, Event::PlugOut { .. })));
        assert!(seen(Caution::Battery) < first(&|e| matches!(e, Event::StepSeen { .. })) + 3);
    }
}

#[test]
fn the_depot_was_at_work_just_now_and_each_bay_at_its_own_time() {
    let mut ages: Vec<i64> = jobs()
        .iter()
        .map(|j| (NOW.at_ms - j.state.last_ms()) / MINUTE_MS)
        .collect();
    ages.sort_unstable();
    assert_eq!(ages[0], 3);
    assert!(
        ages.windows(2).all(|pair| pair[1] - pair[0] >= 3),
        "{ages:?}"
    );
    // Four of them today, the finished one last week.
    assert!(ages[3] < 11 * 60 && ages[4] > 5 * 24 * 60, "{ages:?}");
}

#[test]
fn time_runs_forward_and_never_into_the_future_even_after_midnight_on_a_sunday() {
    // Sunday 2026-11-29, 00:20 in the same zone.
    let sunday = Stamp {
        at_ms: NOW.at_ms + (3 * 24 * 60 + 13 * 60 + 20) * MINUTE_MS,
        ..NOW
    };
    for (now, jobs) in [(NOW, jobs()), (sunday, &furnished_at(sunday)[..])] {
        for Job {
            entries, script, ..
        } in jobs
        {
            let times: Vec<i64> = entries.iter().map(|e| e.at_ms).collect();
            assert!(times.is_sorted(), "{}", script.vehicle);
            assert!(times.iter().all(|t| *t <= now.at_ms - 3 * MINUTE_MS));
            assert!(entries.iter().all(|e| e.offset_min == now.offset_min));
        }
    }
}

#[test]
fn valves_take_eight_to_fifteen_minutes_on_the_whole_and_less_with_practice() {
    let hours = JobClock::of(&job("snow blower 11").state).hours;
    let minutes: Vec<f64> = hours.valves.iter().map(|valve| valve.minutes).collect();
    assert_eq!(minutes.len(), 16);
    assert!(
        minutes.iter().all(|m| (8.0..=22.0).contains(m)),
        "{minutes:?}"
    );
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
    let (early, late) = (mean(&minutes[..6]), mean(&minutes[10..]));
    assert!((8.0..=15.0).contains(&early), "{early}");
    assert!((8.0..=15.0).contains(&late), "{late}");
    assert!(late < early, "{early} {late}");
}

#[test]
fn the_recording_is_what_the_script_gives() {
    let recorded = trayzero_tests::demo_script::record().unwrap();
    let is_the_same = trayzero::demo::recording().unwrap() == recorded;
    assert!(is_the_same, "run assets/demo/make");
}

#[test]
#[ignore = "run by assets/demo/make"]
fn the_recording_is_written() {
    let recorded = trayzero_tests::demo_script::record().unwrap();
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../assets/demo/recording.json");
    std::fs::write(file, serde_json::to_string(&recorded).unwrap() + "\n").unwrap();
}
