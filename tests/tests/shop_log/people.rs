//! A person's own signature over an event: by whom, on what, and until when.

use trayzero_core::job::{Entry, Event, Person, SearchPlace, SignOff};
use trayzero_core::shop_log::{
    Deed, Judged, Proofs, Role, TabletCard, WhyNotSigned, sign_event, words_to_compare,
};
use uuid::Uuid;

use super::support::{START_MS, add, card, founded, key, mira, person, tablet};

const JOB: Uuid = Uuid::from_u128(77);

fn entry(at_ms: i64, event: Event) -> Entry {
    Entry {
        id: Uuid::from_u128(5),
        tablet: tablet(2),
        at_ms,
        offset_min: 0,
        clock: (at_ms as u64, 0),
        after: None,
        paper: None,
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
        println!("not believed: {what:<18} {why:?}");
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

/// A copy that has become a tablet of its own keeps what was signed on it under the old name;
/// nobody else can use what was signed on another tablet.
#[test]
fn a_signature_given_on_a_copy_stands_on_the_tablet_that_it_became_alone() {
    let (mut one, _) = founded();
    let ada = key(102);
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &ada));
    for (n, was) in [(3, Some(1)), (4, Some(3)), (5, Some(2)), (6, None)] {
        let card = TabletCard {
            was: was.map(tablet),
            ..card(n)
        };
        one.as_mira(START_MS + 3, Deed::TabletAdmitted { card });
    }
    let shop = one.shop();
    let bare = Event::TakenOver { by: sign("Ada") };
    let on_one = sign_event(JOB, tablet(1), &Person::new("Ada"), &bare, &ada).unwrap();
    let rows = [
        (1, true, "where it was given"),
        (3, true, "its copy"),
        (4, true, "a copy of the copy"),
        (2, false, "another tablet"),
        (5, false, "another's copy"),
        (6, false, "a new tablet"),
    ];
    for (n, stands, which) in rows {
        let moved = Entry {
            tablet: tablet(n),
            ..entry(START_MS + 5, on_one.clone())
        };
        let held = shop.proves(JOB, &moved).map_err(|unproven| unproven.why);
        let expected = if stands {
            Ok(())
        } else {
            Err(WhyNotSigned::OtherKey)
        };
        assert_eq!(held, expected, "{which}");
    }
    let words = |was| {
        let card = TabletCard { was, ..card(3) };
        words_to_compare(shop.key, &card)
    };
    assert_ne!(words(None), words(Some(tablet(1))), "both screens tell it");
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

/// What somebody could do then is what counts, not what a line says and not what they can
/// do now.
#[test]
fn the_foreman_agrees_only_who_was_foreman_at_the_time() {
    let (mut one, _) = founded();
    let (ada, ben) = (key(102), key(103));
    let role = |name: &str, role| Deed::RoleChanged {
        name: name.into(),
        role,
    };
    one.as_mira(START_MS + 1, add("Ada", Role::Technician, &ada));
    one.as_mira(START_MS + 2, add("Ben", Role::Foreman, &ben));
    one.as_mira(START_MS + 1_000, role("Ada", Role::Foreman));
    one.as_mira(START_MS + 1_000, role("Ben", Role::Technician));
    one.as_mira(START_MS + 2_000, role("Ada", Role::Stores));
    let shop = one.shop();
    let agrees = |name: &str, key, at_ms| {
        let by = sign(name);
        let event = Event::ForemanAgreed { cylinder: 1, by };
        let event = sign_event(JOB, tablet(2), &Person::new(name), &event, key).unwrap();
        let answer = shop.proves(JOB, &entry(START_MS + at_ms, event));
        answer.map_err(|unproven| unproven.why)
    };
    let not = Err(WhyNotSigned::NotForeman);
    assert_eq!(agrees("Ada", &ada, 900), not, "not yet");
    assert_eq!(agrees("Ada", &ada, 1_500), Ok(()));
    assert_eq!(agrees("Ada", &ada, 2_500), not, "no more");
    assert_eq!(
        agrees("Ben", &ben, 900),
        Ok(()),
        "what he agreed to then stands"
    );
    assert_eq!(agrees("Ben", &ben, 1_500), not);
    assert_eq!(agrees("Ben", &ada, 900), Err(WhyNotSigned::OtherKey));
}

/// The second who answers to a conflict is a foreman, or has counted in this job.
#[test]
fn the_second_at_a_conflict_is_a_foreman_or_has_counted() {
    let (mut one, _) = founded();
    let (ada, ben) = (key(102), key(103));
    one.as_mira(START_MS + 1, add("Ada", Role::Technician, &ada));
    one.as_mira(START_MS + 2, add("Ben", Role::Technician, &ben));
    let shop = one.shop();
    let proofs = Proofs::of(Some(&shop), None);
    let signed = |mut event: Event| {
        for (name, key) in [("Ada", &ada), ("Ben", &ben), ("Mira", &mira())] {
            event = sign_event(JOB, tablet(2), &Person::new(name), &event, key).unwrap();
        }
        event
    };
    let resolved = |second: &str| Event::ConflictResolved {
        conflict: Uuid::from_u128(3),
        by: sign("Ada"),
        note: String::new(),
        seen: Vec::new(),
        second: Some(sign(second)),
    };
    let count = Event::BlindCount {
        by: sign("Ben"),
        lines: Vec::new(),
    };
    let mut judged = Judged::default();
    let mut takes = |at_ms: i64, event: Event| {
        let entry = entry(START_MS + at_ms, signed(event));
        judged.takes(&proofs, JOB, &entry)
    };
    assert!(takes(10, resolved("Mira")));
    assert!(!takes(11, resolved("Ben")), "has not counted yet");
    assert!(takes(12, count));
    assert!(takes(13, resolved("Ben")));
    let not = judged.not_signed();
    assert_eq!(not.len(), 1);
    assert_eq!(not[0].unproven.why, WhyNotSigned::NotForemanNorCounted);
}

/// What is not signed as it should be waits until the tablet that wrote it takes it back.
#[test]
fn its_own_tablet_alone_takes_back_what_is_not_signed() {
    let proofs = Proofs::of(Some(&founded().0.shop()), None);
    let mut judged = Judged::default();
    let count = Event::BlindCount {
        by: sign("Mira"),
        lines: Vec::new(),
    };
    let count = entry(START_MS + 10, count);
    assert!(!judged.takes(&proofs, JOB, &count));
    assert_eq!((judged.journals(), judged.leaves_out(count.id)), (1, true));
    let back = |n: u8| Entry {
        id: Uuid::from_u128(100 + u128::from(n)),
        tablet: tablet(n),
        ..entry(START_MS + 20, Event::taken_back(count.id))
    };
    assert!(
        judged.takes(&proofs, JOB, &back(3)),
        "another tablet's is folded"
    );
    assert_eq!(judged.journals(), 1);
    assert!(!judged.takes(&proofs, JOB, &back(2)));
    assert_eq!((judged.journals(), judged.not_signed()), (0, &[][..]));
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
