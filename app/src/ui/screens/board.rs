//! The board: a tile a bay, the one that needs somebody most first; what is asked of
//! people; and the day on one clock.

use egui::{Ui, vec2};
use uuid::Uuid;

use super::frame::{self, MARGIN};
use super::sheets::chips;
use super::{board_key, notice, shop_note};
use super::{finished, first_use, history, top, where_time_goes};
use crate::data::store::JobSummary;
use crate::shop::{BoardFilter, Card, Day, Looking, NotConfirmed, Tile, WhyNotConfirmed, in_order};
use crate::ui::first_use::FirstUse;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::times;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::{TileWall, ask_row, day_line, note};
use crate::ui::words::{AskFace, TileFace, Words, capital};

/// What is shown of the bays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum BoardPart {
    /// Tiles of these jobs.
    Tiles(BoardFilter),
    /// What is asked of people.
    Asked,
    /// All bays on one clock.
    Day,
    /// What is over, week by week.
    History,
}

impl BoardPart {
    /// All of them with their names.
    fn all(w: &Words) -> [(Self, &'static str); 7] {
        [
            (Self::Tiles(BoardFilter::UnderWay), w.bays_under_way),
            (Self::Asked, w.bays_asked),
            (Self::Day, w.the_day),
            (Self::Tiles(BoardFilter::AirOn), w.bays_air_on),
            (Self::Tiles(BoardFilter::Over), w.bays_over),
            (Self::Tiles(BoardFilter::All), w.bays_all),
            (Self::History, w.history_word),
        ]
    }
}

/// The tiles stand on at least so much height, in points: on a low screen they scroll.
const WALL_LEAST: f32 = 240.0;

/// What the board keeps for itself.
pub struct BoardScreen {
    shown: BoardPart,
    history: history::HistoryScreen,
    /// The tablet whose changed key is looked at.
    key_of: Option<Uuid>,
    key: board_key::KeyForm,
    /// Somebody asks whether this copy is to become a new tablet.
    asks_new_tablet: bool,
}

impl Default for BoardScreen {
    fn default() -> Self {
        Self {
            shown: BoardPart::Tiles(BoardFilter::UnderWay),
            history: history::HistoryScreen::default(),
            key_of: None,
            key: board_key::KeyForm::default(),
            asks_new_tablet: false,
        }
    }
}

impl BoardScreen {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let (rest, _) = top::ui(ui, v, out);
        let inner = rest.shrink2(vec2(MARGIN, GAP));
        let mut area = frame::child(ui, inner, "board");
        if self.key(&mut area, v, out) {
            return;
        }
        // All of it scrolls: on a low screen the filters would leave no room for a card.
        frame::scrolling().show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            self.filters(ui, v, out);
            self.troubles(ui, v, out);
            notice::ui(ui, v);
            first_use::ui(ui, v, FirstUse::Board, out);
            shop_note::files(ui, v);
            match self.shown {
                BoardPart::Tiles(filter) => tiles(ui, v, filter, (inner.bottom(), out)),
                BoardPart::Asked => {
                    let (tiles, looking) = tiles_of(v, BoardFilter::UnderWay);
                    let asks = v.words.asks(&tiles, &looking, true);
                    out.extend(asks_ui(ui, v.words, &asks, true).map(Intent::ReadJob));
                }
                BoardPart::Day => {
                    let (tiles, looking) = tiles_of(v, BoardFilter::UnderWay);
                    let day = Day::of(&tiles, &looking);
                    out.extend(day_ui(ui, v.words, &day, &looking, true).map(Intent::ReadJob));
                }
                BoardPart::History => match v.history {
                    Some(known) => self.history.ui(ui, v, known),
                    // It comes in a moment, from the thread that reads it.
                    None => frame::line(ui, v.words.wall_reads, Type::Title, true),
                },
            }
            if self.shows_finished() {
                finished::more(ui, v, out);
                let spent = v.pace.map_or(&[][..], |pace| pace.spent());
                where_time_goes::of_shop(ui, v, spent);
            }
        });
    }

    fn shows_finished(&self) -> bool {
        let with_finished = [BoardFilter::Over, BoardFilter::All].map(BoardPart::Tiles);
        with_finished.contains(&self.shown)
    }

    /// Which bays are shown, and how.
    fn filters(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let parts = BoardPart::all(v.words);
        let names = parts.map(|(_, name)| name.to_owned());
        let columns = match ui.available_width() / Theme::of(ui.ctx()).scale() {
            wide if wide >= 900.0 => 7,
            wide if wide >= 700.0 => 4,
            wide if wide >= 420.0 => 3,
            _ => 2,
        };
        let chosen = |i: usize| parts[i].0 == self.shown;
        if let Some(index) = chips::ui(ui, &names, columns, chosen) {
            self.shown = parts[index].0;
            if self.shows_finished() && v.finished.is_empty() {
                out.push(Intent::ShowFinished);
            }
            if self.shown == BoardPart::History {
                out.push(Intent::ShowHistory);
            }
        }
    }

    /// Both keys of a tablet, where somebody looks at them. Gives whether it is shown.
    fn key(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) -> bool {
        let conflicts = &v.shop.key_conflicts;
        let Some(conflict) = conflicts.iter().find(|c| Some(c.tablet) == self.key_of) else {
            return false;
        };
        let is_left = frame::scrolling()
            .id_salt("key")
            .show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = GAP;
                self.key.ui(ui, v, conflict, out)
            })
            .inner;
        if is_left {
            self.after_tap();
        }
        true
    }

    /// Shows both keys of a tablet.
    pub fn look_at_key(&mut self, tablet: Uuid) {
        self.key_of = Some(tablet);
    }

    /// What was asked for was done: nobody looks at keys any more.
    pub fn after_tap(&mut self) {
        self.key_of = None;
        self.key = board_key::KeyForm::default();
        self.asks_new_tablet = false;
    }

    /// The way out where this tablet's identity is in use twice: one of both copies becomes
    /// a new tablet, after being asked once more.
    fn twice(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let is_own = |one: &&NotConfirmed| one.tablet == v.tablet;
        let mut own = v.shop.not_confirmed.iter().filter(is_own);
        if !own.any(|one| one.why == WhyNotConfirmed::Twice) {
            self.asks_new_tablet = false;
            return;
        }
        let w = v.words;
        if !self.asks_new_tablet {
            self.asks_new_tablet = Button::new(w.new_tablet).ui(ui).tapped;
            return;
        }
        frame::line(ui, w.new_tablet_more, Type::Body, false);
        if Button::new(w.cancel).ui(ui).tapped {
            self.asks_new_tablet = false;
        }
        if Button::new(w.new_tablet_yes).ui(ui).tapped {
            self.asks_new_tablet = false;
            out.push(Intent::BecomeNewTablet);
        }
    }

    /// What stands between this board and the shop as it is.
    fn troubles(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        if v.shop.folder.is_none() {
            frame::line(ui, w.board_alone, Type::Body, true);
            return;
        }
        shop_note::trouble(ui, v);
        shop_note::not_confirmed(ui, v);
        self.twice(ui, v, out);
        for conflict in &v.shop.key_conflicts {
            let c = Theme::of(ui.ctx()).colours;
            note::ui(ui, w.key_changed, &conflict.name, c.astray);
            let button = Button::new(w.key_look).more(&conflict.name);
            if ui.push_id(conflict.tablet, |ui| button.ui(ui)).inner.tapped {
                self.look_at_key(conflict.tablet);
            }
        }
    }
}

/// The tiles of the jobs shown, and from where they are looked at.
fn tiles_of(v: &View<'_>, filter: BoardFilter) -> (Vec<Tile>, Looking) {
    let looking = Looking {
        now_ms: v.now_ms,
        zone: times::zone(v.now_ms, v.offset_min),
        air_reminder_min: v.settings.air_reminder_min,
        hours: v.settings.shop_hours.clone(),
        own: Some(v.tablet),
        out_of_touch_ms: v.shop.out_of_touch_since_ms(v.now_ms),
    };
    let is_known = |card: &Card| v.cards.iter().any(|known| known.job == card.job);
    let finished = v.finished.iter().filter(|card| !is_known(card));
    let cards: Vec<_> = v.cards.iter().chain(finished).cloned().collect();
    let placed = in_order(&cards, filter, v.now_ms, looking.air_reminder_min);
    let tiles = placed.iter().map(|one| Tile::of(one, &looking)).collect();
    (tiles, looking)
}

/// The tiles over the room that is left down to `bottom`.
fn tiles(ui: &mut Ui, v: &View<'_>, filter: BoardFilter, (bottom, out): (f32, &mut Vec<Intent>)) {
    let (tiles, looking) = tiles_of(v, filter);
    if tiles.is_empty() {
        frame::line(ui, v.words.no_jobs, Type::Title, true);
        return;
    }
    let face = |tile| v.words.tile(tile, &looking, true);
    let faces: Vec<TileFace> = tiles.iter().map(face).collect();
    let more: Vec<Vec<String>> = tiles.iter().map(|tile| more_of(v, tile)).collect();
    let wall = TileWall {
        faces: &faces,
        more: &more,
        takes_taps: true,
    };
    let room = (bottom - ui.cursor().top()).max(WALL_LEAST);
    out.extend(wall.ui(ui, room).map(Intent::ReadJob));
}

/// What is asked of people, one line each; gives the job whose line was tapped.
pub fn asks_ui(ui: &mut Ui, w: &Words, asks: &[AskFace], takes_taps: bool) -> Option<Uuid> {
    if asks.is_empty() {
        frame::line(ui, w.nobody_asked, Type::Title, true);
    }
    let mut taken = None;
    for (at, ask) in asks.iter().enumerate() {
        if ui.push_id(at, |ui| ask_row::ui(ui, ask, takes_taps)).inner {
            taken = Some(ask.job);
        }
    }
    taken
}

/// All bays on one clock; gives the job whose line was tapped.
pub fn day_ui(
    ui: &mut Ui,
    w: &Words,
    day: &Day,
    looking: &Looking,
    takes_taps: bool,
) -> Option<Uuid> {
    if day.works.is_none() {
        frame::line(ui, &capital(w.no_work_today), Type::Body, true);
    }
    if day.bays.is_empty() {
        frame::line(ui, w.day_empty, Type::Title, true);
        return None;
    }
    day_line::ui(ui, w, &w.day(day, looking), takes_taps)
}

/// What a tile says where there is room: who, what was seen last, what is loose, to whom it
/// was handed, and what its end rests on.
fn more_of(v: &View<'_>, tile: &Tile) -> Vec<String> {
    let w = v.words;
    let card = &tile.card;
    let s = &card.summary;
    let mut lines = vec![format!("{} · {}", s.vehicle, s.technician)];
    lines.extend(s.order_number.iter().map(|number| w.number_n(number)));
    if let Some((valve, stage)) = card.stage_now {
        lines.push(format!("{}: {}", w.valve(valve), w.stage(stage)));
    }
    if !s.phase.is_over() {
        let quiet_min = v.minutes_since(s.last_ms);
        let quiet = quiet_min.map_or_else(|| w.unknown.to_owned(), |min| w.ago(min));
        lines.push(format!("{} {quiet}", w.last_tap));
    }
    if s.loose > 0 {
        lines.push(format!("{} {}", s.loose, w.loose));
    }
    lines.extend(handed_words(v, s));
    if tile.end.is_some_and(|end| end.stands_open_overnight) {
        lines.push(w.stands_open.to_owned());
    }
    if let Some(to_go) = card.to_go.as_ref().filter(|_| tile.end.is_some()) {
        lines.push(format!("{}: {}", w.time_to_go, w.to_go(to_go)));
        let scores = v.pace.map_or(&[][..], |pace| pace.scores());
        lines.extend(w.footing_lines(to_go, scores));
    }
    lines
}

/// To whom a job under way was handed last.
pub fn handed_words(v: &View<'_>, summary: &JobSummary) -> Option<String> {
    let holder = summary.holder.filter(|_| !summary.phase.is_over())?;
    let other = v.tablets.iter().find(|(id, _)| *id == holder);
    Some(match other {
        Some((_, name)) => v.words.handed_to(name),
        None => v.words.handed_here.to_owned(),
    })
}
