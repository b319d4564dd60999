//! The panel: the valve in hand, what must stay true, the one next step, and the ways
//! aside.

use egui::{Rect, ScrollArea, Ui, pos2, vec2};
use trayzero_core::engine::{Follower, ValveName};
use trayzero_core::job::{Caution, Milestone, NextStep, Stage};

use super::{Bay, back};
use crate::first_use::FirstUse;
use crate::intent::{Intent, SignedAct};
use crate::screens::sheets::{Sheet, undo_words};
use crate::screens::{first_use, frame};
use crate::theme::{GAP, TARGET, Theme, Tint, Type};
use crate::view::{JobView, Notice, View};
use crate::widgets::big_bar::BigBar;
use crate::widgets::button::Button;
use crate::widgets::stage_list::StageList;
use crate::widgets::{note, paint};

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
        let mut area = frame::child(ui, inner, "sheet");
        let valve = bay.valve(step);
        ScrollArea::vertical()
            .id_salt(bay.sheets.salt())
            .auto_shrink(false)
            .show(&mut area, |ui| bay.sheets.ui(ui, v, job, valve, out));
        return;
    }
    let notes = notes(ui, v, job, step);
    let form = form(ui, inner, v, job, step, &notes);
    let foot = foot_height(ui, inner.width(), v, job, form);
    let foot_rect = Rect::from_min_max(pos2(inner.left(), inner.bottom() - foot), inner.max);
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
    for (text, more, tint) in &notes {
        top = put(ui, inner, top, text, more, *tint) - GAP;
    }
    let above = Rect::from_min_max(inner.min, pos2(inner.right(), top - GAP));
    about(ui, above, v, job, bay.valve(step), step, out);
    foot_ui(ui, foot_rect, v, job, form, bay, out);
}

/// How much of the panel's foot is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    /// All four ways aside.
    Full,
    /// The way back and the rest behind one button.
    Short,
    /// The same, and the bar without its second line, which is spoken still.
    Shortest,
}

/// The fullest form in which bar and notes fit.
fn form(
    ui: &Ui,
    inner: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    notes: &[(String, String, Tint)],
) -> Form {
    let Some(layout) = job.layout() else {
        return Form::Full;
    };
    let (title, more) = v.words.next_step(step, layout);
    let notes: f32 = notes
        .iter()
        .map(|(text, more, tint)| note::height(ui, text, more, *tint, inner.width()) + GAP)
        .sum();
    let needs = |form: Form| {
        let more = if form == Form::Shortest { "" } else { &more };
        let bar = BigBar::new(&title, more).height(ui, inner.width());
        foot_height(ui, inner.width(), v, job, form) + GAP + bar + notes
    };
    [Form::Full, Form::Short]
        .into_iter()
        .find(|form| needs(*form) <= inner.height())
        .unwrap_or(Form::Shortest)
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
    form: Form,
    bay: &mut Bay,
    out: &mut Vec<Intent>,
) -> f32 {
    let Some(layout) = job.layout() else {
        return 0.0;
    };
    let (title, more) = v.words.next_step(step, layout);
    let mut bar = BigBar::new(&title, &more);
    bar.is_short = form == Form::Shortest;
    bar.is_enabled = job.read_only.is_none() && *step != NextStep::Nothing;
    let height = bar.height(ui, inner.width());
    let rect = Rect::from_min_max(
        pos2(inner.left(), bottom - height),
        pos2(inner.right(), bottom),
    );
    let mut area = frame::child(ui, rect, "bar");
    if bar.ui(&mut area).tapped {
        tapped(job, step, bay, out);
    }
    height
}

/// A tap on the bar: the events of the step, or the sheet that it needs.
fn tapped(job: &JobView<'_>, step: &NextStep, bay: &mut Bay, out: &mut Vec<Intent>) {
    if let Some(caution) = caution_of(step)
        && !job.state.caution_seen(caution)
    {
        bay.sheets.open(Sheet::Caution(caution));
        return;
    }
    let sheet = match step {
        NextStep::FindPart { .. } => Sheet::Adrift,
        NextStep::CountKit => Sheet::Kit,
        NextStep::ReadLeak { cylinder, when } => Sheet::Leak(*cylinder, *when),
        NextStep::AskForeman { cylinder } => Sheet::Sign(SignedAct::ForemanAgrees(*cylinder)),
        NextStep::AirOn { cylinder } => Sheet::Air(*cylinder),
        NextStep::Gate { bank } => Sheet::Gate(*bank),
        NextStep::CloseJob => Sheet::Sign(SignedAct::CloseJob),
        _ => {
            let events = job.state.events_of(step);
            if !events.is_empty() {
                out.push(Intent::Tap(events));
            }
            return;
        }
    };
    bay.sheets.open(sheet);
}

/// The caution that a step calls for.
pub fn caution_of(step: &NextStep) -> Option<Caution> {
    match step {
        NextStep::SeeStage {
            stage: Stage::Positioned | Stage::SpringHeld | Stage::LocksOut | Stage::LocksIn,
            ..
        } => Some(Caution::Spring),
        NextStep::AirOn { .. } => Some(Caution::Air),
        NextStep::Turn { .. } => Some(Caution::Crank),
        NextStep::See(trayzero_core::job::Step::ConnectorsOff) => Some(Caution::Battery),
        NextStep::PlugsOut { .. } => Some(Caution::Heat),
        _ => None,
    }
}

/// Notes right above the bar, from the bottom up: what must stay true, what was
/// announced, what was refused.
fn notes(ui: &Ui, v: &View<'_>, job: &JobView<'_>, step: &NextStep) -> Vec<(String, String, Tint)> {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let mut notes = Vec::new();
    if let Some((cylinder, minutes)) = back::air_to_look_at(v, job) {
        notes.push((v.words.air_look(cylinder, minutes), String::new(), c.air));
    }
    if let Some((text, tint)) = stays_true(v, job, step, &theme) {
        notes.push((text, String::new(), tint));
    }
    match v.notice {
        Some(Notice::Refused { why, way_out, code }) => {
            notes.push((why.clone(), format!("{way_out} ({code})"), c.astray));
        }
        Some(Notice::Fault { what, way_out }) => {
            notes.push((what.clone(), way_out.clone(), c.astray));
        }
        Some(Notice::Said(text)) => notes.push((text.clone(), String::new(), c.done)),
        None => {
            if let Some(text) = announced(v, job) {
                notes.push((text, String::new(), c.done));
            }
        }
    }
    notes
}

/// One note with its lower edge at `bottom`; gives its upper edge.
fn put(ui: &mut Ui, inner: Rect, bottom: f32, text: &str, more: &str, tint: Tint) -> f32 {
    let top = bottom - note::height(ui, text, more, tint, inner.width());
    let rect = Rect::from_min_max(pos2(inner.left(), top), pos2(inner.right(), bottom));
    let mut area = frame::child(ui, rect, text);
    note::ui(&mut area, text, more, tint);
    top
}

/// What must stay true while a valve is open.
fn stays_true(
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
    theme: &Theme,
) -> Option<(String, Tint)> {
    let w = v.words;
    let c = theme.colours;
    let valve = match step {
        NextStep::SeeStage { valve, .. } => Some(*valve),
        _ => job.state.unlocked().next(),
    };
    if let Some(known) = valve.and_then(|name| job.state.valve(name)) {
        let cylinder = valve.and_then(|name| job.state.cylinder(name.cylinder));
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
    let caution = caution_of(step)?;
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

/// The valve in hand with its stages, or the cylinder that comes next.
fn about(
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    valve: Option<ValveName>,
    step: &NextStep,
    out: &mut Vec<Intent>,
) {
    if rect.height() < 24.0 {
        return;
    }
    // The first-use card waits until there is room for it below the valve's name.
    let room = (least_about(ui), paint::line_height(ui, Type::Heading));
    let rect = first_use::at_foot(ui, rect, room, v, FirstUse::Bay, out);
    let mut area = frame::child(ui, rect, "about");
    let ui = &mut area;
    let w = v.words;
    let Some((valve, layout)) = valve.zip(job.layout()) else {
        bay_card(ui, v, job, step);
        return;
    };
    frame::line(ui, &w.valve(valve), Type::Heading, false);
    let mut more = vec![w.adaptor_n(layout.adaptor_of(valve))];
    if let Some(remark) = layout.remark_on(valve) {
        more.push(remark.to_owned());
    }
    let more = more.join(" · ");
    let height = paint::text(
        ui,
        &more,
        Type::Body,
        egui::Color32::PLACEHOLDER,
        ui.available_width(),
    )
    .size()
    .y;
    if ui.available_height() > height {
        frame::line(ui, &more, Type::Body, true);
    }
    let known = job.state.valve(valve);
    let list = StageList {
        seen: known.map_or(0, |k| usize::from(k.stages_seen)),
        locks: u32::from(layout.locks_per_valve),
        has_follower: layout.follower != Follower::None,
    };
    if ui.available_height() >= StageList::height(ui) {
        list.ui(ui, w);
    } else if ui.available_height() >= StageList::row_height(ui) {
        list.row_ui(ui, w);
    }
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
    frame::line(ui, w.you_are_here, Type::Heading, false);
    let all = state.valves().count();
    frame::line(
        ui,
        &w.of_verified(state.verified_count(), all),
        Type::Body,
        false,
    );
    let crank = match state.crank() {
        Some(at) => w.crank_at(at.cylinder, at.offset_deg),
        None => w.crank_unknown.to_owned(),
    };
    if ui.available_height() >= paint::line_height(ui, Type::Body) {
        frame::line(ui, &crank, Type::Body, true);
    }
    if let Some(why) = job.read_only {
        frame::line(ui, &format!("{}: {why}", w.read_only), Type::Strong, false);
    }
}

/// One button at the foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Aside {
    TakeBack,
    Dropped,
    PartChanged,
    More,
}

fn asides(form: Form) -> &'static [Aside] {
    match form {
        Form::Full => &[
            Aside::TakeBack,
            Aside::Dropped,
            Aside::PartChanged,
            Aside::More,
        ],
        Form::Short | Form::Shortest => &[Aside::TakeBack, Aside::More],
    }
}

/// A button's words and the quieter line under them.
fn aside_text(v: &View<'_>, job: &JobView<'_>, form: Form, aside: Aside) -> (String, String) {
    let w = v.words;
    let plain = |text: &str| (text.to_owned(), String::new());
    match (aside, job.undo) {
        (Aside::TakeBack, Some((_, event))) if form == Form::Full => {
            (w.take_back.to_owned(), undo_words(w, event))
        }
        (Aside::TakeBack, _) => plain(w.take_back),
        (Aside::Dropped, _) => plain(w.dropped_one),
        (Aside::PartChanged, _) => plain(w.part_changed),
        (Aside::More, _) => plain(w.more),
    }
}

/// Places of the buttons at the foot, from its top at 0: in equal columns, or where two
/// are left, the second as narrow as its words.
fn foot_places(ui: &Ui, width: f32, v: &View<'_>, job: &JobView<'_>, form: Form) -> Vec<Rect> {
    let all = asides(form);
    let scale = Theme::of(ui.ctx()).scale();
    let per_row = if width >= 440.0 * scale { 4 } else { 2 }.min(all.len());
    let equal = (width - GAP * (per_row as f32 - 1.0)) / per_row as f32;
    let last = paint::text_line(
        ui,
        v.words.more,
        Type::Strong,
        egui::Color32::PLACEHOLDER,
        width,
    );
    let narrow = (last.size().x + 4.0 * GAP).max(1.5 * TARGET).min(equal);
    let widths = if form == Form::Full {
        vec![equal; per_row]
    } else {
        vec![width - narrow - GAP, narrow]
    };
    let height = all
        .iter()
        .enumerate()
        .map(|(index, aside)| {
            let (text, more) = aside_text(v, job, form, *aside);
            let button = Button::new(&text).more(&more);
            button.height(ui, widths[index % per_row])
        })
        .fold(TARGET, f32::max);
    (0..all.len())
        .map(|index| {
            let (row, column) = (index / per_row, index % per_row);
            let left: f32 = widths[..column].iter().map(|w| w + GAP).sum();
            let min = pos2(left, row as f32 * (height + GAP));
            Rect::from_min_size(min, vec2(widths[column], height))
        })
        .collect()
}

fn foot_height(ui: &Ui, width: f32, v: &View<'_>, job: &JobView<'_>, form: Form) -> f32 {
    let places = foot_places(ui, width, v, job, form);
    places.last().map_or(0.0, Rect::bottom)
}

fn foot_ui(
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    form: Form,
    bay: &mut Bay,
    out: &mut Vec<Intent>,
) {
    let places = foot_places(ui, rect.width(), v, job, form);
    let writable = job.read_only.is_none();
    for (aside, place) in asides(form).iter().zip(places) {
        let place = place.translate(rect.min.to_vec2());
        let enabled = match aside {
            Aside::TakeBack => writable && job.undo.is_some(),
            Aside::More => true,
            Aside::Dropped | Aside::PartChanged => writable,
        };
        let (text, more) = aside_text(v, job, form, *aside);
        let button = Button::new(&text).more(&more).enabled(enabled);
        if !button.at(ui, place).tapped {
            continue;
        }
        match (aside, &job.undo) {
            (Aside::TakeBack, Some((id, _))) => out.push(Intent::TakeBack(*id)),
            (Aside::Dropped, _) => bay.sheets.open(Sheet::Drop),
            (Aside::PartChanged, _) => bay.sheets.open(Sheet::Part),
            _ => bay.sheets.open(Sheet::More),
        }
    }
}
