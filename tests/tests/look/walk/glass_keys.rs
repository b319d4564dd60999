//! The keys on the glass, over every field of every screen, in every size and language:
//! large enough, apart, whole, the field with its label in sight above them, the figures of
//! the top too.

use std::collections::{BTreeMap, BTreeSet};

use egui::Rect;
use egui::accesskit::Role;
use trayzero::ui::theme::TARGET;
use trayzero::ui::words::Language;

use super::check::{Seen, Target};
use super::scenes::{Kind, Walk, figures};
use super::shop::furnished;
use super::stage::{Frame, Stage, USUAL, name_of};
use super::{assert_faultless, plain_settings};

/// Least side of a key that writes a digit, in points.
const DIGIT: f32 = 64.0;
/// Room for rounding, in points.
const SLACK: f32 = 0.6;

#[derive(Default)]
struct Tally {
    /// Fields by label and by the keys that they bring.
    fields: BTreeSet<(String, Vec<String>)>,
    /// How often a field was met.
    met: usize,
    looks: usize,
    /// Looks in whose size the field is not on the screen, by its label.
    absent: BTreeMap<String, usize>,
    keys: usize,
    least_key: f32,
    least_digit: f32,
    faults: BTreeMap<String, String>,
}

/// The keys: what lies on a layer above the screen's.
fn keys(seen: &Seen) -> Vec<&Target> {
    let is_above = |t: &&Target| t.layer.order == egui::Order::Foreground;
    seen.targets.iter().filter(is_above).collect()
}

fn is_field(role: Role) -> bool {
    matches!(role, Role::TextInput | Role::MultilineTextInput)
}

fn is_digit(target: &Target) -> bool {
    let mut signs = target.name.chars();
    signs.next().is_some_and(|c| c.is_ascii_digit()) && signs.next().is_none()
}

/// What does not hold of one frame with the keys open over a field.
fn faults(frame: &Frame, label: &str, stage: &Stage, tally: &mut Tally) -> Vec<String> {
    let seen = Seen::of(frame);
    let keys = keys(&seen);
    let is_there = frame
        .nodes
        .values()
        .any(|n| is_field(n.role()) && name_of(&frame.nodes, n) == label);
    if !is_there {
        *tally.absent.entry(label.to_owned()).or_default() += 1;
        return Vec::new();
    }
    let mut faults = keys_hold(&keys, frame.screen.expand(SLACK), tally);
    if keys.len() < 10 {
        faults.push(format!("only {} keys", keys.len()));
        return faults;
    }
    let top = keys
        .iter()
        .map(|k| k.rect.top())
        .fold(f32::INFINITY, f32::min);
    // Above the keys stands the label, and below that the field.
    let is_label = |t: &&super::check::Text| t.says == label && t.rect.bottom() <= top;
    let ink: Option<Rect> = seen.texts.iter().rfind(is_label).map(|t| t.rect);
    let Some(ink) = ink else {
        faults.push("the label is not in sight above the keys".to_owned());
        return faults;
    };
    if ink.top() < -SLACK || ink.right() > frame.screen.right() {
        faults.push(format!("the label is cut off: {ink:?}"));
    }
    if top - ink.bottom() < 20.0 {
        faults.push("there is no room for the field".to_owned());
    }
    for figure in figures(stage.words) {
        let is_it = |t: &&Target| t.name.starts_with(figure) && t.name.contains(": ");
        let bottom = seen.targets.iter().find(is_it).map(|t| t.rect.bottom());
        if bottom.is_none_or(|bottom| bottom > ink.top() + SLACK) {
            faults.push(format!("the figure {figure:?} lies under the keys"));
        }
    }
    for text in seen.texts.iter().filter(|t| t.rect.center().y > top) {
        let on = keys.iter().find(|k| k.rect.contains(text.rect.center()));
        let is_its = |k: &&&Target| {
            k.name == text.says && k.rect.center().distance(text.rect.center()) < 8.0
        };
        let key = on.filter(is_its);
        if key.is_some_and(|key| !key.rect.expand(SLACK).contains_rect(text.rect)) {
            faults.push(format!("{:?} does not fit its key", text.says));
        }
    }
    faults
}

fn keys_hold(keys: &[&Target], screen: Rect, tally: &mut Tally) -> Vec<String> {
    let mut faults = Vec::new();
    for (i, key) in keys.iter().enumerate() {
        let side = key.rect.width().min(key.rect.height());
        let least = if is_digit(key) { DIGIT } else { TARGET };
        if side < least - SLACK {
            faults.push(format!("key {:?} is {side}", key.name));
        }
        if is_digit(key) {
            tally.least_digit = tally.least_digit.min(side);
        } else {
            tally.least_key = tally.least_key.min(side);
        }
        if !screen.contains_rect(key.rect) || key.shown.size() != key.rect.size() {
            faults.push(format!("key {:?} is cut off", key.name));
        }
        for other in &keys[..i] {
            let shared = key.rect.intersect(other.rect);
            if shared.width() > 0.01 && shared.height() > 0.01 {
                faults.push(format!("keys {:?} and {:?} overlap", key.name, other.name));
            }
        }
    }
    tally.keys += keys.len();
    faults
}

fn walk(language: Language) {
    let (_folder, jobs, mut stage) = furnished(language, USUAL);
    stage.always_with_keys();
    let mut tally = Tally {
        least_key: f32::INFINITY,
        least_digit: f32::INFINITY,
        ..Tally::default()
    };
    let mut look = |stage: &mut Stage, name: &str, kind: Kind| {
        if kind != Kind::Locked {
            look_at_fields(stage, name, &mut tally);
        }
    };
    Walk {
        stage: &mut stage,
        look: &mut look,
    }
    .everything(&jobs);
    println!(
        "keys on the glass, {language:?}: {} fields met, {} unlike, {} looks, {} of them \
         without the field {:?}, {} keys, least key {} points, least digit {} points",
        tally.met,
        tally.fields.len(),
        tally.looks,
        tally.absent.values().sum::<usize>(),
        tally.absent,
        tally.keys,
        tally.least_key,
        tally.least_digit
    );
    let list: Vec<String> = tally
        .faults
        .into_iter()
        .map(|(fault, at)| format!("{at}: {fault}"))
        .collect();
    assert_faultless(&list);
    let labels: BTreeSet<&String> = tally.fields.iter().map(|(label, _)| label).collect();
    assert!(labels.len() > 25, "{labels:?}");
    assert!(tally.absent.is_empty(), "not looked at: {:?}", tally.absent);
}

/// Every field of a scene, unless one with the same label and the same keys was looked at.
fn look_at_fields(stage: &mut Stage, name: &str, tally: &mut Tally) {
    for (field, label) in stage.fields() {
        tally.met += 1;
        stage.open_keys(field);
        if !tally.fields.insert((label.clone(), stage.keys_open())) {
            stage.close_keys();
            continue;
        }
        let pages: &[&str] = if tally.fields.len() == 1 {
            &["", "12?", "áé"]
        } else {
            &[""]
        };
        for page in pages {
            if !page.is_empty() {
                stage.tap(page);
            }
            look_at(stage, &format!("{name}, {label} {page}"), &label, tally);
        }
        stage.close_keys();
    }
}

fn look_at(stage: &mut Stage, name: &str, label: &str, tally: &mut Tally) {
    for setting in plain_settings() {
        let frame = stage.look(setting);
        tally.looks += 1;
        for fault in faults(&frame, label, stage, tally) {
            let at = format!("{name} at {}, {} %", setting.size, setting.percent);
            tally.faults.entry(fault).or_insert(at);
        }
    }
}

#[test]
fn keys_on_the_glass_hold_over_every_field_in_english() {
    walk(Language::English);
}

#[test]
fn keys_on_the_glass_hold_over_every_field_in_german() {
    walk(Language::German);
}
