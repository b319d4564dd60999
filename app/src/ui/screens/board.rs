//! The board: a card a bay, the one that needs the foreman most first.

use egui::{Color32, Rect, Sense, Ui, pos2, vec2};
use trayzero_core::engine::Layout;
use trayzero_core::job::Stage;
use uuid::Uuid;

use super::frame::{self, MARGIN};
use super::sheets::chips;
use super::{board_key, notice, shop_note};
use super::{finished, first_use, top, where_time_goes};
use crate::data::store::JobSummary;
use crate::shop::{BoardFilter, Card, Need, NotConfirmed, Placed, WhyNotConfirmed, in_order};
use crate::ui::first_use::FirstUse;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::times;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::{note, paint, tap};

/// Side of one valve's dot in the small diagram, in points.
const DOT: f32 = 12.0;

/// What the board keeps for itself.
#[derive(Default)]
pub struct BoardScreen {
    filter: BoardFilter,
    /// The tablet whose changed key is looked at.
    key_of: Option<Uuid>,
    key: board_key::KeyForm,
    /// Somebody asks whether this copy is to become a new tablet.
    asks_new_tablet: bool,
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
            let reminder = v.settings.air_reminder_min;
            let is_known = |card: &Card| v.cards.iter().any(|known| known.job == card.job);
            let finished = v.finished.iter().filter(|card| !is_known(card));
            let cards: Vec<_> = v.cards.iter().chain(finished).cloned().collect();
            let placed = in_order(&cards, self.filter, v.now_ms, reminder);
            if placed.is_empty() {
                frame::line(ui, v.words.no_jobs, Type::Title, true);
            }
            for one in &placed {
                card(ui, v, one, out);
            }
            if self.shows_finished() {
                finished::more(ui, v, out);
                let spent = v.pace.map_or(&[][..], |pace| pace.spent());
                where_time_goes::of_shop(ui, v, spent);
            }
        });
    }

    fn shows_finished(&self) -> bool {
        matches!(self.filter, BoardFilter::Over | BoardFilter::All)
    }

    /// Which bays are shown.
    fn filters(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let names: Vec<String> = v.words.filters.iter().map(|f| (*f).to_owned()).collect();
        let columns = if ui.available_width() >= 760.0 * Theme::of(ui.ctx()).scale() {
            5
        } else {
            2
        };
        let chosen = |i: usize| BoardFilter::ALL[i] == self.filter;
        if let Some(index) = chips::ui(ui, &names, columns, chosen) {
            self.filter = BoardFilter::ALL[index];
            if self.shows_finished() && v.finished.is_empty() {
                out.push(Intent::ShowFinished);
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

/// One bay.
fn card(ui: &mut Ui, v: &View<'_>, placed: &Placed, out: &mut Vec<Intent>) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let card = &placed.card;
    let s = &card.summary;
    let title = format!("{} · {}", s.bay, s.vehicle);
    let lines = lines_of(v, card, placed.need);
    let more = lines.join(" · ");
    let need = w.needs[placed.need as usize];
    let width = ui.available_width();
    let diagram = diagram_size(card.layout.as_deref());
    let room = width - 3.0 * MARGIN - diagram.x - 12.0;
    let name = paint::text(ui, &title, Type::Title, c.ink, room);
    let why = paint::text(ui, need, Type::Strong, need_colour(ui, placed.need), room);
    let under = paint::text(ui, &more, Type::Body, c.ink_soft, room);
    let text_height = name.size().y + why.size().y + under.size().y;
    let height = text_height.max(diagram.y) + 28.0;
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let id = ui.scope_id().with(card.job);
    let spoken = format!("{title}, {need}, {more}");
    let tapped = tap::area(ui, rect, id, &spoken, true);
    paint::control(ui, &tapped.response);
    let mut at = rect.min + vec2(MARGIN + 8.0, 14.0);
    for (galley, ink) in [
        (name, c.ink),
        (why, need_colour(ui, placed.need)),
        (under, c.ink_soft),
    ] {
        let down = galley.size().y;
        ui.painter().galley(at, galley, ink);
        at.y += down;
    }
    if let Some(layout) = &card.layout {
        let min = pos2(
            rect.right() - MARGIN - diagram.x,
            rect.center().y - diagram.y / 2.0,
        );
        small_diagram(ui, Rect::from_min_size(min, diagram), layout, card);
    }
    if tapped.tapped {
        out.push(Intent::ReadJob(card.job));
    }
}

/// How far, who, since when, what is loose, how long still.
fn lines_of(v: &View<'_>, card: &Card, need: Need) -> Vec<String> {
    let w = v.words;
    let s = &card.summary;
    let mut lines = vec![s.technician.clone(), w.of_verified(s.verified, s.valves)];
    if let Some((valve, stage)) = card.stage_now {
        lines.push(format!("{}: {}", w.valve(valve), w.stage(stage)));
    }
    let quiet_min = v.minutes_since(s.last_ms);
    let quiet = quiet_min.map_or_else(|| w.unknown.to_owned(), |min| w.ago(min));
    lines.push(format!("{} {quiet}", w.last_tap));
    if let Some(cylinder) = s.air_asked() {
        lines.push(w.danger_air(cylinder));
    } else if let Some(air) = s.air {
        let since = w.air_since(v.minutes_since(air.since_ms));
        lines.push(format!("{}, {since}", w.air_on_cylinder(air.cylinder)));
    }
    if s.loose > 0 {
        lines.push(format!("{} {}", s.loose, w.loose));
    }
    let needed = w.needs[need as usize];
    let blocks = card.blocks.iter().map(|block| w.block(block, v.now_ms));
    lines.extend(blocks.filter(|words| words != needed));
    lines.extend(handed_words(v, s));
    // From a wrong clock's day nothing can be told of the end.
    if let Some(to_go) = card.to_go.as_ref().filter(|_| quiet_min.is_some()) {
        lines.push(format!("{}: {}", w.time_to_go, w.to_go(to_go)));
        let zone = times::zone(v.now_ms, v.offset_min);
        let end = card.end(&v.settings.shop_hours, &zone, v.now_ms);
        lines.extend(end.iter().flat_map(|end| w.end_lines(end, &zone, v.now_ms)));
        let scores = v.pace.map_or(&[][..], |pace| pace.scores());
        lines.extend(w.footing_lines(to_go, scores));
    }
    if let Some(why) = card.work.as_ref().and_then(|work| work.rests.as_deref())
        && !why.is_empty()
    {
        lines.push(w.rests_because(why));
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

fn need_colour(ui: &Ui, need: Need) -> Color32 {
    let c = Theme::of(ui.ctx()).colours;
    match need {
        Need::AirForgotten | Need::Conflict | Need::FileFault | Need::Adrift => c.astray.mark,
        Need::ForemanWanted | Need::CountsDiffer | Need::Quiet => c.open.mark,
        Need::Paused => c.ink_soft,
        Need::Working => c.ink,
        Need::Over => c.done.mark,
    }
}

fn diagram_size(layout: Option<&Layout>) -> egui::Vec2 {
    let Some(layout) = layout else {
        return egui::Vec2::ZERO;
    };
    let longest = layout.banks.iter().map(|b| b.cylinders.len()).max();
    let across = f32::from(layout.intake_valves.max(layout.exhaust_valves));
    let columns = longest.unwrap_or(0) as f32 * (across + 0.6);
    let rows = layout.banks.len() as f32 * 2.6;
    vec2(columns * DOT, rows * DOT)
}

/// Every valve as a dot: empty, half, full by its stage; bank under bank, front left.
fn small_diagram(ui: &Ui, rect: Rect, layout: &Layout, card: &Card) {
    let c = Theme::of(ui.ctx()).colours;
    let across = f32::from(layout.intake_valves.max(layout.exhaust_valves));
    for (valve, seen) in &card.stages {
        let Some(bank) = layout.bank_of(valve.cylinder) else {
            continue;
        };
        let cylinders = &layout.banks[bank].cylinders;
        let Some(place) = cylinders.iter().position(|n| *n == valve.cylinder) else {
            continue;
        };
        let row = match valve.side {
            trayzero_core::engine::Side::Intake => 0.0,
            trayzero_core::engine::Side::Exhaust => 1.0,
        };
        let x = place as f32 * (across + 0.6) + f32::from(valve.place - 1);
        let y = bank as f32 * 2.6 + row;
        let at = rect.min + vec2((x + 0.5) * DOT, (y + 0.5) * DOT);
        let stage = Stage::ALL.get(usize::from(*seen).wrapping_sub(1));
        let radius = DOT * 0.38;
        match stage {
            None => {
                ui.painter()
                    .circle_stroke(at, radius, egui::Stroke::new(2.0, c.edge));
            }
            Some(Stage::Verified) => {
                ui.painter().circle_filled(at, radius, c.done.mark);
            }
            Some(Stage::LocksOut | Stage::SealFitted) => {
                ui.painter().circle_filled(at, radius + 1.0, c.open.mark);
            }
            Some(_) => {
                ui.painter().circle_filled(at, radius * 0.6, c.ink);
            }
        }
    }
}
