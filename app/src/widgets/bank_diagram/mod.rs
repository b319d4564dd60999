//! The engine as one sees it from above: the list of the work, valve by valve.
//!
//! Banks lie as they lie in the car, the front with its pulley to the left, the sides
//! named. The finger goes to the valve itself.

mod paint;
mod places;
mod plan;

use egui::{Id, Rect, Ui, Vec2};
use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::Stage;

use super::{paint as strokes, tap};
use crate::theme::{Theme, Type};
use crate::words::Words;

pub use places::{CylinderPlace, Plan, Slab, TextSizes, ValvePlace};
pub use plan::plan;

/// What the diagram knows of one valve.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ValveView {
    /// The last stage seen.
    pub stage: Option<Stage>,
    /// Something of it has gone astray.
    pub is_astray: bool,
    /// The layout has a remark on it.
    pub has_remark: bool,
}

/// What the diagram shows.
#[derive(Clone, Copy, Debug)]
pub struct DiagramView<'a> {
    /// The engine.
    pub layout: &'a Layout,
    /// Its valves, in the order of [`Layout::valves`].
    pub valves: &'a [ValveView],
    /// The valve in hand.
    pub in_hand: Option<ValveName>,
    /// The cylinder at whose working position the crank stands.
    pub at_cylinder: Option<u8>,
    /// The cylinder that comes next.
    pub next_cylinder: Option<u8>,
    /// The cylinder that has air on.
    pub air_cylinder: Option<u8>,
    /// The cylinder shown large where the whole engine does not fit.
    pub large_cylinder: Option<u8>,
}

/// What was tapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DiagramTap {
    /// A valve.
    Valve(ValveName),
    /// A cylinder of the overview.
    Cylinder(u8),
}

impl DiagramView<'_> {
    fn valve(&self, valve: ValveName) -> ValveView {
        self.layout
            .valve_index(valve)
            .and_then(|i| self.valves.get(i))
            .copied()
            .unwrap_or_default()
    }

    fn large(&self) -> Option<u8> {
        self.large_cylinder
            .or(self.in_hand.map(|v| v.cylinder))
            .or(self.at_cylinder)
            .or(self.next_cylinder)
    }

    /// Draws the engine into a size of the caller's and gives what was tapped.
    pub fn ui(&self, ui: &mut Ui, words: &Words, size: Vec2) -> Option<DiagramTap> {
        let id = ui.scope_id().with("bank diagram");
        let start = ui.available_rect_before_wrap().min;
        let rect = Rect::from_min_size(start, size);
        let plan = plan(
            self.layout,
            rect,
            text_sizes(ui, words, self.layout),
            self.large(),
        );
        ui.allocate_rect(plan.rect, egui::Sense::hover());
        self.paint_engine(ui, words, &plan);
        let cylinder = self.cylinders(ui, words, &plan, id);
        let valve = self.valves(ui, words, &plan, id);
        valve.or(cylinder)
    }

    /// Height below which the engine does not fit into a width, in points.
    pub fn least_height(&self, ui: &Ui, words: &Words, width: f32) -> f32 {
        let rect = Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(width, 0.0));
        let text = text_sizes(ui, words, self.layout);
        plan(self.layout, rect, text, self.large()).rect.height()
    }

    /// Height from which the whole engine is drawn with every valve taking a tap; `None`
    /// where the width does not allow it.
    pub fn whole_height(&self, ui: &Ui, words: &Words, width: f32) -> Option<f32> {
        plan::whole_height(self.layout, width, text_sizes(ui, words, self.layout))
    }

    fn cylinders(&self, ui: &mut Ui, words: &Words, plan: &Plan, id: Id) -> Option<DiagramTap> {
        let mut taken = None;
        // What the large cylinder may use for its sides' names: all that the overview
        // leaves free at its left.
        let map = plan
            .slabs
            .iter()
            .fold(Rect::NOTHING, |all, s| all.union(s.rect));
        for place in &plan.cylinders {
            let is_beside = place.is_large && place.rect.left() > map.right();
            let room = if is_beside {
                plan.rect.with_min_x(map.right() + 4.0)
            } else {
                plan.rect
            };
            if place.is_target {
                let name = self.cylinder_name(words, place.cylinder);
                let target = id.with(("cylinder", place.cylinder));
                let tap = tap::area(ui, place.rect, target, &name, true);
                if tap.tapped {
                    taken = Some(DiagramTap::Cylinder(place.cylinder));
                }
                self.paint_cylinder(ui, words, place, room, Some(&tap.response));
            } else {
                self.paint_cylinder(ui, words, place, room, None);
            }
        }
        taken
    }

    fn valves(&self, ui: &mut Ui, words: &Words, plan: &Plan, id: Id) -> Option<DiagramTap> {
        let mut taken = None;
        self.come_to_hand(ui, plan, id);
        for place in &plan.valves {
            let view = self.valve(place.valve);
            match place.target {
                Some(rect) => {
                    let name = self.valve_name(words, place.valve, view);
                    let target = id.with(("valve", place.valve));
                    let tap = tap::area(ui, rect, target, &name, true);
                    if tap.tapped {
                        taken = Some(DiagramTap::Valve(place.valve));
                    }
                    self.paint_valve(ui, place, view, &tap.response);
                }
                None => Self::paint_small_valve(ui, place, view),
            }
        }
        taken
    }

    /// Brings a valve that has just been taken in hand into sight, where the engine does
    /// not fit its place.
    fn come_to_hand(&self, ui: &Ui, plan: &Plan, id: Id) {
        let key = id.with("came to");
        let before: Option<Option<ValveName>> = ui.data(|d| d.get_temp(key));
        if before == Some(self.in_hand) {
            return;
        }
        ui.data_mut(|d| d.insert_temp(key, self.in_hand));
        let is_it = |p: &&ValvePlace| Some(p.valve) == self.in_hand && p.target.is_some();
        if let Some(target) = plan.valves.iter().find(is_it).and_then(|p| p.target) {
            ui.scroll_to_rect(target, None);
        }
    }

    /// What a screen reader says of a valve: where it is, its stage, what is amiss.
    fn valve_name(&self, words: &Words, valve: ValveName, view: ValveView) -> String {
        let mut name = format!(
            "{}: {}",
            words.valve(valve),
            words.stage_or_untouched(view.stage)
        );
        if self.in_hand == Some(valve) {
            name = format!("{name}, {}", words.in_hand);
        }
        if view.is_astray {
            name = format!("{name}, {}", words.adrift);
        }
        name
    }

    fn cylinder_name(&self, words: &Words, cylinder: u8) -> String {
        let done = self
            .layout
            .valves_of(cylinder)
            .filter(|v| self.valve(*v).stage == Some(Stage::Verified))
            .count();
        let count = words.of_verified(done, self.layout.valves_per_cylinder());
        let mut name = format!("{}: {count}", words.cylinder_n(cylinder));
        if self.at_cylinder == Some(cylinder) {
            name = format!("{name}, {}", words.crank_is_here);
        }
        if self.next_cylinder == Some(cylinder) {
            name = format!("{name}, {}", words.comes_next);
        }
        name
    }
}

fn text_sizes(ui: &Ui, words: &Words, layout: &Layout) -> TextSizes {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let width = |text: &str, step| strokes::text_line(ui, text, step, ink, 160.0).size().x;
    let names = if layout.banks.len() > 1 {
        layout.banks.as_slice()
    } else {
        &[]
    };
    let widest = names
        .iter()
        .map(|b| width(&b.name, Type::Strong) + 30.0)
        .fold(width(words.front, Type::Small) + 16.0, f32::max);
    TextSizes {
        number: strokes::line_height(ui, Type::Title) + 2.0,
        side: strokes::line_height(ui, Type::Small),
        front: widest.max(56.0),
        side_width: width(words.intake, Type::Small).max(width(words.exhaust, Type::Small)),
    }
}
