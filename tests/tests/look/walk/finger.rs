//! What lies under a finger. After each tap of the walk, every place where a control lay
//! before is looked at: there lies the same control, or paper, or one that does nothing for
//! 1.2 s, which is tried with a finger there and then.

use std::collections::BTreeMap;

use egui::accesskit::{Node, NodeId, Role};
use egui::{Pos2, Rect, Vec2, vec2};
use trayzero::ui::words::Language;

use super::check::is_control;
use super::scenes::Walk;
use super::shop::furnished;
use super::stage::{Stage, USUAL};

/// A control as one frame leaves it.
#[derive(Clone, Debug)]
pub struct Lies {
    pub id: NodeId,
    pub name: String,
    pub role: Role,
    pub seen: Rect,
}

/// What was found so far.
#[derive(Debug, Default)]
pub struct Found {
    pub taps: usize,
    pub places: usize,
    pub tried: usize,
    /// Places that there was no time left to try.
    pub untried: usize,
    pub faults: Vec<String>,
}

/// Where each control of a frame lies, the topmost last.
pub fn controls(stage: &Stage) -> Vec<Lies> {
    let nodes = stage.nodes();
    let widgets = stage.widgets().into_iter();
    let lies = widgets.filter_map(|w| {
        let id = w.id.accesskit_id();
        let node = nodes.get(&id)?;
        let is_taken = is_control(node.role()) && w.sense.senses_click() && w.enabled;
        is_taken.then(|| Lies {
            id,
            name: node.label().unwrap_or_default().to_owned(),
            role: node.role(),
            seen: w.interact_rect,
        })
    });
    lies.filter(|l| l.seen.is_positive()).collect()
}

/// Everything that a tap may change on the screen, apart from messages that any tap takes
/// away, scroll bars that fade, lines of a text, and where the keyboard is.
fn stands(nodes: &BTreeMap<NodeId, Node>) -> Vec<(String, String, String)> {
    let lines = nodes
        .values()
        .filter(|n| !matches!(n.role(), Role::Alert | Role::ScrollBar | Role::TextRun))
        .map(|n| {
            (
                n.label().unwrap_or_default().to_owned(),
                n.value().unwrap_or_default().to_owned(),
                format!("{:?} {:?} {:?}", n.role(), n.toggled(), n.is_selected()),
            )
        });
    let mut lines: Vec<_> = lines.collect();
    lines.sort();
    lines
}

/// Places within a control: its middle and four round it.
fn places(rect: Rect) -> [Pos2; 5] {
    let aside = vec2(rect.width() * 0.3, rect.height() * 0.3);
    [
        rect.center(),
        rect.center() - aside,
        rect.center() + aside,
        rect.center() + vec2(aside.x, -aside.y),
        rect.center() + vec2(-aside.x, aside.y),
    ]
}

/// The control on top at a place.
fn on_top(all: &[Lies], at: Pos2) -> Option<&Lies> {
    all.iter().rev().find(|l| l.seen.contains(at))
}

/// Looks at the places of all controls of before, and tries what has come to lie there.
/// The tap ended a moment ago.
pub fn look_under(stage: &mut Stage, tapped: &str, before: &[Lies], found: &mut Found) {
    found.taps += 1;
    let after = controls(stage);
    let mut tried: Vec<(NodeId, NodeId)> = Vec::new();
    let begun = stage.seconds();
    for earlier in before {
        for at in places(earlier.seen) {
            found.places += 1;
            let Some(now) = on_top(&after, at) else {
                continue;
            };
            // A field only takes the cursor.
            let is_field = matches!(now.role, Role::TextInput | Role::MultilineTextInput);
            if now.id == earlier.id || is_field || tried.contains(&(earlier.id, now.id)) {
                continue;
            }
            // On top of the earlier one something else may have lain.
            if on_top(before, at).is_some_and(|top| top.id == now.id) {
                continue;
            }
            tried.push((earlier.id, now.id));
            // The last tries have to be over before the time is.
            if stage.seconds() - begun > 1.12 {
                found.untried += 1;
                continue;
            }
            let stood = stands(stage.nodes());
            let events = stage.events();
            let wait = if tried.len() == 1 { 0.62 } else { 0.0004 };
            stage.poke_fast(at, wait);
            found.tried += 1;
            if stands(stage.nodes()) != stood || stage.events() != events {
                found.faults.push(format!(
                    "after {tapped:?}, where {:?} was, {:?} took a tap",
                    earlier.name, now.name
                ));
                return;
            }
        }
    }
}

fn walk_with_a_finger(size: Vec2) -> Found {
    let (_folder, jobs, mut stage) = furnished(Language::English, size);
    stage.finger = Some(Found::default());
    Walk {
        stage: &mut stage,
        look: &mut |_, _, _| {},
    }
    .everything(&jobs);
    stage.finger.take().unwrap()
}

#[test]
fn nothing_that_comes_to_lie_under_a_finger_takes_a_tap() {
    for size in [
        vec2(1280.0, 800.0),
        vec2(800.0, 1280.0),
        vec2(1024.0, 600.0),
    ] {
        let found = walk_with_a_finger(size);
        println!(
            "{}x{}: {} taps, {} places, {} with another control tried, {} left untried",
            size.x, size.y, found.taps, found.places, found.tried, found.untried
        );
        assert!(
            found.faults.is_empty(),
            "{} faults:\n{}",
            found.faults.len(),
            found.faults.join("\n")
        );
        assert!(found.taps > 100 && found.tried > 100, "{found:?}");
        assert_eq!(found.untried, 0, "every place is tried");
    }
}

#[test]
fn the_finger_of_this_test_is_one_that_is_felt() {
    let (_folder, jobs, mut stage) = furnished(Language::English, USUAL);
    stage.job(jobs.depot[2], false);
    let w = stage.words;
    let more = stage.place(w.more).center();
    stage.poke(more, 2.0);
    stage.poke(more, 0.7);
    assert!(
        stage.has(w.close),
        "the way out lies there now, and is deaf"
    );
    stage.poke(more, 0.7);
    assert!(!stage.has(w.close), "1.4 s later it takes the tap");
}
