//! The engine as one sees it from above: the list of the work, valve by valve.
//!
//! Banks lie as they lie in the car, the front with its pulley to the left, the sides
//! named. The finger goes to the valve itself.

mod memo;
mod paint;
mod places;
mod plan;

use egui::{Id, Rect, Ui, Vec2};
use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::Stage;

use super::{cached_shapes, flight, paint as strokes, tap};
use crate::ui::theme::{Theme, Type};
use crate::ui::words::Words;

pub use places::{CylinderPlace, DiagramPlan, Port, SideName, Slab, TextSizes, ValvePlace};
pub use plan::plan;

/// What the diagram knows of one valve.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct ValveView {
    /// The last stage seen.
    pub stage: Option<Stage>,
    /// Something of it has gone astray.
    pub is_astray: bool,
    /// The layout has a remark on it.
    pub has_remark: bool,
    /// Something was found on it.
    pub has_finding: bool,
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
    /// Cylinders with a word of their own: what holds them without air, that they are put
    /// off.
    pub marks: &'a [(u8, &'static str)],
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

    /// The word of a cylinder's own.
    fn mark(&self, cylinder: u8) -> Option<&'static str> {
        let of = |(at, word): &(u8, &'static str)| (*at == cylinder).then_some(*word);
        self.marks.iter().find_map(of)
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
        let kept = self.planned(ui, words, rect, id);
        let plan = &*kept.plan;
        ui.allocate_rect(plan.rect, egui::Sense::hover());
        let cylinder = self.cylinders(ui, words, plan, id);
        let valve = self.valves(ui, words, plan, id);
        let is_live = cylinder.is_live || valve.is_live;
        cached_shapes::cached_shapes(ui, id, kept.number, is_live, |ui| {
            self.paint_engine(ui, words, plan);
            self.paint_cylinders(ui, words, plan, id);
            self.paint_valves(ui, plan, id);
        });
        valve.taken.or(cylinder.taken)
    }

    /// The targets of cylinders.
    fn cylinders(&self, ui: &mut Ui, words: &Words, plan: &DiagramPlan, id: Id) -> TouchedPart {
        let mut touched = TouchedPart::default();
        for place in plan.cylinders.iter().filter(|place| place.is_target) {
            let cylinder = place.cylinder;
            let name = || self.cylinder_name(words, cylinder);
            let tap = tap::area_said(ui, place.rect, cylinder_id(id, cylinder), name, true);
            touched.by(&tap, DiagramTap::Cylinder(cylinder));
        }
        touched
    }

    /// The targets of valves.
    fn valves(&self, ui: &mut Ui, words: &Words, plan: &DiagramPlan, id: Id) -> TouchedPart {
        let mut touched = TouchedPart::default();
        self.come_to_hand(ui, plan);
        for place in &plan.valves {
            let Some(rect) = place.target else { continue };
            let valve = place.valve;
            let name = || self.valve_name(words, valve, self.valve(valve));
            let tap = tap::area_said(ui, rect, valve_id(id, valve), name, true);
            touched.by(&tap, DiagramTap::Valve(valve));
            if self.in_hand == Some(valve) {
                flight::note_hand(ui.ctx(), place.center);
            }
        }
        touched
    }

    fn paint_cylinders(&self, ui: &Ui, words: &Words, plan: &DiagramPlan, id: Id) {
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
            let response = place
                .is_target
                .then(|| ui.ctx().read_response(cylinder_id(id, place.cylinder)))
                .flatten();
            self.paint_cylinder(ui, words, place, room, response.as_ref());
        }
    }

    fn paint_valves(&self, ui: &Ui, plan: &DiagramPlan, id: Id) {
        for place in &plan.valves {
            let view = self.valve(place.valve);
            if place.target.is_some() {
                let response = ui.ctx().read_response(valve_id(id, place.valve));
                self.paint_valve(ui, place, view, response.as_ref());
            } else {
                Self::paint_small_valve(ui, place, view);
            }
        }
    }

    /// Brings a valve that has just been taken in hand into sight, where the engine does
    /// not fit its place.
    fn come_to_hand(&self, ui: &Ui, plan: &DiagramPlan) {
        // One for the usual picture and the large one: what grows between two fingers stays there.
        let before: Option<Option<ValveName>> = ui.data(|d| d.get_temp(in_sight_key()));
        if before == Some(self.in_hand) {
            return;
        }
        ui.data_mut(|d| d.insert_temp(in_sight_key(), self.in_hand));
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
        if view.has_finding {
            name = format!("{name}, {}", words.finding);
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
        if let Some(mark) = self.mark(cylinder) {
            name = format!("{name}, {mark}");
        }
        name
    }
}

/// What the finger and the keyboard do to some targets.
#[derive(Default)]
struct TouchedPart {
    taken: Option<DiagramTap>,
    /// One of them is pressed or has the keyboard, and looks like it.
    is_live: bool,
}

impl TouchedPart {
    fn by(&mut self, tap: &tap::Tapped, means: DiagramTap) {
        if tap.tapped {
            self.taken = Some(means);
        }
        self.is_live |= strokes::is_pressed(&tap.response) || tap.response.has_focus();
    }
}

fn in_sight_key() -> Id {
    Id::unique("trayzero valve in sight")
}

/// Has the next picture bring the valve in hand into sight.
pub fn bring_into_sight(ui: &Ui) {
    ui.data_mut(|d| d.remove::<Option<ValveName>>(in_sight_key()));
}

fn cylinder_id(diagram: Id, cylinder: u8) -> Id {
    diagram.with(("cylinder", cylinder))
}

fn valve_id(diagram: Id, valve: ValveName) -> Id {
    diagram.with(("valve", valve))
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
