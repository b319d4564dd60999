//! A small picture that a finger may go to, or what is said where it cannot be shown.

use egui::{
    Align2, Color32, ColorImage, Rect, Sense, TextureHandle, TextureOptions, Ui, pos2, vec2,
};

use super::memo::{key, memo};
use super::{paint, tap};
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Type};

/// The pixels of a picture: three bytes each, row by row.
#[derive(Clone, Copy)]
pub struct Rgb<'a> {
    /// What tells it from any other.
    pub name: &'a str,
    /// Pixels a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Red, green, blue.
    pub bytes: &'a [u8],
}

/// A small picture.
#[derive(Clone, Copy)]
pub struct Thumb<'a> {
    /// The picture, where it can be shown.
    pub rgb: Option<Rgb<'a>>,
    /// What is said in its place, where it cannot; in a cell a mark stands for it.
    pub instead: &'a str,
    /// Whether it is only not there yet.
    pub is_awaited: bool,
    /// What it is of.
    pub title: &'a str,
    /// What goes with it.
    pub detail: &'a str,
    /// Whether it is one of those that are chosen.
    pub is_chosen: bool,
    /// Whether it takes a tap.
    pub is_enabled: bool,
}

/// Side of the picture at the start of a row, in points.
const ROW_SIDE: f32 = 1.6 * TARGET;

impl Thumb<'_> {
    /// Draws it as a line of a list, over the width that is there.
    pub fn row(&self, ui: &mut Ui) -> tap::Tapped {
        let c = Theme::of(ui.ctx()).colours;
        let width = ui.available_width();
        let room = (width - ROW_SIDE - 3.0 * GAP).max(1.0);
        let title = paint::text(ui, self.title, Type::Strong, c.ink, room);
        let detail = [self.instead, self.detail];
        let detail: Vec<&str> = detail.into_iter().filter(|part| !part.is_empty()).collect();
        let detail = paint::text(ui, &detail.join(" \u{b7} "), Type::Small, c.ink_soft, room);
        let text = title.size().y + detail.size().y;
        let height = (text + 2.0 * GAP).max(ROW_SIDE + 2.0 * GAP);
        let (rect, place) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let id = place.id.with("thumb");
        let tapped = tap::area(ui, rect, id, &self.spoken(), self.is_enabled);
        self.ground(ui, &tapped);
        let at = rect.min + vec2(GAP, GAP);
        self.picture(
            ui,
            Rect::from_min_size(at, vec2(ROW_SIDE, height - 2.0 * GAP)),
        );
        let at = pos2(at.x + ROW_SIDE + GAP, rect.center().y - text / 2.0);
        let below = at + vec2(0.0, title.size().y);
        ui.painter().galley(at, title, c.ink);
        ui.painter().galley(below, detail, c.ink_soft);
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
        tapped
    }

    /// Draws the picture alone in a rectangle, with its title below it where there is one.
    pub fn cell(&self, ui: &mut Ui, rect: Rect) -> tap::Tapped {
        let c = Theme::of(ui.ctx()).colours;
        let id = ui
            .scope_id()
            .with(("thumb", self.title, self.rgb.map(|rgb| rgb.name)));
        let tapped = tap::area(ui, rect, id, &self.spoken(), self.is_enabled);
        self.ground(ui, &tapped);
        let inner = rect.shrink(6.0);
        let ink = if self.is_chosen { c.now.mark } else { c.ink };
        // Words that do not fit are for those who have them read to them.
        let title = paint::text_line(ui, self.title, Type::Small, ink, f32::INFINITY);
        let fits = title.size().x <= inner.width() && !self.title.is_empty();
        let low = if fits { title.size().y } else { 0.0 };
        let picture = inner.with_max_y(inner.bottom() - low);
        self.picture(ui, picture);
        if fits {
            let at = pos2(inner.center().x - title.size().x / 2.0, picture.bottom());
            ui.painter().galley(at, title, ink);
        }
        paint::focus_ring(ui, &tapped.response, f32::from(ROUND));
        tapped
    }

    fn ground(&self, ui: &Ui, tapped: &tap::Tapped) {
        let c = Theme::of(ui.ctx()).colours;
        let (ground, edge) = match (paint::is_pressed(&tapped.response), self.is_chosen) {
            (true, _) => (c.pressed, c.edge),
            (false, true) => (c.now.ground, c.now_mark),
            (false, false) => (c.card, c.line),
        };
        paint::plate(ui, &tapped.response, ground, edge);
    }

    fn picture(&self, ui: &Ui, rect: Rect) {
        if let Some(rgb) = &self.rgb {
            contained(ui, rgb, rect);
            return;
        }
        let c = Theme::of(ui.ctx()).colours;
        let (mark, ink) = if self.is_awaited {
            ("\u{2026}", c.ink_soft)
        } else {
            ("!", c.astray.mark)
        };
        let middle = Align2::CENTER_CENTER;
        paint::label(ui, rect.center(), middle, mark, Type::Title, ink);
    }

    fn spoken(&self) -> String {
        [self.title, self.instead, self.detail]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join(", ")
    }
}

/// Paints a picture as large as it fits into a rectangle, in its middle; gives where.
pub fn contained(ui: &Ui, rgb: &Rgb<'_>, rect: Rect) -> Rect {
    let size = vec2(rgb.width as f32, rgb.height as f32);
    let scale = (rect.width() / size.x).min(rect.height() / size.y);
    let place = Rect::from_center_size(rect.center(), size * scale.max(0.0));
    let texture: TextureHandle = memo(ui, key((rgb.name, rgb.width, rgb.height)), || {
        let size = [rgb.width as usize, rgb.height as usize];
        let image = ColorImage::from_rgb(size, rgb.bytes);
        ui.ctx()
            .load_texture(rgb.name, image, TextureOptions::LINEAR)
    });
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    ui.painter()
        .image(texture.id(), place, whole, Color32::WHITE);
    place
}
