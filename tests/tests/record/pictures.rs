//! Pictures in the record: its data against the schema, its PDF taken apart by poppler.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use trayzero::data::pictures::keep;
use trayzero::data::store::{SetClock, Stamp, Store};
use trayzero::record::load::{Gathered, gather};
use trayzero::record::pdf::{Paper, Print, render};
use trayzero::record::proof::issue;
use trayzero::record::verify::verify;
use trayzero::ui::words::{EN, Language};
use trayzero_core::bench::UnitSystem;
use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{Event, Opening, Person, Picture, PictureOf};
use trayzero_core::journal::pictures_path;
use trayzero_core::record::PictureFound;
use trayzero_tests::engines::shipped_engine;
use trayzero_tests::photos;
use uuid::Uuid;

use crate::json::{faults, json_of, validator};
use crate::pdf::{check, pages_of};

const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};
const VALVE: ValveName = ValveName::new(2, Side::Exhaust, 1);

/// A job with pictures on a data folder.
struct Kept {
    root: tempfile::TempDir,
    job: Uuid,
    pictures: Vec<Picture>,
}

/// Adds each of these pictures.
fn kept(added: &[(&[u8], PictureOf)]) -> Kept {
    let root = tempfile::tempdir().unwrap();
    let clock = SetClock::at(START);
    let store = Store::open(&root.path().join("data"), START).unwrap();
    let ada = Person::new("Ada");
    let opening = Opening {
        order_number: None,
        layout: shipped_engine("inline-4-8v"),
        vehicle: "Van 12".into(),
        bay: "Bay 1".into(),
        technician: ada.clone(),
    };
    let mut open = store.create_job(opening, START).unwrap();
    let mut pictures = Vec::new();
    for (bytes, of) in added {
        let from = root.path().join("camera.jpg");
        std::fs::write(&from, bytes).unwrap();
        let picture = keep(store.root(), open.id(), &from, *of).unwrap();
        let event = Event::PictureAdded(Box::new(Picture {
            remark: "the guide is worn".into(),
            ..picture.clone()
        }));
        open.propose(clock.advance(1_000), &ada, &[event]).unwrap();
        pictures.push(picture);
    }
    let job = open.id();
    open.close(START, &ada);
    Kept {
        root,
        job,
        pictures,
    }
}

/// A record with two pictures, as a PDF.
pub fn record_with_pictures() -> Vec<u8> {
    let valve = PictureOf::Valve { valve: VALVE };
    let kept = kept(&[
        (photos::QUADRANTS, valve),
        (photos::WIDE, PictureOf::Job {}),
    ]);
    std::fs::read(kept.written(Language::English)).unwrap()
}

impl Kept {
    fn data(&self) -> PathBuf {
        self.root.path().join("data")
    }

    fn copy(&self, at: usize) -> PathBuf {
        pictures_path(&self.data(), self.job).join(self.pictures[at].copy_name())
    }

    fn gathered(&self) -> Gathered {
        let store = Store::open(&self.data(), START).unwrap();
        gather(&self.data(), self.job, store.proofs()).unwrap()
    }

    fn written(&self, language: Language) -> PathBuf {
        let record = self.gathered().record;
        let pdf = render(&record, language, Paper::A4, UnitSystem::Metric).unwrap();
        let path = self.root.path().join("record.pdf");
        std::fs::write(&path, &pdf).unwrap();
        let looked_at = Path::new(env!("CARGO_TARGET_TMPDIR")).join("record");
        std::fs::create_dir_all(&looked_at).unwrap();
        std::fs::write(looked_at.join(format!("pictures-{language:?}.pdf")), pdf).unwrap();
        path
    }
}

/// The pictures in a PDF as poppler's `pdfimages` takes them out, each once.
fn images(pdf: &Path) -> Vec<Vec<u8>> {
    let out = tempfile::tempdir().unwrap();
    let run = Command::new("pdfimages")
        .arg("-j")
        .arg(pdf)
        .arg(out.path().join("x"))
        .status();
    assert!(
        run.expect("install poppler-utils, as tests/run does")
            .success()
    );
    let names = std::fs::read_dir(out.path()).unwrap();
    let mut found: Vec<Vec<u8>> = names
        .map(|n| std::fs::read(n.unwrap().path()).unwrap())
        .collect();
    found.sort();
    found.dedup();
    found
}

fn three() -> Kept {
    kept(&[
        (
            &photos::as_taken(photos::QUADRANTS, 6),
            PictureOf::Valve { valve: VALVE },
        ),
        (photos::WIDE, PictureOf::TakeIn {}),
        (photos::PROGRESSIVE, PictureOf::Count { bank: 0 }),
    ])
}

#[test]
fn the_record_names_every_picture_and_says_which_is_missing_or_changed() {
    let kept = three();
    std::fs::remove_file(kept.copy(1)).unwrap();
    std::fs::write(kept.copy(2), photos::GREY).unwrap();
    let record = kept.gathered().record;
    let found: Vec<PictureFound> = record.pictures.iter().map(|p| p.found).collect();
    assert_eq!(
        found,
        [
            PictureFound::Whole,
            PictureFound::Missing,
            PictureFound::Changed
        ]
    );
    let value = json_of(&record);
    assert_eq!(faults(&validator(), &value), Vec::<String>::new());
    let first = &value["pictures"][0];
    assert_eq!(
        first["sha256"],
        Value::from(kept.pictures[0].sha256.clone())
    );
    assert_eq!(first["found"], "whole");
    assert_eq!(first["remark"], "the guide is worn");
    assert!(
        first.get("copy").is_none(),
        "its bytes are no part of the data"
    );
    let path = kept.written(Language::English);
    check(&path);
    let text = pages_of(&path).join(" ");
    for said in [
        "Picture 1: Cylinder 2, exhaust 1",
        "Picture 2: Take in",
        "not at hand when this record was made",
        "not the picture that was added",
        "the guide is worn (Ada, 2026-11-30",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let copy = std::fs::read(kept.copy(0)).unwrap();
    assert_eq!(
        images(&path),
        [copy],
        "the one that is whole, byte for byte"
    );
}

#[test]
fn every_picture_is_in_the_pdf_as_its_copy_and_nothing_of_what_the_camera_wrote() {
    let kept = three();
    let path = kept.written(Language::German);
    check(&path);
    let mut copies: Vec<Vec<u8>> = (0..3)
        .map(|at| std::fs::read(kept.copy(at)).unwrap())
        .collect();
    copies.sort();
    assert_eq!(images(&path), copies);
    let pdf = std::fs::read(&path).unwrap();
    let tells = |what: &[u8]| pdf.windows(what.len()).any(|part| part == what);
    assert!(!tells(photos::DEVICE) && !tells(b"secret place"));
    let again = kept.written(Language::German);
    assert_eq!(
        std::fs::read(again).unwrap(),
        pdf,
        "the same record, the same bytes"
    );
}

#[test]
fn a_record_without_pictures_says_nothing_of_them() {
    let kept = kept(&[]);
    let value = json_of(&kept.gathered().record);
    assert!(value.get("pictures").is_none());
    assert!(images(&kept.written(Language::English)).is_empty());
}

/// The record with its proof, after somebody has changed what goes along before it was signed.
fn issued(kept: &Kept, change: impl FnOnce(&mut Gathered)) -> Vec<u8> {
    let store = Store::open(&kept.data(), START).unwrap();
    let mut gathered = kept.gathered();
    change(&mut gathered);
    let print = Print {
        language: Language::English,
        paper: Paper::A4,
        system: UnitSystem::Metric,
    };
    issue(&gathered, Some(store.tablet()), print).unwrap()
}

#[test]
fn a_record_with_pictures_proves_them_and_names_one_that_is_not_what_its_event_says() {
    let kept = three();
    let whole = verify(&issued(&kept, |_| {}), None).unwrap();
    assert!(whole.holds(), "{:#?}", whole.lines);
    let along = whole
        .attachments
        .iter()
        .filter(|(name, _)| name.starts_with("picture-"));
    assert_eq!(along.count(), 3);
    let name = kept.pictures[0].copy_sha256.clone();
    // Signed by the tablet itself, and still not what the events say.
    let other = issued(&kept, |g| {
        g.sources.pictures.insert(name.clone(), photos::GREY.into());
    });
    let unnamed = issued(&kept, |g| {
        g.sources
            .pictures
            .insert("0".repeat(64), photos::GREY.into());
    });
    for (pdf, said) in [
        (other, "it is another picture than"),
        (unnamed, "no event of the job names"),
    ] {
        let report = verify(&pdf, None).unwrap();
        assert!(!report.holds());
        assert!(
            report
                .lines
                .iter()
                .any(|l| EN.verify_said(&l.said).contains(said)),
            "{:#?}",
            report.lines
        );
    }
    // One that was missing and one that was changed when it was made: it holds, and says so.
    std::fs::remove_file(kept.copy(1)).unwrap();
    std::fs::write(kept.copy(2), photos::GREY).unwrap();
    let report = verify(&issued(&kept, |_| {}), None).unwrap();
    assert!(report.holds(), "{:#?}", report.lines);
}
