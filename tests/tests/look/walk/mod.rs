//! A walk through every screen and every sheet in every size: no target below 56 points,
//! none on another, none out of reach; no text cut, broken, or over its place.

mod air_now;
pub mod check;
mod counted_anew;
mod deeds;
mod figure_keys;
mod finger;
mod first_day;
mod glass_keys;
mod ground;
mod keyboard;
mod pictures;
mod power;
mod record;
mod refused;
mod scenes;
mod sheets;
mod shop;
pub mod stage;
mod taken_back;
mod told;
mod wrong;

use std::collections::BTreeMap;
use std::path::PathBuf;

use egui::{Vec2, vec2};
use trayzero::data::settings::Hand;
use trayzero::ui::theme::Tone;
use trayzero::ui::words::Language;

use check::Seen;
use scenes::{Kind, Walk, bar_of, figures};
use stage::{Frame, Setting, Stage};

/// Landscape and portrait, in points.
const SIZES: [Vec2; 8] = [
    vec2(1024.0, 600.0),
    vec2(1280.0, 800.0),
    vec2(1920.0, 1200.0),
    vec2(2560.0, 1600.0),
    vec2(600.0, 1024.0),
    vec2(800.0, 1280.0),
    vec2(1200.0, 1920.0),
    vec2(1600.0, 2560.0),
];

/// What was walked, and what does not hold.
#[derive(Default)]
struct Tally {
    scenes: usize,
    frames: usize,
    targets: usize,
    texts: usize,
    smallest: f32,
    smallest_text: f32,
    contrast: f64,
    /// Fault, without figures: where it was first met, and how often.
    faults: BTreeMap<String, (String, usize)>,
}

impl Tally {
    fn new() -> Self {
        Self {
            smallest: f32::INFINITY,
            smallest_text: f32::INFINITY,
            contrast: f64::INFINITY,
            ..Self::default()
        }
    }

    fn take(&mut self, place: &str, seen: &Seen) {
        self.frames += 1;
        self.targets += seen.targets.len();
        self.texts += seen.texts.len();
        for t in &seen.targets {
            self.smallest = self.smallest.min(t.rect.width()).min(t.rect.height());
        }
        for t in &seen.texts {
            self.smallest_text = self.smallest_text.min(t.points);
            if t.points < 15.0 {
                self.blame(place, &format!("text {:?} is {} points", t.says, t.points));
            }
        }
        if let Some((contrast, text)) = seen.least_contrast() {
            self.contrast = self.contrast.min(contrast);
            if contrast < 4.5 {
                self.blame(
                    place,
                    &format!("text {text:?} has a contrast of {contrast:.2}"),
                );
            }
        }
        for fault in seen.faults() {
            self.blame(place, &fault);
        }
    }

    fn blame(&mut self, place: &str, fault: &str) {
        let met = format!("{place}: {fault}");
        let entry = self.faults.entry(without_places(fault)).or_insert((met, 0));
        entry.1 += 1;
    }
}

/// A fault without its coordinates, so that the same one counts once.
fn without_places(fault: &str) -> String {
    let digits = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
    fault
        .split("[[")
        .enumerate()
        .map(|(i, part)| {
            if i == 0 {
                part
            } else {
                part.trim_start_matches(|c| digits(c) || " []".contains(c))
            }
        })
        .collect()
}

/// Every size, with the smallest and the largest text.
fn plain_settings() -> impl Iterator<Item = Setting> {
    let of = |size| [100, 200].map(|percent| Setting::of(size, percent));
    SIZES.into_iter().flat_map(of)
}

/// Every setting in which a scene is looked at: both hands where the hand changes it.
fn settings(kind: Kind) -> Vec<Setting> {
    let mut all = Vec::new();
    for setting in plain_settings() {
        let size = setting.size;
        all.push(setting);
        let is_bay = matches!(kind, Kind::Bay | Kind::Sheet);
        let is_small = size.min_elem() < 900.0;
        if is_bay && is_small && size.x > size.y {
            all.push(Setting {
                hand: Hand::Left,
                ..setting
            });
        }
        if is_small {
            all.push(Setting {
                cards: true,
                ..setting
            });
        }
    }
    all.push(Setting {
        tone: Tone::Night,
        ..all[0]
    });
    all
}

fn look_at(stage: &mut Stage, name: &str, kind: Kind, tally: &mut Tally) {
    tally.scenes += 1;
    for setting in settings(kind) {
        let frame = stage.look(setting);
        let seen = Seen::of(&frame);
        let size = setting.size;
        let cards = if setting.cards { ", cards" } else { "" };
        let place = format!(
            "{name} at {}x{}, {} %, {:?}{cards}",
            size.x, size.y, setting.percent, setting.hand
        );
        tally.take(&place, &seen);
        for fault in always(stage, &frame, &seen, kind, setting) {
            tally.blame(&place, &format!("{name}: {fault}"));
        }
        keep(stage, name, setting);
    }
}

/// The figures at the top, and the bar under the thumb.
fn always(stage: &Stage, frame: &Frame, seen: &Seen, kind: Kind, setting: Setting) -> Vec<String> {
    let mut faults = Vec::new();
    if kind == Kind::Locked {
        return faults;
    }
    for figure in figures(stage.words) {
        let there = seen.targets.iter().any(|t| {
            let is_it = t.name.starts_with(figure) && t.name.contains(": ");
            is_it && t.rect == t.shown && t.rect.bottom() < frame.screen.height() * 0.4
        });
        if !there {
            faults.push(format!("the figure {figure:?} is not in sight"));
        }
    }
    faults.extend(silent(stage, seen, frame));
    faults.extend(small_titles(frame));
    if setting.percent == 100 && setting.size.min_elem() >= 800.0 {
        faults.extend(cut_off_keys(stage, seen));
    }
    if kind == Kind::Bay {
        let bar = bar_of(stage);
        match seen.targets.iter().find(|t| t.name == bar) {
            None => faults.push(format!("the bar {bar:?} is not there")),
            Some(t) => {
                let middle = t.rect.center();
                let is_wide = setting.size.x > setting.size.y;
                let on_side = (middle.x > setting.size.x / 2.0) == (setting.hand == Hand::Right);
                if (is_wide && !on_side) || middle.y < setting.size.y * 0.5 {
                    faults.push(format!("the bar is not under the thumb: {:?}", t.rect));
                }
                let others = seen.targets.iter().filter(|o| o.name != bar);
                let largest = others.map(|o| o.shown.height()).fold(0.0, f32::max);
                if t.rect.height() < 100.0 && largest > t.rect.height() {
                    faults.push(format!("the bar is {} high", t.rect.height()));
                }
            }
        }
    }
    faults
}

/// Titles that begin with a small letter among capitals.
fn small_titles(frame: &Frame) -> Vec<String> {
    let titles = frame.nodes.values();
    let titles = titles.filter(|node| node.role() == egui::accesskit::Role::Heading);
    let titles = titles.filter_map(|node| node.label().or(node.value()));
    let small = titles.filter(|title| title.starts_with(char::is_lowercase));
    small
        .map(|title| format!("the title {title:?} begins with a small letter"))
        .collect()
}

/// What takes no tap and does not say what is missing. A counter at its end says it by its
/// figure; of the keys of a code the bar says whose code they wait for.
fn silent(stage: &Stage, seen: &Seen, frame: &Frame) -> Vec<String> {
    let w = stage.words;
    let mut silent = Vec::new();
    for t in &seen.targets {
        let is_off = frame
            .nodes
            .get(&t.id)
            .is_some_and(egui::accesskit::Node::is_disabled);
        let is_key = t.name.len() == 1 || [w.delete, w.erase_all, "abc"].contains(&&*t.name);
        let is_counter = [w.plus_one, w.minus_one]
            .iter()
            .any(|end| t.name.ends_with(end));
        if is_off && !is_counter && !is_key && !t.name.contains([',', ':']) {
            silent.push(format!("{:?} takes no tap and does not say why", t.name));
        }
    }
    silent
}

/// Where a pad of ten digits begins in sight: that some of its keys are not. In a long form it
/// may lie lower, and on ten inches across it is scrolled to.
fn cut_off_keys(stage: &Stage, seen: &Seen) -> Option<String> {
    let w = stage.words;
    let is_digit = |t: &check::Target| t.name.len() == 1 && t.name.as_bytes()[0].is_ascii_digit();
    let others = [w.delete, w.erase_all, w.decimal_point, "abc"];
    let is_key = |t: &&check::Target| is_digit(t) || others.contains(&&*t.name);
    let keys: Vec<&check::Target> = seen.targets.iter().filter(is_key).collect();
    let is_first = |t: &&&check::Target| ["abc", "1"].contains(&&*t.name);
    if keys.len() < 12 || !keys.iter().find(is_first)?.is_whole() {
        return None;
    }
    let cut = keys.into_iter().filter(|t| !t.is_whole());
    let cut: Vec<&str> = cut.map(|t| &*t.name).collect();
    (!cut.is_empty()).then(|| format!("the keys {cut:?} are cut off"))
}

/// Keeps a picture of the worst corners where `TRAYZERO_PICTURES` asks for it.
fn keep(stage: &mut Stage, name: &str, setting: Setting) {
    let Ok(wanted) = std::env::var("TRAYZERO_PICTURES") else {
        return;
    };
    let size = format!("{}x{}-{}", setting.size.x, setting.size.y, setting.percent);
    if !wanted.split(',').any(|w| w == size)
        || setting.hand == Hand::Left
        || setting.cards
        || setting.tone == Tone::Night
    {
        return;
    }
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/pictures/walk");
    std::fs::create_dir_all(&folder).unwrap();
    let name = name.replace([' ', ':', ',', '/', '(', ')'], "-");
    let language = &stage.words.language.own_name()[..2];
    stage.picture(
        setting,
        &folder.join(format!("{size}-{language}-{name}.png")),
    );
}

fn walk(language: Language) {
    let folder = tempfile::tempdir().unwrap();
    let jobs = shop::furnish_all(folder.path());
    let mut tally = Tally::new();
    let mut look = |stage: &mut Stage, name: &str, kind| look_at(stage, name, kind, &mut tally);
    let mut stage = Stage::open(folder.path(), language);
    Walk {
        stage: &mut stage,
        look: &mut look,
    }
    .everything(&jobs);
    let bare = tempfile::tempdir().unwrap();
    let mut stage = Stage::open(bare.path(), language);
    Walk {
        stage: &mut stage,
        look: &mut look,
    }
    .nothing_yet();
    let Tally {
        scenes,
        frames,
        targets,
        texts,
        smallest,
        smallest_text,
        contrast,
        ..
    } = tally;
    println!(
        "{language:?}: {scenes} scenes, {frames} frames, {targets} targets (least side {smallest} points), \
         {texts} texts (least size {smallest_text} points, least contrast {contrast:.2})"
    );
    let mut list: Vec<_> = tally.faults.iter().collect();
    list.sort_by_key(|(_, (met, _))| met.clone());
    let list: Vec<String> = list
        .iter()
        .map(|(_, (met, n))| format!("{met} ({n} times)"))
        .collect();
    assert_faultless(&list);
    assert!(
        scenes > 80 && targets > 20_000,
        "{scenes} scenes, {targets} targets"
    );
}

fn assert_faultless(faults: &[String]) {
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        faults.join("\n")
    );
}

#[test]
fn every_screen_holds_at_every_size_in_english() {
    walk(Language::English);
}

#[test]
fn every_screen_holds_at_every_size_in_german() {
    walk(Language::German);
}
