//! The demo depot with the records of its jobs, made once for all tests.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;
use trayzero::data::pictures::keep;
use trayzero::data::store::{Stamp, Store};
use trayzero::demo::create_demo_data;
use trayzero_core::job::{Event, JobPhase, Person, PictureOf};
use trayzero_tests::photos;
pub use trayzero_tests::sat::run;
use uuid::Uuid;

/// When the depot is made: 2026-11-25 at 10:40 UTC.
const NOW: Stamp = Stamp {
    at_ms: 1_795_603_200_000,
    offset_min: 60,
};

/// Attachments by name.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The depot's folder, its jobs, and a record of each.
pub struct Depot {
    folder: TempDir,
    pub jobs: Vec<Uuid>,
    pub records: Vec<PathBuf>,
}

impl Depot {
    pub fn root(&self) -> &Path {
        self.folder.path()
    }

    /// The secret key of its tablet, 32 bytes.
    pub fn tablet_key(&self) -> [u8; 32] {
        let text = fs::read_to_string(self.root().join("tablet.key")).unwrap();
        let text = text.trim();
        let byte = |at: usize| u8::from_str_radix(&text[2 * at..2 * at + 2], 16).unwrap();
        std::array::from_fn(byte)
    }

    /// The record of a job as it was made.
    pub fn record(&self, at: usize) -> Vec<u8> {
        fs::read(&self.records[at]).unwrap()
    }
}

pub fn depot() -> &'static Depot {
    static DEPOT: OnceLock<Depot> = OnceLock::new();
    DEPOT.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path(), NOW).unwrap();
        let jobs = create_demo_data(&store, NOW).unwrap();
        for job in &jobs {
            add_pictures(&store, *job);
        }
        drop(store);
        let record = |job: &Uuid| {
            let path = folder.path().join(format!("{job}.pdf"));
            let (root, file) = (folder.path().to_str().unwrap(), path.to_str().unwrap());
            let job = job.to_string();
            let (code, said) = run(&["record", root, "--job", &job, "--out", file]);
            assert_eq!(code, 0, "{said}");
            path
        };
        let records: Vec<PathBuf> = jobs.iter().map(record).collect();
        // Kept to be looked at.
        let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join("verify");
        fs::create_dir_all(&kept).unwrap();
        fs::copy(&records[0], kept.join("record.pdf")).unwrap();
        Depot {
            folder,
            jobs,
            records,
        }
    })
}

/// Pictures of each kind that is taken, to a job that is over: they may come later.
fn add_pictures(store: &Store, job: Uuid) {
    let mut open = store.open_job(job).unwrap();
    if open.state().phase() == JobPhase::Closed {
        let who = Person::new("Ada");
        let camera = tempfile::tempdir().unwrap();
        let upright = photos::as_taken(photos::WIDE, 6);
        for taken in [&upright, photos::GREY, photos::QUADRANTS_PNG] {
            let from = camera.path().join("taken");
            fs::write(&from, taken).unwrap();
            let picture = keep(store.root(), job, &from, PictureOf::Job {}).unwrap();
            let event = Event::PictureAdded(Box::new(picture));
            open.propose(NOW, &who, &[event]).unwrap();
        }
        open.close(NOW, &who);
    }
}

/// The answer of `verify --json` about a file.
pub fn verified(file: &Path, more: &[&str]) -> (u8, Value) {
    let args = [&["verify", file.to_str().unwrap(), "--json"], more].concat();
    let (code, said) = run(&args);
    let answer = serde_json::from_str(&said).unwrap_or_else(|e| panic!("{e}: {said}"));
    (code, answer)
}

/// The attachments of a PDF as poppler takes them out.
pub fn taken_out(pdf: &Path) -> Files {
    let folder = tempfile::tempdir().unwrap();
    let done = Command::new("pdfdetach")
        .args(["-saveall", "-o"])
        .args([folder.path(), pdf])
        .output()
        .unwrap();
    assert!(done.status.success(), "{done:?}");
    let names = fs::read_dir(folder.path()).unwrap();
    names
        .map(|name| {
            let path = name.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(path).unwrap())
        })
        .collect()
}
