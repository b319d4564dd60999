//! The layout as data, field for field as it stands in the file.

use serde::{Deserialize, Serialize};

use super::Item;
use super::{Side, ValveName};

/// The adaptor of a valve that the layout does not list.
pub const STANDARD_ADAPTOR: &str = "standard";

/// One engine, as a shop describes it. All lengths in millimetres, angles in
/// degrees of crank, pressures in bar (gauge), forces in newton, torques in
/// newton metres, times in minutes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// Version of the file format; this program writes and reads 1.
    pub format: u32,
    /// Short name shown in lists.
    pub name: String,
    /// Free remark of whoever wrote the layout.
    #[serde(default)]
    pub note: String,
    /// Banks with their cylinders, front to back.
    pub banks: Vec<Bank>,
    /// Angle between the banks; 0 for one bank, 180 for a flat engine.
    pub bank_angle_deg: f64,
    /// Every cylinder once, in firing order. It starts with any cylinder.
    pub firing_order: Vec<u8>,
    /// Angle from each firing to the next, in firing order; sum 720. Even if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub firing_intervals_deg: Option<Vec<f64>>,
    /// Whether the crank may be turned against its running direction.
    #[serde(default)]
    pub may_turn_back: bool,
    /// Intake valves of one cylinder.
    pub intake_valves: u8,
    /// Exhaust valves of one cylinder.
    pub exhaust_valves: u8,
    /// Locks (half collets) of one valve.
    pub locks_per_valve: u8,
    /// Springs of one valve.
    pub springs_per_valve: u8,
    /// What sits between cam and valve and has to come out.
    pub follower: Follower,
    /// Shims of one bucket follower; 1 unless given, and none with any other follower.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shims_per_valve: Option<u8>,
    /// Cylinder bore.
    pub bore_mm: f64,
    /// Stroke.
    pub stroke_mm: f64,
    /// Connecting rod, centre to centre.
    pub rod_mm: f64,
    /// Inner diameter of the intake valve's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub intake_seat_mm: Option<f64>,
    /// Inner diameter of the exhaust valve's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exhaust_seat_mm: Option<f64>,
    /// Torque that just moves the crank with the plugs out.
    pub breakaway_torque_nm: f64,
    /// Whether that torque was read on a wrench or is assumed.
    #[serde(default)]
    pub breakaway_measured: bool,
    /// Lowest rating among hose, regulator and tester.
    pub pressure_rating_bar: f64,
    /// Push on the stem while the locks are fitted; 60 N unless given.
    #[serde(default = "default_push")]
    pub fitting_push_n: f64,
    /// Valve spring, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spring: Option<SpringData>,
    /// Diameter of the crank pulley's rim, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rim_diameter_mm: Option<f64>,
    /// Valve guide lengths, for the wear check.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guide: Option<Guide>,
    /// Parts to order for one job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_list: Option<Vec<OrderLine>>,
    /// Remarks on single valves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remarks: Option<Vec<Remark>>,
    /// Cylinders that are worked off their top.
    #[serde(default)]
    pub working_positions: Vec<WorkingPosition>,
    /// Which tops of a cylinder serve.
    #[serde(default, skip_serializing_if = "Tops::is_usual")]
    pub tops: Tops,
    /// Valves that need another tool end than [`STANDARD_ADAPTOR`].
    #[serde(default)]
    pub adaptors: Vec<AdaptorRule>,
    /// Kit to count in.
    #[serde(default)]
    pub kit: Vec<KitLine>,
    /// What the steps between valves cost in time.
    pub handling_min: Handling,
}

fn default_push() -> f64 {
    60.0
}

/// One bank: its name and its cylinders from the front back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bank {
    /// Name of the bank, as the shop says it.
    pub name: String,
    /// Cylinder numbers, front to back.
    pub cylinders: Vec<u8>,
}

/// What sits between cam and valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Follower {
    /// A finger follower.
    Finger,
    /// A rocker.
    Rocker,
    /// A bucket over the spring; it and its shim belong to one valve.
    Bucket,
    /// Nothing that has to come out singly.
    None,
}

/// Which tops of a cylinder serve for working on its valves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tops {
    /// The compression top alone: there both cams are off the valves.
    #[default]
    Compression,
    /// Either: the valves are freed from their cams, for the cams or all followers are out.
    Either,
}

impl Tops {
    #[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
    fn is_usual(&self) -> bool {
        *self == Self::Compression
    }
}

/// A valve spring.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpringData {
    /// Load with the valve shut, newton.
    pub seated_load_n: f64,
    /// Rate, newton per millimetre.
    pub rate_n_per_mm: f64,
    /// Height with the valve shut, millimetres.
    pub seated_height_mm: f64,
    /// Height with its coils touching, millimetres.
    pub solid_height_mm: f64,
    /// How far it is pressed until the locks come free, millimetres.
    pub travel_to_locks_mm: f64,
}

/// Lengths of a valve guide.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Guide {
    /// Length of the guide.
    pub length_mm: f64,
    /// Height of the stem's tip above the guide's end.
    pub tip_above_mm: f64,
}

/// One line of the order list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderLine {
    /// What to order.
    pub item: String,
    /// How many for one job.
    pub count: u32,
}

/// A remark on one valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Remark {
    /// Cylinder number.
    pub cylinder: u8,
    /// Valve within the cylinder, such as `intake 1`.
    pub valve: String,
    /// The remark.
    pub text: String,
}

/// The offsets at which one cylinder may be worked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkingPosition {
    /// Cylinder number.
    pub cylinder: u8,
    /// Degrees after (positive) or before (negative) its compression TDC.
    pub offsets_deg: Vec<f64>,
    /// Why not at the top.
    pub why: String,
}

/// The tool end that one valve needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AdaptorRule {
    /// Cylinder number.
    pub cylinder: u8,
    /// Valve within the cylinder, such as `exhaust 2`.
    pub valve: String,
    /// Name of the adaptor.
    pub adaptor: String,
}

/// One line of the kit list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KitLine {
    /// The item.
    pub item: Item,
    /// How many.
    pub count: u32,
    /// Bank that it belongs to, if one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bank: Option<String>,
}

/// Handling times in minutes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Handling {
    /// Turning the crank once round.
    pub turn_360: f64,
    /// Changing from one bank to another.
    pub bank_change: f64,
    /// Changing the adaptor.
    pub adaptor_change: f64,
    /// At each cylinder: hose in and out, vented cover out and in, gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cylinder_setup: Option<f64>,
}

impl Layout {
    /// Cylinder numbers, bank by bank, front to back.
    pub fn cylinders(&self) -> impl Iterator<Item = u8> + '_ {
        self.banks.iter().flat_map(|b| b.cylinders.iter().copied())
    }

    /// How many cylinders the engine has.
    pub fn cylinder_count(&self) -> usize {
        self.banks.iter().map(|b| b.cylinders.len()).sum()
    }

    /// Valves of one cylinder.
    pub fn valves_per_cylinder(&self) -> usize {
        usize::from(self.intake_valves) + usize::from(self.exhaust_valves)
    }

    /// Valves of the whole engine.
    pub fn valve_count(&self) -> usize {
        self.cylinder_count() * self.valves_per_cylinder()
    }

    /// How many followers of one valve come out singly.
    pub fn followers(&self) -> u8 {
        u8::from(self.follower != Follower::None)
    }

    /// How many shims one valve has.
    pub fn shims(&self) -> u8 {
        match self.follower {
            Follower::Bucket => self.shims_per_valve.unwrap_or(1),
            Follower::Finger | Follower::Rocker | Follower::None => 0,
        }
    }

    /// Index of the bank in which a cylinder sits.
    pub fn bank_of(&self, cylinder: u8) -> Option<usize> {
        self.banks
            .iter()
            .position(|b| b.cylinders.contains(&cylinder))
    }

    /// Position of a cylinder in [`Layout::cylinders`].
    pub fn cylinder_index(&self, cylinder: u8) -> Option<usize> {
        let mut before = 0;
        for bank in &self.banks {
            if let Some(place) = bank.cylinders.iter().position(|c| *c == cylinder) {
                return Some(before + place);
            }
            before += bank.cylinders.len();
        }
        None
    }

    /// Position of a valve in [`Layout::valves`], `None` if the engine lacks it.
    pub fn valve_index(&self, valve: ValveName) -> Option<usize> {
        let (limit, before) = match valve.side {
            Side::Intake => (self.intake_valves, 0),
            Side::Exhaust => (self.exhaust_valves, self.intake_valves),
        };
        if valve.place == 0 || valve.place > limit {
            return None;
        }
        let cylinder = self.cylinder_index(valve.cylinder)?;
        Some(cylinder * self.valves_per_cylinder() + usize::from(before + valve.place - 1))
    }

    /// Valves of one cylinder: intakes from the front, then exhausts.
    pub fn valves_of(&self, cylinder: u8) -> impl Iterator<Item = ValveName> + use<> {
        let (intakes, exhausts) = (self.intake_valves, self.exhaust_valves);
        (1..=intakes)
            .map(move |p| ValveName::new(cylinder, Side::Intake, p))
            .chain((1..=exhausts).map(move |p| ValveName::new(cylinder, Side::Exhaust, p)))
    }

    /// Every valve of the engine, cylinder by cylinder as in [`Layout::cylinders`].
    pub fn valves(&self) -> impl Iterator<Item = ValveName> + '_ {
        self.cylinders().flat_map(|c| self.valves_of(c))
    }

    /// Offsets in degrees at which a cylinder may be worked; `[0.0]` unless listed. Where
    /// either top serves, those about the other one, a turn of 360 further on, come too.
    pub fn offsets_deg(&self, cylinder: u8) -> Vec<f64> {
        let mut offsets = self
            .working_positions
            .iter()
            .find(|w| w.cylinder == cylinder)
            .map_or_else(|| vec![0.0], |w| w.offsets_deg.clone());
        if self.tops == Tops::Either {
            for place in 0..offsets.len() {
                offsets.push(offsets[place] + 360.0);
            }
        }
        offsets
    }

    /// Name of the adaptor that a valve needs.
    pub fn adaptor_of(&self, valve: ValveName) -> &str {
        let name = valve.within_cylinder();
        self.adaptors
            .iter()
            .find(|a| a.cylinder == valve.cylinder && a.valve == name)
            .map_or(STANDARD_ADAPTOR, |a| a.adaptor.as_str())
    }

    /// The layout's remark on a valve.
    pub fn remark_on(&self, valve: ValveName) -> Option<&str> {
        self.remarks
            .iter()
            .flatten()
            .filter(|r| r.cylinder == valve.cylinder)
            .find(|r| r.valve == valve.within_cylinder())
            .map(|r| r.text.as_str())
    }

    /// The kit to count in: the layout's list, completed with what no job can do
    /// without (one vented cover a cylinder, one hose, one wrench).
    pub fn kit_list(&self) -> Vec<KitLine> {
        let mut list = self.kit.clone();
        let needed = [
            (Item::VentedCover, self.cylinder_count() as u32),
            (Item::Hose, 1),
            (Item::Wrench, 1),
        ];
        for (item, count) in needed {
            if !list.iter().any(|k| k.item == item) {
                list.push(KitLine {
                    item,
                    count,
                    bank: None,
                });
            }
        }
        list
    }
}
