//! The bay: the engine from above, the crank, the valve in hand and the one next step.

mod panel;
mod strip;

use egui::{Rect, Ui, pos2, vec2};
use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{DropStatus, NextStep};

use super::frame::{self, MARGIN};
use super::sheets::{Sheet, Sheets};
use super::top;
use crate::intent::Intent;
use crate::settings::Hand;
use crate::theme::{GAP, Theme};
use crate::view::{JobView, View};
use crate::widgets::bank_diagram::{DiagramTap, DiagramView, ValveView};
use crate::widgets::counters::Counter;

/// What the bay screen keeps for itself: the finger's choices, nothing of the job.
#[derive(Default)]
pub struct Bay {
    /// The valve that was pressed.
    pub in_hand: Option<ValveName>,
    /// The cylinder shown large where not all fit.
    pub large: Option<u8>,
    /// The sheet that lies over the panel.
    pub sheets: Sheets,
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
        let (rest, tapped) = top::ui(ui, v, out);
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
                Counter::Air => Sheet::Crank,
            });
        }
        let cut = cut(ui, rest, v.settings.hand);
        self.diagram(ui, cut.diagram, v, job, layout);
        strip::ui(ui, cut.strip, v, job, layout, &mut self.sheets);
        let step = self.step(job);
        panel::ui(self, ui, cut.panel, v, job, &step, out);
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

    fn diagram(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        v: &View<'_>,
        job: &JobView<'_>,
        layout: &Layout,
    ) {
        let astray: Vec<ValveName> = job
            .state
            .drops()
            .iter()
            .filter(|d| d.status == DropStatus::Adrift)
            .filter_map(|d| d.valve)
            .collect();
        let valves: Vec<ValveView> = job
            .state
            .valves()
            .map(|(name, known)| ValveView {
                stage: known.stage(),
                is_astray: astray.contains(&name),
                has_remark: layout.remark_on(name).is_some(),
            })
            .collect();
        let step = self.step(job);
        let at = job.state.crank().map(|c| c.cylinder);
        let view = DiagramView {
            layout,
            valves: &valves,
            in_hand: self.valve(&step),
            at_cylinder: at,
            next_cylinder: job
                .next_stop()
                .map(|s| s.cylinder)
                .filter(|c| Some(*c) != at),
            air_cylinder: job.state.air_on().map(|(c, _)| c),
            large_cylinder: self.large.or(at),
        };
        let mut area = frame::child(ui, rect, "diagram");
        match view.ui(&mut area, v.words, rect.size()) {
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

fn cut(ui: &Ui, rest: Rect, hand: Hand) -> Cut {
    let theme = Theme::of(ui.ctx());
    let inner = rest.shrink2(vec2(MARGIN, GAP));
    let strip_height = strip::height(ui);
    if frame::is_landscape(rest.size()) {
        let panel_width = frame::panel_width(inner.width(), theme.scale());
        let side_width = inner.width() - panel_width - MARGIN;
        let (panel_left, side_left) = match hand {
            Hand::Right => (inner.left() + side_width + MARGIN, inner.left()),
            Hand::Left => (inner.left(), inner.left() + panel_width + MARGIN),
        };
        let strip_top = inner.bottom() - strip_height;
        Cut {
            diagram: Rect::from_min_max(
                pos2(side_left, inner.top()),
                pos2(side_left + side_width, strip_top - GAP),
            ),
            strip: Rect::from_min_size(pos2(side_left, strip_top), vec2(side_width, strip_height)),
            panel: Rect::from_min_size(
                pos2(panel_left, inner.top()),
                vec2(panel_width, inner.height()),
            ),
        }
    } else {
        let panel_height = (inner.height() * 0.52)
            .max(360.0)
            .min(inner.height() * 0.62);
        let strip_top = inner.bottom() - panel_height - GAP - strip_height;
        Cut {
            diagram: Rect::from_min_max(inner.min, pos2(inner.right(), strip_top - GAP)),
            strip: Rect::from_min_size(
                pos2(inner.left(), strip_top),
                vec2(inner.width(), strip_height),
            ),
            panel: Rect::from_min_max(pos2(inner.left(), inner.bottom() - panel_height), inner.max),
        }
    }
}
