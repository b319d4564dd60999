//! Where things stand: the top of every screen, the split into diagram and panel, and
//! the frame of a sheet.

use egui::{Rect, ScrollArea, Sense, Ui, UiBuilder, Vec2, pos2, vec2};

use crate::ui::theme::{GAP, TARGET, Theme, Type};
pub use crate::ui::widgets::columns::columns;

use crate::ui::widgets::button::Button;
use crate::ui::widgets::{cached_shapes, paint};
use crate::ui::words::capital;

/// Outer margin of a screen, in points.
pub const MARGIN: f32 = 16.0;

/// Whether a screen of this size is laid out side by side.
pub fn is_landscape(size: Vec2) -> bool {
    size.x >= size.y * 1.15
}

/// A child that is confined to a rectangle, laid out from the top.
pub fn child(ui: &mut Ui, rect: Rect, salt: &str) -> Ui {
    let mut child = ui.new_child(UiBuilder::new().max_rect(rect).id_salt(salt.to_owned()));
    child.set_clip_rect(rect.intersect(ui.clip_rect()));
    child
}

/// A list that scrolls down: dragged anywhere by a finger, turned by a wheel. A mouse does
/// not drag it, since a quick move before a click would throw it.
pub fn scrolling() -> ScrollArea {
    ScrollArea::vertical().auto_shrink(false)
}

/// An area that lies on the paper: the ground, and the room inside it.
pub fn card(ui: &Ui, rect: Rect) -> Rect {
    let theme = Theme::of(ui.ctx());
    let id = ui.scope_id().with(("card", cached_shapes::bits(rect)));
    cached_shapes::cached_shapes(ui, id, 0, false, |ui| {
        ui.painter().rect(
            rect.shrink(1.0),
            f32::from(crate::ui::theme::ROUND_AREA),
            theme.colours.card,
            egui::Stroke::new(2.0, theme.colours.line),
            egui::StrokeKind::Inside,
        );
    });
    rect.shrink(MARGIN)
}

/// Width that the panel beside the diagram takes of `width`.
pub fn panel_width(width: f32, scale: f32) -> f32 {
    let wanted = (width * 0.40).max(380.0 + 120.0 * (scale - 1.0));
    wanted.min(width * 0.56).min(720.0)
}

/// The head of a sheet or a screen: its name, and the way back. True when that is taken.
pub fn head(ui: &mut Ui, title: &str, back: &str) -> bool {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let back_width = (paint::text_line(ui, back, Type::Strong, theme.colours.ink, 900.0)
        .size()
        .x
        + 36.0)
        .max(TARGET * 1.5)
        .min(width * 0.5);
    let room = width - back_width - GAP;
    let name = paint::text(ui, title, Type::Heading, theme.colours.ink, room);
    let height = name.size().y.max(TARGET);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Heading, true, title));
    let at = pos2(rect.left(), rect.center().y - name.size().y / 2.0);
    ui.painter().galley(at, name, theme.colours.ink);
    let back_rect = Rect::from_min_size(
        pos2(rect.right() - back_width, rect.center().y - TARGET / 2.0),
        vec2(back_width, TARGET),
    );
    Button::new(back).at(ui, back_rect).tapped
}

/// Height that the name of a sheet takes at a width.
pub fn title_height(ui: &Ui, text: &str, width: f32) -> f32 {
    let ink = Theme::of(ui.ctx()).colours.ink;
    paint::text(ui, text, Type::Heading, ink, width).size().y
}

/// The name of a sheet, over the width that is there.
pub fn title(ui: &mut Ui, text: &str) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let name = paint::text(ui, text, Type::Heading, theme.colours.ink, width);
    let (rect, response) = ui.allocate_exact_size(vec2(width, name.size().y), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Heading, true, text));
    ui.painter().galley(rect.min, name, theme.colours.ink);
}

/// A line of text over the width that is there.
pub fn line(ui: &mut Ui, text: &str, step: Type, soft: bool) {
    let colours = Theme::of(ui.ctx()).colours;
    let ink = if soft { colours.ink_soft } else { colours.ink };
    let galley = paint::text(ui, text, step, ink, ui.available_width());
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), galley.size().y), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, text));
    ui.painter().galley(rect.min, galley, ink);
}

/// A small heading above a group, with the room before it.
pub fn group(ui: &mut Ui, text: &str) {
    ui.add_space(GAP);
    line(ui, &capital(text), Type::Strong, false);
}

/// The screen cut in two: side by side, or one above the other.
pub fn halves(ui: &Ui, rest: Rect) -> (Rect, Rect) {
    let inner = rest.shrink2(vec2(MARGIN, GAP));
    if is_landscape(rest.size()) {
        let scale = Theme::of(ui.ctx()).scale();
        let side = panel_width(inner.width(), scale)
            .max(inner.width() * 0.46)
            .min(1_000.0);
        let mid = inner.right() - side;
        (
            Rect::from_min_max(inner.min, pos2(mid - MARGIN, inner.bottom())),
            Rect::from_min_max(pos2(mid, inner.top()), inner.max),
        )
    } else {
        let mid = inner.top() + inner.height() * 0.52;
        (
            Rect::from_min_max(inner.min, pos2(inner.right(), mid - GAP)),
            Rect::from_min_max(pos2(inner.left(), mid), inner.max),
        )
    }
}
