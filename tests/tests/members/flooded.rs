//! Somebody fills the shop folder with what would pass for a tablet's or a shop's own. What is
//! honest is still found, and no more is read than is stated.

use std::fs::{self, File};
use std::path::Path;

use trayzero::data::crew::{CrewFault, WhyFaulty};
use trayzero_core::shop_log::WhyRefused;
use uuid::Uuid;

use super::pen::{self, Log, key};
use super::shop::{MIRA_CODE, START, Shop, Tablet, card_of, later, mira};

const EVE: u8 = 66;
/// More than is read of any kind in one round; every name comes before an honest one.
const RUBBISH: u128 = 600;

fn put_card(folder: &Path, tablet: Uuid, name: &str) {
    let key = pen::public(&key(EVE));
    let card = format!("{{\"tablet\":\"{tablet}\",\"name\":\"{name}\",\"key\":\"{key}\"}}");
    let text = pen::sealed("trayzero member 1", &card, &pen::key(EVE));
    fs::write(folder.join(format!("members/{tablet}.json")), text).unwrap();
}

/// Cards, whole shops and boxes: each sealed by a key of its own, as an honest one is.
fn fill(shop: &Shop, newcomer: Uuid) {
    let boxes = shop.folder.join(format!("keys/{newcomer}"));
    fs::create_dir_all(&boxes).unwrap();
    for n in 1..=RUBBISH {
        let tablet = Uuid::from_u128(n);
        put_card(&shop.folder, tablet, &format!("Tablet {n}"));
        fs::write(boxes.join(format!("{tablet}.box")), "rubbish").unwrap();
        let mut log = Log::new(tablet, key(EVE), None);
        let (card, mira) = (
            pen::card(tablet, &key(EVE)),
            pen::person("Mira", "foreman", &key(EVE)),
        );
        let founded = format!("{{\"founded\":{{\"tablet\":{card},\"foreman\":{mira}}}}}");
        log.line(START.at_ms, &founded, Some(("Mira", &key(EVE))));
        log.put(&shop.folder);
    }
}

fn is_too_many(fault: &CrewFault) -> bool {
    matches!(fault.why, WhyFaulty::TooMany(..))
}

fn told_too_many(tablet: &Tablet) -> Vec<String> {
    let faults = tablet.crew.sight_faults().iter();
    faults
        .filter(|fault| is_too_many(fault))
        .map(ToString::to_string)
        .collect()
}

#[test]
fn an_honest_tablet_comes_into_a_shop_whose_folder_somebody_has_filled() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut two = shop.tablet("two");
    two.meet();
    fill(&shop, two.id());
    for _ in 0..5 {
        one.meet();
        two.meet();
    }
    let asking = one.crew.asking();
    assert_eq!(
        asking.len(),
        RUBBISH as usize + 1,
        "every one is read in the end"
    );
    let (card, words) = asking.iter().find(|(c, _)| c.tablet == two.id()).unwrap();
    assert_eq!(*card, card_of(&two));
    let by = one.agreed();
    one.crew
        .admit(card.clone(), Vec::new(), by, later(3))
        .unwrap();
    one.meet();
    two.meet();
    let offers = two.crew.offers();
    assert_eq!(offers.len(), RUBBISH as usize + 1);
    let offer = offers.iter().find(|offer| offer.words == *words).unwrap();
    assert!(offer.is_admitted);
    assert_eq!(Some(offer.key), one.crew.shop().map(|shop| shop.key));
    two.crew.join_shop(offer.key, None, later(4)).unwrap();
    for _ in 0..2 {
        one.meet();
        two.meet();
    }
    assert!(two.crew.is_member());
    let mira_signs = two.crew.enter_code(&mira(), &MIRA_CODE.into(), later(5));
    assert!(mira_signs.is_ok(), "her key has come: {mira_signs:?}");
    for tablet in [&one, &two] {
        let told = told_too_many(tablet);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains("log: 600 files, of which 200"), "{told:?}");
    }
}

#[test]
fn a_folder_of_long_logs_and_long_names_is_not_read_whole() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let two = shop.admitted(&mut one, "two");
    let before = one.people();
    for n in 1..=20 {
        let path = shop
            .folder
            .join(format!("log/{}.jsonl", Uuid::from_u128(n)));
        File::create(path).unwrap().set_len(15 << 20).unwrap();
        put_card(&shop.folder, Uuid::from_u128(n), &"M".repeat(100_000));
    }
    let (peak, ()) = peak_of(|| one.meet());
    // Three hundred MB lie there.
    assert!(peak < 32 << 20, "{peak} bytes");
    assert_eq!(one.crew.asking(), [], "no such name is shown");
    let faults = one.crew.sight_faults();
    assert!(faults.iter().any(is_too_many), "{faults:?}");
    let no_name = WhyFaulty::NoCard(WhyRefused::NoName);
    let no_names = faults.iter().filter(|fault| fault.why == no_name).count();
    assert_eq!(no_names, 20);
    assert_eq!(one.people(), before);
    assert!(
        one.crew
            .shop()
            .unwrap()
            .is_member(two.id(), &card_of(&two).key)
    );
}

/// By how much the most memory that this process has held grew meanwhile, in bytes.
fn peak_of<T>(work: impl FnOnce() -> T) -> (u64, T) {
    let peak = || {
        let status = fs::read_to_string("/proc/self/status").unwrap();
        let line = status
            .lines()
            .find(|line| line.starts_with("VmHWM"))
            .unwrap();
        let kib: u64 = line.split_whitespace().nth(1).unwrap().parse().unwrap();
        kib << 10
    };
    fs::write("/proc/self/clear_refs", "5").unwrap();
    let before = peak();
    let done = work();
    (peak() - before, done)
}
