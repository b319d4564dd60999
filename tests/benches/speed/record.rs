//! The record of a large job: gathered from its journal and made into a PDF with its proof; and
//! checked from that file alone; without pictures and with 40 of them.

use std::hint::black_box;
use std::time::Instant;

use trayzero::data::pictures::keep;
use trayzero::data::store::{Stamp, Store};
use trayzero::record::load::gather;
use trayzero::record::pdf::{Paper, Print};
use trayzero::record::proof::issue;
use trayzero::record::verify::verify;
use trayzero::ui::words::Language;
use trayzero_core::bench::UnitSystem;
use trayzero_core::job::{Event, PictureOf};
use trayzero_core::journal::Writer;
use trayzero_tests::bay::Bay;
use trayzero_tests::engines::shipped_engine;
use trayzero_tests::entries::MORNING_MS;
use uuid::Uuid;

use super::memory::memory_mb;
use super::table::{Row, median};

const ROUNDS: usize = 25;
const PICTURES: u32 = 40;
const JOB: Uuid = Uuid::from_u128(64);
const NOW: Stamp = Stamp {
    at_ms: MORNING_MS,
    offset_min: 60,
};
const PRINT: Print = Print {
    language: Language::English,
    paper: Paper::A4,
    system: UnitSystem::Metric,
};

pub fn rows() -> Vec<Row> {
    let mut bay = Bay::open(shipped_engine("v16-45-64v"));
    bay.work_to_the_end();
    let plain = Measured::of(&mut bay, 0);
    let with_pictures = Measured::of(&mut bay, PICTURES);
    let what = "record of 64 valves with 40 pictures as PDF";
    vec![
        Row::at_most("record of 64 valves as PDF", plain.taken_ms, "ms", 500.0),
        Row::at_most("that record checked", plain.checked_ms, "ms", 1_000.0),
        Row::at_most(what, with_pictures.taken_ms, "ms", 1_500.0),
        Row::at_most("its memory at the most", with_pictures.peak_mb, "MB", 150.0),
    ]
}

/// What a record took.
struct Measured {
    taken_ms: f64,
    checked_ms: f64,
    /// What making it took at its highest, on top of what was there before.
    peak_mb: f64,
}

impl Measured {
    /// The record of a bay with so many pictures.
    fn of(bay: &mut Bay, pictures: u32) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path(), NOW).unwrap();
        let own = store.tablet().id();
        let mut writer = Writer::open(folder.path(), JOB, own).unwrap().writer;
        for n in 0..pictures {
            let from = folder.path().join("camera.png");
            std::fs::write(&from, photograph(n)).unwrap();
            let picture = keep(folder.path(), JOB, &from, PictureOf::Job {}).unwrap();
            bay.must(Event::PictureAdded(Box::new(picture)));
        }
        for entry in &mut bay.entries {
            entry.tablet = own;
        }
        for part in bay.entries.chunks(64) {
            writer.append(part).unwrap();
        }
        drop(writer);
        let record = || {
            let gathered = gather(folder.path(), JOB, store.proofs()).unwrap();
            issue(&gathered, Some(store.tablet()), PRINT).unwrap()
        };
        // The peak begins anew from here (proc(5)).
        std::fs::write("/proc/self/clear_refs", "5").unwrap();
        let before = memory_mb("self", "VmRSS:");
        let pdf = record();
        let peak_mb = memory_mb("self", "VmHWM:") - before;
        println!("a record with {pictures} pictures: {} bytes", pdf.len());
        Self {
            peak_mb,
            taken_ms: timed(&|| drop(black_box(record()))),
            checked_ms: timed(&|| assert!(verify(black_box(&pdf), None).unwrap().holds())),
        }
    }
}

fn timed(what: &dyn Fn()) -> f64 {
    let mut times: Vec<f64> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            what();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    median(&mut times)
}

/// A picture of 1800 x 1350 pixels with some detail everywhere, as a PNG.
fn photograph(n: u32) -> Vec<u8> {
    let (width, height) = (1_800, 1_350);
    let places = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    let rgb = places.flat_map(|(x, y): (u32, u32)| {
        let grain = (x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503) ^ n) >> 27;
        [
            (x / 8 + grain) as u8,
            (y / 6 + grain) as u8,
            (n * 6 + grain) as u8,
        ]
    });
    let rgb: Vec<u8> = rgb.collect();
    let mut png = Vec::new();
    let mut encoder = png::Encoder::new(&mut png, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&rgb).unwrap();
    writer.finish().unwrap();
    png
}
