//! A shop folder to walk through: the demo depot, one fresh job, one that two tablets have
//! worked at, one with a damaged journal, a large engine, and a shop's own layout.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use egui::Vec2;
use tempfile::TempDir;
use trayzero::data::own_layouts;
use trayzero::data::shared_layouts::{keep, offer};
use trayzero::data::store::{OpenJob, Stamp, Store};
use trayzero::demo::create_demo_data;
use trayzero::ui::words::Language;
use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, Event, NextStep, Opening, Person, Reading, SearchPlace};
use trayzero_core::plan::ShopPace;
use trayzero_core::shop_log::Proofs;
use trayzero_tests::demo_script::technician::Technician;
use uuid::Uuid;

use super::stage::{NOW, Stage};
use crate::pictures::engine;

/// The foreman's name and code of the demo depot.
pub const FOREMAN: (&str, &str) = ("Henrike", "714025");
/// Who works here.
pub const NAME: &str = "Ilka";
const SECOND: &str = "Joris";

/// The jobs of the folder.
pub struct Jobs {
    /// Those of the demo depot, in the order of its file: take-in only; a lock adrift; air
    /// on within a valve; ready for the counts; closed.
    pub depot: Vec<Uuid>,
    /// Two banks, nothing tapped yet.
    pub fresh: Uuid,
    /// Sixteen cylinders, the first one done.
    pub large: Uuid,
    /// Two tablets have said what cannot both be true.
    pub torn: Uuid,
    /// A line in the middle of its journal does not hold.
    pub damaged: Uuid,
}

/// A furnished folder, and the screens on it in a language and a size.
pub fn furnished(language: Language, size: Vec2) -> (TempDir, Jobs, Stage) {
    let folder = tempfile::tempdir().unwrap();
    let jobs = furnish_all(folder.path());
    let stage = Stage::open_sized(folder.path(), language, size);
    (folder, jobs, stage)
}

/// Furnishes a folder.
pub fn furnish_all(root: &Path) -> Jobs {
    let store = Store::open(root, NOW).unwrap();
    let depot = create_demo_data(&store, NOW).unwrap();
    let fresh = create(&store, "v6-90-odd-fire-12v", "Bay 5", "lift 3");
    let large = create(&store, "v16-45-64v", "Bay 6", "pump set 1");
    let large = play(large, |job| job.state().verified_count() >= 5);
    let torn = create(&store, "flat-4-16v", "Bay 7", "roller 2");
    let torn = play(torn, |job| matches!(next(job), NextStep::LiftCover { .. }));
    tear(&store, root, torn);
    let damaged = create(&store, "inline-3-12v", "Bay 8", "trailer 9");
    let damaged = play(damaged, |job| job.state().verified_count() >= 2);
    damage(root, damaged);
    let own = engine("inline-3-12v");
    own_layouts::save(&store.layouts_folder(), "yard-pump", &own).unwrap();
    share(root, &store.layouts_folder());
    fs::write(
        store.layouts_folder().join("broken.json"),
        "{ \"format\": 1 }",
    )
    .unwrap();
    Jobs {
        depot,
        fresh: fresh.id(),
        large,
        torn,
        damaged,
    }
}

/// Layouts that came from two other tablets: one that both have changed apart, and one that was
/// removed here.
fn share(root: &Path, layouts: &Path) {
    let of = |name: &str, tablet: &str, bore_mm: f64, (who, from): (&str, Vec<String>)| {
        let mut other = Store::open(&root.with_extension(tablet), NOW).unwrap();
        other.rename_tablet(tablet, NOW).unwrap();
        let mut layout = engine("inline-4-16v");
        name.clone_into(&mut layout.name);
        layout.bore_mm = bore_mm;
        keep(layouts, &layout, (who, from), (other.tablet(), NOW)).unwrap()
    };
    let first = of("Sweeper engine", "Van", 86.0, ("Noor", Vec::new()));
    of("Sweeper engine", "Van", 86.5, ("Noor", vec![first.clone()]));
    of("Sweeper engine", "Yard", 87.0, ("", vec![first]));
    let gone = of("Old sweeper", "Yard", 84.0, ("Tomas", Vec::new()));
    offer(layouts, &gone, false).unwrap();
}

fn create(store: &Store, key: &str, bay: &str, vehicle: &str) -> OpenJob {
    create_on(store, engine(key), bay, vehicle)
}

/// A new job on an engine.
pub fn create_on(store: &Store, layout: Layout, bay: &str, vehicle: &str) -> OpenJob {
    let opening = Opening {
        order_number: None,
        layout,
        vehicle: vehicle.into(),
        bay: bay.into(),
        technician: Person::new(NAME),
    };
    store.create_job(opening, NOW).unwrap()
}

fn next(job: &OpenJob) -> NextStep {
    job.state().next_step(None)
}

/// A technician who answers every step; cylinder 2 of a job leaks past the limit.
pub fn technician() -> Technician {
    let leak = trayzero_tests::demo_script::technician::ScriptedLeak {
        supply_bar: 6.0,
        cylinder_bar: 3.6,
        heard: vec![trayzero_core::job::HeardAt::Exhaust],
    };
    Technician {
        name: Person::new(NAME),
        second: Person::new(SECOND),
        foreman: Person::new(FOREMAN.0),
        leaks: BTreeMap::from([((Reading::Before, 2), leak)]),
        found_at: SearchPlace::BenchAndFloor,
        entering: Box::new(Uuid::now_v7),
    }
}

/// Plays a job on until it stands as wanted; the screens open it then.
pub fn play(mut job: OpenJob, is_there: impl Fn(&OpenJob) -> bool) -> Uuid {
    let mut technician = technician();
    let stop: Option<CrankAt> = None;
    let mut at_ms = NOW.at_ms - 86_400_000;
    while !is_there(&job) {
        let events = technician.tap(job.state(), stop);
        assert!(!events.is_empty(), "{:?}", next(&job));
        at_ms += 1_000;
        let at = Stamp { at_ms, ..NOW };
        job.propose(at, &Person::new(NAME), &events).unwrap();
    }
    let id = job.id();
    drop(job);
    id
}

/// Another tablet lifts the same cover, cut off from this one.
fn tear(store: &Store, root: &Path, job: Uuid) {
    let other = tempfile::tempdir().unwrap();
    let folder = root.join("jobs").join(job.to_string());
    let copy = other.path().join("jobs").join(job.to_string());
    fs::create_dir_all(&copy).unwrap();
    for entry in fs::read_dir(&folder).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), copy.join(entry.file_name())).unwrap();
    }
    let theirs = Store::open(other.path(), NOW).unwrap();
    for (store, who) in [(store, NAME), (&theirs, "Tomas")] {
        let mut open = store.open_job(job).unwrap();
        let lifted = [Event::CoverOff { bank: 0 }];
        open.propose(NOW, &Person::new(who), &lifted).unwrap();
    }
    let file = format!("{}.jsonl", theirs.tablet().id());
    fs::copy(copy.join(&file), folder.join(&file)).unwrap();
}

/// One sign in the middle of a journal is changed.
fn damage(root: &Path, job: Uuid) {
    let folder = root.join("jobs").join(job.to_string());
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "jsonl") {
            let text = fs::read_to_string(&path).unwrap();
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            let middle = lines.len() / 2;
            lines[middle] = lines[middle].replace(NAME, "Ilke");
            fs::write(&path, lines.join("\n") + "\n").unwrap();
        }
    }
}

/// The tablets of the shop, for the sheet that hands a job over.
pub fn tablets() -> &'static [(Uuid, String)] {
    let names = ["Bay 2 tablet", "Foreman's tablet"];
    let all: Vec<_> = names
        .iter()
        .enumerate()
        .map(|(i, name)| (Uuid::from_u128(i as u128 + 1), (*name).to_owned()))
        .collect();
    Box::leak(all.into_boxed_slice())
}

/// The cards of the board, each with its time to go.
pub fn cards(
    root: &Path,
    limits: trayzero_core::journal::Limits,
) -> &'static [Arc<trayzero::shop::Card>] {
    let mut board = trayzero::shop::Board::of_folder(root, limits, Proofs::default()).unwrap();
    board.work_out_to_go();
    Box::leak(board.cards().into_boxed_slice())
}

/// What the shop has learned of its hours.
pub fn pace(root: &Path) -> &'static ShopPace {
    let limits = trayzero_core::journal::Limits::OWN;
    let mut board = trayzero::shop::Board::of_folder(root, limits, Proofs::default()).unwrap();
    board.work_out_to_go();
    Box::leak(Box::new(board.pace().unwrap().as_ref().clone()))
}
