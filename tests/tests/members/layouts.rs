//! Layouts that travel: what one tablet keeps is on all of them, with who made it, where and
//! when; two edits made apart both stay; and what no member has sealed comes nowhere.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use trayzero::data::layouts::{LayoutLibrary, LibraryEntry, Origin};
use trayzero::data::own_layouts;
use trayzero::data::shared_layouts::{keep, library_of, offer, shared_folder, version_path};
use trayzero::data::store::{Stamp, Store, sealed};
use trayzero_core::engine::{Layout, shipped};

use super::shop::{Shop, Tablet, later};

fn layout(name: &str, bore_mm: f64) -> Layout {
    let one = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    let mut layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
    name.clone_into(&mut layout.name);
    layout.bore_mm = bore_mm;
    layout
}

/// Keeps a layout as the editor does: an own file, and a version of it. Gives its name.
fn kept(tablet: &Tablet, layout: &Layout, who: &str, from: &[&str], now: Stamp) -> String {
    let folder = tablet.store.layouts_folder();
    let stem = own_layouts::free_stem(&folder, &layout.name).unwrap();
    own_layouts::save(&folder, &stem, layout).unwrap();
    let from = from.iter().map(|name| (*name).to_owned()).collect();
    keep(&folder, layout, (who, from), (tablet.store.tablet(), now)).unwrap()
}

fn library(tablet: &Tablet) -> LayoutLibrary {
    library_of(&tablet.store.layouts_folder(), tablet.id())
}

/// What is offered besides what comes with the program: name, bore, tablet, person.
fn offered(tablet: &Tablet) -> Vec<(String, f64, String, String)> {
    let library = library(tablet);
    let others = library
        .entries
        .iter()
        .filter(|entry| entry.origin != Origin::Shipped);
    others.map(told).collect()
}

fn told(entry: &LibraryEntry) -> (String, f64, String, String) {
    let made = entry.made.as_ref();
    (
        entry.layout.name.clone(),
        entry.layout.bore_mm,
        made.map_or(String::new(), |made| made.tablet.clone()),
        made.map_or(String::new(), |made| made.who.clone()),
    )
}

fn row(name: &str, bore_mm: f64, tablet: &Tablet, who: &str) -> (String, f64, String, String) {
    let tablet = tablet.store.tablet().name().to_owned();
    (name.to_owned(), bore_mm, tablet, who.to_owned())
}

/// Three tablets of one shop, with names of their own.
fn three(shop: &Shop) -> [Tablet; 3] {
    let mut one = shop.founded();
    let mut two = shop.admitted(&mut one, "two");
    let mut three = shop.admitted(&mut one, "three");
    for (tablet, name) in [(&mut one, "Bench"), (&mut two, "Yard"), (&mut three, "Van")] {
        tablet.store.rename_tablet(name, later(5)).unwrap();
        tablet.exchange = trayzero::shop::Exchange::new(&tablet.store.for_exchange(), &shop.folder);
    }
    [one, two, three]
}

fn there(shop: &Shop) -> PathBuf {
    shop.folder.join("layouts")
}

/// The faults that a round tells of files below `layouts`.
fn faults(tablet: &mut Tablet) -> Vec<String> {
    let round = tablet.exchange.round();
    assert_eq!(round.fault, None);
    if let Some(sight) = round.sight {
        tablet.crew.take_sight(sight, later(6)).unwrap();
    }
    let all = round.file_faults.iter().map(ToString::to_string);
    all.filter(|fault| fault.contains("/layouts/")).collect()
}

#[test]
fn what_one_tablet_keeps_is_on_all_of_them_also_on_one_that_was_away() {
    let shop = Shop::new();
    let [mut one, mut two, mut three] = three(&shop);
    assert!(!there(&shop).exists(), "nobody has made any");
    let first = kept(&one, &layout("Yard pump", 86.0), "Mira", &[], later(60));
    one.meet();
    let round = two.exchange.round();
    assert!(round.layouts, "the screens hear of it");
    let expected = [row("Yard pump", 86.0, &one, "Mira")];
    assert_eq!(offered(&two), expected);
    assert_eq!(offered(&one), expected, "and its own tablet says the same");
    let made = library(&two).entries[0].made.clone().unwrap();
    assert_eq!((made.at_ms, made.is_own), (later(60).at_ms, false));
    assert!(!two.exchange.round().layouts, "once");

    // Changed on the second one while the third is away.
    kept(
        &two,
        &layout("Yard pump", 87.0),
        "Ada",
        &[&first],
        later(90),
    );
    two.meet();
    one.meet();
    three.meet();
    let expected = [row("Yard pump", 87.0, &two, "Ada")];
    for tablet in [&one, &two, &three] {
        assert_eq!(offered(tablet), expected);
    }
    let replaced: Vec<_> = library(&one).replaced.iter().map(told).collect();
    assert_eq!(
        replaced,
        [row("Yard pump", 86.0, &one, "Mira")],
        "the own file stays"
    );
    // Somebody has emptied the folder: whoever comes first fills it again.
    fs::remove_dir_all(there(&shop)).unwrap();
    three.meet();
    assert_eq!(fs::read_dir(there(&shop)).unwrap().count(), 2);
}

#[test]
fn two_edits_made_apart_are_both_offered_and_each_names_the_other() {
    let shop = Shop::new();
    let [mut one, mut two, mut three] = three(&shop);
    let first = kept(&one, &layout("Yard pump", 86.0), "Mira", &[], later(60));
    for tablet in [&mut one, &mut two, &mut three] {
        tablet.meet();
    }
    let by_two = kept(
        &two,
        &layout("Yard pump", 87.0),
        "Ada",
        &[&first],
        later(90),
    );
    let by_three = kept(
        &three,
        &layout("Yard pump", 88.0),
        "Noor",
        &[&first],
        later(95),
    );
    for _ in 0..2 {
        for tablet in [&mut one, &mut two, &mut three] {
            tablet.meet();
        }
    }
    let rows = [
        row("Yard pump", 88.0, &three, "Noor"),
        row("Yard pump", 87.0, &two, "Ada"),
    ];
    assert_eq!(offered(&one), rows, "the newest first");
    for tablet in [&one, &two, &three] {
        let library = library(tablet);
        let mut entries: Vec<&LibraryEntry> = library.entries.iter().collect();
        entries.retain(|entry| entry.origin != Origin::Shipped);
        assert_eq!(entries.len(), 2, "nothing was merged, nothing is hidden");
        for entry in entries {
            let apart = &entry.made.as_ref().unwrap().apart;
            let other = match entry.layout.bore_mm {
                88.0 => ("Ada".to_owned(), "Yard".to_owned(), later(90).at_ms),
                _ => ("Noor".to_owned(), "Van".to_owned(), later(95).at_ms),
            };
            assert_eq!(*apart, [other]);
        }
    }
    // A person decides: one that takes the place of both.
    kept(
        &one,
        &layout("Yard pump", 88.0),
        "Mira",
        &[&by_two, &by_three],
        later(120),
    );
    for tablet in [&mut one, &mut two, &mut three] {
        tablet.meet();
    }
    for tablet in [&one, &two, &three] {
        assert_eq!(offered(tablet), [row("Yard pump", 88.0, &one, "Mira")]);
        let library = library(tablet);
        assert_eq!(library.entries[0].made.as_ref().unwrap().apart, []);
    }
}

#[test]
fn what_was_removed_here_stays_removed_here_and_is_told() {
    let shop = Shop::new();
    let [mut one, mut two, _] = three(&shop);
    let name = kept(&one, &layout("Yard pump", 86.0), "Mira", &[], later(60));
    one.meet();
    two.meet();
    let folder = two.store.layouts_folder();
    offer(&folder, &name, false).unwrap();
    for _ in 0..3 {
        one.meet();
        two.meet();
        assert_eq!(offered(&two), [], "it stays removed");
    }
    let removed: Vec<_> = library(&two).removed.iter().map(told).collect();
    assert_eq!(
        removed,
        [row("Yard pump", 86.0, &one, "Mira")],
        "and is told"
    );
    assert_eq!(offered(&one).len(), 1, "where it was made it stays");
    offer(&folder, &name, true).unwrap();
    assert_eq!(offered(&two).len(), 1);
    // An own file that somebody has taken away does not come back by itself either.
    fs::remove_file(one.store.layouts_folder().join("yard-pump.json")).unwrap();
    one.meet();
    assert_eq!(offered(&one), []);
    assert_eq!(library(&one).removed.len(), 1);
}

#[test]
fn a_stranger_is_told_and_counts_from_the_day_on_which_somebody_admits_it() {
    let shop = Shop::new();
    let mut one = shop.founded();
    let mut stranger = shop.tablet("stranger");
    kept(
        &stranger,
        &layout("Yard pump", 99.0),
        "Nobody",
        &[],
        later(60),
    );
    stranger.meet();
    let told = faults(&mut one);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].ends_with("no member of the shop has sealed it"),
        "{told:?}"
    );
    assert_eq!(offered(&one), []);
    assert_eq!(faults(&mut one), told, "as long as it lies there");
    let (card, _) = one.crew.asking().remove(0);
    let by = one.agreed();
    one.crew.admit(card, Vec::new(), by, later(70)).unwrap();
    one.meet();
    one.meet();
    assert_eq!(offered(&one), [row("Yard pump", 99.0, &stranger, "Nobody")]);
    assert_eq!(faults(&mut one), [] as [String; 0]);
}

/// A version's file with its payload changed, under the name that the change asks for.
fn changed(text: &[u8], into: &Path, change: impl FnOnce(&mut Value)) -> PathBuf {
    let mut file: Value = serde_json::from_slice(text).unwrap();
    change(&mut file["payload"]);
    let path = into.join(format!("{}.json", hash_of(&file["payload"])));
    fs::write(&path, file.to_string()).unwrap();
    path
}

fn hash_of(payload: &Value) -> String {
    let hash = Sha256::digest(payload.to_string());
    let pairs: Vec<String> = hash.iter().map(|b| format!("{b:02x}")).collect();
    pairs.concat()
}

#[test]
fn forged_and_hostile_files_are_told_come_nowhere_and_hide_nothing() {
    let shop = Shop::new();
    let [mut one, mut two, mut three] = three(&shop);
    let name = kept(&one, &layout("Yard pump", 86.0), "Mira", &[], later(60));
    one.meet();
    let there = there(&shop);
    let good = version_path(&there, &name);
    let text = fs::read(&good).unwrap();

    // In a member's name, by somebody else's key.
    let thief = Store::open(&shop.scratch.path().join("thief"), later(1)).unwrap();
    let mut payload: Value = serde_json::from_slice::<Value>(&text).unwrap()["payload"].clone();
    payload["layout"]["bore_mm"] = json!(70.0);
    let whole = there.join(format!("{}.json", "0".repeat(64)));
    sealed::write(&whole, "trayzero layout 1", &payload, thief.tablet()).unwrap();
    changed(&text, &there, |p| p["layout"]["bore_mm"] = json!(71.0));
    changed(&text, &there, |p| p["who"] = json!("Ada"));
    changed(&text, &there, |p| p["colour"] = json!("red"));
    // A true one under another name, a link to one, a folder, rubbish, and one too large.
    fs::write(version_path(&there, &"1".repeat(64)), &text).unwrap();
    std::os::unix::fs::symlink(&good, version_path(&there, &"2".repeat(64))).unwrap();
    fs::create_dir(version_path(&there, &"3".repeat(64))).unwrap();
    fs::write(version_path(&there, &"4".repeat(64)), b"{").unwrap();
    fs::write(version_path(&there, &"5".repeat(64)), vec![b' '; 3 << 20]).unwrap();
    fs::write(there.join("pump.json"), &text).unwrap();
    let told = faults(&mut two);
    assert_eq!(told.len(), 10, "{told:#?}");
    assert_eq!(offered(&two), [row("Yard pump", 86.0, &one, "Mira")]);
    let here = fs::read_dir(shared_folder(&two.store.layouts_folder())).unwrap();
    assert_eq!(here.count(), 1, "nothing of it was brought here");

    // Whoever has a version puts right what somebody has put in its place.
    fs::write(&good, b"{}").unwrap();
    let told = faults(&mut two);
    assert!(
        told.iter().any(|fault| fault.contains("written anew")),
        "{told:#?}"
    );
    assert_eq!(fs::read(&good).unwrap(), text);

    // Thousands cost rounds, and hide nothing in the end.
    for n in 0..2_000_u32 {
        let name = Sha256::digest(n.to_be_bytes());
        let pairs: Vec<String> = name.iter().map(|b| format!("{b:02x}")).collect();
        fs::write(version_path(&there, &pairs.concat()), b"{}").unwrap();
    }
    kept(&one, &layout("Lift", 90.0), "Mira", &[], later(80));
    one.meet();
    let mut rounds = 0;
    while offered(&three).len() < 2 {
        let round = three.exchange.round();
        assert!(round.file_faults.len() <= 100, "what is told is bounded");
        rounds += 1;
        assert!(rounds < 40, "it never came");
    }
    println!("layouts: {rounds} rounds through 2,011 hostile files");
}

#[test]
fn a_data_folder_of_the_version_before_keeps_its_layouts_and_shares_none_by_itself() {
    let shop = Shop::new();
    let [mut one, mut two, _] = three(&shop);
    let folder = one.store.layouts_folder();
    own_layouts::save(&folder, "old-pump", &layout("Old pump", 80.0)).unwrap();
    one.meet();
    two.meet();
    let entry = library(&one);
    let entry = entry.find("own/old-pump").unwrap();
    assert_eq!(entry.made, None, "nobody knows who has made it");
    assert_eq!(offered(&two), []);
    assert!(!there(&shop).exists());
    // What that version reads of a data folder is as it was: files beside each other.
    kept(&one, &layout("New pump", 81.0), "Mira", &[], later(60));
    let plain = trayzero::data::layouts::library(&folder);
    let own = plain.entries.iter().filter(|e| e.origin != Origin::Shipped);
    assert_eq!(own.count(), 2);
    assert!(plain.faulty.is_empty());
}
