//! The panel: the valve in hand, what must stay true, the one next step, and the ways
//! aside.

use egui::{Rect, Ui, pos2};
use trayzero_core::engine::{Follower, Layout, ValveName};
use trayzero_core::job::{Milestone, NextStep, Stage};
use uuid::Uuid;

use super::foot::{self, FootSize};
use super::{Bay, back, told};
use crate::ui::first_use::FirstUse;
use crate::ui::glass::{self, PedalPress};
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::sheets::{Sheet, SheetScene, sheet_of};
use crate::ui::screens::{first_use, frame, pictures};
use crate::ui::theme::{GAP, Theme, Tint, Type};
use crate::ui::view::{JobView, Notice, ReadOnly, View};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::stage_list::StageList;
use crate::ui::widgets::{caution_line, note, paint, tap};
use crate::ui::words::capital;

/// Draws the panel, or the sheet that lies over it.
pub fn ui(
    bay: &mut Bay,
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    out: &mut Vec<Intent>,
) {
    let inner = frame::card(ui, rect);
    if bay.sheets.is_open() {
        let step_says = job.layout().map(|l| bar_words(v, job, step, l).0);
        let seen = SheetScene {
            v,
            job,
            valve: bay.valve(step),
            step,
            step_says: step_says.as_deref().unwrap_or_default(),
        };
        bay.sheets.ui(ui, inner, seen, out);
        return;
    }
    let mut notes = notes(ui, v, job, step);
    let form = form(ui, inner, v, job, step, &notes).unwrap_or_else(|| {
        // The message goes to the finger; the air stands at the top of the screen too.
        bay.is_tight = true;
        notes.retain(|note| matches!(note, Note::Caution(..)));
        FootSize::Shortest
    });
    let foot = foot::height(ui, inner.width(), v, job, form);
    let foot_rect = Rect::from_min_max(pos2(inner.left(), inner.bottom() - foot), inner.max);
    bay.sheets.bar_up = foot + GAP;
    let bar_height = bar(
        ui,
        inner,
        foot_rect.top() - GAP,
        v,
        job,
        step,
        form,
        bay,
        out,
    );
    let mut top = foot_rect.top() - 2.0 * GAP - bar_height;
    for note in &notes {
        top = note.put(ui, inner, top) - GAP;
    }
    let above = Rect::from_min_max(inner.min, pos2(inner.right(), top - GAP));
    if let Some(picture) = about(ui, above, v, job, bay.valve(step), step, out) {
        bay.sheets.open(Sheet::Enlarged(picture));
    }
    foot::ui(ui, foot_rect, v, job, form, bay, out);
}

/// The fullest form in which bar and notes fit, if there is one.
fn form(
    ui: &Ui,
    inner: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    notes: &[Note],
) -> Option<FootSize> {
    let layout = job.layout()?;
    let (title, more) = bar_words(v, job, step, layout);
    let notes: f32 = notes
        .iter()
        .map(|note| note.height(ui, inner.width()) + GAP)
        .sum();
    let fits = |form: &FootSize| {
        let is_short = form.is_bar_short() && job.read_only.is_none();
        let more = if is_short { "" } else { &more };
        let bar = BigBar::new(&title, more).height(ui, inner.width());
        let foot = foot::height(ui, inner.width(), v, job, *form);
        // A foot that pushes the bar up takes it from under the thumb.
        let is_low = *form == FootSize::Shortest || foot <= inner.height() * foot::MOST;
        is_low && foot + GAP + bar + notes <= inner.height()
    };
    FootSize::ALL.into_iter().find(fits)
}

/// The big bar, its lower edge at `bottom`; gives its height.
#[allow(clippy::too_many_arguments)] // A rectangle and the screen's own borrowed parts.
fn bar(
    ui: &mut Ui,
    inner: Rect,
    bottom: f32,
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    form: FootSize,
    bay: &mut Bay,
    out: &mut Vec<Intent>,
) -> f32 {
    let Some(layout) = job.layout() else {
        return 0.0;
    };
    let (title, more) = bar_words(v, job, step, layout);
    let mut bar = BigBar::new(&title, &more);
    bar.is_short = form.is_bar_short() && job.read_only.is_none();
    let is_live =
        job.read_only.is_none() && (*step != NextStep::Nothing || job.state.phase().is_over());
    let is_away = told::handed_to(v, job).is_some();
    bar.is_enabled = is_live || is_away || job.is_record;
    bar.takes_pedal = !is_away && !job.is_record;
    let height = bar.height(ui, inner.width());
    let rect = Rect::from_min_max(
        pos2(inner.left(), bottom - height),
        pos2(inner.right(), bottom),
    );
    let mut area = frame::child(ui, rect, "bar");
    if bar.ui(&mut area).tapped {
        if job.is_record {
            out.push(Intent::LeaveJob);
        } else if is_away {
            bay.sheets.open(Sheet::Sign(SignedAct::TakeOver));
        } else {
            tapped(job, step, bay, out);
        }
    }
    let is_held = glass::pedal(ui.ctx()) == Some(PedalPress::Long);
    let back = ui.scope_id().with("pedal takes back");
    if is_held && job.read_only.is_none() && tap::counts(ui.ctx(), back) {
        out.push(Intent::PedalTakesBack(job.undo.map(|(id, _)| id)));
    }
    bay.bar_at = Some(rect.center_top());
    height
}

/// What the bar says; in a job that can only be read, that it is so.
pub fn bar_words(
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    layout: &Layout,
) -> (String, String) {
    let w = v.words;
    if job.is_record {
        let opened = v.record.and_then(|record| record.opened());
        return match opened.map_or(0, |opened| opened.report.failures()) {
            0 => (w.back_to_record.to_owned(), w.of_a_record.to_owned()),
            fails => (w.record_fails(fails), w.back_to_record.to_owned()),
        };
    }
    if let Some(tablet) = told::handed_to(v, job) {
        return (w.take_over.to_owned(), w.handed_to(tablet));
    }
    let (title, mut more) = w.next_step(step, layout);
    if *step == NextStep::Nothing && job.state.phase().is_over() {
        return (w.write_record.to_owned(), w.write_record_more.to_owned());
    }
    if let NextStep::SeeStage { valve, stage } = step
        && *stage == Stage::SpringHeld
        && let Some(known) = job.state.cylinder(valve.cylinder)
        && let (None, Some(hold)) = (known.air_bar, known.hold)
    {
        more = w.spring_pressed_and(w.hold(hold));
    }
    match job.read_only {
        Some(_) => (title, v.words.read_only.to_owned()),
        None => (title, more),
    }
}

/// A tap on the bar: the events of the step, or the sheet that it needs.
fn tapped(job: &JobView<'_>, step: &NextStep, bay: &mut Bay, out: &mut Vec<Intent>) {
    if *step == NextStep::Nothing {
        out.push(Intent::WriteRecord);
        return;
    }
    if let Some(caution) = step.caution()
        && !job.state.caution_seen(caution)
    {
        bay.sheets.open(Sheet::Caution(caution));
        return;
    }
    if let Some(sheet) = sheet_of(step) {
        bay.sheets.open(sheet);
    } else {
        let events = job.state.events_of(step);
        if !events.is_empty() {
            out.push(Intent::Tap(events));
        }
    }
}

/// Notes right above the bar, from the bottom up: what must stay true, what was
/// announced, what was refused.
fn notes(ui: &Ui, v: &View<'_>, job: &JobView<'_>, step: &NextStep) -> Vec<Note> {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let mut notes = Vec::new();
    if let Some(text) = back::to_look_at(v, job) {
        let first = v.words.look_first.to_owned();
        notes.push(Note::Said(text, first, c.astray));
    }
    if let Some((text, tint)) = stays_true(v, job, step, &theme) {
        notes.push(Note::Caution(text, tint));
    }
    if job.state.unlocked().any(|name| job.state.valve_fell(name)) {
        let (now, way_out) = (v.words.valve_fell_now, v.words.valve_fell_way_out);
        notes.push(Note::Said(now.to_owned(), way_out.to_owned(), c.astray));
    }
    if let Some(text) = told::left_open(v.words, job.state.phase(), job.state.stands_open()) {
        let open = told::stands_open(v, job).join(" \u{b7} ");
        notes.push(Note::Said(capital(text), open, c.astray));
    }
    // The bar asks for the foreman itself, once it comes to it.
    if !matches!(step, NextStep::AskForeman { .. }) {
        for text in told::foreman(v, job).into_iter().take(1) {
            notes.push(Note::Said(text, String::new(), c.open));
        }
    }
    if let Some((cylinder, minutes)) = back::air_to_look_at(v, job) {
        let text = v.words.air_look(cylinder, minutes);
        notes.push(Note::Said(text, String::new(), c.air));
    }
    match v.notice {
        // A refusal stands where the finger is.
        Some(Notice::Refused { .. }) => {}
        Some(Notice::Fault { what, way_out }) => {
            notes.push(Note::Said(what.clone(), way_out.clone(), c.astray));
        }
        Some(Notice::Said(text)) => notes.push(Note::Said(text.clone(), String::new(), c.done)),
        None => {
            if let Some(text) = announced(v, job) {
                notes.push(Note::Said(text, String::new(), c.done));
            }
        }
    }
    notes
}

/// A line above the bar.
enum Note {
    /// What must stay true, with the sign that says: take care.
    Caution(String, Tint),
    /// What was said or went wrong, and the way out.
    Said(String, String, Tint),
}

impl Note {
    fn height(&self, ui: &Ui, width: f32) -> f32 {
        match self {
            Note::Caution(text, tint) => caution_line::height(ui, text, *tint, width),
            Note::Said(text, more, tint) => note::height(ui, text, more, *tint, width),
        }
    }

    /// Draws it with its lower edge at `bottom`; gives its upper edge.
    fn put(&self, ui: &mut Ui, inner: Rect, bottom: f32) -> f32 {
        let top = bottom - self.height(ui, inner.width());
        let rect = Rect::from_min_max(pos2(inner.left(), top), pos2(inner.right(), bottom));
        match self {
            Note::Caution(text, tint) => {
                caution_line::ui(&mut frame::child(ui, rect, text), text, *tint);
            }
            Note::Said(text, more, tint) => {
                note::ui(&mut frame::child(ui, rect, text), text, more, *tint);
            }
        }
        top
    }
}

/// What must stay true while a valve is open.
fn stays_true(
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    theme: &Theme,
) -> Option<(String, Tint)> {
    if job.is_record {
        // What was to be heeded then is over.
        return None;
    }
    let w = v.words;
    let c = theme.colours;
    let valve = match step {
        NextStep::SeeStage { valve, .. } => Some(*valve),
        _ => job.state.unlocked().next(),
    };
    if let Some(known) = valve.and_then(|name| job.state.valve(name)) {
        let cylinder = valve.and_then(|name| job.state.cylinder(name.cylinder));
        if let Some(cylinder) = job.state.air_lost() {
            let hangs = job.state.valves_of(cylinder);
            let hangs = hangs.filter(|(_, v)| v.is_unlocked() || v.is_spring_held());
            let names: Vec<String> = hangs.map(|(name, _)| w.valve(name)).collect();
            let text = format!("{}: {}", w.nothing_holds_now, names.join("; "));
            return Some((text, c.astray));
        }
        if known.is_unlocked() {
            let by_air = cylinder.is_some_and(|k| k.air_bar.is_some());
            let text = if by_air {
                w.only_air_holds
            } else {
                w.only_hold_holds
            };
            return Some((text.to_owned(), c.open));
        }
        if known.is_spring_held() {
            return Some((w.spring_is_held.to_owned(), c.open));
        }
    }
    let caution = step.caution()?;
    let quiet = Tint {
        ground: c.paper,
        mark: c.ink,
    };
    Some((w.caution(caution).to_owned(), quiet))
}

fn announced(v: &View<'_>, job: &JobView<'_>) -> Option<String> {
    let w = v.words;
    let bank_name = |index: u8| {
        job.layout()
            .and_then(|l| l.banks.get(usize::from(index)))
            .map_or_else(String::new, |b| b.name.clone())
    };
    Some(match job.milestone? {
        Milestone::ValveVerified(valve) => format!("{}: {}", w.valve_verified, w.valve(valve)),
        Milestone::CylinderVerified(cylinder) => w.announce_cylinder(cylinder),
        Milestone::BankVerified(bank) => w.announce_bank(&bank_name(bank)),
        Milestone::BankClosed(bank) => format!("{}: {}", w.bank_closed, bank_name(bank)),
        Milestone::JobClosed => w.job_closed.to_owned(),
    })
}

/// The valve in hand with its stages and pictures, or the cylinder that comes next. Gives the
/// picture that was tapped, by its event.
fn about(
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    valve: Option<ValveName>,
    step: &NextStep,
    out: &mut Vec<Intent>,
) -> Option<Uuid> {
    if rect.height() < 24.0 {
        return None;
    }
    // The first-use card waits until there is room for it below what is told of the valve.
    let rect = first_use::at_foot(ui, rect, least_about(ui), v, FirstUse::Bay, out);
    let mut area = frame::child(ui, rect, "about");
    let ui = &mut area;
    let w = v.words;
    let Some((valve, layout)) = valve.zip(job.layout()) else {
        bay_card(ui, v, job, step);
        return None;
    };
    line_if_it_fits(ui, &capital(&w.valve(valve)), Type::Heading, false);
    let adaptor = w.adaptor_n(layout.adaptor_of(valve));
    let mut told: Vec<String> = layout
        .remark_on(valve)
        .map(str::to_owned)
        .into_iter()
        .collect();
    told.extend(told::from_paper(v, job, valve));
    told.extend(told::at_cylinder(v, job, valve.cylinder));
    let all = [std::slice::from_ref(&adaptor), &told].concat().join(" · ");
    // The stages keep their room: where not all of it fits beside them, the adaptor goes.
    let room = ui.available_height() - StageList::row_height(ui) - GAP;
    let ink = egui::Color32::PLACEHOLDER;
    let width = ui.available_width();
    let fits =
        |(text, step): &(String, Type)| paint::text(ui, text, *step, ink, width).size().y <= room;
    let known = job.state.valve(valve);
    let told = told.join(" · ");
    let ways = [
        (all, Type::Body),
        (told.clone(), Type::Body),
        (told.clone(), Type::Small),
    ];
    // Before the first stage what is told of the valve is worth more than the stages are.
    let is_untouched = known.is_none_or(|k| k.stages_seen == 0);
    let otherwise = || is_untouched.then_some((told, Type::Body));
    if let Some((text, step)) = ways.into_iter().find(fits).or_else(otherwise) {
        line_if_it_fits(ui, &text, step, true);
    }
    let list = StageList {
        seen: known.map_or(0, |k| usize::from(k.stages_seen)),
        locks: u32::from(layout.locks_per_valve),
        locks_dropped: told::locks_dropped(job, valve),
        has_follower: layout.follower != Follower::None,
    };
    let shown: Vec<_> = pictures::at_valve(job, valve).collect();
    let below = pictures::line_height() + GAP;
    let room = ui.available_height() - if shown.is_empty() { 0.0 } else { below };
    if room >= StageList::height(ui) {
        list.ui(ui, w);
    } else if ui.available_height() >= StageList::row_height(ui) {
        list.row_ui(ui, w);
    }
    let has_room = !shown.is_empty() && ui.available_height() >= below;
    has_room.then(|| pictures::line(ui, v, job, &shown, out))?
}

/// Height of the name of a valve with its adaptor and its stages in one row.
fn least_about(ui: &Ui) -> f32 {
    let lines = paint::line_height(ui, Type::Heading) + paint::line_height(ui, Type::Body);
    lines + StageList::row_height(ui) + 2.0 * GAP
}

/// Where no valve is in hand: how far the bay is and what holds it.
fn bay_card(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, _step: &NextStep) {
    let w = v.words;
    let state = job.state;
    line_if_it_fits(ui, w.you_are_here, Type::Heading, false);
    let all = state.valves().count();
    let done = w.of_verified(state.verified_count(), all);
    line_if_it_fits(ui, &done, Type::Body, false);
    line_if_it_fits(ui, &told::crank(v, job), Type::Body, true);
    for (cylinder, hold) in told::holds(job) {
        let text = format!("{}: {}", capital(&w.cylinder_n(cylinder)), w.hold(hold));
        line_if_it_fits(ui, &text, Type::Strong, false);
    }
    for text in told::all(v, job) {
        line_if_it_fits(ui, &text, Type::Body, false);
    }
    if let Some(ReadOnly::Because(why)) = job.read_only {
        line_if_it_fits(ui, &v.words.error(&**why), Type::Body, false);
    }
}

/// A line over the width that is there, where the whole of it has room.
fn line_if_it_fits(ui: &mut Ui, text: &str, step: Type, soft: bool) {
    let ink = egui::Color32::PLACEHOLDER;
    let galley = paint::text(ui, text, step, ink, ui.available_width());
    if galley.size().y <= ui.available_height() {
        frame::line(ui, text, step, soft);
    }
}
