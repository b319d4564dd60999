//! What the engine's picture is made of, as places: banks, cylinders, valves.

use egui::{Pos2, Rect};
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
pub struct Plan {
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
    /// Middle lines of the rows that carry a side's name, with the side.
    pub sides: Vec<(f32, Side)>,
}
