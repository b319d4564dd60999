//! The six stages of the valve in hand: shape, word, and what was seen.

use egui::accesskit::Role;
use egui::{Sense, Ui, WidgetInfo, pos2, vec2};
use trayzero_core::job::Stage;

use super::valve_mark::{self, MarkColours};
use super::{cached_shapes, paint};
use crate::ui::theme::{Theme, Type};
use crate::ui::words::Words;

/// What the list shows.
pub struct StageList {
    /// How many stages are seen.
    pub seen: usize,
    /// The layout's number of locks a valve.
    pub locks: u32,
    /// How many of them flew off while they came out.
    pub locks_dropped: u32,
    /// Whether a follower comes out.
    pub has_follower: bool,
}

impl StageList {
    /// Least height of the list.
    pub fn height(ui: &Ui) -> f32 {
        6.0 * row_height(ui)
    }

    /// Height of the row that stands in for the list in a low place.
    pub fn row_height(ui: &Ui) -> f32 {
        (paint::line_height(ui, Type::Strong) + 12.0).max(48.0)
    }

    /// Draws the six marks in one row, the last one seen with its name, for low places.
    pub fn row_ui(&self, ui: &mut Ui, words: &Words) {
        let c = Theme::of(ui.ctx()).colours;
        let height = Self::row_height(ui);
        let size = vec2(ui.available_width(), height);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let last = self.seen.checked_sub(1).and_then(|i| Stage::ALL.get(i));
        let name = words.stage_or_untouched(last.copied());
        let spoken = format!("{name}, {}", words.n_of_m(self.seen, Stage::ALL.len()));
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
        let pitch = 46.0_f32.min(rect.width() / 6.0);
        let mut x = rect.left() + pitch / 2.0;
        for stage in Stage::ALL {
            let center = pos2(x, rect.center().y);
            let is_seen = stage.index() < self.seen;
            paint_mark(
                ui,
                center,
                pitch * 0.44,
                stage,
                is_seen,
                stage.index() == self.seen,
            );
            x += pitch;
        }
        let left = x - pitch / 2.0 + 8.0;
        let galley = paint::text_line(ui, name, Type::Strong, c.ink, 2000.0);
        if left + galley.size().x <= rect.right() {
            let min = pos2(left, rect.center().y - galley.size().y / 2.0);
            ui.painter().galley(min, galley, c.ink);
        }
    }

    /// Draws it over the width that is there. What was seen stands at the right, and
    /// falls away where there is no room for it.
    pub fn ui(&self, ui: &mut Ui, words: &Words) {
        let gap = std::mem::replace(&mut ui.spacing_mut().item_spacing.y, 0.0);
        for stage in Stage::ALL {
            self.row(ui, words, stage);
        }
        ui.spacing_mut().item_spacing.y = gap;
    }

    fn row(&self, ui: &mut Ui, words: &Words, stage: Stage) {
        let c = Theme::of(ui.ctx()).colours;
        let height = row_height(ui);
        let width = ui.available_width();
        let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let is_seen = stage.index() < self.seen;
        let is_last = stage.index() + 1 == self.seen;
        let is_next = stage.index() == self.seen;
        let radius = height * 0.46;
        let center = pos2(rect.left() + radius + 2.0, rect.center().y);
        paint_mark(ui, center, radius, stage, is_seen, is_next);
        let (step, ink) = if is_last {
            (Type::Strong, c.ink)
        } else if is_seen {
            (Type::Body, c.ink)
        } else {
            (Type::Body, c.ink_soft)
        };
        let x = center.x + radius + 12.0;
        let room = rect.right() - x;
        let name = paint::text_line(ui, words.stage(stage), step, ink, room);
        let used = name.size().x + 16.0;
        ui.painter()
            .galley(pos2(x, center.y - name.size().y / 2.0), name, ink);
        let (mut seen, _) = words.seen(stage, self.locks, self.has_follower);
        if stage == Stage::LocksOut && self.locks_dropped > 0 {
            let kept = words.locks_in_tray(self.locks.saturating_sub(self.locks_dropped));
            seen = format!("{kept}, {}", words.locks_dropped(self.locks_dropped));
        }
        if is_seen {
            let galley = paint::text_line(ui, &seen, Type::Small, c.ink_soft, 2000.0);
            if galley.size().x <= room - used {
                let min = rect.right_center() - vec2(galley.size().x, galley.size().y / 2.0);
                ui.painter().galley(min, galley, c.ink_soft);
            }
        }
        let state = if is_seen {
            seen
        } else {
            words.not_yet.to_owned()
        };
        let spoken = format!("{}: {state}", words.stage(stage));
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
    }
}

fn row_height(ui: &Ui) -> f32 {
    (paint::line_height(ui, Type::Body) + 12.0).max(40.0)
}

/// A stage that is seen with its rim; one still to come as its figure alone.
fn paint_mark(
    ui: &Ui,
    center: egui::Pos2,
    radius: f32,
    stage: Stage,
    is_seen: bool,
    is_next: bool,
) {
    let c = Theme::of(ui.ctx()).colours;
    let id = ui.scope_id().with(("stage", stage.index()));
    let place = [center.x, center.y, radius].map(f32::to_bits);
    let key = cached_shapes::key((place, is_seen, is_next));
    cached_shapes::cached_shapes(ui, id, key, false, |ui| {
        if is_seen {
            let colours = MarkColours::of(&c, Some(stage));
            valve_mark::paint(ui.painter(), center, radius, Some(stage), colours);
        } else {
            let colours = MarkColours {
                mark: if is_next { c.now_mark } else { c.edge },
                bare: egui::Color32::TRANSPARENT,
                ground: c.card,
            };
            valve_mark::paint_figure(ui.painter(), center, radius * 0.8, Some(stage), colours);
        }
    });
}
