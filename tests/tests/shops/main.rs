//! Several shops in one view: one order across them, each with its own key, and none that is
//! gone, hangs or is another one hides anything of the others.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

#[path = "../page/browser.rs"]
#[allow(dead_code)] // The page's own tests need more of it.
mod browser;
mod named;
mod page;
mod shop;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use trayzero::cli::board::{BoardArgs, run_at};
use trayzero_tests::mute::Mute;

use shop::{NOW, YardShop, bays};

/// So long one that does not answer is waited for, in seconds.
const WAIT_S: u16 = 3;

/// The needs as the README's board has them, the most urgent first; told anew here.
const NEEDS: [&str; 11] = [
    "air_forgotten",
    "left_open",
    "conflict",
    "file_fault",
    "adrift",
    "foreman_wanted",
    "counts_differ",
    "second_count",
    "quiet",
    "paused",
    "working",
];

/// Three shops that work, and three that do not serve.
struct Region {
    /// What hangs, where this user may mount it; it goes before the folder that it is in.
    mute: Option<Mute>,
    scratch: tempfile::TempDir,
    file: PathBuf,
}

impl Region {
    fn new() -> Self {
        let scratch = tempfile::tempdir().unwrap();
        let root = scratch.path();
        let north = YardShop::of(root, "north", &bays(&[3, 5, 13]));
        // Two of its jobs are north's to the letter, so that nothing but the shop tells them apart.
        let south = YardShop::of(root, "south", &bays(&[3, 5, 18]));
        let east = YardShop::of(root, "east", &bays(&[1, 8]));
        let other = YardShop::of(root, "other", &bays(&[12]));
        let hangs = root.join("hangs");
        fs::create_dir(&hangs).unwrap();
        let mute = Mute::mount(&hangs);
        let shop = |name: &str, place: &Path, key: Option<&str>| {
            let mut shop = json!({"name": name, "where": place});
            if let Some(key) = key {
                shop["shop_key"] = key.into();
            }
            shop
        };
        let mut shops = vec![
            shop("Gone", &root.join("gone"), None),
            shop("North", &north.folder, Some(&north.key)),
            shop("Stranger", &other.folder, Some(&north.key)),
            shop("South", &south.folder, Some(&south.key)),
            shop("East", &east.folder, None),
        ];
        if mute.is_some() {
            shops.insert(0, shop("Hangs", &hangs, None));
        } else {
            println!("NOT RUN: this user may not mount a file system of a program's own");
        }
        let file = root.join("region.json");
        fs::write(&file, json!({ "shops": shops }).to_string()).unwrap();
        Self {
            mute,
            scratch,
            file,
        }
    }

    fn args(&self) -> BoardArgs {
        BoardArgs {
            folder: None,
            shops: Some(self.file.clone()),
            wait_s: WAIT_S,
            ..BoardArgs::of(Path::new(""))
        }
    }

    /// What the board comes to: whether all were read, the answer and the notes.
    fn board(args: &BoardArgs) -> (bool, String, String) {
        let mut out = Vec::new();
        let begun = Instant::now();
        let reply = run_at(args, NOW, &mut out).unwrap();
        let limit = Duration::from_secs(u64::from(WAIT_S) + 10);
        assert!(begun.elapsed() < limit, "it has waited for one that hangs");
        (
            reply.yes,
            String::from_utf8(out).unwrap(),
            reply.notes.join("\n"),
        )
    }
}

#[test]
fn one_order_across_shops_and_none_that_fails_hides_another() {
    let region = Region::new();
    let args = BoardArgs {
        json: true,
        ..region.args()
    };
    let (all, text, notes) = Region::board(&args);
    let said: Value = serde_json::from_str(&text).unwrap();
    assert!(!all, "not every shop was read");
    let jobs = said["jobs"].as_array().unwrap();
    let mut seen: Vec<(String, String)> = Vec::new();
    let mut places: Vec<(usize, String, usize, String)> = Vec::new();
    let shops = said["shops"].as_array().unwrap();
    for job in jobs {
        let text = |field: &str| job[field].as_str().unwrap().to_owned();
        let need = NEEDS.iter().position(|need| *need == text("need")).unwrap();
        let of = shops.iter().position(|shop| shop["name"] == job["shop"]);
        places.push((need, text("last_tap"), of.unwrap(), text("job")));
        seen.push((text("shop"), text("bay")));
    }
    let mut sorted = places.clone();
    sorted.sort();
    assert_eq!(places, sorted, "one order across all");
    let mut seen_sorted = seen.clone();
    seen_sorted.sort();
    let pair = |(shop, bay): (&str, &str)| (shop.to_owned(), bay.to_owned());
    let mut expected = [
        ("North", "Bay 3"),
        ("North", "Bay 5"),
        ("North", "Bay 13"),
        ("South", "Bay 3"),
        ("South", "Bay 5"),
        ("South", "Bay 18"),
        ("East", "Bay 1"),
        ("East", "Bay 8"),
    ]
    .map(pair);
    expected.sort();
    assert_eq!(
        seen_sorted, expected,
        "every job of the shops that were read"
    );
    assert_eq!(
        seen[0],
        pair(("North", "Bay 13")),
        "air that was forgotten is first"
    );
    let twins = jobs.iter().filter(|job| job["bay"] == "Bay 5");
    let twins: Vec<(&Value, &Value)> = twins.map(|job| (&job["job"], &job["shop"])).collect();
    assert_eq!(twins[0].0, twins[1].0, "one identity");
    assert_ne!(twins[0].1, twins[1].1, "in two shops");

    each_shop_is_told(&said, &notes);
    assert_eq!(shops.len(), 5 + usize::from(region.mute.is_some()));
    println!(
        "shops: {} of which 3 were read, {} jobs",
        shops.len(),
        jobs.len()
    );
}

/// The fields of each shop: what was read, and what was not and why.
fn each_shop_is_told(said: &Value, notes: &str) {
    for shop in said["shops"].as_array().unwrap() {
        let name = shop["name"].as_str().unwrap();
        let fields: Vec<&String> = shop.as_object().unwrap().keys().collect();
        if ["North", "South", "East"].contains(&name) {
            assert_eq!(shop["reached"], true, "{shop}");
            assert_eq!(fields, ["name", "reached", "where"]);
            assert!(
                notes.contains(&format!("{name}: whose lines count")),
                "{notes}"
            );
            continue;
        }
        assert_eq!(shop["reached"], false, "{shop}");
        assert_eq!(fields, ["fault", "name", "reached", "since", "where"]);
        assert_eq!(shop["since"], said["at"]);
        let fault = shop["fault"].as_str().unwrap();
        let why = match name {
            "Gone" => "is not there",
            "Stranger" => "and not with",
            _ => "not reached yet",
        };
        assert!(fault.contains(why), "{name}: {fault}");
        assert!(notes.contains(&format!("{name}: {fault}")), "{notes}");
    }
}

#[test]
fn in_words_each_shop_that_is_not_read_has_its_own_line() {
    let region = Region::new();
    let (_, text, _) = Region::board(&region.args());
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.starts_with("  "))
        .collect();
    let unread = usize::from(region.mute.is_some()) + 2;
    let (silent, jobs) = lines.split_at(unread);
    if region.mute.is_some() {
        assert_eq!(silent[0], "Hangs is not reached: it does not answer");
    }
    let [.., gone, stranger] = silent else {
        panic!("{silent:?}")
    };
    assert_eq!(*gone, "Gone is not reached: it cannot be read");
    assert_eq!(
        *stranger,
        "Stranger is not reached: this is another shop than its key says"
    );
    assert_eq!(jobs.len(), 8, "{jobs:#?}");
    assert!(jobs[0].starts_with("North · Bay 13, "), "{}", jobs[0]);
    let of = |shop: &str| jobs.iter().filter(|line| line.starts_with(shop)).count();
    assert_eq!((of("North · "), of("South · "), of("East · ")), (3, 3, 2));
}

#[test]
fn what_does_not_hold_in_one_shop_is_named_with_it_and_hides_nothing() {
    let region = Region::new();
    let job = bays(&[5])[0].job();
    let folder = region
        .scratch
        .path()
        .join("south/jobs")
        .join(job.to_string());
    let files = fs::read_dir(&folder)
        .unwrap()
        .map(|file| file.unwrap().path());
    let journal = files
        .into_iter()
        .find(|path| path.extension().is_some_and(|e| e == "jsonl"));
    let journal = journal.unwrap();
    let mut text = fs::read_to_string(&journal).unwrap();
    text.push_str("no line\n");
    fs::write(&journal, text).unwrap();
    fs::write(region.scratch.path().join("east/jobs/stray.txt"), "x").unwrap();
    let args = BoardArgs {
        json: true,
        ..region.args()
    };
    let (_, text, notes) = Region::board(&args);
    let said: Value = serde_json::from_str(&text).unwrap();
    let faults = said["faults"].as_array().unwrap();
    assert!(!faults.is_empty());
    for fault in faults {
        assert!(fault.as_str().unwrap().starts_with("South: "), "{fault}");
        assert!(notes.contains(fault.as_str().unwrap()), "{notes}");
    }
    let left = said["left_alone"].as_array().unwrap();
    assert_eq!(left.len(), 1, "{left:?}");
    let left = left[0].as_str().unwrap();
    assert!(
        left.starts_with("East: ") && left.contains("stray.txt"),
        "{left}"
    );
    let jobs = said["jobs"].as_array().unwrap();
    assert_eq!(jobs.len(), 8);
    let twin = |shop: &str| {
        let mut jobs = jobs.iter();
        jobs.find(|job| job["bay"] == "Bay 5" && job["shop"] == shop)
            .unwrap()
    };
    assert_eq!(
        twin("South")["need"],
        "conflict",
        "its lines are not all sealed"
    );
    assert_eq!(
        twin("North")["need"],
        "adrift",
        "the same job elsewhere holds"
    );
}
