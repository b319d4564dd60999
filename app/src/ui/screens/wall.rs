//! The board on an office screen: read from three metres, touched by nobody. Tiles, what is
//! asked of people, and the day; on a wide screen side by side.

use egui::{Rect, Ui, pos2, vec2};

use super::board::{asks_ui, day_ui};
use super::frame::{self, MARGIN};
use super::sheets::chips;
use crate::shop::{Day, Looking, Tile};
use crate::ui::theme::{GAP, TARGET, Theme, Tone, Type};
use crate::ui::widgets::{TileWall, note, paint};
use crate::ui::words::{TileFace, Words, capital};

/// From this width on, in points, everything stands side by side.
const WIDE: f32 = 1500.0;
/// Share of the width that the tiles have then.
const TILES_SHARE: f32 = 0.72;
/// Share of the height that what is asked of people has at most.
const ASKED_SHARE: f32 = 0.45;
/// The height at which small text is as large as on a tablet, in points.
const USUAL_HEIGHT: f32 = 800.0;

/// What the wall shows.
#[derive(Clone, Copy)]
pub struct Wall<'a> {
    /// The words of the language.
    pub words: &'a Words,
    /// The bays, the one that needs somebody most first; `None` until they were read.
    pub tiles: Option<&'a [Tile]>,
    /// From where and when they are looked at.
    pub looking: &'a Looking,
    /// Why they may be old, or not all of them.
    pub troubles: &'a [String],
    /// How many shops were read, and how many there are, where several are looked at.
    pub shops: Option<(usize, usize)>,
}

/// What the wall keeps for itself: which part is shown where not all have room.
#[derive(Clone, Copy, Debug, Default)]
pub struct WallScreen {
    shown: usize,
    /// Height of what is asked of people, as it was drawn last.
    asked_high: f32,
    /// Which parts have more below their place.
    has_more: [bool; 3],
}

/// With more bays than this small text gets smaller again.
const USUAL_BAYS: f32 = 12.0;

/// The theme of a wall of so many points: what is small on a tablet is larger there, the
/// fewer bays the larger.
pub fn theme(tone: Tone, height: f32, bays: usize) -> Theme {
    let fewer = (USUAL_BAYS / bays.max(1) as f32).sqrt().min(1.0);
    Theme::new(tone, (height / USUAL_HEIGHT * fewer).clamp(1.0, 1.6)).still(true)
}

impl WallScreen {
    /// Draws it over all there is.
    pub fn ui(&mut self, ui: &mut Ui, wall: &Wall<'_>) {
        let full = ui.max_rect().shrink2(vec2(MARGIN, GAP));
        let mut area = frame::child(ui, full, "wall");
        area.spacing_mut().item_spacing.y = GAP;
        heading(&mut area, wall);
        for trouble in wall.troubles {
            let tint = Theme::of(ui.ctx()).colours.astray;
            note::ui(&mut area, trouble, "", tint);
        }
        let Some(tiles) = wall.tiles else {
            frame::line(&mut area, wall.words.wall_reads, Type::Title, true);
            return;
        };
        if full.width() >= WIDE {
            self.side_by_side(&mut area, wall, tiles, full);
        } else {
            self.one_by_one(&mut area, wall, tiles, full);
        }
    }

    fn one_by_one(&mut self, ui: &mut Ui, wall: &Wall<'_>, tiles: &[Tile], full: Rect) {
        let w = wall.words;
        let names = [w.page_bays, w.bays_asked, w.the_day].map(str::to_owned);
        if let Some(taken) = chips::ui(ui, &names, 3, |i| i == self.shown) {
            self.shown = taken;
        }
        let rest = full.with_min_y(ui.cursor().top());
        let shown = self.shown;
        self.part(ui, wall, (rest, shown), |ui, high| match shown {
            0 => bays(ui, wall, tiles, high),
            1 => asked(ui, wall, tiles),
            _ => day(ui, wall, tiles),
        });
    }

    /// A part that scrolls in its place, and says below it where there is more; gives the
    /// height of all of it.
    fn part(
        &mut self,
        ui: &mut Ui,
        wall: &Wall<'_>,
        (mut place, at): (Rect, usize),
        draw: impl FnOnce(&mut Ui, f32),
    ) -> f32 {
        let c = Theme::of(ui.ctx()).colours;
        if self.has_more[at] {
            let text = paint::text_line(ui, wall.words.more_below, Type::Strong, c.ink, 900.0);
            place.max.y -= text.size().y + GAP;
            let at = pos2(place.center().x - text.size().x / 2.0, place.max.y + GAP);
            ui.painter().galley(at, text, c.ink);
        }
        let mut area = frame::child(ui, place, &format!("part {at}"));
        let scrolled = frame::scrolling().id_salt(at).show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            draw(ui, place.height());
        });
        let whole = scrolled.content_size.y;
        let left = whole - scrolled.state.unclamped_offset().y;
        let has_more = left > place.height() + 1.0;
        if has_more != std::mem::replace(&mut self.has_more[at], has_more) {
            ui.ctx().request_repaint();
        }
        whole
    }

    fn side_by_side(&mut self, ui: &mut Ui, wall: &Wall<'_>, tiles: &[Tile], full: Rect) {
        let rest = full.with_min_y(ui.cursor().top());
        let across = rest.left() + rest.width() * TILES_SHARE;
        let left = rest.with_max_x(across - MARGIN / 2.0);
        let mut right = rest.with_min_x(across + MARGIN / 2.0);
        self.part(ui, wall, (left, 0), |ui, high| bays(ui, wall, tiles, high));
        let most = right.height() * ASKED_SHARE;
        for (at, name) in [(1, wall.words.page_asked), (2, wall.words.the_day)] {
            let mut head = frame::child(ui, right, name);
            frame::line(&mut head, &capital(name), Type::Title, false);
            right.min.y = head.min_rect().bottom() + GAP;
            if at == 1 {
                let high = self.asked_high.clamp(TARGET, most);
                let place = right.with_max_y(right.top() + high);
                self.asked_high = self.part(ui, wall, (place, at), |ui, _| asked(ui, wall, tiles));
                right.min.y = place.bottom() + MARGIN;
            } else {
                self.part(ui, wall, (right, at), |ui, _| day(ui, wall, tiles));
            }
        }
    }
}

/// The time, and how many bays ask for somebody.
fn heading(ui: &mut Ui, wall: &Wall<'_>) {
    let c = Theme::of(ui.ctx()).colours;
    let (_, time) = wall.words.day_and_time(wall.looking.now_ms, wall.looking);
    let tiles = wall.tiles.unwrap_or_default();
    let asking = tiles.iter().filter(|tile| tile.asks()).count();
    let mut says = wall.words.bays_asking(tiles.len(), asking);
    if let Some((read, all)) = wall.shops {
        says = format!("{} · {says}", wall.words.shops_read(read, all));
    }
    let width = ui.available_width();
    let time = paint::text_line(ui, &time, Type::Figure, c.ink, width);
    let room = width - time.size().x - 3.0 * MARGIN;
    let says_text = paint::text(ui, &says, Type::Title, c.ink, room);
    let height = time.size().y.max(says_text.size().y);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Heading, true, &says));
    let left = rect.left() + time.size().x + MARGIN;
    let below = rect.center().y - says_text.size().y / 2.0;
    ui.painter().galley(rect.min, time, c.ink);
    ui.painter().galley(pos2(left, below), says_text, c.ink);
}

fn bays(ui: &mut Ui, wall: &Wall<'_>, tiles: &[Tile], height: f32) {
    if tiles.is_empty() {
        frame::line(ui, wall.words.no_jobs, Type::Title, true);
        return;
    }
    let face = |tile| wall.words.tile(tile, wall.looking, true);
    let faces: Vec<TileFace> = tiles.iter().map(face).collect();
    let vehicle = |tile: &Tile| vec![tile.card.summary.vehicle.clone()];
    let more: Vec<Vec<String>> = tiles.iter().map(vehicle).collect();
    let tiles = TileWall {
        faces: &faces,
        more: &more,
        takes_taps: false,
    };
    tiles.ui(ui, height);
}

fn asked(ui: &mut Ui, wall: &Wall<'_>, tiles: &[Tile]) {
    let asks = wall.words.asks(tiles, wall.looking, true);
    asks_ui(ui, wall.words, &asks, false);
}

fn day(ui: &mut Ui, wall: &Wall<'_>, tiles: &[Tile]) {
    let day = Day::of(tiles, wall.looking);
    day_ui(ui, wall.words, &day, wall.looking, false);
}
