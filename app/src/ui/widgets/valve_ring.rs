//! How far a bay is, as a ring: one arc a valve, the way a valve's own rim has one arc a
//! stage. Told by breadth and place, not by colour alone: a thin line is not begun, a
//! broader one is begun, the broadest is verified, and an unlocked one stands off the ring
//! in two halves, as its locks do.

use egui::{Align2, Pos2, Rect, Stroke, Ui};
use trayzero_core::job::{STAGES, Stage};

use super::{cached_shapes, paint};
use crate::ui::theme::Theme;

/// How a valve shows in the ring of its bay.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ValveLook {
    /// Not begun.
    Bare,
    /// Begun, its locks in.
    Begun,
    /// Unlocked.
    Unlocked,
    /// All six stages seen.
    Verified,
}

/// One arc of the ring, in units of its radius; degrees clockwise from the top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RingArc {
    /// Where it begins.
    pub from_deg: f32,
    /// Where it ends.
    pub to_deg: f32,
    /// Radius of its middle line.
    pub radius: f32,
    /// Its breadth.
    pub width: f32,
    /// What it shows.
    pub look: ValveLook,
}

/// Most degrees that are left free between two valves.
const GAP_DEG: f32 = 4.0;

impl ValveLook {
    /// The look of a valve with so many stages seen.
    pub fn of(stages_seen: u8) -> Self {
        let seen = usize::from(stages_seen);
        match seen.checked_sub(1).and_then(|last| Stage::ALL.get(last)) {
            None if seen == 0 => Self::Bare,
            _ if seen >= STAGES => Self::Verified,
            Some(stage) if stage.is_unlocked() => Self::Unlocked,
            _ => Self::Begun,
        }
    }

    fn place(self) -> (f32, f32) {
        match self {
            Self::Bare => (0.76, 0.045),
            Self::Begun => (0.76, 0.13),
            Self::Verified => (0.76, 0.26),
            Self::Unlocked => (0.9, 0.2),
        }
    }
}

/// The arcs of a ring, valve by valve in the order of `stages`.
pub fn arcs(stages: &[u8]) -> Vec<RingArc> {
    let slot = 360.0 / stages.len().max(1) as f32;
    let gap = (slot * 0.2).min(GAP_DEG);
    let mut arcs = Vec::with_capacity(stages.len());
    for (at, seen) in stages.iter().enumerate() {
        let look = ValveLook::of(*seen);
        let (radius, width) = look.place();
        let (from, to) = (
            slot * at as f32 + gap / 2.0,
            slot * (at + 1) as f32 - gap / 2.0,
        );
        let arc = |from_deg, to_deg| RingArc {
            from_deg,
            to_deg,
            radius,
            width,
            look,
        };
        if look == ValveLook::Unlocked {
            let middle = f32::midpoint(from, to);
            let half = ((to - from) * 0.14).max(0.4);
            arcs.extend([arc(from, middle - half), arc(middle + half, to)]);
        } else {
            arcs.push(arc(from, to));
        }
    }
    arcs
}

/// Paints the ring into a square, with how many are verified in its middle.
pub fn paint(ui: &Ui, square: Rect, stages: &[u8], (verified, valves): (usize, usize)) {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let center = square.center();
    let radius = square.width() / 2.0;
    let id = ui
        .scope_id()
        .with(("valve ring", cached_shapes::bits(square)));
    cached_shapes::cached_shapes(ui, id, cached_shapes::key(stages), false, |ui| {
        for arc in arcs(stages) {
            let colour = match arc.look {
                ValveLook::Bare => c.edge,
                ValveLook::Begun => c.ink,
                ValveLook::Unlocked => c.open.mark,
                ValveLook::Verified => c.done.mark,
            };
            let points = paint::arc(center, radius * arc.radius, arc.from_deg, arc.to_deg);
            let width = (radius * arc.width).max(2.0);
            ui.painter().line(points, Stroke::new(width, colour));
        }
    });
    let text = format!("{verified}/{valves}");
    let font = theme.afar(radius * 0.35, true);
    let galley = paint::text_afar(ui, &text, font, c.ink, (f32::INFINITY, 1));
    let fits = galley.size().length() < radius * 1.2;
    if fits && valves > 0 {
        let at: Pos2 = Align2::CENTER_CENTER.anchor_size(center, galley.size()).min;
        ui.painter().galley(at, galley, c.ink);
    }
}
