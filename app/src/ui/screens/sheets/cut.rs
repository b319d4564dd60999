//! How a sheet is cut into what stays at its foot and what scrolls.

use egui::{Rect, Ui};

use super::Sheet;
use super::foot::{self, Foot};
use super::names::has_figure;
use crate::ui::theme::GAP;
use crate::ui::widgets::keys;
use crate::ui::words::Words;

/// The least part of a panel's height that is left for what scrolls.
const LEAST_ROOM: f32 = 0.34;

/// Where less than this is left, in points, the name of a sheet scrolls too.
const TIGHT_ROOM: f32 = 260.0;

/// How a sheet is cut.
pub struct SheetCut {
    /// What stays at its foot, and where.
    pub foot: Foot,
    pub places: foot::Places,
    /// What of its foot scrolls.
    pub below: Foot,
    /// Whether its name scrolls too.
    pub is_tight: bool,
    /// Whether its name comes last: no key has to be scrolled to for a name that the bar
    /// says as well.
    pub is_named_below: bool,
}

/// Cuts a sheet into what stays and what scrolls: its room, how high its name is, and how far
/// the bay's bar stands above the lower edge.
pub fn sheet_cut(
    area: &Ui,
    w: &Words,
    (inner, head, bar_up): (Rect, f32, f32),
    sheet: &Sheet,
    foot: Foot,
) -> SheetCut {
    let places = foot::places(area, w, inner, bar_up, &foot);
    let room = places.top - inner.top() - head;
    // Where all of it leaves too little room, one thing stays beside the way out.
    let keys = has_figure(sheet).then(|| keys::figure_low_height(area));
    let wants = match (keys, sheet) {
        (Some(keys), _) => keys - head,
        (None, Sheet::Count(_)) => keys::count_low_height(area),
        _ => inner.height() * LEAST_ROOM - 2.0 * GAP,
    };
    let is_low = room - 2.0 * GAP < wants;
    // A blind count names in its head what is counted: that stays.
    let is_tight = is_low || (room < TIGHT_ROOM && !matches!(sheet, Sheet::Count(_)));
    let (foot, below) = if is_low {
        foot.lowered(matches!(sheet, Sheet::AirNow(_)))
    } else {
        (foot, Foot::default())
    };
    SheetCut {
        places: foot::places(area, w, inner, bar_up, &foot),
        foot,
        below,
        is_tight,
        is_named_below: is_tight && keys.is_some(),
    }
}
