//! A shop made by the version before: it opens, a foreman takes it over once, old codes go
//! on until they are changed.

use std::collections::BTreeSet;
use std::fs;
use std::sync::Arc;

use serde::Serialize;
use trayzero::data::crew::{CodeError, Role};
use trayzero::data::store::{Clock, SetClock, Store, sealed};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::{Intent, ShopChange, TypedCode};
use trayzero_core::job::{Event, Person};
use trayzero_core::shop_log::TabletCard;
use uuid::Uuid;

use super::shop::{JOB, Shop, Tablet, ada, card_of, later, mira};

/// One-way forms of codes as the version before kept them: made with another program for
/// argon2id (argon2-cffi from `PyPI`), for "forge-71", "2580" and "7913".
const OLD: [(&str, &str, &str, &str); 3] = [
    (
        "Mira",
        "foreman",
        "forge-71",
        "$argon2id$v=19$m=64,t=1,p=1$kwMg103lGTXmrYf9lqO2lw$6AVNf7MluejjDon6tgfSdz5ogf01CAOcl0VM5MtuVlE",
    ),
    (
        "Ada",
        "technician",
        "2580",
        "$argon2id$v=19$m=64,t=1,p=1$79k+FWkM0lkwmHHA0mCwag$A1jJTP06ueReBoe1kN6sp0behpazuUqXT7u+ekqFnBw",
    ),
    (
        "Ben",
        "technician",
        "7913",
        "$argon2id$v=19$m=64,t=1,p=1$bkrj7M6JAo/cjRc6+BTlqg$zDq/fZwQ0PxwF34nypDhVNuSMOOW6+5Ngss7vrOczZs",
    ),
];

/// A crew list with its fields in the order in which the version before wrote them.
#[derive(Serialize)]
struct OldList {
    format: u32,
    members: Vec<OldPerson>,
}

#[derive(Serialize)]
struct OldPerson {
    name: &'static str,
    role: &'static str,
    code: &'static str,
    left: bool,
    changed: (u64, u32),
    by: Uuid,
}

/// A tablet whose data folder the version before has left.
fn old_tablet(shop: &Shop, name: &str) -> Tablet {
    let tablet = shop.tablet(name);
    let people = OLD.map(|(name, role, _, code)| OldPerson {
        name,
        role,
        code,
        left: false,
        changed: (1_795_000_000_000, 0),
        by: tablet.id(),
    });
    let list = OldList {
        format: 1,
        members: people.into(),
    };
    let path = tablet.root.join("crew.json");
    sealed::write(&path, "trayzero crew 1", &list, tablet.store.tablet()).unwrap();
    fs::create_dir_all(shop.folder.join("crew")).unwrap();
    let there = shop.folder.join(format!("crew/{}.json", tablet.id()));
    fs::copy(&path, there).unwrap();
    drop(tablet);
    shop.tablet(name)
}

#[test]
fn a_crew_of_the_version_before_signs_as_before_until_it_is_taken_over() {
    let shop = Shop::new();
    let mut one = old_tablet(&shop, "one");
    assert_eq!(one.crew.fault(), None);
    assert!(one.crew.wants_taking_over() && !one.crew.wants_first_foreman());
    assert_eq!(one.people().len(), 3);
    let sign = one
        .crew
        .enter_code(&ada(), &"2580".into(), later(1))
        .unwrap();
    let event = one.crew.sign(JOB, Event::TakenOver { by: sign }).unwrap();
    assert!(event.signatures().all(|sign| sign.proof.is_none()));
    let by = one
        .crew
        .approve(&mira(), &"forge-71".into(), later(2))
        .unwrap();
    let added = one.crew.add("Cy", Role::Technician, None, by, later(3));
    assert!(matches!(added, Err(CodeError::TakeOverFirst)), "{added:?}");
}

#[test]
fn a_foreman_takes_it_over_once_and_old_codes_make_keys() {
    let shop = Shop::new();
    let mut one = old_tablet(&shop, "one");
    let wrong = one
        .crew
        .take_over(&mira(), &"2580".into(), Vec::new(), later(1));
    assert!(matches!(wrong, Err(CodeError::Wrong { .. })));
    let by_ada = one
        .crew
        .take_over(&ada(), &"2580".into(), Vec::new(), later(1));
    assert!(matches!(by_ada, Err(CodeError::NoForeman(_))));
    one.crew
        .take_over(&mira(), &"forge-71".into(), Vec::new(), later(2))
        .unwrap();
    let again = one
        .crew
        .take_over(&mira(), &"forge-71".into(), Vec::new(), later(3));
    assert!(matches!(again, Err(CodeError::NotTheFirst)));
    assert!(one.root.join("crew.json.taken-over").exists());
    let shop_now = one.crew.shop().unwrap();
    assert!(shop_now.is_taken_over && shop_now.people["Ada"].has_old_code);
    let wrong = one.crew.enter_code(&ada(), &"2581".into(), later(4));
    assert!(matches!(wrong, Err(CodeError::Wrong { .. })));
    let signed = one.signed(&ada(), "2580");
    one.crew.shop().unwrap().proves(JOB, &signed).unwrap();
    assert!(one.crew.shop().unwrap().people["Ada"].key().is_some());
    let mut again = shop.tablet("one");
    again.signed(&ada(), "2580");
    again.signed(&Person::new("Ben"), "7913");
    one = shop.tablet("one");
    // What is no crew list is nobody's to take away.
    let others = ["settings.json", "notes.txt"].map(|name| shop.folder.join("crew").join(name));
    for other in &others {
        fs::write(other, "{}").unwrap();
    }
    one.meet();
    let left = fs::read_dir(shop.folder.join("crew")).unwrap();
    let left: BTreeSet<_> = left.map(|name| name.unwrap().path()).collect();
    assert_eq!(left, BTreeSet::from(others));
}

/// The other tablet of that shop is taken over with it, and joins with the words on both.
#[test]
fn the_other_tablet_comes_along_and_its_people_keep_their_codes() {
    let shop = Shop::new();
    let mut one = old_tablet(&shop, "one");
    let mut two = old_tablet(&shop, "two");
    let mut pinned = two.crew.own_card();
    pinned.box_key = None;
    one.crew
        .take_over(&mira(), &"forge-71".into(), vec![pinned], later(2))
        .unwrap();
    one.meet();
    two.meet();
    let offer = two.crew.offers().remove(0);
    assert!(offer.is_admitted, "taken over");
    let alone = two.crew.join_shop(offer.key, None, later(3));
    assert!(
        matches!(alone, Err(CodeError::NotTheFirst)),
        "its own foreman agrees"
    );
    let code = "forge-71".into();
    two.crew
        .join_shop(offer.key, Some((&mira(), &code)), later(3))
        .unwrap();
    let signed = two.signed(&ada(), "2580");
    for _ in 0..4 {
        one.meet();
        two.meet();
    }
    one.crew.shop().unwrap().proves(JOB, &signed).unwrap();
    one.signed(&ada(), "2580");
    let known = &one.crew.shop().unwrap().tablets[&two.id()];
    assert!(
        known.box_key.is_some(),
        "it has said under which key secrets reach it"
    );
    two.signed(&mira(), "forge-71");
}

/// Whoever writes to the folder shows a tablet there as well. The foreman ticks those that are
/// theirs, and no other becomes a member.
#[test]
fn a_foreman_says_which_tablets_of_the_version_before_are_the_shops() {
    let shop = Shop::new();
    let [mut one, mut two, mut thief] = ["one", "two", "thief"].map(|name| {
        let mut tablet = old_tablet(&shop, name);
        // It has a sheet of tries, as a tablet that was in use has.
        tablet
            .crew
            .enter_code(&ada(), &"2580".into(), later(1))
            .unwrap();
        tablet.meet();
        tablet
    });
    for tablet in [&mut two, &mut thief, &mut one] {
        tablet.meet();
    }
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(later(9)));
    let mut desk = Desk::open(Store::open(&one.root, later(9)).unwrap(), clock).unwrap();
    let by = (mira(), TypedCode("forge-71".to_owned()));
    let change = ShopChange::TakeOver([two.id()].into());
    let done = desk.carry_out(Intent::ChangeShop { change, by });
    assert_eq!(done, Outcome::Taken, "{:?}", desk.view().notice);
    let tablets = &desk.view().membership.tablets;
    let ids: BTreeSet<_> = tablets.iter().map(|tablet| tablet.id).collect();
    assert_eq!(ids, BTreeSet::from([one.id(), two.id()]));
}

/// More tablets than a shop can have: the taking over is refused, and nothing is spoiled.
#[test]
fn a_founding_that_would_not_hold_is_not_written() {
    let shop = Shop::new();
    let mut one = old_tablet(&shop, "one");
    let cards = (1..=300).map(|n| TabletCard {
        tablet: Uuid::from_u128(n),
        ..card_of(&one)
    });
    let cards = cards.collect();
    let code = "forge-71".into();
    let full = one.crew.take_over(&mira(), &code, cards, later(2));
    assert!(matches!(full, Err(CodeError::Disk(_))), "{full:?}");
    let mut again = shop.tablet("one");
    assert_eq!(again.crew.fault(), None);
    assert!(again.crew.wants_taking_over());
    again
        .crew
        .take_over(&mira(), &code, Vec::new(), later(3))
        .unwrap();
}
