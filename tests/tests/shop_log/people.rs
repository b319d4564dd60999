//! A person's own signature over an event: by whom, on what, and until when.

use trayzero_core::job::{Entry, Event, Person, SearchPlace, SignOff};
use trayzero_core::shop_log::{Deed, Role, sign_event};
use uuid::Uuid;

use super::support::{START_MS, add, founded, key, person, tablet};

const JOB: Uuid = Uuid::from_u128(77);

fn entry(at_ms: i64, event: Event) -> Entry {
    Entry {
        id: Uuid::from_u128(5),
        tablet: tablet(2),
        at_ms,
        offset_min: 0,
        clock: (at_ms as u64, 0),
        who: Person::new("Ada"),
        event,
    }
}

fn sign(name: &str) -> SignOff {
    SignOff::new(Person::new(name), Uuid::from_u128(9))
}

#[test]
fn a_signature_stands_for_its_event_its_job_its_tablet_and_its_person_alone() {
    let (mut one, _) = founded();
    let (ada, ben) = (key(102), key(103));
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &ada));
    one.as_mira(START_MS + 2, add("Ben", Role::Second, &ben));
    let shop = one.shop();
    let bare = Event::BankClosed {
        bank: 0,
        by: sign("Ada"),
    };
    let by = |job: Uuid, n: u8, name: &str, event: &Event, key| {
        sign_event(job, tablet(n), &Person::new(name), event, key).unwrap()
    };
    let good = by(JOB, 2, "Ada", &bare, &ada);
    shop.proves(JOB, &entry(START_MS + 5, good.clone()))
        .unwrap();
    let text = serde_json::to_string(&good).unwrap();
    let other_bank: Event =
        serde_json::from_str(&text.replace("\"bank\":0", "\"bank\":1")).unwrap();
    let in_bens_name: Event = serde_json::from_str(&text.replace("Ada", "Ben")).unwrap();
    let rows = [
        ("without it", JOB, bare.clone()),
        ("another event", JOB, other_bank),
        ("another job", Uuid::from_u128(78), good.clone()),
        ("another tablet", JOB, by(JOB, 1, "Ada", &bare, &ada)),
        ("another's key", JOB, by(JOB, 2, "Ada", &bare, &ben)),
        ("in another's name", JOB, in_bens_name),
        (
            "somebody unknown",
            JOB,
            by(JOB, 2, "Eve", &Event::TakenOver { by: sign("Eve") }, &ada),
        ),
    ];
    for (what, job, event) in rows {
        let why = shop.proves(job, &entry(START_MS + 5, event)).unwrap_err();
        println!("not believed: {what:<18} {why}");
    }
    let mut two = Event::SearchSigned {
        dropped: Uuid::from_u128(1),
        first: sign("Ada"),
        second: sign("Ben"),
        places: SearchPlace::LIST.to_vec(),
    };
    two = by(JOB, 2, "Ada", &two, &ada);
    assert!(shop.proves(JOB, &entry(START_MS + 5, two.clone())).is_err());
    two = by(JOB, 2, "Ben", &two, &ben);
    shop.proves(JOB, &entry(START_MS + 5, two)).unwrap();
}

#[test]
fn a_key_taken_away_signs_nothing_later_and_what_it_signed_before_stands() {
    let (mut one, _) = founded();
    let (old, new) = (key(102), key(104));
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &old));
    one.as_mira(
        START_MS + 1_000,
        Deed::PersonKeyed {
            name: "Ada".into(),
            key: person("", Role::Technician, Some(&new)).key,
        },
    );
    let shop = one.shop();
    let bare = Event::TakenOver { by: sign("Ada") };
    let signed = |key| sign_event(JOB, tablet(2), &Person::new("Ada"), &bare, key).unwrap();
    shop.proves(JOB, &entry(START_MS + 1_000, signed(&old)))
        .unwrap();
    shop.proves(JOB, &entry(START_MS + 1_001, signed(&old)))
        .unwrap_err();
    shop.proves(JOB, &entry(START_MS + 1_001, signed(&new)))
        .unwrap();
}

#[test]
fn a_line_of_the_version_before_reads_and_one_with_a_signature_reads_back() {
    let old = r#"{"taken_over":{"by":{"person":"Ada","entering":"00000000-0000-0000-0000-000000000009"}}}"#;
    let read: Event = serde_json::from_str(old).unwrap();
    assert_eq!(read, Event::TakenOver { by: sign("Ada") });
    assert_eq!(
        serde_json::to_string(&read).unwrap(),
        old,
        "and is written as it was"
    );
    let signed = sign_event(JOB, tablet(2), &Person::new("Ada"), &read, &key(102)).unwrap();
    let text = serde_json::to_string(&signed).unwrap();
    assert_eq!(serde_json::from_str::<Event>(&text).unwrap(), signed);
}
