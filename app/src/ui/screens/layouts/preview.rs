//! The engine as it is described: drawn from above, and its firing order as a ring.

use egui::{Ui, vec2};
use trayzero_core::engine::{Layout, ValveName};

use crate::ui::screens::frame;
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::bank_diagram::{DiagramTap, DiagramView, ValveView};
use crate::ui::widgets::firing_ring::FiringRing;
use crate::ui::widgets::paint;

/// The most cylinders that are drawn.
const CYLINDERS_MAX: usize = 16;

/// What the finger has chosen in the drawing.
#[derive(Debug, Default)]
pub struct Preview {
    large: Option<u8>,
    looked_at: Option<ValveName>,
}

impl Preview {
    /// Draws the engine, and the ring below it. The layout may have faults.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, layout: &Layout) {
        self.engine(ui, v, layout);
        ui.add_space(GAP);
        firing(ui, v, layout);
    }

    fn engine(&mut self, ui: &mut Ui, v: &View<'_>, layout: &Layout) {
        let w = v.words;
        let Some(layout) = drawable(layout) else {
            frame::line(ui, w.no_drawing, Type::Body, true);
            return;
        };
        let valves: Vec<ValveView> = layout
            .valves()
            .map(|valve| ValveView {
                has_remark: layout.remark_on(valve).is_some(),
                has_finding: false,
                ..ValveView::default()
            })
            .collect();
        let view = DiagramView {
            layout: &layout,
            valves: &valves,
            in_hand: self.looked_at,
            at_cylinder: None,
            next_cylinder: None,
            air_cylinder: None,
            marks: &[],
            large_cylinder: self.large,
        };
        let width = ui.available_width();
        let per_bank = 170.0 + 60.0 * (Theme::of(ui.ctx()).scale() - 1.0);
        let height = per_bank * layout.banks.len().max(2) as f32;
        match view.ui(ui, w, vec2(width, height)) {
            Some(DiagramTap::Valve(valve)) => self.looked_at = Some(valve),
            Some(DiagramTap::Cylinder(cylinder)) => self.large = Some(cylinder),
            None => {}
        }
        if let Some(valve) = self.looked_at {
            about_valve(ui, v, &layout, valve);
        }
    }
}

/// What the layout says of one valve.
fn about_valve(ui: &mut Ui, v: &View<'_>, layout: &Layout, valve: ValveName) {
    if layout.valve_index(valve).is_none() {
        return;
    }
    let w = v.words;
    let mut text = format!(
        "{} · {}",
        w.valve(valve),
        w.adaptor_n(layout.adaptor_of(valve))
    );
    if let Some(remark) = layout.remark_on(valve) {
        text = format!("{text} · {remark}");
    }
    frame::line(ui, &text, Type::Body, false);
}

/// The same engine with only what can be drawn of it; `None` if that is nothing.
fn drawable(layout: &Layout) -> Option<Layout> {
    let mut seen = Vec::new();
    let mut sound = layout.clone();
    for bank in &mut sound.banks {
        bank.cylinders.retain(|c| {
            let fits = *c > 0 && !seen.contains(c) && seen.len() < CYLINDERS_MAX;
            if fits {
                seen.push(*c);
            }
            fits
        });
    }
    sound.banks.retain(|b| !b.cylinders.is_empty());
    sound.intake_valves = sound.intake_valves.clamp(1, 3);
    sound.exhaust_valves = sound.exhaust_valves.clamp(1, 3);
    if !sound.bank_angle_deg.is_finite() {
        sound.bank_angle_deg = 0.0;
    }
    (!sound.banks.is_empty()).then_some(sound)
}

/// The ring, and every top in turn beside or below it.
fn firing(ui: &mut Ui, v: &View<'_>, layout: &Layout) {
    let order: Vec<u8> = layout
        .firing_order
        .iter()
        .copied()
        .filter(|c| *c > 0)
        .take(CYLINDERS_MAX)
        .collect();
    if order.is_empty() {
        return;
    }
    let twice = |i: usize| order[..i].contains(&order[i]);
    let amiss: Vec<u8> = (0..order.len())
        .filter(|i| twice(*i) || layout.bank_of(order[*i]).is_none())
        .map(|i| order[i])
        .collect();
    let ring = FiringRing {
        order: &order,
        intervals_deg: layout.firing_intervals_deg.as_deref(),
        amiss: &amiss,
        title: v.words.firing_order,
    };
    let width = ui.available_width();
    let scale = Theme::of(ui.ctx()).scale();
    let side = (width * 0.5).clamp(220.0, 320.0 + 100.0 * (scale - 1.0));
    if width < side + 240.0 * scale {
        ui.vertical_centered(|ui| ring.ui(ui, side.min(width)));
        tops(ui, v, layout, &order);
        return;
    }
    ui.horizontal_top(|ui| {
        ring.ui(ui, side);
        ui.add_space(GAP);
        ui.vertical(|ui| tops(ui, v, layout, &order));
    });
}

/// One line a top: its angle, the cylinder, its bank, and what is amiss.
fn tops(ui: &mut Ui, v: &View<'_>, layout: &Layout, order: &[u8]) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    frame::line(ui, w.tops_in_turn, Type::Strong, false);
    ui.spacing_mut().item_spacing.y = 2.0;
    let intervals = layout
        .firing_intervals_deg
        .as_ref()
        .filter(|all| all.len() == order.len());
    let mut at_deg = 0.0;
    for (i, cylinder) in order.iter().enumerate() {
        let bank = layout.bank_of(*cylinder).map(|b| &layout.banks[b].name);
        let trouble = if order[..i].contains(cylinder) {
            Some(w.fires_twice)
        } else if bank.is_none() {
            Some(w.in_no_bank)
        } else {
            None
        };
        let place = match (trouble, bank) {
            (Some(trouble), _) => format!("! {trouble}"),
            (None, Some(bank)) if layout.banks.len() > 1 => w.bank_n(bank),
            _ => String::new(),
        };
        let text = format!("{} · {}", w.degrees(at_deg), w.cylinder_n(*cylinder));
        let text = if place.is_empty() {
            text
        } else {
            format!("{text} · {place}")
        };
        let ink = if trouble.is_some() {
            c.astray.mark
        } else {
            c.ink
        };
        paint::say(ui, &text, Type::Body, ink);
        let step = intervals.map_or(720.0 / order.len() as f64, |all| all[i]);
        at_deg += if step.is_finite() { step } else { 0.0 };
    }
    for cylinder in layout.cylinders().filter(|n| *n > 0 && !order.contains(n)) {
        let text = format!("! {} {}", w.cylinder_n(cylinder), w.never_fires);
        paint::say(ui, &text, Type::Body, c.astray.mark);
    }
}
