//! What the engine's picture is made of, as places: banks, cylinders, valves.

use egui::{Pos2, Rangef, Rect, pos2, vec2};
use trayzero_core::engine::{Side, ValveName};

/// Heights of text that the plan has to leave room for, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TextSizes {
    /// Height of the row with the cylinder's number.
    pub number: f32,
    /// Height of a side's name; 0 to leave the names out.
    pub side: f32,
    /// Width of the column in front of the engine.
    pub front: f32,
    /// Width of the longer of the sides' names.
    pub side_width: f32,
}

/// A bank, or a part of one where it does not fit into one row.
#[derive(Clone, Debug, PartialEq)]
pub struct Slab {
    /// Index of the bank.
    pub bank: usize,
    /// Its outline.
    pub rect: Rect,
    /// Whether the intake side is the upper one.
    pub intake_up: bool,
}

/// One cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct CylinderPlace {
    /// Its number.
    pub cylinder: u8,
    /// Its card.
    pub rect: Rect,
    /// Middle of the number.
    pub number: Pos2,
    /// Whether the card as a whole takes a tap.
    pub is_target: bool,
    /// Whether it is the one shown large beside the overview.
    pub is_large: bool,
    /// Whether its intake side is the upper one.
    pub intake_up: bool,
}

/// One valve.
#[derive(Clone, Debug, PartialEq)]
pub struct ValvePlace {
    /// Its name.
    pub valve: ValveName,
    /// Its middle.
    pub center: Pos2,
    /// Radius of its mark.
    pub radius: f32,
    /// Where it takes a tap; `None` in an overview.
    pub target: Option<Rect>,
}

/// Where everything goes.
#[derive(Clone, Debug, PartialEq)]
pub struct DiagramPlan {
    /// The room taken, at least what was given.
    pub rect: Rect,
    /// Banks from the top.
    pub slabs: Vec<Slab>,
    /// The block behind the banks.
    pub block: Rect,
    /// The pulley at the engine's front.
    pub pulley: Rect,
    /// Cylinders, in the overview's place, then the large one.
    pub cylinders: Vec<CylinderPlace>,
    /// Valves, in the overview's place, then the large ones.
    pub valves: Vec<ValvePlace>,
    /// Whether the whole engine is an overview whose cylinders take the tap.
    pub is_overview: bool,
    /// Names of the sides.
    pub sides: Vec<SideName>,
}

/// The name of a side of the engine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideName {
    /// The room it has; it stands in the middle of it.
    pub rect: Rect,
    /// The side.
    pub side: Side,
}

/// The stub of a port, as it is seen from above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Port {
    /// Its outline; a half of it lies under the bank.
    pub rect: Rect,
    /// Whether it is an open duct of the intake or a round flange of the exhaust.
    pub side: Side,
}

impl DiagramPlan {
    /// The ports at the edges of a bank. Where a side's name has no gap between them, it
    /// stands in place of them all.
    pub fn ports<'a>(&'a self, slab: &'a Slab) -> impl Iterator<Item = Port> + 'a {
        let all = || self.slabs.iter().flat_map(|slab| self.all_ports(slab));
        let has_no_gap = |name: &&SideName| all().any(|port| name.is_near(port.rect));
        let names = self.sides.iter().filter(has_no_gap);
        let lines: Vec<Rangef> = names.map(|name| name.rect.y_range()).collect();
        let is_shown = move |port: &Port| !lines.iter().any(|l| l.intersects(port.rect.y_range()));
        self.all_ports(slab).filter(is_shown)
    }

    /// The same with those.
    pub(super) fn all_ports<'a>(&'a self, slab: &'a Slab) -> impl Iterator<Item = Port> + 'a {
        let in_slab = |place: &&ValvePlace| slab.rect.contains(place.center);
        self.valves.iter().filter(in_slab).map(|place| {
            let side = place.valve.side;
            let y = if (side == Side::Intake) == slab.intake_up {
                slab.rect.top()
            } else {
                slab.rect.bottom()
            };
            let half = (place.radius * 0.45).max(3.0);
            let size = match side {
                Side::Intake => vec2(2.0 * half, 24.0),
                Side::Exhaust => vec2(2.6 * half, 12.0),
            };
            let rect = Rect::from_center_size(pos2(place.center.x, y), size);
            Port { rect, side }
        })
    }
}

impl SideName {
    /// Whether something is so near that it would be taken for a part of the name.
    pub(super) fn is_near(&self, other: Rect) -> bool {
        self.rect.expand2(vec2(1.0, 0.0)).intersects(other)
    }
}
