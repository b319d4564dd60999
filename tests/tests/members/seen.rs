//! What the version before was seen to believe, kept as files: `fixtures/forged`. Its README
//! says of each what that version's own `check`, `board` and `record`, and a tablet running it,
//! made of it. Nothing of it is believed by this one.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use trayzero::data::store::OpenJob;
use trayzero::shop::{Round, WhyNotConfirmed};
use trayzero_core::job::Event;
use trayzero_core::shop_log::{Role, TabletCard};
use uuid::{Uuid, uuid};

use super::outside::run_line;
use super::shop::{Shop, Tablet, ada, later, mira};

const JOB: Uuid = uuid!("01a1ee56-8510-7528-9750-63336572e9fd");
const OTHER: Uuid = uuid!("01a1ee56-5e00-750f-89da-de916b4b690a");

fn kept(name: &str) -> PathBuf {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/forged");
    let folder = fixtures.join(name);
    assert!(folder.is_dir(), "{}", folder.display());
    folder
}

/// Lays a folder over another.
fn lay(from: &Path, over: &Path) {
    fs::create_dir_all(over).unwrap();
    for name in fs::read_dir(from).unwrap() {
        let path = name.unwrap().path();
        let to = over.join(path.file_name().unwrap());
        if path.is_dir() {
            lay(&path, &to);
        } else {
            fs::copy(&path, &to).unwrap();
        }
    }
}

/// The kept shop, taken over by its foreman on the first tablet, which runs.
struct Scene {
    shop: Shop,
    one: Tablet,
    open: OpenJob,
    key: String,
}

impl Scene {
    fn new() -> Self {
        let shop = Shop::new();
        lay(&kept("shop"), &shop.folder);
        lay(&kept("one"), &shop.scratch.path().join("one"));
        let mut one = shop.tablet("one");
        let card = shop.folder.join(format!("tablets/{OTHER}.json"));
        let card: Value = serde_json::from_slice(&fs::read(card).unwrap()).unwrap();
        let other = TabletCard {
            tablet: OTHER,
            name: "Bay 2".into(),
            key: card["seal"]["key"].as_str().unwrap().into(),
            box_key: None,
            was: None,
        };
        one.crew
            .take_over(&mira(), &"forge-71".into(), vec![other], later(2))
            .unwrap();
        one.store.set_shop(one.crew.shop());
        let open = one.store.open_job(JOB).unwrap();
        let key = one.crew.shop().unwrap().key.to_string();
        let mut scene = Self {
            shop,
            one,
            open,
            key,
        };
        scene.rounds();
        let (code, said) = scene.check();
        assert_eq!(code, 0, "the honest shop: {said}");
        assert_eq!(scene.open.state().adrift(), 2);
        scene
    }

    /// The tablet goes on for a while. Gives its last round.
    fn rounds(&mut self) -> Round {
        let mut last = Round::default();
        for _ in 0..3 {
            last = self.one.exchange.round();
            assert_eq!(last.fault, None);
            if let Some(sight) = last.sight.take() {
                self.one.crew.take_sight(sight, later(3)).unwrap();
            }
            self.open.take_foreign().unwrap();
        }
        last
    }

    fn folder(&self) -> &str {
        self.shop.folder.to_str().unwrap()
    }

    fn check(&self) -> (u8, String) {
        run_line(&["check", self.folder(), "--shop-key", &self.key])
    }

    /// What the tablet shows: the job as it is open and anew, the list, and the people.
    fn on_tablet(&self) -> String {
        let anew = self.one.store.open_job(JOB).unwrap();
        let states = [self.open.state(), anew.state()].map(|state| {
            let mut state = state.clone();
            state.set_unconfirmed(0);
            format!("{state:?}")
        });
        let jobs = self.one.store.jobs().unwrap().jobs;
        format!("{states:?} {jobs:?} {:?}", self.one.people())
    }

    /// How many are adrift on the board, and how each drop ended in the record; nothing where
    /// the job is not shown.
    fn outside(&self) -> (Value, Value) {
        let read = |args: &[&str]| {
            let (_, said) = run_line(&[args, &["--json", "--shop-key", &self.key]].concat());
            let mut all = serde_json::Deserializer::from_str(&said).into_iter::<Value>();
            all.next().and_then(Result::ok).unwrap_or(Value::Null)
        };
        let board = read(&["board", self.folder(), "--all"]);
        let jobs = board["jobs"].as_array().into_iter().flatten();
        let job = jobs.into_iter().find(|job| job["job"] == JOB.to_string());
        let adrift = job.map_or(Value::Null, |job| job["adrift"].clone());
        let record = read(&["record", self.folder(), "--job", &JOB.to_string()]);
        (adrift, record["drops"].clone())
    }
}

/// Each of them as the files came: seen from outside at once, then on the running tablet, then
/// from outside again.
#[test]
fn nothing_that_the_version_before_believed_is_believed() {
    let rows = [
        ("1_honest_events_displaced", true),
        ("2_the_foremans_code_replaced", false),
        ("3_a_new_tablet_believed", true),
        ("4_lines_under_a_known_name", true),
        ("5_a_journal_written_anew", true),
        ("6_the_clock_of_the_year_9999", true),
        ("9_a_summary_that_lies", false),
        ("9_a_job_that_cannot_be_read", true),
    ];
    for (name, is_told) in rows {
        let mut scene = Scene::new();
        let (tablet, outside) = (scene.on_tablet(), scene.outside());
        lay(&kept(name), &scene.shop.folder);
        let (code, said) = scene.check();
        assert!(code != 0 || !is_told, "{name}: {said}");
        let (adrift, drops) = scene.outside();
        assert!(adrift.is_null() || adrift == outside.0, "{name}: {adrift}");
        assert!(drops.is_null() || drops == outside.1, "{name}: {drops}");
        scene.rounds();
        assert_eq!(scene.on_tablet(), tablet, "{name}");
        assert_eq!(
            scene.outside(),
            outside,
            "{name}: after the tablet was there"
        );
        println!("{name}: check says {code}, nothing believed");
    }
}

#[test]
fn the_foremans_code_stays_hers() {
    let mut scene = Scene::new();
    lay(&kept("2_the_foremans_code_replaced"), &scene.shop.folder);
    scene.rounds();
    let crew = &mut scene.one.crew;
    crew.approve(&mira(), &"forge-71".into(), later(5)).unwrap();
    let forged = crew.approve(&mira(), &"111213".into(), later(6));
    assert!(forged.is_err(), "the code of the forged list");
    assert!(
        scene
            .one
            .people()
            .contains(&("Ada".into(), Role::Technician))
    );
}

#[test]
fn a_job_goes_on_after_the_clock_of_the_year_9999() {
    let mut scene = Scene::new();
    lay(&kept("6_the_clock_of_the_year_9999"), &scene.shop.folder);
    scene.rounds();
    let text = "a tap".to_owned();
    let tap = [Event::Noted { text }];
    scene.open.propose(later(7), &ada(), &tap).unwrap();
}

#[test]
fn no_form_that_codes_can_be_tried_on_stays_in_the_folder() {
    let holds = |bytes: &[u8]| String::from_utf8_lossy(bytes).contains("$argon2id$");
    let before = fs::read_dir(kept("shop/crew")).unwrap();
    assert!(
        before
            .into_iter()
            .all(|name| holds(&fs::read(name.unwrap().path()).unwrap()))
    );
    assert!(!holds(&Scene::new().shop.bytes()));
}

#[test]
fn a_copy_that_goes_on_by_itself_is_named() {
    let mut scene = Scene::new();
    lay(&kept("8_one_identity_twice"), &scene.shop.folder);
    let round = scene.rounds();
    let mut waiting = round.not_confirmed.iter();
    // Where the job is not open here, its lines are fetched; it is, so it is told.
    assert!(
        waiting.any(|one| one.job == JOB && one.why == WhyNotConfirmed::Twice),
        "{round:?}"
    );
}

#[test]
fn a_folder_without_jobs_is_not_said_to_hold() {
    let empty = tempfile::tempdir().unwrap();
    let (code, said) = run_line(&["check", empty.path().to_str().unwrap()]);
    assert_ne!(code, 0, "{said}");
}
