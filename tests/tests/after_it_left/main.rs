//! After it left: what was seen of a vehicle once its job was closed, signed, taken back,
//! judged with its uncertainty, and proven in a record made again.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use trayzero::data::store::Clock;
use trayzero::desk::Outcome;
use trayzero::shop::History;
use trayzero::ui::intent::{Intent, SignedAct};
use trayzero::ui::view::Notice;
use trayzero_core::bench::OilWent;
use trayzero_core::job::{Event, FollowUp, JobPhase, Smoke, TakeIn};
use trayzero_core::record::{follow_ups, oil_before_work};
use trayzero_tests::engines::one_cylinder;
use trayzero_tests::sat::{Sat, run, text_of};

fn seen(distance_km: f64, litres: f64) -> SignedAct {
    SignedAct::FollowUp(Box::new(FollowUp {
        distance_km,
        litres,
        smoke: vec![Smoke::Never],
        codes: Some(Vec::new()),
        text: String::new(),
    }))
}

/// A job with oil topped up before it: 0.7 litres every 1,000 km.
fn closed(root: &Path) -> Sat {
    let mut sat = Sat::at(root, one_cylinder());
    let mut events = vec![Event::TakeInNoted(Box::new(TakeIn {
        complaint: "blue after idling".to_owned(),
        smoke: vec![Smoke::AfterIdling],
        codes: vec!["P0300".to_owned()],
        ..TakeIn::default()
    }))];
    for (odometer_km, litres) in [
        (80_000.0, 0.0),
        (81_000.0, 0.72),
        (82_000.0, 0.68),
        (83_000.0, 0.7),
    ] {
        events.push(Event::OilToppedUp {
            on: "2026-09-01".to_owned(),
            odometer_km,
            litres,
        });
    }
    sat.desk.carry_out(Intent::Tap(events));
    sat.work(2);
    sat.close();
    sat
}

#[test]
fn a_follow_up_belongs_to_a_closed_job_and_stands_in_its_record_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(folder.path(), one_cylinder());
    assert_eq!(sat.sign(seen(1_000.0, 0.1), "Ben"), Outcome::Stayed);
    let notice = sat.desk.view().notice.cloned();
    assert!(
        matches!(&notice, Some(Notice::Refused { code: "R137", .. })),
        "{notice:?}"
    );
    drop(sat);

    let folder = tempfile::tempdir().unwrap();
    let mut sat = closed(folder.path());
    let before = oil_before_work(sat.state()).unwrap();
    assert!(before.low > 0.5 && before.high < 0.9, "{before:?}");
    let (code, said) = run(&["verify", sat.record("left.pdf").to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
    sat.clock.advance(30 * 24 * 3_600_000);
    sat.must_sign(seen(950.0, 0.5), "Ben");
    sat.must_sign(seen(5_100.0, 0.6), "Ada");
    assert_eq!(sat.state().phase(), JobPhase::Closed);
    let told = follow_ups(sat.state());
    let went: Vec<_> = told.iter().map(|(_, line)| line.oil_went).collect();
    assert_eq!(went, [Some(OilWent::NotClear), Some(OilWent::Down)]);

    let record = sat.record("after.pdf");
    let text = text_of(&record);
    assert!(
        text.contains("After it left") && text.contains("oil use fell clearly"),
        "{text}"
    );
    assert!(!text.contains("better"), "{text}");
    let (code, said) = run(&["verify", record.to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
    let json = sat.json();
    let schema = include_str!("../../../assets/schema/record.schema.json");
    let schema: serde_json::Value = serde_json::from_str(schema).unwrap();
    let faults = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = faults.iter_errors(&json).map(|e| e.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    assert_eq!(json["follow_ups"][0]["distance_km"], 950.0);
    assert_eq!(json["follow_ups"][1]["oil_went"], "down");
    assert_eq!(json["follow_ups"][1]["who"], "Ada");
    // One is taken back, signed, and the record forgets nothing of it.
    let act = SignedAct::TakeBack(told[1].0, sat.state().signatures_to_take_back(told[1].0));
    assert!(matches!(act, SignedAct::TakeBack(_, 1)));
    sat.must_sign(act, "Ben");
    assert_eq!(follow_ups(sat.state()).len(), 1);
    let record = sat.record("taken-back.pdf");
    let (code, said) = run(&["verify", record.to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
    let withdrawn = sat.json()["withdrawn"].to_string();
    assert!(withdrawn.contains("followed_up"), "{withdrawn}");
}

#[test]
fn a_forged_follow_up_and_a_journal_cut_before_it_do_not_pass() {
    let folder = tempfile::tempdir().unwrap();
    let mut sat = closed(folder.path());
    sat.must_sign(seen(5_000.0, 3.5), "Ben");
    let record = sat.record("honest.pdf");
    let honest = std::fs::read(&record).unwrap();
    let figure = b"\"litres\":3.5";
    let at = honest.windows(figure.len()).position(|part| part == figure);
    // The attachments may be packed; where they are, the journal itself is forged.
    if let Some(at) = at {
        let mut forged = honest;
        forged[at + figure.len() - 1] = b'1';
        std::fs::write(&record, &forged).unwrap();
        assert_eq!(run(&["verify", record.to_str().unwrap()]).0, 1);
    }
    let tablet = sat.desk.view().tablet;
    let file = sat.root.join(format!("jobs/{}/{tablet}.jsonl", sat.job));
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace("\"litres\":3.5", "\"litres\":0.5")).unwrap();
    let (code, said) = run(&["check", sat.root.to_str().unwrap()]);
    assert_eq!(code, 1, "{said}");
}

#[test]
fn the_shop_claims_nothing_for_fewer_than_a_handful() {
    let folder = tempfile::tempdir().unwrap();
    let mut sat = closed(folder.path());
    let summary = |sat: &Sat| trayzero::data::store::JobSummary::of(sat.state());
    let zone = jiff::tz::TimeZone::UTC;
    let now_ms = sat.clock.now().at_ms + 3_600_000;
    let unseen = summary(&sat);
    sat.must_sign(seen(5_000.0, 0.4), "Ben");
    let down = summary(&sat);
    let of = |seen: usize| {
        let jobs = std::iter::repeat_n(&down, seen).chain([&unseen]);
        History::of(jobs, &zone, now_ms).since
    };
    assert_eq!(of(4).share_down(), None);
    let since = of(5);
    assert_eq!((since.unseen, since.down, since.seen()), (1, 5, 5));
    let (share, (low, high)) = since.share_down().unwrap();
    assert_eq!((share, high), (1.0, 1.0));
    assert!(
        (low - 0.565_517_535).abs() < 1e-8,
        "Wilson, by scipy: {low}"
    );
    let (code, said) = run(&["history", sat.root.to_str().unwrap(), "--json"]);
    assert_eq!(code, 0, "{said}");
    // What is taken on trust is said behind it.
    let mut told = serde_json::Deserializer::from_str(&said).into_iter::<serde_json::Value>();
    let told = told.next().unwrap().unwrap();
    assert_eq!(told["since"]["down"], 1);
    assert_eq!(told["since"]["share_down"], serde_json::Value::Null);
}
