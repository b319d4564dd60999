//! Lines forged, replayed, reordered and rolled back, under each kind of identity.

use trayzero_core::journal::Link;
use trayzero_core::shop_log::{Deed, Line, Role, Shop, StrangerFile, read_log, words_to_compare};
use uuid::Uuid;

use super::support::{Files, Hand, START_MS, add, card, founded, hex, key, mira, tablet};

fn file(n: u8) -> StrangerFile {
    StrangerFile {
        job: Uuid::from_u128(77),
        tablet: tablet(n),
        bytes: 13,
        hash: "ab".repeat(32),
    }
}

/// What a foreman dismisses holds nothing up, in that one form; a tablet of the shop is no
/// stranger.
#[test]
fn a_foreman_dismisses_strangers_files_alone_and_each_in_one_form() {
    let (mut one, _) = founded();
    one.as_mira(START_MS + 2, Deed::FileDismissed { file: file(9) });
    one.as_mira(START_MS + 3, Deed::FileDismissed { file: file(2) });
    let bad = StrangerFile {
        hash: "AB".repeat(32),
        ..file(8)
    };
    one.as_mira(START_MS + 4, Deed::FileDismissed { file: bad });
    let shop = one.shop();
    assert_eq!(shop.dismissed.iter().collect::<Vec<_>>(), [&file(9)]);
    let refused: Vec<u64> = shop.refused.iter().map(|refused| refused.n).collect();
    assert_eq!(refused, [4, 5], "a member's file, and no hash");
    let members = shop.journal_members();
    let (job, hash) = (file(9).job, Link([0xab; 32]));
    assert!(members.dismisses(job, tablet(9), 13, hash));
    for (what, job, n, bytes, hash) in [
        ("another job", Uuid::from_u128(78), 9, 13, hash),
        ("another tablet", job, 8, 13, hash),
        ("another length", job, 9, 14, hash),
        ("another file", job, 9, 13, Link([0xac; 32])),
        ("a member's", job, 2, 13, hash),
    ] {
        assert!(!members.dismisses(job, tablet(n), bytes, hash), "{what}");
    }
    one.as_mira(START_MS + 5, Deed::TabletAdmitted { card: card(9) });
    let members = one.shop().journal_members();
    assert!(
        !members.dismisses(job, tablet(9), 13, hash),
        "a stranger no more"
    );
}

/// What a thief would like to have in the log.
fn wishes() -> Vec<(&'static str, Deed)> {
    let mut own_key = card(1);
    own_key.key = hex(&key(66));
    vec![
        (
            "a foreman of their own",
            add("Eve", Role::Foreman, &key(66)),
        ),
        (
            "a tablet of their own",
            Deed::TabletAdmitted { card: card(66) },
        ),
        (
            "a tablet struck off",
            Deed::TabletStruckOff {
                tablet: tablet(1),
                from_ms: 0,
                stands: Vec::new(),
            },
        ),
        (
            "the first tablet's key changed",
            Deed::TabletKeyChanged {
                card: own_key,
                stands: Vec::new(),
            },
        ),
        (
            "the foreman's key replaced",
            Deed::PersonKeyed {
                name: "Mira".into(),
                key: super::support::person("", Role::Foreman, Some(&key(66))).key,
            },
        ),
        (
            "the foreman's code replaced",
            Deed::PersonRelocked {
                name: "Mira".into(),
                lock: "1".repeat(64),
            },
        ),
        (
            "a technician made foreman",
            Deed::RoleChanged {
                name: "Ada".into(),
                role: Role::Foreman,
            },
        ),
        (
            "the crew emptied",
            Deed::PersonRemoved { name: "Ada".into() },
        ),
        (
            "a stranger's file dismissed",
            Deed::FileDismissed { file: file(9) },
        ),
        ("short codes", Deed::ShortCodes { are_allowed: true }),
        (
            "another shop",
            Deed::Founded {
                tablet: card(66),
                foreman: super::support::person("Mira", Role::Foreman, Some(&key(66))),
                tablets: Vec::new(),
                people: Vec::new(),
                is_taken_over: false,
            },
        ),
    ]
}

/// Every wish under every identity that is not a foreman's: refused, told, nothing changed.
#[test]
fn no_wish_is_granted_to_anybody_but_a_foreman_on_a_member() {
    let (mut one, mut two) = founded();
    let ada = key(102);
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &ada));
    two.hear(&one);
    let before = one.shop();
    let stranger = {
        let mut hand = Hand::new(66);
        hand.hear(&one);
        hand
    };
    let mut as_member = stranger.clone();
    as_member.n = 2;
    let forged_mira = key(67);
    let (mut tried, mut told) = (0, 0);
    for (what, wish) in wishes() {
        let rows = [
            ("a member tablet alone", two.clone(), None),
            ("a technician on a member", two.clone(), Some(("Ada", &ada))),
            (
                "a member in the foreman's name",
                two.clone(),
                Some(("Mira", &forged_mira)),
            ),
            (
                "a technician's key in the foreman's name",
                two.clone(),
                Some(("Mira", &ada)),
            ),
            ("a stranger's tablet", stranger.clone(), None),
            (
                "a stranger in the foreman's name",
                stranger.clone(),
                Some(("Mira", &forged_mira)),
            ),
            (
                "a stranger under a member's name",
                as_member.clone(),
                Some(("Mira", &forged_mira)),
            ),
            ("somebody unknown", two.clone(), Some(("Eve", &forged_mira))),
        ];
        for (who, mut hand, by) in rows {
            for at_ms in [0, START_MS + 3, i64::MAX] {
                let mut hand = hand.clone();
                hand.write(at_ms, by, wish.clone());
                let mut files = one.known.clone();
                for (id, lines) in &hand.known {
                    let known = files.entry(*id).or_default();
                    if lines.len() > known.len() {
                        known.clone_from(lines);
                    }
                }
                let after = Shop::of(one.shop.unwrap(), &files).unwrap();
                tried += 1;
                assert_eq!(after.people, before.people, "{what} by {who}");
                assert_eq!(after.tablets, before.tablets, "{what} by {who}");
                assert_eq!(after.short_codes, before.short_codes, "{what} by {who}");
                told += after.refused.len();
            }
            hand.known.clear();
        }
    }
    println!("wishes tried: {tried}, granted: 0, told: {told}");
    assert_eq!(tried, told);
}

/// A line of a foreman that was true once, put in again at another place.
#[test]
fn replayed_and_reordered_lines_do_not_read() {
    let (mut one, _) = founded();
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &key(102)));
    one.as_mira(START_MS + 3, Deed::PersonRemoved { name: "Ada".into() });
    let lines = &one.known[&tablet(1)];
    let text =
        |order: &[usize]| -> Vec<u8> { order.iter().flat_map(|at| lines[*at].encode()).collect() };
    let whole = read_log(&text(&[0, 1, 2, 3]), tablet(1), &[]);
    assert!(whole.fault.is_none() && whole.lines.len() == 4);
    for (what, order, good) in [
        (
            "the joining put in again at the end",
            vec![0, 1, 2, 3, 2],
            4,
        ),
        ("two lines swapped", vec![0, 1, 3, 2], 2),
        ("a line left out", vec![0, 1, 3], 2),
        ("the founding left out", vec![1, 2, 3], 0),
        ("a line doubled", vec![0, 0, 1, 2, 3], 1),
    ] {
        let read = read_log(&text(&order), tablet(1), &[]);
        assert_eq!(read.lines.len(), good, "{what}");
        assert!(read.fault.is_some(), "{what}");
    }
    let other = read_log(&text(&[0, 1]), tablet(2), &[]);
    assert!(other.lines.is_empty(), "under another tablet's name");
}

/// Cut short, the log reads as far as it goes: whoever has checked more sees that less is
/// there, by length and by the links that others have seen.
#[test]
fn a_log_rolled_back_lacks_what_others_have_seen() {
    let (mut one, mut two) = founded();
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &key(102)));
    two.hear(&one);
    two.as_mira(START_MS + 3, Deed::ShortCodes { are_allowed: true });
    let mut files: Files = two.known.clone();
    files.get_mut(&tablet(1)).unwrap().pop();
    let shop = Shop::of(one.shop.unwrap(), &files).unwrap();
    assert!(!shop.short_codes, "it waits for what it has seen");
    assert_eq!(shop.waiting, [(tablet(2), 1, tablet(1))]);
}

/// One owner tells two tablets two histories: neither stands under what saw the other.
#[test]
fn two_histories_of_one_tablet_do_not_go_together() {
    let (mut one, mut two) = founded();
    let mut fork = one.clone();
    one.as_mira(START_MS + 2, add("Ada", Role::Technician, &key(102)));
    fork.as_mira(START_MS + 2, add("Eve", Role::Technician, &key(110)));
    two.hear(&fork);
    two.as_mira(START_MS + 3, Deed::ShortCodes { are_allowed: true });
    let mut files = one.known.clone();
    files.insert(tablet(2), two.known[&tablet(2)].clone());
    let shop = Shop::of(one.shop.unwrap(), &files).unwrap();
    assert!(!shop.people.contains_key("Eve") && !shop.short_codes);
    assert_eq!(shop.waiting, [(tablet(2), 1, tablet(1))]);
}

/// Every bit of a line, turned over: none reads.
#[test]
fn no_bit_of_a_line_can_be_changed() {
    let (one, _) = founded();
    let lines = &one.known[&tablet(1)];
    let good: Vec<u8> = lines[1].encode();
    let good = good.strip_suffix(b"\n").unwrap();
    Line::decode(good).unwrap();
    let mut tried = 0;
    for at in 0..good.len() {
        for bit in [0, 3, 5] {
            let mut bad = good.to_vec();
            bad[at] ^= 1 << bit;
            assert!(Line::decode(&bad).is_err(), "byte {at}, bit {bit}");
            tried += 1;
        }
    }
    println!("bits turned over in a line of the shop log: {tried}, read: 0");
}

#[test]
fn the_words_tell_shops_tablets_and_keys_apart() {
    let (one, _) = founded();
    let shop = one.shop.unwrap();
    let mut all = std::collections::BTreeSet::new();
    for n in 1..=200 {
        all.insert(words_to_compare(shop, &card(n)));
    }
    let mut other_key = card(1);
    other_key.key = hex(&mira());
    all.insert(words_to_compare(shop, &other_key));
    let mut box_key = card(1);
    box_key.box_key = Some(hex(&mira()));
    all.insert(words_to_compare(shop, &box_key));
    all.insert(words_to_compare(
        trayzero_core::journal::Link([9; 32]),
        &card(1),
    ));
    assert_eq!(all.len(), 203);
}
