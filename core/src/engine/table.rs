//! The fields of a layout file as a table: what each wants, and within which limits.

/// What a value has to be.
#[derive(Clone, Copy, Debug)]
pub(super) enum FieldKind {
    /// A whole number, both ends allowed.
    Whole(u64, u64),
    /// A number, both ends allowed.
    Real(f64, f64),
    /// A number above 0, the end allowed.
    Above0(f64),
    /// A text of one line, so many characters.
    Line(usize, usize),
    /// A text that may have several lines, up to so many characters.
    Lines(usize),
    /// True or false.
    Flag,
    /// One of these words.
    Word(&'static [&'static str]),
    /// The word of an item of the tool kit.
    KitItem,
    /// A valve within its cylinder.
    Valve,
    /// A list with so many entries of a kind.
    List(&'static FieldKind, usize, usize),
    /// An object with these fields.
    Object(&'static [LayoutField]),
}

/// One field of an object.
#[derive(Clone, Copy, Debug)]
pub(super) struct LayoutField {
    /// Its name.
    pub key: &'static str,
    /// Whether it may be left out.
    pub optional: bool,
    /// What it wants.
    pub kind: FieldKind,
}

const fn must(key: &'static str, kind: FieldKind) -> LayoutField {
    LayoutField {
        key,
        optional: false,
        kind,
    }
}

const fn may(key: &'static str, kind: FieldKind) -> LayoutField {
    LayoutField {
        key,
        optional: true,
        kind,
    }
}

use FieldKind::{Above0, Flag, KitItem, Line, Lines, List, Object, Real, Valve, Whole, Word};

/// The only format there is so far.
pub(super) const FORMAT: u64 = 1;
/// The most cylinders that an engine may have: the working order is exact up to here.
pub(super) const CYLINDERS_MAX: usize = 16;
/// The most valves on one side of a cylinder.
pub(super) const VALVES_A_SIDE_MAX: u64 = 3;
/// The most valves of an engine.
const VALVES_MAX: usize = CYLINDERS_MAX * 2 * VALVES_A_SIDE_MAX as usize;
/// The most entries of any list.
pub(super) const LIST_MAX: usize = 200;
/// The longest remark, in characters.
const REMARK_MAX: usize = 500;

/// A cylinder's number.
const CYLINDER: FieldKind = Whole(1, 99);

/// The whole file.
pub(super) const LAYOUT: FieldKind = Object(&[
    must("format", Whole(FORMAT, FORMAT)),
    must("name", Line(1, 80)),
    may("note", Lines(2_000)),
    must("banks", List(&Object(&BANK), 1, CYLINDERS_MAX)),
    must("bank_angle_deg", Real(0.0, 360.0)),
    must("firing_order", List(&CYLINDER, 1, CYLINDERS_MAX)),
    may(
        "firing_intervals_deg",
        List(&Above0(720.0), 1, CYLINDERS_MAX),
    ),
    may("may_turn_back", Flag),
    must("intake_valves", Whole(1, VALVES_A_SIDE_MAX)),
    must("exhaust_valves", Whole(1, VALVES_A_SIDE_MAX)),
    must("locks_per_valve", Whole(1, 4)),
    must("springs_per_valve", Whole(1, 3)),
    must("follower", Word(&["finger", "rocker", "bucket", "none"])),
    may("shims_per_valve", Whole(0, 1)),
    must("bore_mm", Real(20.0, 300.0)),
    must("stroke_mm", Real(20.0, 300.0)),
    must("rod_mm", Real(20.0, 1_000.0)),
    may("intake_seat_mm", Real(5.0, 200.0)),
    may("exhaust_seat_mm", Real(5.0, 200.0)),
    must("breakaway_torque_nm", Real(1.0, 500.0)),
    may("breakaway_measured", Flag),
    must("pressure_rating_bar", Real(0.5, 40.0)),
    may("fitting_push_n", Real(1.0, 1_000.0)),
    may("spring", Object(&SPRING)),
    may("rim_diameter_mm", Real(20.0, 1_000.0)),
    may("guide", Object(&GUIDE)),
    may("order_list", List(&Object(&ORDER_LINE), 0, LIST_MAX)),
    may("remarks", List(&Object(&REMARK), 0, VALVES_MAX)),
    may(
        "working_positions",
        List(&Object(&WORKING_POSITION), 0, CYLINDERS_MAX),
    ),
    may("tops", Word(&["compression", "either"])),
    may("adaptors", List(&Object(&ADAPTOR), 0, VALVES_MAX)),
    may("kit", List(&Object(&KIT_LINE), 0, LIST_MAX)),
    must("handling_min", Object(&HANDLING)),
]);

const BANK: [LayoutField; 2] = [
    must("name", Line(1, 20)),
    must("cylinders", List(&CYLINDER, 1, CYLINDERS_MAX)),
];

const SPRING: [LayoutField; 5] = [
    must("seated_load_n", Real(1.0, 10_000.0)),
    must("rate_n_per_mm", Real(0.1, 2_000.0)),
    must("seated_height_mm", Real(1.0, 300.0)),
    must("solid_height_mm", Real(1.0, 300.0)),
    must("travel_to_locks_mm", Above0(300.0)),
];

const GUIDE: [LayoutField; 2] = [
    must("length_mm", Real(5.0, 300.0)),
    must("tip_above_mm", Real(0.0, 300.0)),
];

const ORDER_LINE: [LayoutField; 2] = [must("item", Line(1, 80)), must("count", Whole(1, 999))];

const REMARK: [LayoutField; 3] = [
    must("cylinder", CYLINDER),
    must("valve", Valve),
    must("text", Line(1, REMARK_MAX)),
];

const WORKING_POSITION: [LayoutField; 3] = [
    must("cylinder", CYLINDER),
    must("offsets_deg", List(&Real(-180.0, 180.0), 1, 16)),
    must("why", Line(0, REMARK_MAX)),
];

const ADAPTOR: [LayoutField; 3] = [
    must("cylinder", CYLINDER),
    must("valve", Valve),
    must("adaptor", Line(1, 40)),
];

const KIT_LINE: [LayoutField; 3] = [
    must("item", KitItem),
    must("count", Whole(1, 999)),
    may("bank", Line(1, 20)),
];

const HANDLING: [LayoutField; 4] = [
    must("turn_360", Real(0.0, 1_440.0)),
    must("bank_change", Real(0.0, 1_440.0)),
    must("adaptor_change", Real(0.0, 1_440.0)),
    may("cylinder_setup", Real(0.0, 1_440.0)),
];
