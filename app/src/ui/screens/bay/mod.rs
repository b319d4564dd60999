//! The bay: the engine from above, the crank, the valve in hand and the one next step.

pub mod back;
mod enlarged;
mod foot;
mod panel;
mod photograph;
mod strip;
pub mod told;

use egui::{Pos2, Rect, Ui, Vec2, pos2, vec2};
use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{DropStatus, NextStep};

pub use panel::bar_words;

use super::frame::{self, MARGIN};
use super::sheets::{Sheet, Sheets};
use super::top;
use crate::data::settings::Hand;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, Theme};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::bank_diagram::{DiagramTap, DiagramView, ValveView};
use crate::ui::widgets::counters::Counter;

/// What the bay screen keeps for itself: the finger's choices, nothing of the job.
#[derive(Default)]
pub struct Bay {
    /// The valve that was pressed.
    pub in_hand: Option<ValveName>,
    /// The cylinder shown large where not all fit.
    pub large: Option<u8>,
    /// By how much two fingers have made the engine larger; 0 as it is.
    enlarged: enlarged::Enlarged,
    /// The sheet that lies over the panel.
    pub sheets: Sheets,
    watch: back::Watch,
    /// Whether the panel has no room for a message.
    pub is_tight: bool,
    /// Where the big bar is, for what is said to the pedal.
    pub bar_at: Option<Pos2>,
}

/// How the screen is cut up.
struct Cut {
    diagram: Rect,
    strip: Rect,
    panel: Rect,
}

impl Bay {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let is_blind = v.job.as_ref().is_some_and(|job| self.sheets.is_blind(job));
        let (rest, tapped) = top::ui_blind(ui, v, is_blind, out);
        self.is_tight = false;
        self.bar_at = None;
        let Some(job) = &v.job else {
            return;
        };
        let Some(layout) = job.layout() else {
            return;
        };
        if let Some(counter) = tapped {
            self.sheets.open(match counter {
                Counter::Loose | Counter::Aboard => Sheet::Parts,
                Counter::Adrift => Sheet::Adrift,
                Counter::Air => air_sheet(job),
            });
        }
        if self.watch.wants_card(v, job) && !self.sheets.is_open() {
            self.sheets.open(Sheet::Card);
        }
        if let Some(Sheet::Enlarged(event)) = self.sheets.sheet() {
            let event = *event;
            photograph::ui(self, ui, rest, v, job, event, out);
            return;
        }
        let valves = valve_views(job, layout);
        let marks = marks(v, job);
        let view = self.diagram_view(job, layout, &valves, &marks);
        let cut = cut(ui, rest, v, &view, self.sheets.is_open());
        let mut area = frame::child(ui, cut.diagram, "diagram");
        let size = cut.diagram.size();
        let tap = if self.enlarged.is_wanted(&area) {
            self.enlarged.ui(&mut area, v, &view, size)
        } else {
            engine(&mut area, v, &view, size)
        };
        self.take(tap);
        if cut.strip.height() > 0.0 {
            strip::ui(ui, cut.strip, v, job, layout, &mut self.sheets);
        }
        let step = self.step(job);
        panel::ui(self, ui, cut.panel, v, job, &step, out);
        self.sheets.taking_back(ui, v, job, out);
    }

    /// The step that the bar shows: the proposed one, or the next stage of a valve that
    /// was pressed.
    pub fn step(&self, job: &JobView<'_>) -> NextStep {
        let proposed = job.next.clone();
        let Some(valve) = self.in_hand else {
            return proposed;
        };
        let here = job
            .state
            .crank()
            .is_some_and(|c| c.cylinder == valve.cylinder);
        let first = matches!(
            proposed,
            NextStep::AskForeman { .. } | NextStep::WrenchOff | NextStep::Resume
        );
        let next = job
            .state
            .valve(valve)
            .and_then(trayzero_core::job::ValveState::next_stage);
        let held = job
            .state
            .cylinder(valve.cylinder)
            .is_some_and(trayzero_core::job::CylinderState::is_held);
        let wants_air = matches!(
            proposed,
            NextStep::HoseIn { cylinder } | NextStep::AirOn { cylinder } if cylinder == valve.cylinder
        ) && next.is_some_and(|s| s.index() > 0);
        match next {
            Some(_) if here && (first || (wants_air && !held)) => proposed,
            Some(stage) => NextStep::SeeStage { valve, stage },
            None => proposed,
        }
    }

    /// The valve that the panel is about.
    pub fn valve(&self, step: &NextStep) -> Option<ValveName> {
        match step {
            NextStep::SeeStage { valve, .. } => Some(*valve),
            _ => self.in_hand,
        }
    }

    fn diagram_view<'a>(
        &self,
        job: &JobView<'_>,
        layout: &'a Layout,
        valves: &'a [ValveView],
        marks: &'a [(u8, &'static str)],
    ) -> DiagramView<'a> {
        let step = self.step(job);
        let at = job.state.crank().filter(|_| told::turn_is_known(job));
        let at = at.map(|c| c.cylinder);
        DiagramView {
            layout,
            valves,
            in_hand: self.valve(&step),
            at_cylinder: at,
            next_cylinder: job
                .next_stop()
                .map(|s| s.cylinder)
                .filter(|c| Some(*c) != at),
            // What may be under air is marked like what is.
            air_cylinder: told::air_asked(job).or(job.state.air_on().map(|(c, _)| c)),
            marks,
            large_cylinder: self.large.or(at),
        }
    }

    fn take(&mut self, tap: Option<DiagramTap>) {
        match tap {
            Some(DiagramTap::Valve(valve)) => {
                self.in_hand = Some(valve);
                self.sheets.close();
            }
            Some(DiagramTap::Cylinder(cylinder)) => self.large = Some(cylinder),
            None => {}
        }
    }

    /// Forgets the choices of the finger once a tap has been taken.
    pub fn after_tap(&mut self) {
        self.in_hand = None;
        self.large = None;
    }
}

/// What a tap on the air figure opens: the quickest way to say that the air is gone, and
/// once it is, the way to something that holds; what was seen, while two tablets disagree.
fn air_sheet(job: &JobView<'_>) -> Sheet {
    if told::air_asked(job).is_some() && job.state.air_on().is_none() {
        return Sheet::Conflicts;
    }
    match (job.state.air_on(), job.state.air_lost()) {
        (Some((cylinder, _)), _) => Sheet::AirNow(cylinder),
        (None, Some(cylinder)) => Sheet::Air(cylinder),
        (None, None) => Sheet::Crank,
    }
}

/// The engine. Where not even its overview fits it is dragged up and down, and comes to
/// the valve in hand by itself.
fn engine(ui: &mut Ui, v: &View<'_>, view: &DiagramView<'_>, size: Vec2) -> Option<DiagramTap> {
    if view.least_height(ui, v.words, size.x) <= size.y + 0.5 {
        return view.ui(ui, v.words, size);
    }
    let scrolled = frame::scrolling().id_salt("engine").show(ui, |ui| {
        let width = ui.available_width();
        let height = view.least_height(ui, v.words, width);
        view.ui(ui, v.words, vec2(width, height))
    });
    scrolled.inner
}

/// What the diagram knows of the valves.
fn valve_views(job: &JobView<'_>, layout: &Layout) -> Vec<ValveView> {
    let astray: Vec<ValveName> = job
        .state
        .drops()
        .iter()
        .filter(|d| d.status == DropStatus::Adrift)
        .filter_map(|d| d.valve)
        .collect();
    job.state
        .valves()
        .map(|(name, known)| ValveView {
            stage: known.stage(),
            is_astray: astray.contains(&name),
            has_remark: layout.remark_on(name).is_some(),
            has_finding: told::findings(job).any(|f| f.valve == Some(name)),
        })
        .collect()
}

/// What holds a cylinder without air, or that it is put off.
fn marks(v: &View<'_>, job: &JobView<'_>) -> Vec<(u8, &'static str)> {
    let w = v.words;
    let held = told::holds(job)
        .into_iter()
        .map(|(c, hold)| (c, w.hold(hold)));
    let put_off = job.state.put_off().into_iter().map(|c| (c, w.is_put_off));
    held.chain(put_off).collect()
}

fn cut(ui: &Ui, rest: Rect, v: &View<'_>, view: &DiagramView<'_>, is_sheet: bool) -> Cut {
    let scale = Theme::of(ui.ctx()).scale();
    let inner = rest.shrink2(vec2(MARGIN, GAP));
    if frame::is_landscape(rest.size()) {
        let panel_width = frame::panel_width(inner.width(), scale);
        let side_width = inner.width() - panel_width - MARGIN;
        let (panel_left, side_left) = match v.settings.hand {
            Hand::Right => (inner.left() + side_width + MARGIN, inner.left()),
            Hand::Left => (inner.left(), inner.left() + panel_width + MARGIN),
        };
        let side = Rect::from_min_size(
            pos2(side_left, inner.top()),
            vec2(side_width, inner.height()),
        );
        let strip = strip_height(ui, v, view, side);
        let (diagram, strip) = above_strip(side, strip);
        Cut {
            diagram,
            strip,
            panel: Rect::from_min_size(
                pos2(panel_left, inner.top()),
                vec2(panel_width, inner.height()),
            ),
        }
    } else {
        // The panel keeps what it needs; the engine is drawn whole where that leaves room.
        let panel_least = inner.height() * 0.44;
        let panel_usual = inner.height() * (0.52 + 0.08 * (scale - 1.0));
        let free = inner.height() - panel_least - GAP;
        let whole = view
            .whole_height(ui, v.words, inner.width())
            .map(|whole| whole + GAP + strip::height(ui))
            .filter(|whole| *whole <= free);
        let least = view.least_height(ui, v.words, inner.width());
        let wanted = whole.unwrap_or_else(|| least.min(free));
        let upper = wanted.max(inner.height() - panel_usual - GAP);
        let mut side = Rect::from_min_size(inner.min, vec2(inner.width(), upper));
        let strip = strip_height(ui, v, view, side);
        let (diagram, strip) = above_strip(side, strip);
        if is_sheet {
            // A sheet has much to show, and the crank does not move meanwhile.
            side = diagram;
        }
        Cut {
            diagram,
            strip: if is_sheet { Rect::ZERO } else { strip },
            panel: Rect::from_min_max(pos2(inner.left(), side.bottom() + GAP), inner.max),
        }
    }
}

/// How high the strip may be so that the engine fits above it: the whole engine first,
/// with the strip's lines or without; then an overview; at the last no strip at all.
fn strip_height(ui: &Ui, v: &View<'_>, view: &DiagramView<'_>, side: Rect) -> f32 {
    let usual = strip::height(ui);
    let low = strip::low_height(ui);
    let fits = |needed: f32, strip: f32| needed + GAP + strip <= side.height();
    let whole = view.whole_height(ui, v.words, side.width());
    let least = view.least_height(ui, v.words, side.width());
    let ways = [
        (whole, usual),
        (whole, low),
        (Some(least), usual),
        (Some(least), low),
    ];
    ways.into_iter()
        .find(|(needed, strip)| needed.is_some_and(|n| fits(n, *strip)))
        .map_or(0.0, |(_, strip)| strip)
}

/// A column cut into the diagram above and a strip of a height at its foot.
fn above_strip(side: Rect, strip: f32) -> (Rect, Rect) {
    let top = side.bottom() - strip;
    let gap = if strip > 0.0 { GAP } else { 0.0 };
    (
        Rect::from_min_max(side.min, pos2(side.right(), top - gap)),
        Rect::from_min_max(pos2(side.left(), top), side.max),
    )
}
