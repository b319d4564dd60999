//! Where we are: what is unlocked, what holds it, what is loose, what was said last. For
//! whoever comes back, and for whoever takes over.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Danger, Event, Fact, Picture};

use super::Sheet;
use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::bay::back::{air_to_look_at, last_tap_ms, to_look_at};
use crate::ui::screens::bay::told;
use crate::ui::screens::{frame, pictures, shop_note};
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::units;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::note;
use crate::ui::words::capital;

/// Draws the card; gives the sheet to open next.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) -> Option<Sheet> {
    let w = v.words;
    if let Some(text) = to_look_at(v, job) {
        let tint = Theme::of(ui.ctx()).colours.astray;
        note::ui(ui, &text, w.look_first, tint);
    }
    if let Some((cylinder, minutes)) = air_to_look_at(v, job) {
        let tint = Theme::of(ui.ctx()).colours.air;
        note::ui(ui, &w.air_look(cylinder, minutes), "", tint);
    }
    let phase = job.state.phase();
    if let Some(text) = told::left_open(w, phase, job.state.stands_open()) {
        let open = told::stands_open(v, job).join(" \u{b7} ");
        let tint = Theme::of(ui.ctx()).colours.astray;
        note::ui(ui, &capital(text), &open, tint);
    }
    unlocked(ui, v, job);
    for text in told::all(v, job) {
        let open = Theme::of(ui.ctx()).colours.open;
        note::ui(ui, &text, "", open);
    }
    for text in told::papers(v, job) {
        let open = Theme::of(ui.ctx()).colours.open;
        note::ui(ui, &text, "", open);
    }
    loose(ui, v, job);
    comes_next(ui, v, job);
    last_words(ui, v, job);
    let seen = |(_, picture): &(&Fact, &Picture)| pictures::may_be_seen(job, picture);
    let seen: Vec<_> = job.state.pictures().filter(seen).collect();
    if seen.is_empty() {
        return None;
    }
    frame::group(ui, w.pictures_word);
    pictures::line(ui, v, job, &seen, out).map(Sheet::Enlarged)
}

/// The cylinder whose air has to be looked at, where this tablet may say so.
fn asked(v: &View<'_>, job: &JobView<'_>) -> Option<u8> {
    let (cylinder, _) = air_to_look_at(v, job).filter(|_| job.read_only.is_none())?;
    Some(cylinder)
}

/// The big bar: that the engine stands so, and the gauge where air is on for long.
pub fn foot(v: &View<'_>, job: &JobView<'_>) -> Foot {
    let w = v.words;
    Foot::of_bar(match asked(v, job) {
        Some(_) => Offer::ready(w.gauge_steady, w.gauge_steady_more),
        None => Offer::ready(w.stands_as_shown, ""),
    })
}

/// A tap on the bar; true when the card was read.
pub fn act(v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) -> bool {
    let asked = asked(v, job);
    if let Some(cylinder) = asked {
        let text = v.words.air_looked_at(cylinder);
        out.push(Intent::Tap(vec![Event::Noted { text }]));
    }
    asked.is_none()
}

/// Which valves are unlocked and what holds them, and which springs are held.
fn unlocked(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let unlocked: Vec<ValveName> = job.state.unlocked().collect();
    let is_asked = |(danger, _)| matches!(danger, Danger::Valve { .. });
    if unlocked.is_empty() && !job.state.dangers().any(is_asked) {
        note::ui(ui, w.nothing_unlocked, "", c.done);
    }
    for valve in unlocked {
        let text = format!("{}: {}", w.unlocked_now, w.valve(valve));
        note::ui(ui, &text, &held_by(v, job, valve), c.open);
    }
    for (cylinder, hold) in told::holds(job) {
        let text = format!("{}: {}", capital(&w.cylinder_n(cylinder)), w.hold(hold));
        note::ui(ui, &text, w.mechanical_hold, c.open);
    }
    for (valve, known) in job.state.valves() {
        if known.is_spring_held() {
            note::ui(ui, &capital(&w.valve(valve)), w.spring_is_held, c.open);
        }
    }
}

/// What is loose and what is adrift.
fn loose(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    for drop in job.state.drops_adrift() {
        let text = format!("{}: {}", w.still_adrift, w.items_n(&drop.item, drop.count));
        note::ui(ui, &text, "", c.astray);
    }
    let loose: Vec<String> = job
        .state
        .ledger()
        .accounts()
        .map(|(item, account)| (item, account.at(trayzero_core::parts::Place::Tray)))
        .filter(|(_, n)| *n > 0)
        .map(|(item, n)| w.items_n(&item, n))
        .collect();
    let loose = if loose.is_empty() {
        w.nothing_loose.to_owned()
    } else {
        format!("{}: {}", w.loose, loose.join(", "))
    };
    frame::line(ui, &loose, Type::Body, false);
}

/// Where the crank stands, and the one next step.
fn comes_next(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let crank = told::crank(v, job);
    let wrench = told::wrench(v, job);
    frame::line(ui, &format!("{crank} · {wrench}"), Type::Body, false);
    if let Some(layout) = job.layout() {
        let (title, _) = w.next_step(job.next, layout);
        let text = format!("{}: {title}", w.comes_next);
        frame::line(ui, &text, Type::Strong, false);
    }
}

/// What holds an unlocked valve.
fn held_by(v: &View<'_>, job: &JobView<'_>, valve: ValveName) -> String {
    let w = v.words;
    let Some(known) = job.state.cylinder(valve.cylinder) else {
        return String::new();
    };
    match (known.air_bar, known.hold) {
        (Some(bar), _) if told::air_asked(job) != Some(valve.cylinder) => {
            let pressure = units::pressure(bar, v.units);
            format!("{}: {} {pressure}", w.held_by, w.air)
        }
        (_, Some(hold)) => format!("{}: {}", w.held_by, w.hold(hold)),
        (Some(_), None) => w.danger_air(valve.cylinder),
        (None, None) => w.nothing_holds_now.to_owned(),
    }
}

/// Who has the bay, since when nothing was tapped, and what was said last.
fn last_words(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let ago = ((v.now_ms - last_tap_ms(v, job)) / 60_000).max(0);
    let mut last = format!("{}: {}", w.last_tap, w.ago(ago));
    if let Some(who) = job.state.technician() {
        last = format!("{who} · {last}");
    }
    frame::line(ui, &last, Type::Body, true);
    for text in shop_note::told_last(v) {
        frame::line(ui, &text, Type::Body, true);
    }
    let facts = job.state.facts().iter().rev();
    let said = facts.filter_map(|f| match &f.event {
        Event::Noted { text } => Some((f, text)),
        Event::Paused { why } if !why.is_empty() => Some((f, why)),
        _ => None,
    });
    let said: Vec<String> = said
        .take(3)
        .map(|(fact, text)| {
            let when = times::clock(fact.at_ms, fact.offset_min);
            format!("{} · {when}: {text}", fact.who)
        })
        .collect();
    let head = if said.is_empty() {
        w.nothing_said
    } else {
        w.said_last
    };
    frame::line(ui, head, Type::Body, true);
    for text in said {
        frame::line(ui, &text, Type::Body, false);
    }
}
