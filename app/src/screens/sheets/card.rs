//! Where we are: what is unlocked, what holds it, what is loose, what was said last. For
//! whoever comes back, and for whoever takes over.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::Event;

use crate::screens::frame;
use crate::theme::{Theme, Type};
use crate::times;
use crate::units;
use crate::view::{JobView, View};
use crate::widgets::note;

/// Draws the card.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let state = job.state;
    let c = Theme::of(ui.ctx()).colours;
    if let Some(layout) = job.layout() {
        let (title, more) = w.next_step(job.next, layout);
        frame::line(ui, w.comes_next, Type::Body, true);
        frame::line(ui, &title, Type::Title, false);
        frame::line(ui, &more, Type::Body, true);
    }
    let unlocked: Vec<ValveName> = state.unlocked().collect();
    if unlocked.is_empty() {
        note::ui(ui, w.nothing_unlocked, "", c.done);
    }
    for valve in unlocked {
        let text = format!("{}: {}", w.unlocked_now, w.valve(valve));
        note::ui(ui, &text, &held_by(v, job, valve), c.open);
    }
    for (valve, known) in state.valves() {
        if known.is_spring_held() {
            note::ui(ui, &w.valve(valve), w.spring_is_held, c.open);
        }
    }
    let crank = match state.crank() {
        Some(at) => w.crank_at(at.cylinder, at.offset_deg),
        None => w.crank_unknown.to_owned(),
    };
    let wrench = if state.wrench_on() {
        w.wrench_on
    } else {
        w.wrench_off
    };
    frame::line(ui, &format!("{crank} · {wrench}"), Type::Body, false);
    let loose: Vec<String> = state
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
    for drop in state.drops_adrift() {
        let text = format!("{}: {}", w.still_adrift, w.items_n(&drop.item, drop.count));
        note::ui(ui, &text, "", c.astray);
    }
    last_words(ui, v, job);
}

/// What holds an unlocked valve.
fn held_by(v: &View<'_>, job: &JobView<'_>, valve: ValveName) -> String {
    let w = v.words;
    let Some(known) = job.state.cylinder(valve.cylinder) else {
        return String::new();
    };
    match (known.air_bar, known.hold) {
        (Some(bar), _) => {
            let pressure = units::pressure(bar, v.units);
            format!("{}: {} {pressure}", w.held_by, w.air)
        }
        (None, Some(hold)) => format!("{}: {}", w.held_by, w.hold(hold)),
        (None, None) => w.nothing_holds_now.to_owned(),
    }
}

/// The last notes, and since when nothing was tapped.
fn last_words(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let ago = (v.now_ms - job.state.last_ms()).max(0) / 60_000;
    frame::line(
        ui,
        &format!("{}: {}", w.last_tap, w.ago(ago)),
        Type::Body,
        true,
    );
    let said = job
        .state
        .facts()
        .iter()
        .rev()
        .filter_map(|f| match &f.event {
            Event::Noted { text } => Some((f, text)),
            Event::Paused { why } if !why.is_empty() => Some((f, why)),
            _ => None,
        });
    for (fact, text) in said.take(3) {
        let when = times::clock(fact.at_ms, fact.offset_min);
        frame::line(
            ui,
            &format!("{} · {when}: {text}", fact.who),
            Type::Body,
            false,
        );
    }
}
