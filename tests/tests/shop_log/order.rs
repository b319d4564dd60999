//! Two who write while cut off: the outcome is one, and what was taken away stays away.

use trayzero_core::shop_log::{Deed, Role};

use super::support::{START_MS, add, card, founded, hex, key, mira, person, tablet};

#[test]
fn two_that_append_while_cut_off_come_to_one_shop_in_whatever_order_they_meet() {
    let (mut one, mut two) = founded();
    one.as_mira(START_MS + 10, add("Ada", Role::Technician, &key(102)));
    two.as_mira(START_MS + 5, add("Ben", Role::Second, &key(103)));
    two.as_mira(START_MS + 6, Deed::ShortCodes { are_allowed: true });
    let (before_one, before_two) = (one.clone(), two.clone());
    one.hear(&before_two);
    two.hear(&before_one);
    let shop = one.shop();
    assert_eq!(shop, two.shop());
    let names: Vec<&str> = shop.people.keys().map(String::as_str).collect();
    assert_eq!(names, ["Ada", "Ben", "Mira"]);
    assert!(shop.short_codes && shop.refused.is_empty());
}

#[test]
fn what_a_struck_tablet_writes_without_knowing_counts_for_nothing_under_any_date() {
    for backdated_ms in [-1_000_000_000, -1, 0, 1_000_000_000] {
        let (mut one, mut two) = founded();
        two.as_mira(START_MS + 2, add("Ada", Role::Technician, &key(102)));
        one.hear(&two);
        let mut thief = two.clone();
        one.as_mira(
            START_MS + 10,
            Deed::TabletStruckOff {
                tablet: tablet(2),
                from_ms: START_MS + 9,
                stands: Vec::new(),
            },
        );
        thief.as_mira(
            START_MS + 10 + backdated_ms,
            add("Eve", Role::Foreman, &key(110)),
        );
        thief.as_mira(
            START_MS + 11 + backdated_ms,
            Deed::TabletAdmitted { card: card(66) },
        );
        one.hear(&thief);
        thief.hear(&one);
        let shop = one.shop();
        assert_eq!(shop, thief.shop());
        assert!(
            shop.people.contains_key("Ada"),
            "what it signed before stands"
        );
        assert!(!shop.people.contains_key("Eve"));
        assert!(!shop.tablets.contains_key(&tablet(66)));
        assert_eq!(shop.tablets[&tablet(2)].struck_from_ms, Some(START_MS + 9));
        assert_eq!(shop.refused.len(), 2);
    }
}

#[test]
fn a_struck_tablet_comes_back_only_with_a_new_key() {
    let (mut one, two) = founded();
    let strike = Deed::TabletStruckOff {
        tablet: tablet(2),
        from_ms: START_MS + 9,
        stands: Vec::new(),
    };
    one.as_mira(START_MS + 10, strike);
    one.as_mira(START_MS + 11, Deed::TabletAdmitted { card: card(2) });
    assert!(!one.shop().is_member(tablet(2), &hex(&two.key)));
    let mut anew = card(2);
    anew.key = hex(&key(22));
    one.as_mira(START_MS + 12, Deed::TabletAdmitted { card: anew });
    assert!(one.shop().is_member(tablet(2), &hex(&key(22))));
    assert!(!one.shop().is_member(tablet(2), &hex(&two.key)));
}

#[test]
fn a_role_taken_away_wins_over_what_its_holder_writes_meanwhile() {
    let (mut one, mut two) = founded();
    let eve = key(110);
    one.as_mira(START_MS + 2, add("Eve", Role::Foreman, &eve));
    two.hear(&one);
    one.as_mira(
        START_MS + 10,
        Deed::RoleChanged {
            name: "Eve".into(),
            role: Role::Technician,
        },
    );
    two.write(
        START_MS + 3,
        Some(("Eve", &eve)),
        add("Accomplice", Role::Foreman, &key(111)),
    );
    one.hear(&two);
    let shop = one.shop();
    assert_eq!(shop.people["Eve"].role, Role::Technician);
    assert!(!shop.people.contains_key("Accomplice"));
}

#[test]
fn two_foremen_who_remove_each_other_leave_the_one_who_joined_first() {
    let (mut one, mut two) = founded();
    let eve = key(110);
    one.as_mira(START_MS + 2, add("Eve", Role::Foreman, &eve));
    two.hear(&one);
    let remove = |name: &str| Deed::PersonRemoved { name: name.into() };
    one.as_mira(START_MS + 10, remove("Eve"));
    two.write(START_MS + 3, Some(("Eve", &eve)), remove("Mira"));
    one.hear(&two);
    let shop = one.shop();
    assert!(shop.people["Mira"].can_agree() && shop.people["Eve"].has_left);
}

#[test]
fn a_removal_by_nobody_moves_nothing_to_the_front() {
    let (mut one, mut two) = founded();
    two.as_mira(START_MS + 2, Deed::TabletAdmitted { card: card(3) });
    let mut thief = two.clone();
    one.as_mira(
        START_MS + 10,
        Deed::TabletStruckOff {
            tablet: tablet(2),
            from_ms: START_MS,
            stands: Vec::new(),
        },
    );
    // It knows of what it wants to save, and claims to take something away itself.
    thief.as_mira(START_MS, add("Eve", Role::Foreman, &key(110)));
    thief.write(
        START_MS,
        None,
        Deed::PersonRemoved {
            name: "Mira".into(),
        },
    );
    one.hear(&thief);
    let shop = one.shop();
    assert!(!shop.people.contains_key("Eve") && shop.people["Mira"].can_agree());
}

#[test]
fn the_last_foreman_and_the_last_tablet_cannot_be_lost() {
    let (mut one, _) = founded();
    let before = one.shop();
    let name = || "Mira".to_owned();
    for deed in [
        Deed::PersonRemoved { name: name() },
        Deed::PersonKeyed {
            name: name(),
            key: None,
        },
        Deed::RoleChanged {
            name: name(),
            role: Role::Stores,
        },
    ] {
        one.as_mira(START_MS + 5, deed);
    }
    assert_eq!(one.shop().people, before.people);
    for n in [2, 1] {
        let strike = Deed::TabletStruckOff {
            tablet: tablet(n),
            from_ms: START_MS + 6,
            stands: Vec::new(),
        };
        one.as_mira(START_MS + 6, strike);
    }
    let shop = one.shop();
    let members: Vec<_> = shop.members().map(|(id, _)| id).collect();
    assert_eq!(members, [tablet(1)]);
}

#[test]
fn a_restored_tablet_lets_itself_in_with_the_foremans_key_alone() {
    let (one, _) = founded();
    let mut restored = super::support::Hand::new(7);
    restored.hear(&one);
    let mut without = restored.clone();
    without.write(START_MS + 3, None, Deed::TabletAdmitted { card: card(7) });
    assert!(!without.shop().is_member(tablet(7), &hex(&key(7))));
    let mut other = restored.clone();
    other.as_mira(START_MS + 3, Deed::TabletAdmitted { card: card(8) });
    assert!(
        !other.shop().is_member(tablet(8), &hex(&key(8))),
        "not another one"
    );
    restored.as_mira(START_MS + 3, Deed::TabletAdmitted { card: card(7) });
    assert!(restored.shop().is_member(tablet(7), &hex(&key(7))));
}

#[test]
fn somebody_taken_over_makes_a_key_once_and_a_second_one_is_refused() {
    let mut one = super::support::Hand::new(1);
    let mut ada = person("Ada", Role::Technician, None);
    ada.has_old_code = true;
    let link = one.as_mira(
        START_MS,
        Deed::Founded {
            tablet: card(1),
            foreman: person("Mira", Role::Foreman, Some(&mira())),
            tablets: vec![card(2)],
            people: vec![ada],
            is_taken_over: true,
        },
    );
    one.shop = Some(link);
    for (n, own) in [(102, true), (103, false)] {
        let made = person("Ada", Role::Technician, Some(&key(n))).key.unwrap();
        let deed = Deed::PersonKeyMade {
            name: "Ada".into(),
            key: made,
        };
        one.write(START_MS + 1, Some(("Ada", &key(n))), deed);
        assert_eq!(one.shop().people["Ada"].key() == Some(&*hex(&key(n))), own);
    }
}
