//! The panel: the valve in hand, what must stay true, the one next step, and the ways
//! aside.

use egui::{Rect, ScrollArea, Ui, pos2, vec2};
use trayzero_core::engine::{Follower, ValveName};
use trayzero_core::job::{Caution, Milestone, NextStep, Stage};

use super::Bay;
use crate::intent::{Intent, SignedAct};
use crate::screens::frame;
use crate::screens::sheets::{Sheet, undo_words};
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
    let foot = foot_height(ui, inner.width(), v, job);
    let foot_rect = Rect::from_min_max(pos2(inner.left(), inner.bottom() - foot), inner.max);
    let bar_height = bar(ui, inner, foot_rect.top() - GAP, v, job, step, bay, out);
    let lines_bottom = foot_rect.top() - 2.0 * GAP - bar_height;
    let lines_top = lines(ui, inner, lines_bottom, v, job, step);
    let above = Rect::from_min_max(inner.min, pos2(inner.right(), lines_top - GAP));
    about(ui, above, v, job, bay.valve(step), step);
    foot_ui(ui, foot_rect, v, job, bay, out);
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
    bay: &mut Bay,
    out: &mut Vec<Intent>,
) -> f32 {
    let Some(layout) = job.layout() else {
        return 0.0;
    };
    let (title, more) = v.words.next_step(step, layout);
    let mut bar = BigBar::new(&title, &more);
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

/// Lines right above the bar, from the bottom up: what must stay true, what was
/// announced, what was refused. Gives the top of the topmost.
fn lines(
    ui: &mut Ui,
    inner: Rect,
    bottom: f32,
    v: &View<'_>,
    job: &JobView<'_>,
    step: &NextStep,
) -> f32 {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let mut top = bottom;
    if let Some((text, tint)) = stays_true(v, job, step, &theme) {
        top = put(ui, inner, top, &text, "", tint) - GAP;
    }
    match v.notice {
        Some(Notice::Refused { why, way_out, code }) => {
            let more = format!("{way_out} ({code})");
            top = put(ui, inner, top, why, &more, c.astray) - GAP;
        }
        Some(Notice::Fault { what, way_out }) => {
            top = put(ui, inner, top, what, way_out, c.astray) - GAP;
        }
        Some(Notice::Said(text)) => top = put(ui, inner, top, text, "", c.done) - GAP,
        None => {
            if let Some(text) = announced(v, job) {
                top = put(ui, inner, top, &text, "", c.done) - GAP;
            }
        }
    }
    top
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
) {
    if rect.height() < 24.0 {
        return;
    }
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
    if ui.available_height() >= StageList::height(ui) {
        let known = job.state.valve(valve);
        StageList {
            seen: known.map_or(0, |k| usize::from(k.stages_seen)),
            locks: u32::from(layout.locks_per_valve),
            has_follower: layout.follower != Follower::None,
        }
        .ui(ui, w);
    }
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
    frame::line(ui, &crank, Type::Body, true);
    if let Some(why) = job.read_only {
        frame::line(ui, &format!("{}: {why}", w.read_only), Type::Strong, false);
    }
}

fn foot_height(ui: &Ui, width: f32, v: &View<'_>, job: &JobView<'_>) -> f32 {
    let texts = foot_texts(v, job);
    let per_row = foot_columns(width, Theme::of(ui.ctx()).scale());
    let each = (width - GAP * (per_row as f32 - 1.0)) / per_row as f32;
    let row = texts
        .iter()
        .map(|t| Button::new(t).height(ui, each))
        .fold(TARGET, f32::max);
    let rows = texts.len().div_ceil(per_row);
    rows as f32 * (row + GAP) - GAP
}

fn foot_columns(width: f32, scale: f32) -> usize {
    if width >= 440.0 * scale { 4 } else { 2 }
}

fn foot_texts(v: &View<'_>, job: &JobView<'_>) -> [String; 4] {
    let w = v.words;
    let undo = match job.undo {
        Some((_, event)) => format!("{}: {}", w.take_back, undo_words(w, event)),
        None => w.take_back.to_owned(),
    };
    [
        undo,
        w.dropped_one.to_owned(),
        w.part_changed.to_owned(),
        w.more.to_owned(),
    ]
}

fn foot_ui(
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    bay: &mut Bay,
    out: &mut Vec<Intent>,
) {
    let texts = foot_texts(v, job);
    let per_row = foot_columns(rect.width(), Theme::of(ui.ctx()).scale());
    let rows = texts.len().div_ceil(per_row);
    let each = (rect.width() - GAP * (per_row as f32 - 1.0)) / per_row as f32;
    let height = (rect.height() + GAP) / rows as f32 - GAP;
    let writable = job.read_only.is_none();
    for (index, text) in texts.iter().enumerate() {
        let min = pos2(
            rect.left() + (index % per_row) as f32 * (each + GAP),
            rect.top() + (index / per_row) as f32 * (height + GAP),
        );
        let place = Rect::from_min_size(min, vec2(each, height));
        let enabled = match index {
            0 => writable && job.undo.is_some(),
            3 => true,
            _ => writable,
        };
        if !Button::new(text).enabled(enabled).at(ui, place).tapped {
            continue;
        }
        match (index, &job.undo) {
            (0, Some((id, _))) => out.push(Intent::TakeBack(*id)),
            (1, _) => bay.sheets.open(Sheet::Drop),
            (2, _) => bay.sheets.open(Sheet::Part),
            _ => bay.sheets.open(Sheet::More),
        }
    }
}
