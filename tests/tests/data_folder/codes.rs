//! Codes: who may sign, and everything that is refused.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use trayzero::data::crew::{AttemptResult, Code, CodeCost, CodeError, Crew, Role, Uptime};
use trayzero::data::store::{ProposeError, Stamp, Store};
use trayzero_core::job::{Event, Person, Refusal, SearchPlace, SignOff};
use trayzero_core::parts::{Item, Place};
use trayzero_core::shop_log::Deed;

use super::{START, ada, later, made, store};

/// The same code path as in the shop, with little work, so that the tests are quick.
const LIGHT: CodeCost = CodeCost {
    memory_kib: 64,
    passes: 1,
};

const FOREMAN_CODE: &str = "forge-71";
const ADA_CODE: &str = "258013";
const BEN_CODE: &str = "791346";

type IsExpected = fn(&CodeError) -> bool;
type ByHand = fn(&str) -> String;

fn boss() -> Person {
    Person::new("Mira")
}

fn ben() -> Person {
    Person::new("Ben")
}

fn crew_of(store: &Store) -> Crew {
    Crew::open(store.root(), store.tablet().clone(), LIGHT)
}

/// A crew whose waits run by a time that the test tells, in seconds.
fn timed(store: &Store) -> (Crew, Arc<AtomicI64>) {
    let seconds = Arc::new(AtomicI64::new(0));
    let told = Arc::clone(&seconds);
    let uptime = Uptime::by(move || told.load(Ordering::Relaxed) * 1_000);
    let crew = Crew::open_with(store.root(), store.tablet().clone(), LIGHT, uptime);
    (crew, seconds)
}

/// A crew of a foreman and two technicians with codes.
fn full_crew(store: &Store) -> Crew {
    let mut crew = crew_of(store);
    crew.add_first_foreman("Mira", &FOREMAN_CODE.into(), START)
        .unwrap();
    for (person, code) in [(ada(), ADA_CODE), (ben(), BEN_CODE)] {
        let agreed = approved(&mut crew, START);
        crew.add(&person.0, Role::Technician, None, agreed, START)
            .unwrap();
        let agreed = approved(&mut crew, START);
        crew.set_code(&person, &code.into(), agreed, START).unwrap();
    }
    crew
}

fn approved(crew: &mut Crew, now: Stamp) -> trayzero::data::crew::Approval {
    crew.approve(&boss(), &FOREMAN_CODE.into(), now).unwrap()
}

fn refusal_of(error: &ProposeError) -> &str {
    match error {
        ProposeError::Refused { refusal, .. } => refusal.code(),
        other => panic!("no refusal: {other}"),
    }
}

#[test]
fn every_wrong_way_to_sign_is_refused() {
    let root = tempfile::tempdir().unwrap();
    let store = store(root.path());
    drop(full_crew(&store));
    let (mut crew, seconds) = timed(&store);
    let agreed = approved(&mut crew, START);
    crew.add("Cy", Role::Technician, None, agreed, START)
        .unwrap();
    let stranger = Person::new("Nobody");
    let no_code = Person::new("Cy");
    let rows: [(&str, &Person, &str, IsExpected); 5] = [
        ("a wrong code", &ada(), "258014", |e| {
            matches!(e, CodeError::Wrong { wait_s: 1 })
        }),
        ("another person's code", &ben(), ADA_CODE, |e| {
            matches!(e, CodeError::Wrong { .. })
        }),
        ("the right code too soon after", &ada(), ADA_CODE, |e| {
            matches!(e, CodeError::Wait { wait_s: 1 })
        }),
        ("a stranger", &stranger, ADA_CODE, |e| {
            matches!(e, CodeError::NoSuchPerson(_))
        }),
        ("nobody has a default code", &no_code, "0000", |e| {
            matches!(e, CodeError::NoCode(_))
        }),
    ];
    for (what, person, code, expected) in rows {
        let error = crew.enter_code(person, &code.into(), later(5)).unwrap_err();
        assert!(expected(&error), "{what}: {error}");
        assert!(!error.to_string().contains(code), "{what}: the code shows");
    }
    let error = crew
        .approve(&ada(), &ADA_CODE.into(), later(9))
        .unwrap_err();
    assert!(matches!(error, CodeError::NoForeman(_)), "{error}");
    seconds.store(9, Ordering::Relaxed);
    let signed = crew.enter_code(&ada(), &ADA_CODE.into(), later(9)).unwrap();
    assert_eq!(signed.person, ada());
}

#[test]
fn the_same_person_twice_and_a_replayed_signature_are_refused() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    let mut crew = full_crew(&store);
    let mut sign =
        |person: &Person, code: &str| crew.enter_code(person, &code.into(), later(60)).unwrap();
    let dropped = Event::PartDropped {
        item: Item::Cover,
        count: 1,
        from: Place::Home,
        bank: None,
        valve: None,
    };
    let first = sign(&ada(), ADA_CODE);
    open.propose(later(61), &ada(), &[Event::TakenOver { by: first.clone() }])
        .unwrap();
    let search = |first: SignOff, second: SignOff| Event::SearchSigned {
        dropped: uuid::Uuid::from_u128(1),
        first,
        second,
        places: SearchPlace::LIST.to_vec(),
    };
    let twice = search(sign(&ada(), ADA_CODE), sign(&ada(), ADA_CODE));
    let error = open.propose(later(62), &ada(), &[twice]).unwrap_err();
    assert_eq!(refusal_of(&error), "R117", "{error}");
    let replayed = [
        Event::TakenOver { by: first.clone() },
        Event::BlindCount {
            by: first.clone(),
            lines: Vec::new(),
        },
        search(first, sign(&ben(), BEN_CODE)),
    ];
    for event in replayed {
        let error = open
            .propose(later(63), &ada(), std::slice::from_ref(&event))
            .unwrap_err();
        assert_eq!(refusal_of(&error), "R116", "{event:?}: {error}");
    }
    let fresh = Event::TakenOver {
        by: sign(&ben(), BEN_CODE),
    };
    open.propose(later(64), &ada(), &[fresh]).unwrap();
    assert!(matches!(
        open.propose(later(65), &ada(), &[dropped]),
        Err(ProposeError::Refused {
            refusal: Refusal::BadMove { .. } | Refusal::Short { .. },
            ..
        })
    ));
}

#[test]
fn a_log_changed_by_hand_lets_nobody_sign_and_can_be_set_aside() {
    let changes: [(&str, ByHand); 3] = [
        ("a technician made foreman", |text| {
            text.replacen("technician", "foreman", 1)
        }),
        ("a key swapped for another", |text| {
            let at = text.find("\"lock\":\"").unwrap() + 8;
            let mut text = text.to_owned();
            text.replace_range(at..at + 4, "0000");
            text
        }),
        ("rubbish", |_| "rubbish\n".to_owned()),
    ];
    for (what, change) in changes {
        let root = tempfile::tempdir().unwrap();
        let store = store(root.path());
        drop(full_crew(&store));
        let name = format!("log/{}.jsonl", store.tablet().id());
        let file = root.path().join(&name);
        let text = fs::read_to_string(&file).unwrap();
        let changed = change(&text);
        assert_ne!(text, changed, "{what}");
        fs::write(&file, &changed).unwrap();
        let mut crew = crew_of(&store);
        assert!(crew.fault().unwrap().to_string().contains(&name), "{what}");
        let error = crew
            .enter_code(&ada(), &ADA_CODE.into(), later(60))
            .unwrap_err();
        assert!(matches!(error, CodeError::Faulty(_)), "{what}: {error}");
        crew.add_first_foreman("Eve", &FOREMAN_CODE.into(), START)
            .unwrap_err();
        assert_eq!(fs::read_to_string(&file).unwrap(), changed, "left alone");
        crew.begin_anew().unwrap();
        assert!(crew.wants_first_foreman(), "{what}");
        let aside = root.path().join("log.set-aside-1");
        assert!(aside.join(file.file_name().unwrap()).exists());
    }
}

/// Whoever deleted the crew list used to be the next first foreman without a word.
#[test]
fn a_deleted_log_makes_nobody_foreman() {
    let root = tempfile::tempdir().unwrap();
    let store = store(root.path());
    drop(full_crew(&store));
    fs::remove_dir_all(root.path().join("log")).unwrap();
    let mut crew = crew_of(&store);
    assert!(crew.fault().unwrap().to_string().contains("it is missing"));
    assert!(!crew.wants_first_foreman());
    let eve = crew.add_first_foreman("Eve", &FOREMAN_CODE.into(), START);
    assert!(matches!(eve, Err(CodeError::Faulty(_))), "{eve:?}");
}

#[test]
fn a_log_of_another_tablet_put_in_place_is_a_fault() {
    let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (first, second) = (store(one.path()), store(two.path()));
    drop(full_crew(&first));
    fs::create_dir(two.path().join("log")).unwrap();
    for name in fs::read_dir(one.path().join("log")).unwrap() {
        let path = name.unwrap().path();
        let to = two.path().join("log").join(path.file_name().unwrap());
        fs::copy(path, to).unwrap();
    }
    let fault = crew_of(&second).fault().unwrap().to_string();
    assert!(fault.contains("not sealed by this tablet"), "{fault}");
}

#[test]
fn wrong_codes_slow_down_are_recorded_and_outlive_the_program() {
    let root = tempfile::tempdir().unwrap();
    let store = store(root.path());
    drop(full_crew(&store));
    let (mut crew, seconds) = timed(&store);
    for wait in [1_u64, 2, 4, 8] {
        let error = crew
            .enter_code(&ada(), &"9999x1".into(), later(100))
            .unwrap_err();
        assert!(matches!(error, CodeError::Wrong { wait_s } if wait_s == wait));
        seconds.fetch_add(i64::try_from(wait).unwrap(), Ordering::Relaxed);
    }
    let (mut crew, seconds) = timed(&store);
    for wall in [100, 1_000_000, -1_000_000] {
        let error = crew
            .enter_code(&ada(), &ADA_CODE.into(), later(wall))
            .unwrap_err();
        let is_whole = matches!(error, CodeError::Wait { wait_s: 8 });
        assert!(
            is_whole,
            "neither a start nor the clock on the wall: {error}"
        );
    }
    crew.enter_code(&ben(), &BEN_CODE.into(), later(100))
        .expect("nobody else has to wait");
    seconds.store(8, Ordering::Relaxed);
    crew.enter_code(&ada(), &ADA_CODE.into(), later(100))
        .unwrap();
    let of_ada: Vec<AttemptResult> = crew
        .attempts()
        .iter()
        .filter(|a| a.person == "Ada")
        .map(|a| a.outcome)
        .collect();
    let mut expected = vec![AttemptResult::Wrong; 4];
    expected.push(AttemptResult::Right);
    assert_eq!(of_ada, expected);
    let error = crew
        .enter_code(&ada(), &"9999x1".into(), later(101))
        .unwrap_err();
    assert!(
        matches!(error, CodeError::Wrong { wait_s: 1 }),
        "from the start"
    );
}

/// What a hand does to the file, given what stood there before.
type Meddling = fn(&Path, &[u8]);

#[test]
fn attempts_deleted_changed_or_put_back_make_everybody_wait() {
    let hands: [(&str, Meddling); 4] = [
        ("deleted", |file, _| fs::remove_file(file).unwrap()),
        ("changed", |file, _| {
            let text = fs::read_to_string(file).unwrap();
            fs::write(file, text.replace("\"failures\": 3", "\"failures\": 0")).unwrap();
        }),
        ("an old one put back", |file, old| {
            fs::write(file, old).unwrap();
        }),
        ("an old one put back, its count deleted", |file, old| {
            fs::write(file, old).unwrap();
            fs::remove_file(file.with_file_name("tries.json")).unwrap();
        }),
    ];
    for (what, how) in hands {
        let root = tempfile::tempdir().unwrap();
        let store = store(root.path());
        drop(full_crew(&store));
        let file = root.path().join("attempts.json");
        let old = fs::read(&file).unwrap();
        let (mut crew, seconds) = timed(&store);
        for now in [100, 110, 120] {
            seconds.store(now, Ordering::Relaxed);
            crew.enter_code(&ada(), &"9999x1".into(), later(now))
                .unwrap_err();
        }
        how(&file, &old);
        let (mut crew, seconds) = timed(&store);
        assert!(
            crew.tries_fault().unwrap().path.ends_with("attempts.json"),
            "{what}"
        );
        let error = crew
            .enter_code(&ada(), &ADA_CODE.into(), later(10_000))
            .unwrap_err();
        assert!(
            matches!(error, CodeError::Wait { wait_s: 300 }),
            "{what}: {error}"
        );
        seconds.store(300, Ordering::Relaxed);
        crew.enter_code(&ada(), &ADA_CODE.into(), later(10_000))
            .unwrap();
    }
}

#[test]
fn the_foreman_resets_a_code_and_the_last_foreman_cannot_be_lost() {
    let root = tempfile::tempdir().unwrap();
    let store = store(root.path());
    let mut crew = full_crew(&store);
    let agreed = approved(&mut crew, later(1));
    let keyless = |person: Person| Deed::PersonKeyed {
        name: person.to_string(),
        key: None,
    };
    let removed = |person: Person| Deed::PersonRemoved {
        name: person.to_string(),
    };
    crew.change(keyless(ada()), agreed, later(1)).unwrap();
    let error = crew
        .enter_code(&ada(), &ADA_CODE.into(), later(2))
        .unwrap_err();
    assert!(matches!(error, CodeError::NoCode(_)));
    let agreed = approved(&mut crew, later(3));
    let simple = crew.set_code(&ada(), &Code::from("654321"), agreed, later(3));
    assert!(matches!(simple, Err(CodeError::TooSimple)));
    let agreed = approved(&mut crew, later(4));
    let error = crew.change(keyless(boss()), agreed, later(4)).unwrap_err();
    assert!(matches!(error, CodeError::LastForeman(_)));
    let agreed = approved(&mut crew, later(5));
    let error = crew.change(removed(boss()), agreed, later(5)).unwrap_err();
    assert!(matches!(error, CodeError::LastForeman(_)));
    let error = crew.add_first_foreman("Eve", &"9173xy".into(), later(6));
    assert!(matches!(error, Err(CodeError::NotTheFirst)));
    let agreed = approved(&mut crew, later(7));
    crew.change(removed(ben()), agreed, later(7)).unwrap();
    assert!(crew.members().all(|m| m.person != ben()));
    assert_eq!(crew_of(&store).members().count(), 2);
}

#[test]
fn no_code_is_in_any_file_or_text() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    let mut crew = full_crew(&store);
    let by = crew.enter_code(&ben(), &BEN_CODE.into(), later(1)).unwrap();
    let wrong = "wrong-secret";
    let error = crew
        .enter_code(&ada(), &wrong.into(), later(1))
        .unwrap_err();
    open.propose(later(2), &ada(), &[Event::TakenOver { by }])
        .unwrap();
    let mut seen = format!("{crew:?}{open:?}{store:?}{error}{error:?}");
    let mut folders = vec![root.path().to_owned()];
    while let Some(folder) = folders.pop() {
        for name in fs::read_dir(folder).unwrap() {
            let path = name.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                seen.push_str(&String::from_utf8_lossy(&fs::read(&path).unwrap()));
            }
        }
    }
    assert!(seen.contains("Ben") && seen.contains("\"secret\""));
    for code in [FOREMAN_CODE, wrong] {
        assert!(!seen.contains(code), "{code} is written somewhere");
    }
    for code in [ADA_CODE, BEN_CODE] {
        // Digits may turn up by chance within a longer number or a hash.
        let alone = |c: &str| !c.chars().any(|c| c.is_ascii_alphanumeric());
        let shown = seen.match_indices(code).any(|(at, _)| {
            alone(seen.get(at.saturating_sub(1)..at).unwrap_or(""))
                && alone(seen.get(at + code.len()..=at + code.len()).unwrap_or(""))
        });
        assert!(!shown, "{code} is written somewhere");
    }
}

#[test]
fn a_crew_just_made_waits_for_nothing_after_a_restart() {
    let root = tempfile::tempdir().unwrap();
    let store = store(root.path());
    crew_of(&store)
        .add_first_foreman("Mira", &FOREMAN_CODE.into(), START)
        .unwrap();
    let mut crew = crew_of(&store);
    assert_eq!(crew.tries_fault(), None);
    crew.enter_code(&boss(), &FOREMAN_CODE.into(), later(1))
        .unwrap();
}

/// The four ways of signing for somebody that a shop would meet, each refused; printed as
/// a table.
#[test]
fn who_must_not_sign_is_refused_in_one_table() {
    let root = tempfile::tempdir().unwrap();
    let (store, mut open) = made(root.path());
    drop(full_crew(&store));
    let (mut crew, seconds) = timed(&store);
    let search = |first: SignOff, second: SignOff| Event::SearchSigned {
        dropped: uuid::Uuid::from_u128(1),
        first,
        second,
        places: SearchPlace::LIST.to_vec(),
    };
    let wrong = crew.enter_code(&ben(), &ADA_CODE.into(), later(1));
    let mut rows = vec![("a wrong code", wrong.unwrap_err().to_string())];
    seconds.store(60, Ordering::Relaxed);
    let mut sign = || {
        let code = ADA_CODE.into();
        crew.enter_code(&ada(), &code, later(60)).unwrap()
    };
    let (first, second, used) = (sign(), sign(), sign());
    let twice = open.propose(later(61), &ada(), &[search(first, second)]);
    rows.push(("the same person twice", twice.unwrap_err().to_string()));
    let take_over = [Event::TakenOver { by: used }];
    open.propose(later(62), &ada(), &take_over).unwrap();
    let again = open.propose(later(63), &ada(), &take_over);
    rows.push(("a replayed signature", again.unwrap_err().to_string()));
    let name = format!("log/{}.jsonl", store.tablet().id());
    let file = root.path().join(name);
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("technician", "foreman", 1)).unwrap();
    let changed = crew_of(&store).enter_code(&ada(), &ADA_CODE.into(), later(64));
    rows.push((
        "a shop log changed by hand",
        changed.unwrap_err().to_string(),
    ));
    let expected = [
        "the code is wrong",
        "R117: SamePerson",
        "R116: SignatureUsed",
        "signature does not hold",
    ];
    for ((what, why), words) in rows.iter().zip(expected) {
        println!("refused: {what:<28} {why}");
        assert!(why.contains(words), "{what}: {why}");
    }
}
