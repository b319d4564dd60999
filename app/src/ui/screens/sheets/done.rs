//! What was just done besides the next step, on a sheet that stays open. Where the finger did
//! it, its taking back lies for ten seconds, with a sentence that says what was done. Where
//! the sheet closes, the foot of the bay takes it back.

use egui::{Area, Id, Order, Rect, Sense, Ui, pos2};
use uuid::Uuid;

use crate::ui::intent::Intent;
use crate::ui::theme::Theme;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// How long the taking back lies where the finger was, in seconds.
pub const BACK_S: f64 = 10.0;

/// What was done last, while it can be taken back in its place.
#[derive(Default)]
pub struct Done {
    doing: Option<DoneLast>,
}

struct DoneLast {
    place: Rect,
    says: String,
    /// Whether it was taken; until then it may still be refused.
    is_taken: bool,
    /// The frame in which it was asked for, once that is drawn.
    frame: Option<u64>,
    since_s: Option<f64>,
    event: Option<Uuid>,
}

impl Done {
    /// Something is asked for at a place; `says` tells what is so once it is taken.
    pub fn begin(&mut self, place: Rect, says: String) {
        self.doing = Some(DoneLast {
            place,
            says,
            is_taken: false,
            frame: None,
            since_s: None,
            event: None,
        });
    }

    /// A tap was taken: this one, or a later one that ends it.
    pub fn after_tap(&mut self) {
        self.doing = self.doing.take().filter(|d| !d.is_taken).map(|d| DoneLast {
            is_taken: true,
            ..d
        });
    }

    /// Shows it over everything, while it is the latest thing done.
    pub fn ui(&mut self, ui: &Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let now_s = ui.input(|i| i.time);
        let latest = job.undo.map(|(id, _)| id);
        let Some(doing) = &mut self.doing else {
            return;
        };
        // It is carried out at the end of the frame that asks for it.
        let frame = ui.ctx().cumulative_frame_nr();
        if !doing.is_taken && *doing.frame.get_or_insert(frame) == frame {
            return;
        }
        let since_s = *doing.since_s.get_or_insert(now_s);
        if doing.is_taken && doing.event.is_none() {
            doing.event = latest;
        }
        let stands = doing.is_taken && doing.event.is_some() && doing.event == latest;
        let Some(event) = doing.event.filter(|_| stands && now_s - since_s < BACK_S) else {
            self.doing = None;
            return;
        };
        // What only signatures take back is not offered for one tap.
        if job.state.signatures_to_take_back(event) > 0 {
            self.doing = None;
            return;
        }
        let w = v.words;
        let button = Button::new(w.take_back)
            .more(&doing.says)
            .steady("take it back");
        let height = button
            .height(ui, doing.place.width())
            .max(doing.place.height());
        let top = doing.place.bottom() - height;
        let rect = Rect::from_min_max(pos2(doing.place.left(), top), doing.place.max);
        let card = Theme::of(ui.ctx()).colours.card;
        let mut is_tapped = false;
        Area::new(Id::unique("done"))
            .order(Order::Foreground)
            .fixed_pos(rect.min)
            .constrain(false)
            .fade_in(false)
            .sense(Sense::hover())
            .show(ui.ctx(), |ui| {
                ui.allocate_exact_size(rect.size(), Sense::hover());
                // Nothing of what lies under it shows at its corners.
                ui.painter().rect_filled(rect, 0.0, card);
                is_tapped = button.at(ui, rect).tapped;
            });
        if is_tapped {
            out.push(Intent::TakeBack(event));
            self.doing = None;
        }
        let left_s = (BACK_S - (now_s - since_s)).max(0.0);
        ui.ctx()
            .request_repaint_after(std::time::Duration::from_secs_f64(left_s));
    }
}
