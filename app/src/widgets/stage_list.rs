//! The six stages of the valve in hand: shape, word, and what was seen.

use egui::accesskit::Role;
use egui::{Sense, Ui, WidgetInfo, pos2, vec2};
use trayzero_core::job::Stage;

use super::paint;
use super::valve_mark::{self, MarkColours};
use crate::theme::{Theme, Type};
use crate::words::Words;

/// What the list shows.
pub struct StageList {
    /// How many stages are seen.
    pub seen: usize,
    /// The layout's number of locks a valve.
    pub locks: u32,
    /// Whether a follower comes out.
    pub has_follower: bool,
}

impl StageList {
    /// Least height of the list.
    pub fn height(ui: &Ui) -> f32 {
        6.0 * row_height(ui)
    }

    /// Draws it over the width that is there. What was seen stands at the right, and
    /// falls away where there is no room for it.
    pub fn ui(&self, ui: &mut Ui, words: &Words) {
        for stage in Stage::ALL {
            self.row(ui, words, stage);
        }
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
        if is_seen {
            let colours = MarkColours::of(&c, Some(stage));
            valve_mark::paint(ui.painter(), center, radius, Some(stage), colours);
        } else {
            // What is still to come shows its figure in outline colour, without a rim.
            let colours = MarkColours {
                mark: if is_next { c.now_mark } else { c.edge },
                bare: egui::Color32::TRANSPARENT,
                ground: c.card,
            };
            valve_mark::paint_figure(ui.painter(), center, radius * 0.8, Some(stage), colours);
        }
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
        let (seen, _) = words.seen(stage, self.locks, self.has_follower);
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
