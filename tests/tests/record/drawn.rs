//! The pages as the window draws them, against poppler's picture of the same file.

use std::path::Path;
use std::process::Command;

use trayzero::data::pictures::Pixels;
use trayzero::record::drawn::draw;
use trayzero::record::pdf::{Paper, render};
use trayzero::record::pdf_file::{NotRead, OtherWay, PdfFile};
use trayzero::ui::words::Language;
use trayzero_core::bench::UnitSystem;

use crate::pictures::record_with_pictures;
use crate::play::{eventful_job_closed, job_in_conflict, record_of};

const WIDTH: u16 = 1_000;

/// A page as poppler draws it, so wide.
fn by_poppler(pdf: &Path, page: usize) -> Pixels {
    let page = page.to_string();
    let out = Command::new("pdftoppm")
        .args([
            "-f",
            &page,
            "-l",
            &page,
            "-scale-to-x",
            "1000",
            "-scale-to-y",
            "-1",
        ])
        .arg(pdf)
        .output()
        .expect("install poppler-utils, as tests/run does");
    assert!(out.status.success());
    // P6, width, height, 255, then three bytes a pixel.
    let mut fields = out.stdout.splitn(4, u8::is_ascii_whitespace);
    let mut number = || {
        let field = fields.next().unwrap();
        std::str::from_utf8(field).unwrap().parse::<u32>().ok()
    };
    let (_, width, height) = (number(), number().unwrap(), number().unwrap());
    let rgb = out.stdout[out.stdout.len() - (width * height * 3) as usize..].to_vec();
    Pixels { width, height, rgb }
}

/// How far two pictures differ: on the whole, and in the square of 12 pixels where they do most,
/// in parts of black against white.
fn difference(one: &Pixels, other: &Pixels) -> (f64, f64) {
    const SIDE: u32 = 12;
    assert_eq!(one.width, other.width);
    let height = one.height.min(other.height);
    assert!(one.height.abs_diff(other.height) <= 1);
    let at = |pixels: &Pixels, x: u32, y: u32| {
        let from = ((y * pixels.width + x) * 3) as usize;
        pixels.rgb[from..from + 3]
            .iter()
            .map(|b| f64::from(*b))
            .sum::<f64>()
            / 3.0
    };
    let (mut all, mut most) = (0.0, 0.0_f64);
    for top in (0..height - SIDE).step_by(SIDE as usize) {
        for left in (0..one.width - SIDE).step_by(SIDE as usize) {
            let (mut ours, mut theirs) = (0.0, 0.0);
            for y in top..top + SIDE {
                for x in left..left + SIDE {
                    ours += at(one, x, y);
                    theirs += at(other, x, y);
                    all += (at(one, x, y) - at(other, x, y)).abs();
                }
            }
            most = most.max((ours - theirs).abs());
        }
    }
    let pixels = f64::from(height * one.width);
    (all / pixels / 255.0, most / f64::from(SIDE * SIDE) / 255.0)
}

fn compare(named: &str, pdf: &[u8]) -> usize {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("drawn");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(format!("{named}.pdf"));
    std::fs::write(&path, pdf).unwrap();
    let count = PdfFile::open(pdf).unwrap().page_count().unwrap();
    for page in 0..count {
        let ours = draw(pdf, page, WIDTH).unwrap();
        let theirs = by_poppler(&path, page + 1);
        let (all, most) = difference(&ours, &theirs);
        assert!(
            all < 0.02 && most < 0.12,
            "{named} page {}: {all} {most}",
            page + 1
        );
        // Another page is far from it.
        if page > 0 {
            let (_, most) = difference(&ours, &by_poppler(&path, page));
            assert!(most > 0.3, "{named}: the comparison has gone blind, {most}");
        }
    }
    count
}

#[test]
fn every_page_is_drawn_as_another_program_draws_it() {
    let mut pages = 0;
    for (named, job) in [
        ("eventful", eventful_job_closed()),
        ("conflict", job_in_conflict()),
    ] {
        let record = record_of(&job);
        for (language, paper, system) in [
            (Language::English, Paper::A4, UnitSystem::Metric),
            (Language::German, Paper::Letter, UnitSystem::Us),
        ] {
            let pdf = render(&record, language, paper, system).unwrap();
            pages += compare(&format!("{named}-{language:?}"), &pdf);
        }
    }
    pages += compare("pictures", &record_with_pictures());
    println!("pages drawn as poppler draws them: {pages}");
    assert!(pages > 15);
}

/// A page on which something is that this program does not write is refused as a whole.
#[test]
fn a_page_with_notes_over_it_or_another_word_on_it_is_not_drawn() {
    let pdf = render(
        &record_of(&eventful_job_closed()),
        Language::English,
        Paper::A4,
        UnitSystem::Metric,
    )
    .unwrap();
    draw(&pdf, 0, WIDTH).unwrap();
    let page = |pdf: &[u8]| draw(pdf, 0, WIDTH).map(|_| ());
    let with = |from: &str, to: &str| {
        assert_eq!(from.len(), to.len());
        let at = pdf.windows(from.len()).position(|w| w == from.as_bytes());
        let at = at.unwrap_or_else(|| panic!("{from} is nowhere"));
        let mut changed = pdf.clone();
        changed[at..at + to.len()].copy_from_slice(to.as_bytes());
        changed
    };
    let other = Err(NotRead::OtherWay(OtherWay::Page));
    assert_eq!(page(&with("/Tabs/S", "/Rota 9")), other);
    assert_eq!(page(&with("/Identity-H", "/Identity-V")), other);
    assert!(draw(&pdf, 1_000, WIDTH).is_err());
}
