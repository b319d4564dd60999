//! One bay as it is read from three metres: its name, when it ends, how far it is, and why
//! somebody is needed. What needs nobody is quiet.

use std::sync::Arc;

use egui::{Color32, Galley, Id, Pos2, Rect, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};

use super::{cached_shapes, paint, tap, valve_ring};
use crate::ui::theme::{ROUND, ROUND_AREA, TARGET, Theme, Tint};
use crate::ui::words::{MarkKind, TileFace, Urgency};

/// A tile to be drawn.
#[derive(Clone, Copy, Debug)]
pub struct BayTile<'a> {
    /// What it says.
    pub face: &'a TileFace,
    /// What it says besides, where there is room for it.
    pub more: &'a [String],
}

/// Lines of a name at most, and of why somebody is needed.
const NAME_ROWS: usize = 2;
const WHY_ROWS: usize = 8;
/// Lines of a range at most.
const RANGE_ROWS: usize = 6;
/// The least figure, in points.
pub const FIGURE_LEAST: f32 = 22.0;
/// The least ring, in points.
const RING_LEAST: f32 = 40.0;
/// From this figure on its range stands right below it.
const RANGE_BESIDE: f32 = 44.0;
/// Why somebody is needed stands beside the end where that leaves it so many figures of
/// width, else below it.
const BESIDE: f32 = 5.5;
/// How wide a figure is for its height.
const FIGURE_WIDE: f32 = 3.1;

/// A text with its place, from the tile's own left top corner.
type PlacedText = (Pos2, Arc<Galley>, Color32);

/// A mark with its place, its text and its tint.
type PlacedChip = (Rect, Arc<Galley>, Tint);

/// Parts of a tile with their places.
struct Laid {
    texts: Vec<PlacedText>,
    marks: Vec<PlacedChip>,
    ring: Rect,
    /// Where a sign of need has its place: middle and height.
    sign: (Pos2, f32),
    pad: f32,
    height: f32,
}

/// Texts under one another.
struct TileColumn {
    left: f32,
    width: f32,
    y: f32,
    texts: Vec<PlacedText>,
}

impl TileColumn {
    fn new(left: f32, y: f32, width: f32) -> Self {
        Self {
            left,
            width,
            y,
            texts: Vec::new(),
        }
    }

    fn add(&mut self, galley: Arc<Galley>, colour: Color32) {
        let high = galley.size().y;
        self.texts.push((pos2(self.left, self.y), galley, colour));
        self.y += high;
    }
}

/// The least width that a tile takes at a figure of so many points.
pub fn width_least(figure: f32) -> f32 {
    RING_LEAST + 3.0 * pad_of(figure) + FIGURE_WIDE * figure
}

fn pad_of(figure: f32) -> f32 {
    (figure * 0.26).clamp(11.0, 28.0).round()
}

fn say(
    ui: &Ui,
    text: &str,
    (size, is_strong): (f32, bool),
    colour: Color32,
    place: (f32, usize),
) -> Arc<Galley> {
    let font = Theme::of(ui.ctx()).afar(size, is_strong);
    paint::text_afar(ui, text, font, colour, place)
}

impl BayTile<'_> {
    /// Height that it takes at a width with a figure of so many points.
    pub fn height(&self, ui: &Ui, width: f32, figure: f32) -> f32 {
        self.lay(ui, width, figure).height.max(TARGET)
    }

    fn lay(&self, ui: &Ui, width: f32, figure: f32) -> Laid {
        let pad = pad_of(figure);
        let side = (figure * 2.0).min(width * 0.36).max(RING_LEAST).round();
        let left = pad + side + pad;
        let sign = (figure * 0.7).clamp(22.0, 60.0);
        let sign_room = if self.face.urgency == Urgency::Calm {
            0.0
        } else {
            sign * 1.3
        };
        let across = (width * 0.42).max(left + FIGURE_WIDE * figure + pad);
        let is_beside = self.face.urgency != Urgency::Calm
            && width - across - pad - sign_room >= BESIDE * figure;
        let head_width = if is_beside {
            across - left
        } else {
            width - left - pad
        };
        let name_width = if is_beside {
            head_width
        } else {
            head_width - sign_room
        };
        let mut head = TileColumn::new(left, pad, head_width);
        self.lay_head(ui, &mut head, name_width, figure);
        let head_bottom = head.y.max(pad + side);
        let mut body = if is_beside {
            TileColumn::new(across, pad, width - across - pad - sign_room)
        } else {
            TileColumn::new(pad, head_bottom + pad * 0.4, width - 2.0 * pad)
        };
        self.lay_why(ui, &mut body, figure);
        let mut under = TileColumn::new(pad, head_bottom + pad * 0.2, across - pad);
        let below = if is_beside { &mut under } else { &mut body };
        self.lay_range(ui, below, figure);
        let (marks, marks_bottom) = self.lay_marks(ui, &body, figure * 0.36);
        let bottom = marks_bottom.max(head_bottom).max(under.y);
        Laid {
            texts: [head.texts, body.texts, under.texts].concat(),
            marks,
            ring: Rect::from_min_size(pos2(pad, pad), Vec2::splat(side)),
            sign: (pos2(width - pad - sign * 0.5, pad + sign * 0.5), sign),
            pad,
            height: bottom + pad,
        }
    }

    /// The bay's name, and when it ends.
    fn lay_head(&self, ui: &Ui, head: &mut TileColumn, name_width: f32, figure: f32) {
        let theme = Theme::of(ui.ctx());
        let c = theme.colours;
        let name_size = (figure * 0.5).max(17.0 * theme.scale());
        let name = (name_width, NAME_ROWS);
        head.add(
            say(ui, &self.face.bay, (name_size, true), c.ink, name),
            c.ink,
        );
        let Some(end) = &self.face.end else {
            let place = (head.width, 3);
            let size = (figure * 0.45, false);
            let text = say(ui, &self.face.instead, size, c.ink_soft, place);
            head.add(text, c.ink_soft);
            return;
        };
        let line = (f32::INFINITY, 1);
        let time = say(ui, &end.time, (figure, true), c.ink, line);
        let left = head.left;
        if !end.day.is_empty() {
            let day = say(ui, &end.day, (figure * 0.55, true), c.ink, line);
            let day_room = day.size().x + figure * 0.2;
            if day_room + time.size().x > head.width {
                head.add(day, c.ink);
            } else {
                let down = (time.size().y - day.size().y) * 0.7;
                head.texts.push((pos2(left, head.y + down), day, c.ink));
                head.left += day_room;
            }
        }
        head.add(time, c.ink);
        head.left = left;
        if figure >= RANGE_BESIDE {
            let place = (head.width, RANGE_ROWS);
            let range = say(ui, &end.range, (figure * 0.36, false), c.ink_soft, place);
            head.add(range, c.ink_soft);
        }
    }

    /// The range, where it does not stand below the figure.
    fn lay_range(&self, ui: &Ui, column: &mut TileColumn, figure: f32) {
        let Some(end) = self.face.end.as_ref().filter(|_| figure < RANGE_BESIDE) else {
            return;
        };
        let ink = Theme::of(ui.ctx()).colours.ink_soft;
        let place = (column.width, RANGE_ROWS);
        column.add(say(ui, &end.range, (figure * 0.36, false), ink, place), ink);
        column.y += 3.0;
    }

    /// Why somebody is needed.
    fn lay_why(&self, ui: &Ui, body: &mut TileColumn, figure: f32) {
        if self.face.why.is_empty() {
            return;
        }
        let colour = urgency_colour(ui, self.face.urgency);
        let place = (body.width, WHY_ROWS);
        let size = (figure * 0.4, true);
        body.add(say(ui, &self.face.why, size, colour, place), colour);
        body.y += figure * 0.12;
    }

    /// The marks in rows below a column; gives where they end.
    fn lay_marks(&self, ui: &Ui, below: &TileColumn, size: f32) -> (Vec<PlacedChip>, f32) {
        let (left, width) = (below.left, below.width);
        let mut marks = Vec::new();
        let (mut x, mut y, mut bottom) = (left, below.y, below.y);
        let inner = (size * 0.5).clamp(6.0, 16.0);
        for (kind, text) in &self.face.marks {
            let tint = tint_of(ui, *kind);
            let room = (width - 2.0 * inner, 3);
            let galley = say(ui, text, (size, true), tint.mark, room);
            let chip = galley.size() + vec2(2.0 * inner, 6.0);
            if x > left && x + chip.x > left + width {
                (x, y) = (left, bottom + 4.0);
            }
            marks.push((Rect::from_min_size(pos2(x, y), chip), galley, tint));
            x += chip.x + 6.0;
            bottom = bottom.max(y + chip.y);
        }
        (marks, bottom)
    }

    /// Draws it into a rectangle; gives whether it was tapped. One that takes no taps says
    /// its name all the same.
    pub fn ui(&self, ui: &mut Ui, rect: Rect, figure: f32, takes_taps: bool) -> bool {
        let id = ui
            .scope_id()
            .with(("bay tile", self.face.shop, self.face.job));
        let spoken = || {
            let more = self.more.join(", ");
            format!("{}, {more}", self.face.spoken())
        };
        let tapped = if takes_taps {
            let tapped = tap::area_said(ui, rect, id, spoken, true);
            self.ground(ui, rect, id, paint::is_pressed(&tapped.response));
            paint::focus_ring(ui, &tapped.response, f32::from(ROUND_AREA));
            tapped.tapped
        } else {
            let response = ui.interact(rect, id, egui::Sense::hover());
            let said = || egui::WidgetInfo::labeled(egui::Role::Label, true, spoken());
            response.widget_info(said);
            self.ground(ui, rect, id, false);
            false
        };
        self.paint(ui, rect, figure);
        tapped
    }

    fn ground(&self, ui: &Ui, rect: Rect, id: Id, is_pressed: bool) {
        let c = Theme::of(ui.ctx()).colours;
        let (width, edge) = match self.face.urgency {
            Urgency::Urgent => (6.0, c.astray.mark),
            Urgency::Asked => (4.0, c.now_mark),
            Urgency::Calm => (2.0, c.line),
        };
        let key = cached_shapes::key((cached_shapes::bits(rect), edge, c.card));
        cached_shapes::cached_shapes(ui, id, key, is_pressed, |ui| {
            ui.painter().rect(
                rect.shrink(1.0),
                f32::from(ROUND_AREA),
                if is_pressed { c.pressed } else { c.card },
                Stroke::new(width, edge),
                StrokeKind::Inside,
            );
        });
    }

    fn paint(&self, ui: &Ui, rect: Rect, figure: f32) {
        let theme = Theme::of(ui.ctx());
        let c = theme.colours;
        let laid = self.lay(ui, rect.width(), figure);
        let from = rect.min.to_vec2();
        valve_ring::paint(
            ui,
            laid.ring.translate(from),
            &self.face.stages,
            self.face.verified,
        );
        for (at, galley, colour) in laid.texts {
            ui.painter().galley(at + from, galley, colour);
        }
        for (place, galley, tint) in laid.marks {
            let place = place.translate(from);
            ui.painter()
                .rect_filled(place, f32::from(ROUND), tint.ground);
            let at = place.center() - galley.size() / 2.0;
            ui.painter().galley(at, galley, tint.mark);
        }
        need_sign(ui, laid.sign.0 + from, laid.sign.1, self.face.urgency);
        let mut y = rect.top() + laid.height;
        let left = rect.left() + laid.pad;
        for line in self.more {
            let font = theme.afar(figure * 0.3, false);
            let room = rect.width() - 2.0 * laid.pad;
            let galley = paint::text_afar(ui, line, font, c.ink_soft, (room, 2));
            if galley.elided || y + galley.size().y > rect.bottom() - laid.pad * 0.5 {
                break;
            }
            let high = galley.size().y;
            ui.painter().galley(pos2(left, y), galley, c.ink_soft);
            y += high;
        }
    }
}

/// The sign of need: a triangle or a disc, each with its mark; none where nobody is needed.
pub fn need_sign(ui: &Ui, at: Pos2, high: f32, urgency: Urgency) {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    match urgency {
        Urgency::Urgent => paint::caution_sign(ui, at, high, c.astray.mark, c.card),
        Urgency::Asked => {
            ui.painter().circle_filled(at, high / 2.0, c.now.ground);
            let font = theme.afar(high * 0.7, true);
            let mark = paint::text_afar(ui, "!", font, c.now.mark, (f32::INFINITY, 1));
            let corner = at - mark.size() / 2.0;
            ui.painter().galley(corner, mark, c.now.mark);
        }
        Urgency::Calm => {}
    }
}

/// The colour of why somebody is needed.
pub fn urgency_colour(ui: &Ui, urgency: Urgency) -> Color32 {
    let c = Theme::of(ui.ctx()).colours;
    match urgency {
        Urgency::Urgent => c.astray.mark,
        Urgency::Asked => c.now_mark,
        Urgency::Calm => c.ink,
    }
}

fn tint_of(ui: &Ui, kind: MarkKind) -> Tint {
    let c = Theme::of(ui.ctx()).colours;
    match kind {
        MarkKind::Adrift | MarkKind::NotKnown => c.astray,
        MarkKind::Air => c.air,
        MarkKind::Unlocked => c.open,
        MarkKind::Old => Tint {
            ground: c.line,
            mark: c.ink,
        },
    }
}
