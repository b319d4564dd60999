//! The rules that hold between the fields of a layout.
//!
//! They are held against the tree as it stands in the file, faults and all. A rule
//! whose fields cannot be read is left out: its faults would only repeat the others.

use super::node::Node;
use super::rule::LayoutRule;
use super::table::{CYLINDERS_MAX, LIST_MAX, VALVES_A_SIDE_MAX};
use super::walk::{Faults, valve};

/// How far the firing intervals may be off 720 degrees in sum.
const SUM_TOLERANCE_DEG: f64 = 1e-6;

/// Holds the whole tree against every rule between fields.
pub(super) fn hold_against_rules(root: &Node, faults: &mut Faults) {
    let engine = Engine::of(root);
    bank_names(root, faults);
    cylinders_once(root, faults);
    firing_order(root, &engine, faults);
    firing_intervals(root, faults);
    dimensions(root, faults);
    spring(root, faults);
    working_positions(root, &engine, faults);
    valve_list(root, "adaptors", &engine, faults);
    valve_list(root, "remarks", &engine, faults);
    kit(root, faults);
    shims(root, faults);
}

/// Only a bucket has a shim that comes out with it.
fn shims(root: &Node, faults: &mut Faults) {
    let count = root.get("shims_per_valve").and_then(Node::whole);
    let follower = root.get("follower").and_then(Node::text);
    if let (Some(count @ 1..), Some(follower)) = (count, follower)
        && follower != "bucket"
    {
        let rule = LayoutRule::BucketAlone;
        faults.add("shims_per_valve", count.to_string(), rule);
    }
}

/// What other fields refer to, where it can be read.
struct Engine {
    /// Every cylinder of the banks; `None` if one of them cannot be read.
    cylinders: Option<Vec<u64>>,
    /// Valves of one cylinder: intake, exhaust.
    valves: [Option<u64>; 2],
}

impl Engine {
    fn of(root: &Node) -> Self {
        let cylinders = root.get("banks").and_then(|banks| {
            let lists = banks.entries().iter().map(|b| b.get("cylinders"));
            let lists: Option<Vec<&Node>> = lists.collect();
            let cylinders = lists?.into_iter().flat_map(Node::entries);
            cylinders.map(cylinder_number).collect::<Option<Vec<u64>>>()
        });
        let count = |key| {
            let count = root.get(key).and_then(Node::whole);
            count.filter(|n| (1..=VALVES_A_SIDE_MAX).contains(n))
        };
        Self {
            cylinders: cylinders.filter(|c| !c.is_empty()),
            valves: [count("intake_valves"), count("exhaust_valves")],
        }
    }

    /// Whether the engine has that cylinder; yes where that cannot be told.
    fn may_have(&self, cylinder: u64) -> bool {
        self.cylinders
            .as_ref()
            .is_none_or(|c| c.contains(&cylinder))
    }
}

/// A number that can be a cylinder's.
fn cylinder_number(node: &Node) -> Option<u64> {
    node.whole().filter(|n| (1..=99).contains(n))
}

/// The entries of a list, as far as lists may go at all: a longer one is a fault by its
/// length, and need not be compared entry by entry.
fn list<'a>(root: &'a Node, key: &str) -> &'a [Node] {
    let entries = root.get(key).map_or(&[][..], Node::entries);
    &entries[..entries.len().min(LIST_MAX)]
}

fn bank_names(root: &Node, faults: &mut Faults) {
    let banks = list(root, "banks");
    let name = |b: &Node| b.get("name").and_then(Node::text).map(str::to_owned);
    for (i, bank) in banks.iter().enumerate() {
        let Some(own) = name(bank) else { continue };
        if let Some(first) = banks[..i]
            .iter()
            .position(|b| name(b).as_ref() == Some(&own))
        {
            let rule = LayoutRule::BankNameAgain {
                field: format!("banks[{first}]"),
            };
            faults.add(format!("banks[{i}].name"), format!("\"{own}\""), rule);
        }
    }
}

fn cylinders_once(root: &Node, faults: &mut Faults) {
    let mut seen: Vec<(u64, String)> = Vec::new();
    for (b, bank) in list(root, "banks").iter().enumerate() {
        for (c, cylinder) in list(bank, "cylinders").iter().enumerate() {
            let Some(number) = cylinder_number(cylinder) else {
                continue;
            };
            let path = format!("banks[{b}].cylinders[{c}]");
            if let Some((_, first)) = seen.iter().find(|(n, _)| *n == number) {
                let rule = LayoutRule::CylinderAgain {
                    field: first.clone(),
                };
                faults.add(path.clone(), number.to_string(), rule);
            }
            seen.push((number, path));
        }
    }
    if seen.len() > CYLINDERS_MAX {
        let rule = LayoutRule::TooManyCylinders(CYLINDERS_MAX);
        faults.add("banks", format!("{} cylinders", seen.len()), rule);
    }
}

fn firing_order(root: &Node, engine: &Engine, faults: &mut Faults) {
    let order = list(root, "firing_order");
    for (i, entry) in order.iter().enumerate() {
        let Some(number) = cylinder_number(entry) else {
            continue;
        };
        let path = format!("firing_order[{i}]");
        if !engine.may_have(number) {
            faults.add(path, number.to_string(), LayoutRule::CylinderOfNoBank);
        } else if order[..i].iter().any(|e| e.whole() == Some(number)) {
            let rule = LayoutRule::FiresTwice;
            faults.add(path, number.to_string(), rule);
        }
    }
    let readable = !order.is_empty() && order.iter().all(|e| cylinder_number(e).is_some());
    let (true, Some(cylinders)) = (readable, &engine.cylinders) else {
        return;
    };
    let left_out: Vec<String> = cylinders
        .iter()
        .filter(|c| !order.iter().any(|e| e.whole() == Some(**c)))
        .map(u64::to_string)
        .collect();
    if !left_out.is_empty() {
        let rule = LayoutRule::LeavesOut(left_out.join(", "));
        faults.add("firing_order", numbers(order), rule);
    }
}

/// The numbers of a list, as they are shown in a fault.
fn numbers(entries: &[Node]) -> String {
    let words: Vec<String> = entries
        .iter()
        .take(CYLINDERS_MAX)
        .map(Node::excerpt)
        .collect();
    format!("[{}]", words.join(", "))
}

fn firing_intervals(root: &Node, faults: &mut Faults) {
    let Some(intervals) = root.get("firing_intervals_deg") else {
        return;
    };
    let (entries, order) = (intervals.entries(), list(root, "firing_order"));
    if entries.is_empty() {
        return;
    }
    if !order.is_empty() && entries.len() != order.len() {
        let rule = LayoutRule::AngleForEach(order.len());
        faults.add("firing_intervals_deg", intervals.excerpt(), rule);
    }
    let Some(angles) = entries.iter().map(Node::real).collect::<Option<Vec<f64>>>() else {
        return;
    };
    let sum: f64 = angles.iter().sum();
    if (sum - 720.0).abs() > SUM_TOLERANCE_DEG {
        let rule = LayoutRule::SumIsNot720(sum);
        faults.add("firing_intervals_deg", numbers(entries), rule);
    }
}

fn dimensions(root: &Node, faults: &mut Faults) {
    let real = |key| root.get(key).and_then(Node::real);
    if !faults.has("rod_mm")
        && let (Some(rod), Some(stroke)) = (real("rod_mm"), real("stroke_mm"))
        && rod <= stroke / 2.0
    {
        let rule = LayoutRule::MoreThanHalfStroke(stroke / 2.0);
        faults.add("rod_mm", rod.to_string(), rule);
    }
    for key in ["intake_seat_mm", "exhaust_seat_mm"] {
        if !faults.has(key)
            && let (Some(seat), Some(bore)) = (real(key), real("bore_mm"))
            && seat >= bore
        {
            let rule = LayoutRule::LessThanBore(bore);
            faults.add(key, seat.to_string(), rule);
        }
    }
}

fn spring(root: &Node, faults: &mut Faults) {
    let Some(spring) = root.get("spring") else {
        return;
    };
    let real = |key| spring.get(key).and_then(Node::real);
    let (Some(seated), Some(solid)) = (real("seated_height_mm"), real("solid_height_mm")) else {
        return;
    };
    if faults.has("spring.seated_height_mm") || faults.has("spring.solid_height_mm") {
        return;
    }
    if solid >= seated {
        let rule = LayoutRule::LessThanSeatedHeight(seated);
        faults.add("spring.solid_height_mm", solid.to_string(), rule);
        return;
    }
    if !faults.has("spring.travel_to_locks_mm")
        && let Some(travel) = real("travel_to_locks_mm")
        && travel > seated - solid
    {
        let rule = LayoutRule::SolidBefore(seated - solid);
        faults.add("spring.travel_to_locks_mm", travel.to_string(), rule);
    }
}

fn working_positions(root: &Node, engine: &Engine, faults: &mut Faults) {
    let positions = list(root, "working_positions");
    let cylinder = |p: &Node| p.get("cylinder").and_then(cylinder_number);
    for (i, position) in positions.iter().enumerate() {
        if let Some(number) = cylinder(position) {
            let path = format!("working_positions[{i}].cylinder");
            if !engine.may_have(number) {
                faults.add(path, number.to_string(), LayoutRule::CylinderOfNoBank);
            } else if positions[..i].iter().any(|p| cylinder(p) == Some(number)) {
                let rule = LayoutRule::PositionAgain;
                faults.add(path, number.to_string(), rule);
            }
        }
        let offsets = list(position, "offsets_deg");
        for (j, offset) in offsets.iter().enumerate() {
            let Some(deg) = offset.real() else { continue };
            if offsets[..j].iter().any(|o| o.real() == Some(deg)) {
                let path = format!("working_positions[{i}].offsets_deg[{j}]");
                faults.add(path, offset.excerpt(), LayoutRule::InListAgain);
            }
        }
    }
}

/// Adaptors and remarks: each names a valve of the engine, and each valve once.
fn valve_list(root: &Node, key: &str, engine: &Engine, faults: &mut Faults) {
    let entries = list(root, key);
    let name = |e: &Node| {
        let cylinder = e.get("cylinder").and_then(cylinder_number)?;
        valve(u8::try_from(cylinder).ok()?, e.get("valve")?.text()?)
    };
    for (i, entry) in entries.iter().enumerate() {
        if let Some(number) = entry.get("cylinder").and_then(cylinder_number)
            && !engine.may_have(number)
        {
            let path = format!("{key}[{i}].cylinder");
            faults.add(path, number.to_string(), LayoutRule::CylinderOfNoBank);
        }
        let Some(own) = name(entry) else { continue };
        let path = format!("{key}[{i}].valve");
        let most = engine.valves[own.side as usize].unwrap_or(u64::MAX);
        if u64::from(own.place) > most {
            let rule = LayoutRule::NoSuchValve {
                most,
                side: own.side.word(),
            };
            faults.add(path, format!("\"{}\"", own.within_cylinder()), rule);
        } else if entries[..i].iter().any(|e| name(e) == Some(own)) {
            let rule = LayoutRule::ValveAgain(own.cylinder);
            faults.add(path, format!("\"{}\"", own.within_cylinder()), rule);
        }
    }
}

fn kit(root: &Node, faults: &mut Faults) {
    let lines = list(root, "kit");
    let text = |line: &Node, key| line.get(key).and_then(Node::text).map(str::to_owned);
    let banks: Option<Vec<String>> = list(root, "banks")
        .iter()
        .map(|b| text(b, "name"))
        .collect();
    for (i, line) in lines.iter().enumerate() {
        let (item, bank) = (text(line, "item"), text(line, "bank"));
        if let (Some(own), Some(names)) = (&bank, &banks)
            && !names.is_empty()
            && !names.contains(own)
        {
            let rule = LayoutRule::NoBank(names.clone());
            faults.add(format!("kit[{i}].bank"), format!("\"{own}\""), rule);
        }
        let same = |l: &Node| text(l, "item") == item && text(l, "bank") == bank;
        if item.is_some() && lines[..i].iter().any(same) {
            let rule = LayoutRule::KitAgain;
            faults.add(
                format!("kit[{i}].item"),
                format!("\"{}\"", item.unwrap_or_default()),
                rule,
            );
        }
    }
}
