//! The keyboard reaches every control of every screen, brings it into sight, and shows
//! where it is.

use std::collections::BTreeMap;

use egui::accesskit::NodeId;
use egui::{Key, Modifiers, Vec2, vec2};
use trayzero::ui::words::Language;

use super::check::{Seen, Target};
use super::scenes::{Kind, Walk};
use super::shop::furnished;
use super::stage::{Frame, Setting, Stage, USUAL, key, name_of};

/// The lowest screen with the largest text, and an upright one.
const CORNERS: [(Vec2, u16); 2] = [(vec2(1024.0, 600.0), 200), (vec2(800.0, 1280.0), 100)];

/// Every control that is not switched off, by what it is called.
fn open_controls(frame: &Frame) -> BTreeMap<NodeId, String> {
    frame
        .nodes
        .iter()
        .filter(|(_, node)| super::check::is_control(node.role()) && !node.is_disabled())
        .map(|(id, node)| (*id, name_of(&frame.nodes, node)))
        .collect()
}

/// Tabs once round a screen; gives what does not hold.
fn tab_round(stage: &mut Stage, setting: Setting) -> (usize, Vec<String>) {
    let mut faults = Vec::new();
    stage.let_go();
    let first = stage.look(setting);
    let mut missing = open_controls(&first);
    let count = missing.len();
    for _ in 0..count + 2 {
        let tab = key(Key::Tab, Modifiers::NONE);
        stage.look_once(setting, vec![tab]);
        let frame = stage.look(setting);
        let Some(id) = stage.focused() else {
            continue;
        };
        if missing.remove(&id).is_none() {
            continue;
        }
        let seen = Seen::of(&frame);
        match seen.targets.iter().find(|t| t.id == id) {
            None => faults.push(format!("{id:?} has the keyboard and is not to be found")),
            Some(target) => faults.extend(is_in_sight(target, &seen)),
        }
    }
    faults.extend(
        missing
            .into_values()
            .map(|name| format!("the keyboard misses {name:?}")),
    );
    stage.let_go();
    (count, faults)
}

/// What the keyboard is on is in sight with a ring round it.
fn is_in_sight(target: &Target, seen: &Seen) -> Vec<String> {
    let mut faults = Vec::new();
    let name = &target.name;
    let room = target.shown.height() + 1.0;
    let is_high = target.rect.height() > room && target.shown.height() < 56.0;
    if is_high || target.shown.width() + 1.0 < target.rect.width() {
        faults.push(format!(
            "{name:?} has the keyboard and shows {:?} only",
            target.shown
        ));
    }
    if !seen.rings.iter().any(|ring| {
        ring.expand(6.0).contains_rect(target.shown) && ring.width() <= target.rect.width() + 8.0
    }) {
        faults.push(format!("{name:?} has the keyboard and no ring"));
    }
    faults
}

fn tab_through(language: Language) {
    let (_folder, jobs, mut stage) = furnished(language, USUAL);
    let mut faults = BTreeMap::new();
    let (mut scenes, mut controls) = (0, 0);
    let mut look = |stage: &mut Stage, name: &str, kind: Kind| {
        // The same sheets and bars come again in the walk of one job.
        if kind == Kind::Locked || name.starts_with("bay: ") || name.starts_with("bay, ann") {
            return;
        }
        scenes += 1;
        let (size, percent) = CORNERS[scenes % CORNERS.len()];
        let (count, found) = tab_round(stage, Setting::of(size, percent));
        controls += count;
        for fault in found {
            faults
                .entry(fault)
                .or_insert(format!("{name} at {size:?}, {percent} %"));
        }
    };
    Walk {
        stage: &mut stage,
        look: &mut look,
    }
    .everything(&jobs);
    println!("keyboard: {scenes} scenes, {controls} controls");
    let list: Vec<String> = faults
        .iter()
        .map(|(f, place)| format!("{place}: {f}"))
        .collect();
    super::assert_faultless(&list);
    assert!(
        scenes > 50 && controls > 900,
        "{scenes} scenes, {controls} controls"
    );
}

#[test]
fn the_keyboard_reaches_every_control_in_sight_with_a_ring() {
    tab_through(Language::German);
}
