//! What somebody with the shop folder alone, or with a tablet of their own, would try.

use std::fs;

use trayzero::data::crew::{CodeError, Role, WhyFaulty};
use trayzero::data::store::sealed;
use trayzero::shop::Board;
use trayzero::ui::words::EN;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, SignOff};
use trayzero_core::journal::Limits;
use trayzero_core::shop_log::Deed;
use uuid::Uuid;

use super::outside::run_line;
use super::shop::{ADA_CODE, JOB, MIRA_CODE, Shop, Tablet, ada, card_of, later, mira};

fn log_of(shop: &Shop, tablet: &Tablet) -> std::path::PathBuf {
    shop.folder.join(format!("log/{}.jsonl", tablet.id()))
}

fn unchanged(one: &mut Tablet, before: &[(String, Role)]) {
    assert_eq!(one.people(), before);
    one.crew
        .enter_code(&mira(), &MIRA_CODE.into(), later(90))
        .expect("the foreman's code is the one it was");
}

/// A fresh data folder, the first person named like the foreman, the shop folder set: once
/// every tablet took the new code within seconds.
#[test]
fn the_foremans_code_is_not_replaced_by_a_fresh_tablet() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let before = one.people();
    let mut thief = shop.tablet("thief");
    thief
        .crew
        .add_first_foreman("Mira", &"thief-99".into(), later(1_000_000))
        .unwrap();
    for _ in 0..3 {
        thief.meet();
        one.meet();
    }
    unchanged(&mut one, &before);
    let new = one.crew.enter_code(&mira(), &"thief-99".into(), later(91));
    assert!(matches!(new, Err(CodeError::Wrong { .. })));
    assert!(
        one.crew
            .asking()
            .iter()
            .any(|(c, _)| c.tablet == thief.id()),
        "it is told"
    );
    assert!(!one.crew.shop().unwrap().tablets.contains_key(&thief.id()));
    // Under the thief's own roof the thief's signature is the thief's.
    let forged = thief.signed(&mira(), "thief-99");
    let why = one.crew.shop().unwrap().proves(JOB, &forged).unwrap_err();
    println!("not believed: {why:?}");
}

/// Lists of the version before, forged under a known tablet's name and under a new one's,
/// with a technician as foreman and with the highest clock there is.
#[test]
fn a_forged_crew_list_changes_nobody() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let thief = shop.tablet("thief");
    let before = one.people();
    fs::create_dir_all(shop.folder.join("crew")).unwrap();
    for (tablet, left, role) in [
        (one.id(), false, "foreman"),
        (thief.id(), false, "foreman"),
        (Uuid::from_u128(5), true, "technician"),
    ] {
        let people: Vec<serde_json::Value> = ["Ada", "Mira"]
            .iter()
            .map(|name| {
                serde_json::json!({"name": name, "role": role, "code": null, "left": left,
                    "changed": [u64::MAX, u32::MAX], "by": tablet})
            })
            .collect();
        let list = serde_json::json!({"format": 1, "members": people});
        let path = shop.folder.join(format!("crew/{tablet}.json"));
        sealed::write(&path, "trayzero crew 1", &list, thief.store.tablet()).unwrap();
    }
    one.meet();
    unchanged(&mut one, &before);
    let left = fs::read_dir(shop.folder.join("crew")).unwrap().count();
    assert_eq!(left, 0, "what a code could be tried on is gone");
}

/// Lines that a tablet which is no member puts into the log: under its own name, under a
/// member's name, behind a member's lines.
#[test]
fn lines_of_a_stranger_are_not_part_of_the_log_wherever_they_lie() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let two = shop.admitted(&mut one, "two");
    let before = one.people();
    let other = Shop::new();
    let mut thief = other.founded();
    let by = thief.agreed();
    thief
        .crew
        .add("Eve", Role::Foreman, Some(&"thief-99".into()), by, later(5))
        .unwrap();
    thief.meet();
    let forged = fs::read(log_of(&other, &thief)).unwrap();
    let honest = fs::read(log_of(&shop, &one)).unwrap();
    let behind = [honest.clone(), forged.clone()].concat();
    let rows = [
        ("under its own name", thief.id(), forged.clone()),
        ("under an unknown name", Uuid::from_u128(9), forged.clone()),
        ("in place of the other member's", two.id(), forged.clone()),
        ("in place of the own one", one.id(), forged.clone()),
        ("behind the own one", one.id(), behind),
        (
            "rubbish in place of the own one",
            one.id(),
            vec![0xff; 1_000],
        ),
        (
            "the own one cut short",
            one.id(),
            honest[..honest.len() / 2].to_vec(),
        ),
        ("the own one emptied", one.id(), Vec::new()),
        (
            "the first member's under the other's name",
            two.id(),
            honest.clone(),
        ),
    ];
    for (what, tablet, bytes) in rows {
        let path = shop.folder.join(format!("log/{tablet}.jsonl"));
        let was = fs::read(&path).ok();
        fs::write(&path, &bytes).unwrap();
        one.meet();
        unchanged(&mut one, &before);
        let told = one.crew.sight_faults().to_vec();
        println!(
            "tried: {what:<42} believed: 0, told: {}",
            told.first().map_or("-".to_owned(), ToString::to_string)
        );
        if tablet == one.id() {
            assert_eq!(fs::read(&path).unwrap(), honest, "{what}: mended");
        }
        match was {
            Some(was) => fs::write(&path, was).unwrap(),
            None => fs::remove_file(&path).unwrap(),
        }
        one.meet();
    }
    let mut fresh = shop.tablet("fresh");
    fresh.meet();
    assert_eq!(fresh.crew.offers().len(), 1);
}

/// The folder set back to what it was: whoever has checked more keeps it, and puts back
/// what is missing; a code that was replaced stays replaced.
#[test]
fn a_folder_set_back_takes_nothing_back() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let old = fs::read(log_of(&shop, &one)).unwrap();
    let by = one.agreed();
    let name = ada().to_string();
    let deed = Deed::PersonRemoved { name };
    one.crew.change(deed, by, later(20)).unwrap();
    one.meet();
    two.meet();
    fs::write(log_of(&shop, &one), &old).unwrap();
    two.meet();
    assert_eq!(two.people().len(), 1, "Ada has left");
    let now = fs::read(log_of(&shop, &one)).unwrap();
    assert!(now.len() > old.len(), "filled up again from the copy");
    let gone = two.crew.enter_code(&ada(), &ADA_CODE.into(), later(21));
    assert!(matches!(gone, Err(CodeError::NoSuchPerson(_))));
}

/// A card in another tablet's name, and one with other keys than the tablet shows.
#[test]
fn a_forged_card_shows_other_words_than_the_tablet_itself() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.tablet("two");
    let thief = shop.tablet("thief");
    two.meet();
    one.meet();
    let offer = two.crew.offers().remove(0);
    let mut card = card_of(&thief);
    card.tablet = two.id();
    card.name = card_of(&two).name;
    let path = shop.folder.join(format!("members/{}.json", two.id()));
    sealed::write(&path, "trayzero member 1", &card, thief.store.tablet()).unwrap();
    one.meet();
    let asking = one.crew.asking();
    let (_, words) = asking.iter().find(|(c, _)| c.tablet == two.id()).unwrap();
    assert_ne!(*words, offer.words, "the foreman sees that it is another");
    card.key = card_of(&two).key;
    sealed::write(&path, "trayzero member 1", &card, thief.store.tablet()).unwrap();
    one.meet();
    assert!(
        one.crew
            .sight_faults()
            .iter()
            .any(|fault| fault.why == WhyFaulty::OtherCard)
    );
}

/// A member tablet by itself writes the foreman's name under an act, as the version before
/// let every tablet do; and the same act signed by the foreman's own key.
#[test]
fn a_member_tablet_alone_does_not_speak_for_a_person() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let opening = trayzero_core::job::Opening {
        layout: layout(),
        vehicle: "Van 12".into(),
        order_number: None,
        bay: "Bay 1".into(),
        technician: ada(),
    };
    let mut job = two.store.create_job(opening, later(10)).unwrap();
    let by = SignOff::new(mira(), Uuid::from_u128(99));
    let forged = Event::TakenOver { by };
    job.propose(later(11), &ada(), &[forged]).unwrap();
    two.meet();
    one.meet();
    let mut seen = one.store.open_job(job.id()).unwrap();
    assert_eq!(
        seen.state().technician(),
        Some(&mira()),
        "without the shop's keys"
    );
    assert!(seen.set_shop(one.crew.shop()));
    assert_eq!(seen.state().technician(), Some(&ada()));
    assert_eq!(
        seen.state().unconfirmed(),
        1,
        "it is told, and holds the gate"
    );
    one.store.set_shop(one.crew.shop());
    everybody_tells(&shop, &one, job.id(), false);
    let by = two
        .crew
        .enter_code(&mira(), &MIRA_CODE.into(), later(20))
        .unwrap();
    let signed = two.crew.sign(job.id(), Event::TakenOver { by }).unwrap();
    job.propose(later(21), &ada(), &[signed]).unwrap();
    two.meet();
    one.meet();
    assert!(seen.take_foreign().unwrap());
    assert_eq!(
        seen.state().technician(),
        Some(&mira()),
        "her own signature"
    );
    everybody_tells(&shop, &one, job.id(), true);
}

const TOLD: &str =
    "not confirmed: bay taken over, signature of Mira: it is not signed with a key of their own";

/// The list of the bays, both boards, the record and the check: none believes the line that
/// a tablet alone has signed, and whoever tells of it uses the same words.
fn everybody_tells(shop: &Shop, one: &Tablet, job: Uuid, is_taken_over: bool) {
    let technician = if is_taken_over { "Mira" } else { "Ada" };
    let listed = one.store.jobs().unwrap().jobs;
    assert_eq!(listed[0].summary.technician, technician);
    let again = one.store.open_job(job).unwrap();
    assert_eq!(again.state().unconfirmed(), 1);
    let proofs = one.store.proofs().clone();
    let board = Board::of_unfinished(&one.root, Limits::OWN, proofs).unwrap();
    let card = board.card(job).unwrap();
    assert_eq!(card.summary.technician, technician);
    let blocks: Vec<String> = card.blocks.iter().map(|b| EN.block(b, 0)).collect();
    assert_eq!(blocks, [TOLD]);
    let key = one.crew.shop().unwrap().key.to_string();
    let id = job.to_string();
    for folder in [&shop.folder, &one.root] {
        let folder = folder.to_str().unwrap();
        for key in [&["--shop-key", &*key][..], &[]] {
            let run = |args: &[&str]| run_line(&[args, key].concat());
            let (_, board) = run(&["board", folder]);
            let whose = board.contains(technician);
            assert!(whose, "{board}");
            assert!(board.contains(&TOLD[1..]), "{board}");
            let (code, record) = run(&["record", folder, "--job", &id, "--json"]);
            let (record, notes) = record.split_at(record.rfind('}').unwrap() + 1);
            let record: serde_json::Value = serde_json::from_str(record).unwrap();
            assert_eq!(code, 1);
            assert!(notes.contains(TOLD), "{notes}");
            assert_eq!(record["not_signed"][0]["who"], "Mira");
            assert_eq!(record["not_signed"][0]["why"], "missing");
            let technicians = record["crew"]["technicians"].as_array().unwrap();
            assert_eq!(technicians.len(), 1 + usize::from(is_taken_over));
            let (code, check) = run(&["check", folder]);
            assert_eq!(code, 1);
            assert!(check.contains(TOLD), "{check}");
        }
    }
}

fn layout() -> Layout {
    let one = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    Layout::from_json(one.key, one.json.as_bytes()).unwrap()
}

/// A box that somebody else has filled, with the right name and a code of their choice.
#[test]
fn a_forged_box_brings_no_code_in() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let other = Shop::new();
    let thief = other.founded();
    let keys = fs::read_to_string(thief.root.join("keys.json")).unwrap();
    let keys: serde_json::Value = serde_json::from_str(&keys).unwrap();
    let text = serde_json::to_vec(&keys["payload"]["keys"]).unwrap();
    let to = card_of(&two).box_key.unwrap();
    let sealed = trayzero::data::crew::boxes::seal_box(&to, &text).unwrap();
    for from in [one.id(), thief.id()] {
        let path = shop.folder.join(format!("keys/{}/{from}.box", two.id()));
        fs::write(path, &sealed).unwrap();
    }
    two.meet();
    two.signed(&ada(), ADA_CODE);
    two.signed(&mira(), MIRA_CODE);
}

/// Something with a log's name that is no file, and a box that is rubbish: both are told or put
/// right, and what the tablets tell each other arrives all the same.
#[test]
fn what_is_no_file_and_a_box_of_rubbish_hold_up_nothing() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let planted = shop
        .folder
        .join("log/00000000-0000-0000-0000-000000000e0e.jsonl");
    fs::create_dir(&planted).unwrap();
    let link = shop
        .folder
        .join("log/00000000-0000-0000-0000-000000000e0f.jsonl");
    std::os::unix::fs::symlink("/etc/passwd", &link).unwrap();
    let path = shop
        .folder
        .join(format!("keys/{}/{}.box", two.id(), one.id()));
    let put = fs::read(&path).unwrap();
    fs::write(&path, "rubbish").unwrap();
    one.makes(&ada(), Role::Stores, later(5));
    one.meet();
    two.meet();
    assert!(two.people().contains(&("Ada".to_owned(), Role::Stores)));
    for tablet in [&one, &two] {
        for path in [&planted, &link] {
            let mut told = tablet.crew.sight_faults().iter();
            assert!(told.any(|fault| fault.path == *path), "{path:?}");
        }
    }
    let now = fs::read(&path).unwrap();
    assert!(now.len() == put.len() && now != put, "it is filled anew");
    let (code, said) = run_line(&["check", shop.folder.to_str().unwrap()]);
    assert_ne!(code, 0);
    assert!(said.contains("000e0e.jsonl: it is no plain file"), "{said}");
}
