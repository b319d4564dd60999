//! A shop at work: admission, loss, a changed key, a forgotten code, and what lies in the
//! folder meanwhile.

use std::fs;

use trayzero::data::crew::{CodeError, Role};
use trayzero_core::job::Person;
use trayzero_core::shop_log::Deed;

use super::shop::{ADA_CODE, JOB, MIRA_CODE, Shop, ada, later, mira};

fn contains(bytes: &[u8], text: &str) -> bool {
    bytes
        .windows(text.len())
        .any(|part| part == text.as_bytes())
}

#[test]
fn a_tablet_counts_for_nothing_until_a_foreman_admits_it_and_then_people_sign_there() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.tablet("two");
    two.meet();
    one.meet();
    assert!(!one.crew.shop().unwrap().tablets.contains_key(&two.id()));
    assert_eq!(one.crew.asking().len(), 1);
    let offer = two.crew.offers().remove(0);
    assert!(!offer.is_admitted);
    assert!(matches!(
        two.crew.enter_code(&ada(), &ADA_CODE.into(), later(1)),
        Err(CodeError::NoSuchPerson(_))
    ));
    let mut two = shop.admitted(&mut one, "two");
    assert_eq!(two.people(), one.people());
    let signed = two.signed(&ada(), ADA_CODE);
    for tablet in [&one, &two] {
        tablet.crew.shop().unwrap().proves(JOB, &signed).unwrap();
    }
    assert!(two.crew.is_member() && one.crew.asking().is_empty());
}

#[test]
fn a_lost_tablet_is_struck_off_everywhere_and_what_it_tries_later_counts_for_nothing() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let mut three = shop.admitted(&mut one, "three");
    let by = one.agreed();
    one.crew
        .change(
            Deed::TabletStruckOff {
                tablet: two.id(),
                from_ms: later(10).at_ms,
                stands: Vec::new(),
            },
            by,
            later(10),
        )
        .unwrap();
    // The thief has the tablet and even the foreman's code, but has not heard of it.
    let by = two.agreed();
    two.crew
        .add("Eve", Role::Foreman, Some(&"thief-99".into()), by, later(5))
        .unwrap();
    one.meet();
    two.meet();
    three.meet();
    one.meet();
    for tablet in [&one, &three] {
        let known = tablet.crew.shop().unwrap();
        assert!(known.tablets[&two.id()].struck_from_ms.is_some());
        assert!(!known.people.contains_key("Eve"), "{:?}", tablet.people());
        assert!(
            tablet.crew.asking().is_empty(),
            "its key does not come back"
        );
    }
    assert!(two.crew.is_struck_off() && !one.crew.is_struck_off());
}

#[test]
fn a_forgotten_code_is_replaced_with_a_new_key_on_every_tablet() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let before = two.signed(&ada(), ADA_CODE);
    let by = two.agreed();
    two.crew
        .set_code(&ada(), &"anvil-5".into(), by, later(100))
        .unwrap();
    two.meet();
    one.meet();
    one.crew.shop().unwrap().proves(JOB, &before).unwrap();
    let old = one.crew.enter_code(&ada(), &ADA_CODE.into(), later(101));
    assert!(matches!(old, Err(CodeError::Wrong { .. })), "{old:?}");
    one.crew
        .enter_code(&ada(), &"anvil-5".into(), later(102))
        .unwrap();
}

#[test]
fn ones_own_code_changed_on_one_tablet_works_on_the_other_with_the_same_key() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let key = one.crew.shop().unwrap().people["Ada"]
        .key()
        .unwrap()
        .to_owned();
    two.crew
        .change_code(&ada(), &ADA_CODE.into(), &"hammer".into(), later(50))
        .unwrap();
    two.meet();
    one.meet();
    one.crew
        .enter_code(&ada(), &"hammer".into(), later(51))
        .unwrap();
    let now = one.crew.shop().unwrap().people["Ada"].key().unwrap();
    assert_eq!(now, key);
}

#[test]
fn codes_of_four_digits_need_the_shops_word() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let by = one.agreed();
    let short = one.crew.set_code(&ada(), &"2580".into(), by, later(5));
    assert!(matches!(short, Err(CodeError::TooSimple)));
    let by = one.agreed();
    let deed = Deed::ShortCodes { are_allowed: true };
    one.crew.change(deed, by, later(6)).unwrap();
    let by = one.agreed();
    one.crew
        .set_code(&ada(), &"2580".into(), by, later(7))
        .unwrap();
    one.crew
        .enter_code(&ada(), &"2580".into(), later(8))
        .unwrap();
}

/// Nothing that a code can be tried on lies in the shop folder: not the form, not its salt,
/// not what it locks, in hex or otherwise; and no code.
#[test]
fn nothing_in_the_shop_folder_lets_a_code_be_guessed() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    shop.admitted(&mut one, "three");
    two.crew
        .change_code(&ada(), &ADA_CODE.into(), &"hammer".into(), later(50))
        .unwrap();
    two.meet();
    one.meet();
    let bytes = shop.bytes();
    let mut looked_for = 0;
    for tablet in ["one", "two", "three"] {
        let root = shop.scratch.path().join(tablet);
        let keys = fs::read_to_string(root.join("keys.json")).unwrap();
        let keys: serde_json::Value = serde_json::from_str(&keys).unwrap();
        for (name, form) in keys["payload"]["keys"].as_object().unwrap() {
            for field in ["salt", "nonce", "secret"] {
                let hex = form[field].as_str().unwrap();
                let raw: Vec<u8> = (0..hex.len() / 2)
                    .map(|at| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16).unwrap())
                    .collect();
                assert!(!contains(&bytes, hex), "{field} of {name}");
                assert!(!bytes.windows(raw.len()).any(|part| part == raw));
                looked_for += 1;
            }
        }
        for file in ["box.key", "tablet.key"] {
            let secret = fs::read_to_string(root.join(file)).unwrap();
            assert!(!contains(&bytes, secret.trim()), "{file}");
            looked_for += 1;
        }
    }
    for text in ["argon2", "\"salt\"", MIRA_CODE, "hammer"] {
        assert!(!contains(&bytes, text), "{text}");
    }
    println!(
        "secrets looked for in the shop folder's {} bytes: {looked_for}, found: 0",
        bytes.len()
    );
    assert!(looked_for >= 20);
}

#[test]
fn a_tablet_restored_from_a_backup_comes_back_with_a_foremans_code() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let into = shop.scratch.path().join("backups");
    let backup = trayzero::data::backup::back_up(&one.store, &into, later(5)).unwrap();
    let root = shop.scratch.path().join("restored");
    let restored = trayzero::data::backup::restore(&backup.folder, &root, later(6)).unwrap();
    drop(restored);
    let mut again = shop.tablet("restored");
    assert_eq!(again.crew.fault(), None);
    assert!(!again.crew.is_member());
    let wrong = again.crew.come_back(&mira(), &"wrong-1".into(), later(7));
    assert!(matches!(wrong, Err(CodeError::Wrong { .. })));
    again
        .crew
        .come_back(&mira(), &MIRA_CODE.into(), later(8))
        .unwrap();
    again.meet();
    one.meet();
    assert!(
        one.crew
            .shop()
            .unwrap()
            .is_member(again.id(), &again.store.tablet().public_key())
    );
    let signed = again.signed(&ada(), ADA_CODE);
    one.crew.shop().unwrap().proves(JOB, &signed).unwrap();
}

#[test]
fn roles_and_leaving_reach_every_tablet() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    one.makes(&ada(), Role::Stores, later(5));
    let by = one.agreed();
    one.crew
        .add("Ben", Role::Second, Some(&"count-8".into()), by, later(6))
        .unwrap();
    one.meet();
    two.meet();
    let expected = [
        ("Ada", Role::Stores),
        ("Ben", Role::Second),
        ("Mira", Role::Foreman),
    ];
    let expected: Vec<_> = expected.map(|(n, r)| (n.to_owned(), r)).into();
    assert_eq!(two.people(), expected);
    two.crew
        .enter_code(&Person::new("Ben"), &"count-8".into(), later(7))
        .unwrap();
    let by = two.agreed();
    let name = "Ben".to_owned();
    let deed = Deed::PersonRemoved { name };
    two.crew.change(deed, by, later(8)).unwrap();
    two.meet();
    one.meet();
    assert_eq!(one.people().len(), 2);
}
