//! The pages of a record, one at a time.

use egui::{ScrollArea, Sense, Ui, vec2};

use crate::ui::intent::Intent;
use crate::ui::screens::{frame, notice};
use crate::ui::theme::{GAP, TARGET, Theme};
use crate::ui::view::{DrawnPage, RecordView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;
use crate::ui::widgets::thumb::{self, Rgb};
use crate::ui::words::Words;

/// How much wider than its place a page may be shown.
const LARGER: [f32; 4] = [1.0, 1.4, 2.0, 2.8];
/// A picture of a page has a width of so many pixels, or a multiple.
const STEP_PX: f32 = 100.0;
/// The widest picture of a page, in pixels.
const WIDEST_PX: f32 = 2_600.0;
/// How far a finger goes to the side to turn a page, in points.
const SWIPE: f32 = 90.0;

/// What the screen keeps of it.
#[derive(Default)]
pub struct RecordPages {
    /// The page, counted from 0.
    pub at: usize,
    /// Which of [`LARGER`] is shown.
    pub larger: usize,
    /// What two fingers have done since the last step.
    pinched: f32,
}

impl RecordPages {
    /// Draws the page.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, record: &RecordView, out: &mut Vec<Intent>) {
        notice::ui(ui, v);
        let pages = record.opened().map_or(0, |opened| opened.pages);
        let w = v.words;
        if pages == 0 {
            let tint = Theme::of(ui.ctx()).colours.astray;
            note::ui(ui, w.no_pages, "", tint);
            return;
        }
        self.at = self.at.min(pages - 1);
        self.turn_by_finger(ui, pages);
        self.pinch(ui);
        let room = ui.available_rect_before_wrap();
        let width = (room.width() - ui.spacing().scroll.allocated_width()) * LARGER[self.larger];
        let wanted = (width * ui.ctx().pixels_per_point() / STEP_PX).ceil() * STEP_PX;
        let wanted = wanted.clamp(2.0 * STEP_PX, WIDEST_PX) as u16;
        if record.asked != Some((self.at, wanted)) {
            out.push(Intent::DrawPage(self.at, wanted));
        }
        let c = Theme::of(ui.ctx()).colours;
        // One that was drawn narrower is shown until the right one is there.
        let drawn = record.page.as_ref().filter(|(at, _)| *at == self.at);
        let pixels = match drawn {
            None => return note::ui(ui, w.page_being_drawn, "", c.now),
            Some((_, DrawnPage::Not(why))) => {
                return note::ui(ui, &w.record_not_read(why), w.page_not_drawn_way, c.open);
            }
            Some((_, DrawnPage::There(pixels))) => pixels,
        };
        let name = format!("page {} of {}", self.at, record.path.display());
        let rgb = Rgb {
            name: &name,
            width: pixels.width,
            height: pixels.height,
            bytes: &pixels.rgb,
        };
        let height = width * pixels.height as f32 / pixels.width.max(1) as f32;
        let title = w.page_n_of_m(self.at + 1, pages);
        ScrollArea::both()
            .auto_shrink(false)
            .id_salt(("page", self.at, self.larger))
            .show(ui, |ui| {
                let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
                response.widget_info(|| {
                    egui::WidgetInfo::labeled(egui::accesskit::Role::Image, true, &title)
                });
                thumb::contained(ui, &rgb, rect);
            });
    }

    /// A finger that goes far to one side turns the page, while the whole width is seen.
    fn turn_by_finger(&mut self, ui: &Ui, pages: usize) {
        let room = ui.available_rect_before_wrap();
        let moved = ui.input(|i| {
            let from = i.pointer.press_origin().filter(|at| room.contains(*at))?;
            let to = i.pointer.latest_pos()?;
            i.pointer.any_released().then(|| to - from)
        });
        let Some(moved) = moved.filter(|_| self.larger == 0) else {
            return;
        };
        if moved.x.abs() > SWIPE && moved.x.abs() > 2.0 * moved.y.abs() {
            self.turn(moved.x < 0.0, pages);
        }
    }

    /// Two fingers enlarge, a step at a time.
    fn pinch(&mut self, ui: &Ui) {
        let pinched = ui.input(egui::InputState::zoom_delta);
        self.pinched = if self.pinched == 0.0 {
            1.0
        } else {
            self.pinched
        } * pinched;
        if self.pinched > 1.3 {
            self.enlarge(true);
        } else if self.pinched < 0.75 {
            self.enlarge(false);
        }
    }

    fn turn(&mut self, is_on: bool, pages: usize) {
        self.at = if is_on {
            (self.at + 1).min(pages.saturating_sub(1))
        } else {
            self.at.saturating_sub(1)
        };
    }

    fn enlarge(&mut self, is_larger: bool) {
        self.pinched = 1.0;
        self.larger = if is_larger {
            (self.larger + 1).min(LARGER.len() - 1)
        } else {
            self.larger.saturating_sub(1)
        };
    }

    /// The keys that turn and enlarge.
    pub fn keys(&mut self, ui: &mut Ui, v: &View<'_>, pages: usize, columns: usize) {
        let w = v.words;
        if pages == 0 {
            return;
        }
        let missing = [
            self.at == 0,
            self.at + 1 >= pages,
            self.larger == 0,
            self.larger + 1 >= LARGER.len(),
        ];
        let title = w.page_n_of_m(self.at + 1, pages);
        frame::line(ui, &title, crate::ui::theme::Type::Strong, false);
        let height = key_height(ui, v, ui.available_width(), columns);
        for (row, some) in key_names(w).chunks(columns).enumerate() {
            let places = frame::columns(ui, columns, height);
            for (at, ((name, why_not), place)) in some.iter().zip(places).enumerate() {
                let at = row * columns + at;
                let button = Button::new(name).wants(why_not, missing[at]);
                if !button.at(ui, place).tapped {
                    continue;
                }
                match at {
                    0 | 1 => self.turn(at == 1, pages),
                    _ => self.enlarge(at == 3),
                }
            }
        }
    }
}

/// What each key is called, and why it may be missing.
fn key_names(w: &Words) -> [(&'static str, &'static str); 4] {
    [
        (w.page_before, w.none_before),
        (w.page_after, w.none_after),
        (w.page_smaller, w.no_smaller),
        (w.page_larger, w.no_larger),
    ]
}

fn key_height(ui: &Ui, v: &View<'_>, width: f32, columns: usize) -> f32 {
    let each = (width - GAP * (columns as f32 - 1.0)) / columns as f32;
    key_names(v.words)
        .iter()
        .map(|(name, why_not)| Button::new(name).wants(why_not, true).height(ui, each))
        .fold(TARGET, f32::max)
}

/// Height that the keys take.
pub fn keys_height(ui: &Ui, v: &View<'_>, width: f32, columns: usize) -> f32 {
    let rows = 4_usize.div_ceil(columns) as f32;
    let line = crate::ui::widgets::paint::line_height(ui, crate::ui::theme::Type::Strong);
    rows * (key_height(ui, v, width, columns) + GAP) + line
}
