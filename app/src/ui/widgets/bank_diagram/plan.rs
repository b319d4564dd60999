//! Where everything of the engine's picture goes; nothing is painted here.

use egui::{Pos2, Rect, Vec2, pos2, vec2};
use trayzero_core::engine::{Layout, Side, ValveName};

use super::places::{CylinderPlace, DiagramPlan, SideName, Slab, TextSizes, ValvePlace};
use crate::ui::theme::{GAP, TARGET};

/// Largest side of a valve's target, in points.
const VALVE_MOST: f32 = 116.0;
/// Room round the valves inside a cylinder's card.
const CARD_PAD: f32 = 6.0;
/// Room round the cards inside a bank.
const SLAB_PAD: f32 = 6.0;
/// Room between two cards.
const CARD_GAP: f32 = 8.0;

/// Plans the picture of an engine in `rect`. Where its valves would fall under the
/// least target, an overview of it is planned whose cylinders take the tap, and
/// `large` (or the first cylinder) beside it with valves of full size.
pub fn plan(layout: &Layout, rect: Rect, text: TextSizes, large: Option<u8>) -> DiagramPlan {
    let rows = rows_of(layout, usize::MAX);
    let whole = engine(layout, rect, text, &rows, TARGET);
    let is_large = whole.valves.iter().all(|v| v.radius * 2.0 >= TARGET);
    if is_large && fits(&whole, rect) {
        return with_targets(whole);
    }
    overview(layout, rect, text, large)
}

/// Least height of the whole engine with valves of full size in a width; `None` where
/// the width does not allow it.
pub fn whole_height(layout: &Layout, width: f32, text: TextSizes) -> Option<f32> {
    let rect = Rect::from_min_size(Pos2::ZERO, vec2(width, 0.0));
    let plan = engine(layout, rect, text, &rows_of(layout, usize::MAX), TARGET);
    let is_large = plan.valves.iter().all(|v| v.radius * 2.0 >= TARGET);
    let is_narrow = plan.rect.width() <= width + 0.5;
    (is_large && is_narrow).then(|| plan.rect.height())
}

fn fits(plan: &DiagramPlan, rect: Rect) -> bool {
    plan.rect.width() <= rect.width() + 0.5 && plan.rect.height() <= rect.height() + 0.5
}

fn with_targets(mut plan: DiagramPlan) -> DiagramPlan {
    for valve in &mut plan.valves {
        valve.target = Some(Rect::from_center_size(
            valve.center,
            Vec2::splat(valve.radius * 2.0),
        ));
    }
    plan
}

/// A row of cylinders: bank, cylinders, and whether the intake side is up.
struct Rank {
    bank: usize,
    cylinders: Vec<u8>,
    intake_up: bool,
}

/// Banks as rows, cut where one holds more than `most` cylinders. With several banks
/// the intakes lie inboard.
fn rows_of(layout: &Layout, most: usize) -> Vec<Rank> {
    let banks = layout.banks.len();
    let mut rows = Vec::new();
    for (index, bank) in layout.banks.iter().enumerate() {
        let parts = bank.cylinders.len().div_ceil(most.max(1)).max(1);
        let length = bank.cylinders.len().div_ceil(parts).max(1);
        for cylinders in bank.cylinders.chunks(length) {
            rows.push(Rank {
                bank: index,
                cylinders: cylinders.to_vec(),
                intake_up: banks == 1 || index * 2 >= banks,
            });
        }
    }
    rows
}

/// Room between two rows: wider the wider the banks lie apart.
fn valley(layout: &Layout, text: TextSizes) -> f32 {
    let apart = (layout.bank_angle_deg / 180.0).clamp(0.0, 1.0) as f32;
    (text.side + 10.0).max(20.0 + 60.0 * apart)
}

/// Room above and below the banks: for the sides' names, or for the ports alone.
fn head(text: TextSizes) -> f32 {
    if text.side > 0.0 {
        text.side + 4.0
    } else {
        10.0
    }
}

/// The engine with every bank as rows; valves may come out of any size.
fn engine(layout: &Layout, rect: Rect, text: TextSizes, rows: &[Rank], least: f32) -> DiagramPlan {
    let count = rows.len().max(1) as f32;
    let between = valley(layout, text);
    let head = head(text);
    let frame = 2.0 * (SLAB_PAD + CARD_PAD) + text.number;
    let free = rect.height() - 2.0 * head - between * (count - 1.0);
    let slab_h = (free / count).clamp(frame + 2.0 * least, frame + 2.0 * VALVE_MOST);
    let longest = rows.iter().map(|r| r.cylinders.len()).max().unwrap_or(1) as f32;
    let stagger = if layout.banks.len() > 1 { 20.0 } else { 0.0 };
    let columns = usize::from(layout.intake_valves.max(layout.exhaust_valves).max(1)) as f32;
    let across = rect.width() - text.front - stagger - 2.0 * SLAB_PAD - 4.0;
    let widest = columns * (VALVE_MOST + 2.0 * GAP) + 2.0 * CARD_PAD;
    let card_w = ((across + CARD_GAP) / longest - CARD_GAP).clamp(1.0, widest);
    let used_w = text.front + stagger + longest * (card_w + CARD_GAP) - CARD_GAP + 2.0 * SLAB_PAD;
    let used_h = 2.0 * head + count * slab_h + (count - 1.0) * between;
    let left = rect.left() + ((rect.width() - used_w) / 2.0).max(0.0);
    let top = rect.top() + ((rect.height() - used_h) / 2.0).max(0.0);
    let mut plan = DiagramPlan {
        rect: Rect::from_min_size(rect.min, rect.size().max(vec2(used_w, used_h))),
        slabs: Vec::new(),
        block: Rect::NOTHING,
        pulley: Rect::NOTHING,
        cylinders: Vec::new(),
        valves: Vec::new(),
        is_overview: false,
        sides: Vec::new(),
    };
    let forward = forward_bank(layout);
    for (index, row) in rows.iter().enumerate() {
        let back = if row.bank == forward { 0.0 } else { stagger };
        let x = left + text.front + back;
        let y = top + head + index as f32 * (slab_h + between);
        let width = row.cylinders.len() as f32 * (card_w + CARD_GAP) - CARD_GAP + 2.0 * SLAB_PAD;
        let slab = Rect::from_min_size(pos2(x, y), vec2(width, slab_h));
        plan.slabs.push(Slab {
            bank: row.bank,
            rect: slab,
            intake_up: row.intake_up,
        });
        for (place, cylinder) in row.cylinders.iter().enumerate() {
            let x = slab.left() + SLAB_PAD + place as f32 * (card_w + CARD_GAP);
            let size = vec2(card_w, slab_h - 2.0 * SLAB_PAD);
            let card = Rect::from_min_size(pos2(x, slab.top() + SLAB_PAD), size);
            cylinder_in(
                &mut plan,
                layout,
                *cylinder,
                card,
                row.intake_up,
                text,
                false,
            );
        }
    }
    let all = plan
        .slabs
        .iter()
        .fold(Rect::NOTHING, |all, s| all.union(s.rect));
    plan.block = Rect::from_min_max(
        pos2(left + text.front - 14.0, all.top() + 10.0),
        pos2(all.right() - 12.0, all.bottom() - 10.0),
    );
    name_sides(&mut plan, rows, between, text);
    let size = vec2(18.0, (slab_h * 0.42).clamp(44.0, 90.0));
    plan.pulley = Rect::from_center_size(
        pos2(plan.block.left() - size.x / 2.0 - 4.0, all.center().y),
        size,
    );
    plan
}

/// The bank whose front cylinder has the lowest number stands forward.
fn forward_bank(layout: &Layout) -> usize {
    (0..layout.banks.len())
        .min_by_key(|i| layout.banks[*i].cylinders.first().copied())
        .unwrap_or(0)
}

/// Names the sides at the outer edges and between two banks; not between two parts of
/// one bank.
fn name_sides(plan: &mut DiagramPlan, rows: &[Rank], between: f32, text: TextSizes) {
    if text.side <= 0.0 {
        return;
    }
    let side = |is_up: bool, intake_up: bool| {
        if is_up == intake_up {
            Side::Intake
        } else {
            Side::Exhaust
        }
    };
    let mut sides = Vec::new();
    for (index, (slab, row)) in plan.slabs.iter().zip(rows).enumerate() {
        let is_same = |other: Option<&Rank>| other.is_some_and(|o| o.bank == row.bank);
        let before = index.checked_sub(1).and_then(|i| rows.get(i));
        let after = rows.get(index + 1);
        let off = |other: Option<&Rank>| match other {
            Some(_) => between / 2.0,
            None => head(text) / 2.0,
        };
        if !is_same(before) {
            let name = (slab.rect.top() - off(before), side(true, row.intake_up));
            let is_known = |n: &(f32, Side)| n.1 == name.1 && (n.0 - name.0).abs() < 1.0;
            if !sides.iter().any(is_known) {
                sides.push(name);
            }
        }
        if !is_same(after) {
            let y = slab.rect.bottom() + off(after);
            sides.push((y, side(false, row.intake_up)));
        }
    }
    for (y, side) in sides {
        let rect = name_between_ports(plan, y, text);
        plan.sides.push(SideName { rect, side });
    }
}

/// Where a name on a line stands: in the gap between two ports that is nearest to the
/// middle; in the middle where no gap is wide enough.
fn name_between_ports(plan: &DiagramPlan, y: f32, text: TextSizes) -> Rect {
    let size = vec2(text.side_width, text.side);
    let middle = plan.block.center().x;
    let at = |x: f32| Rect::from_center_size(pos2(x, y), size);
    let line = at(middle).y_range();
    let mut ports: Vec<Rect> = plan
        .slabs
        .iter()
        .flat_map(|slab| plan.all_ports(slab))
        .map(|port| port.rect)
        .filter(|port| port.y_range().intersects(line))
        .collect();
    ports.sort_by(|a, b| a.left().total_cmp(&b.left()));
    let gaps = ports
        .windows(2)
        .map(|pair| (pair[0].right(), pair[1].left()));
    let centers = gaps
        .filter(|(from, to)| to - from >= size.x + 2.0)
        .map(|(from, to)| f32::midpoint(from, to));
    let off = |x: &f32| (x - middle).abs();
    at(centers
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .unwrap_or(middle))
}

/// Puts a cylinder and its valves on a card.
fn cylinder_in(
    plan: &mut DiagramPlan,
    layout: &Layout,
    cylinder: u8,
    card: Rect,
    intake_up: bool,
    text: TextSizes,
    is_large: bool,
) {
    plan.cylinders.push(CylinderPlace {
        cylinder,
        rect: card,
        number: card.center(),
        is_target: false,
        is_large,
        intake_up,
    });
    let inner = card.shrink(CARD_PAD);
    let row_h = (inner.height() - text.number) / 2.0;
    for valve in layout.valves_of(cylinder) {
        let in_row = match valve.side {
            Side::Intake => layout.intake_valves,
            Side::Exhaust => layout.exhaust_valves,
        };
        let cell_w = inner.width() / f32::from(in_row.max(1));
        let is_up = (valve.side == Side::Intake) == intake_up;
        let x = inner.left() + cell_w * (f32::from(valve.place) - 0.5);
        let y = if is_up {
            inner.top() + row_h / 2.0
        } else {
            inner.bottom() - row_h / 2.0
        };
        let side = (cell_w - if in_row > 1 { GAP } else { 0.0 }).min(row_h);
        plan.valves.push(ValvePlace {
            valve,
            center: pos2(x, y),
            radius: side.clamp(2.0, VALVE_MOST) / 2.0,
            target: None,
        });
    }
}

/// How the large cylinder lies by the overview.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Large {
    /// Below it, as seen from above.
    Below,
    /// At its right, as seen from above.
    Beside,
    /// Below it, its valves in one row: the upper side first.
    InOneRow,
}

/// Room that the large cylinder needs at least, names of the sides left out.
fn large_least(layout: &Layout, text: TextSizes, how: Large) -> Vec2 {
    let pitch = TARGET + GAP;
    if how == Large::InOneRow {
        let all = layout.valves_per_cylinder().max(1) as f32;
        let number = 1.6 * text.number + 2.0 * GAP;
        return vec2(all * pitch + GAP + number, pitch + 2.0 * CARD_PAD);
    }
    let columns = f32::from(layout.intake_valves.max(layout.exhaust_valves).max(1));
    vec2(
        columns * pitch + 2.0 * CARD_PAD,
        2.0 * TARGET + text.number + 2.0 * CARD_PAD,
    )
}

/// Least height of a row of valves in the overview.
fn mark_row(text: TextSizes) -> f32 {
    ((TARGET - text.number) / 2.0 - CARD_PAD).max(10.0)
}

/// Least height of the overview with these rows.
fn map_height(layout: &Layout, rows: &[Rank], text: TextSizes) -> f32 {
    let frame = 2.0 * (SLAB_PAD + CARD_PAD) + text.number + 2.0 * mark_row(text);
    let n = rows.len() as f32;
    n * frame + (n - 1.0) * valley(layout, text) + 2.0 * head(text)
}

/// An overview whose cylinders take the tap, and one cylinder large. Of the ways to lay
/// them out the first that fits is taken; the sides' names go before the picture does.
fn overview(layout: &Layout, rect: Rect, text: TextSizes, large: Option<u8>) -> DiagramPlan {
    let bare = TextSizes { side: 0.0, ..text };
    let ways = [
        (Large::Below, text),
        (Large::Beside, text),
        (Large::Below, bare),
        (Large::Beside, bare),
        (Large::InOneRow, text),
    ];
    let tried = ways
        .into_iter()
        .map(|(how, text)| lay_out(layout, rect, text, large, how))
        .find(|plan| fits(plan, rect));
    tried.unwrap_or_else(|| lay_out(layout, rect, bare, large, Large::InOneRow))
}

fn lay_out(
    layout: &Layout,
    rect: Rect,
    text: TextSizes,
    large: Option<u8>,
    how: Large,
) -> DiagramPlan {
    let least = large_least(layout, text, how);
    let names = text.side_width + 16.0;
    let map_w = match how {
        Large::Beside => rect.width() - 16.0 - (least.x + names).max(rect.width() * 0.34),
        _ => rect.width(),
    };
    let most = ((map_w - text.front - 32.0) / (TARGET + CARD_GAP)).floor();
    let rows = rows_of(layout, most.max(1.0) as usize);
    let map_least = map_height(layout, &rows, text);
    let (map, detail) = if how == Large::Beside {
        let map = Rect::from_min_size(rect.min, vec2(map_w.max(1.0), rect.height()));
        let left = (map.right() + 16.0).min(rect.right() - least.x);
        (map, Rect::from_min_max(pos2(left, rect.top()), rect.max))
    } else {
        let free = (rect.height() - map_least - 16.0 - least.y).max(0.0);
        let part = if how == Large::Below { 0.45 } else { 0.7 };
        let map_h = map_least + free * part;
        let map = Rect::from_min_size(rect.min, vec2(rect.width(), map_h));
        let top = map.bottom() + 16.0;
        let foot = rect.bottom().max(top + least.y);
        let max = pos2(rect.right(), foot);
        (map, Rect::from_min_max(pos2(rect.left(), top), max))
    };
    let mut plan = engine(layout, map, text, &rows, mark_row(text));
    plan.is_overview = true;
    for place in &mut plan.cylinders {
        place.is_target = true;
    }
    for valve in &mut plan.valves {
        valve.radius = (valve.radius - 2.0).clamp(4.0, 16.0);
    }
    let shown = large
        .filter(|c| layout.bank_of(*c).is_some())
        .or_else(|| layout.cylinders().next());
    if let Some(cylinder) = shown {
        let first = plan.valves.len();
        add_large(&mut plan, layout, cylinder, detail, text, how);
        for valve in plan.valves.iter_mut().skip(first) {
            let side = Vec2::splat((valve.radius * 2.0).max(TARGET));
            valve.target = Some(Rect::from_center_size(valve.center, side));
        }
    }
    let taken = plan.cylinders.last().map_or(detail, |c| c.rect);
    plan.rect = plan.rect.union(taken);
    plan
}

fn add_large(
    plan: &mut DiagramPlan,
    layout: &Layout,
    cylinder: u8,
    detail: Rect,
    text: TextSizes,
    how: Large,
) {
    let least = large_least(layout, text, how);
    let intake_up = plan
        .slabs
        .iter()
        .find(|s| Some(s.bank) == layout.bank_of(cylinder))
        .is_none_or(|s| s.intake_up);
    if how == Large::InOneRow {
        let card = Rect::from_center_size(detail.center(), least);
        one_row(plan, layout, cylinder, card, intake_up, text);
        return;
    }
    let columns = f32::from(layout.intake_valves.max(layout.exhaust_valves).max(1));
    let most = vec2(
        columns * (VALVE_MOST + GAP) + 2.0 * CARD_PAD,
        2.0 * VALVE_MOST + text.number + 2.0 * CARD_PAD,
    );
    // The names of the sides stand at the left of the card, where there is room.
    let names = text.side_width + 16.0;
    let room = if detail.width() - names >= least.x {
        Rect::from_min_max(pos2(detail.left() + names, detail.top()), detail.max)
    } else {
        detail
    };
    let size = room.size().min(most).max(least);
    let card = Rect::from_center_size(room.center(), size);
    cylinder_in(plan, layout, cylinder, card, intake_up, text, true);
}

/// The large cylinder with its valves in one row, for the lowest rooms.
fn one_row(
    plan: &mut DiagramPlan,
    layout: &Layout,
    cylinder: u8,
    card: Rect,
    intake_up: bool,
    text: TextSizes,
) {
    let number_w = 1.6 * text.number + 2.0 * GAP;
    plan.cylinders.push(CylinderPlace {
        cylinder,
        rect: card,
        number: pos2(card.left() + number_w / 2.0, card.center().y),
        is_target: false,
        is_large: true,
        intake_up,
    });
    let mut valves: Vec<ValveName> = layout.valves_of(cylinder).collect();
    valves.sort_by_key(|v| ((v.side == Side::Intake) != intake_up, v.place));
    let upper = valves
        .iter()
        .filter(|v| (v.side == Side::Intake) == intake_up)
        .count();
    for (i, valve) in valves.into_iter().enumerate() {
        let apart = if i >= upper { GAP } else { 0.0 };
        let x = card.left() + number_w + apart + (TARGET + GAP) * (i as f32 + 0.5) - GAP / 2.0;
        plan.valves.push(ValvePlace {
            valve,
            center: pos2(x, card.center().y),
            radius: TARGET / 2.0,
            target: None,
        });
    }
}
