//! What a glass has to bear beside the taps that are meant: palms, second fingers, taps
//! that slide, a sleeve.

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use egui::{Pos2, Rect, Vec2, pos2, vec2};
use trayzero_tests::dice::Dice;

use super::display::Display;
use super::drive::Drive;

/// How far taps slide in turn, in points.
const SLIDES: [f32; 4] = [0.0, 8.0, 16.0, 24.0];
/// A slide that is no tap any more, in points.
const TOO_FAR: f32 = 32.0;
/// The touches that are a palm, another finger, and a sleeve with two folds.
const PALM: u32 = 4;
const SECOND: u32 = 3;
const SLEEVE: [u32; 2] = [5, 6];
/// Longer than a tap may last.
const RESTS: Duration = Duration::from_millis(1_600);
/// No stroke of a sleeve is shorter, in points.
const STROKE: f32 = 60.0;
/// Of the picture so much may differ after a sleeve: where a list ends, to a pixel.
const SAME_SHARE: f64 = 0.002;

/// What was laid on the glass, and how often.
#[derive(Debug, Default)]
pub struct Borne {
    /// Taps under a palm at each of its nine places.
    pub palms: [usize; 9],
    /// Taps beside a second finger.
    pub seconds: usize,
    /// Taps by how far they slid.
    pub slides: [usize; 4],
    /// Slides that are no tap.
    pub too_far: usize,
}

/// A palm at nine places in turn, a second finger, taps that slide.
pub struct Trouble {
    size: Vec2,
    taps: usize,
    palm: Option<Pos2>,
    /// After so many taps the palm goes to its next place.
    palm_taps: usize,
    pub borne: Borne,
}

impl Trouble {
    pub fn on(size: Vec2, palm_taps: usize) -> Self {
        Self {
            size,
            taps: 0,
            palm: None,
            palm_taps,
            borne: Borne::default(),
        }
    }

    /// A tap that is meant, with all that the glass has to bear meanwhile.
    pub fn tap(&mut self, display: &Display, at: Pos2) {
        let place = self.taps / self.palm_taps % 9;
        if self.taps.is_multiple_of(self.palm_taps) {
            self.lay_palm(display, place);
        }
        self.taps += 1;
        self.borne.palms[place] += 1;
        let slide = SLIDES[self.taps % 4];
        self.borne.slides[self.taps % 4] += 1;
        // Towards the middle, so that the slide stays on the glass and on its target.
        let way = if at.x > self.size.x / 2.0 { -1.0 } else { 1.0 };
        let slide = vec2(way * slide, 0.0);
        if self.taps % 5 != 2 {
            display.glass().tap(1, at, slide);
            return;
        }
        // Another finger is down from before the tap until after it.
        let beside = self.beside(at);
        display.glass().down(SECOND, beside);
        sleep(Duration::from_millis(200));
        display.glass().tap(1, at, slide);
        sleep(Duration::from_millis(30));
        display.glass().up(SECOND, beside);
        self.borne.seconds += 1;
    }

    /// Slides too far to be a tap, from time to time. True when it did.
    pub fn slides_too_far(&mut self, display: &Display, at: Pos2) -> bool {
        if self.taps % 11 != 3 {
            return false;
        }
        let way = if at.x > self.size.x / 2.0 { -1.0 } else { 1.0 };
        display.glass().tap(1, at, vec2(way * TOO_FAR, 0.0));
        self.borne.too_far += 1;
        true
    }

    fn lay_palm(&mut self, display: &Display, n: usize) {
        self.lift_palm(display);
        let place = pos2(
            self.size.x * (1 + 2 * (n % 3)) as f32 / 6.0,
            self.size.y * (1 + 2 * (n / 3)) as f32 / 6.0,
        );
        display.glass().down(PALM, place);
        self.palm = Some(place);
        sleep(RESTS);
    }

    /// Takes the palm away.
    pub fn lift_palm(&mut self, display: &Display) {
        if let Some(old) = self.palm.take() {
            display.glass().up(PALM, old);
        }
    }

    /// Where a second finger comes down: on whatever lies in the other half of the glass.
    fn beside(&self, at: Pos2) -> Pos2 {
        let half = self.size.x / 2.0;
        let x = if at.x < half {
            at.x + half
        } else {
            at.x - half
        };
        let inside = Rect::from_min_size(Pos2::ZERO, self.size).shrink(20.0);
        inside.clamp(pos2(x, self.size.y - at.y))
    }
}

/// Every file of a folder with what it holds.
pub fn files(folder: &Path, all: &mut Vec<(PathBuf, Vec<u8>)>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, all);
        } else if let Ok(text) = std::fs::read(&path) {
            all.push((path, text));
        }
    }
    all.sort();
}

/// The dots of a picture.
pub fn dots(path: &Path) -> Vec<u8> {
    let file = std::io::BufReader::new(std::fs::File::open(path).unwrap());
    let mut decoder = png::Decoder::new(file);
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().unwrap();
    let mut dots = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut dots).unwrap();
    dots.truncate(info.buffer_size());
    dots
}

/// The share of two pictures that differs.
pub fn unlike(one: &[u8], other: &[u8]) -> f64 {
    assert_eq!(one.len(), other.len());
    let differ = one.iter().zip(other).filter(|(a, b)| a != b).count();
    differ as f64 / one.len() as f64
}

impl Drive {
    /// Wipes over what is shown with a sleeve, so many strokes of it: nothing is written,
    /// and once the lists are back at their tops the screen stands as before.
    pub fn wipe(&mut self, name: &str, strokes: usize, dice: &mut Dice) -> usize {
        if let Some(trouble) = &mut self.trouble {
            trouble.lift_palm(&self.display);
        }
        let size = self.size();
        self.back_at_the_tops();
        let seen = self.shown(&format!("wiped-{name}-before"));
        let mut stood = Vec::new();
        files(self.data(), &mut stood);
        let mut done = 0;
        while done < strokes {
            let mut place = || {
                pos2(
                    dice.below(size.x as usize) as f32,
                    dice.below(size.y as usize) as f32,
                )
            };
            let (from, to) = (place(), place());
            if (to - from).length() >= STROKE {
                done += 1;
                stroke(&self.display, from, to, done % 3 == 0);
            }
        }
        sleep(RESTS);
        self.back_at_the_tops();
        let mut stands = Vec::new();
        files(self.data(), &mut stands);
        let changed: Vec<_> = stands.iter().filter(|f| !stood.contains(f)).collect();
        let names: Vec<_> = changed.iter().map(|(path, _)| path).collect();
        assert!(names.is_empty(), "{name}: a sleeve has written {names:?}");
        assert_eq!(stands.len(), stood.len(), "{name}: nothing is gone");
        let now = self.shown(&format!("wiped-{name}-after"));
        let share = unlike(&seen, &now);
        assert!(share <= SAME_SHARE, "{name}: {share} of it looks otherwise");
        done
    }

    /// Drags every list to its top, in both halves of the screen.
    fn back_at_the_tops(&mut self) {
        let size = self.size();
        let halves = if size.x > size.y {
            [(0.25, 0.8), (0.75, 0.8)]
        } else {
            [(0.5, 0.4), (0.5, 0.9)]
        };
        for (x, y) in halves {
            self.drag_to_top(pos2(size.x * x, size.y * y));
        }
        sleep(Duration::from_millis(900));
        self.settle();
    }

    /// The dots of what the display shows; the picture is kept.
    pub fn shown(&self, name: &str) -> Vec<u8> {
        let path = self.picture_path(name);
        self.display.picture(&path);
        dots(&path)
    }
}

/// One stroke of a sleeve; with two folds they go side by side.
fn stroke(display: &Display, from: Pos2, to: Pos2, is_wide: bool) {
    let by = to - from;
    let aside = by.normalized().rot90() * 70.0;
    let folds = if is_wide { &SLEEVE[..] } else { &SLEEVE[..1] };
    let mut glass = display.glass();
    let at = |fold: usize, step: u8| from + aside * fold as f32 + by * (f32::from(step) / 6.0);
    for (n, fold) in folds.iter().enumerate() {
        glass.down(*fold, at(n, 0));
    }
    for step in 1..=6 {
        sleep(Duration::from_millis(8));
        for (n, fold) in folds.iter().enumerate() {
            glass.moved(*fold, at(n, step));
        }
    }
    for (n, fold) in folds.iter().enumerate() {
        glass.up(*fold, at(n, 6));
    }
}
