//! What is adrift: found somewhere, or searched for by two people and signed.

use egui::Ui;
use trayzero_core::job::{Drop, Event, SearchPlace};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use super::Sheet;
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// Every place where things turn up.
const PLACES: [SearchPlace; 7] = [
    SearchPlace::OnTheHead,
    SearchPlace::BenchAndFloor,
    SearchPlace::OnThePerson,
    SearchPlace::PlugHole,
    SearchPlace::OilReturn,
    SearchPlace::TimingCavity,
    SearchPlace::Sump,
];

/// What is chosen on the sheet.
#[derive(Default)]
pub struct AdriftForm {
    dropped: Option<Uuid>,
    found_at: Option<SearchPlace>,
    searched: Vec<SearchPlace>,
}

impl AdriftForm {
    /// Draws the sheet.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let w = v.words;
        let drops: Vec<&Drop> = job.state.drops_adrift().collect();
        let Some(first) = drops.first() else {
            frame::line(ui, w.nothing_adrift, Type::Body, false);
            return None;
        };
        let chosen = self.dropped.unwrap_or(first.id);
        for drop in &drops {
            let name = w.items_n(&drop.item, drop.count);
            let more = drop.valve.map_or_else(String::new, |valve| w.valve(valve));
            let button = Button::new(&name).more(&more);
            if button.chosen(drop.id == chosen).ui(ui).tapped {
                *self = Self {
                    dropped: Some(drop.id),
                    ..Self::default()
                };
            }
        }
        let drop = drops.iter().find(|d| d.id == chosen).unwrap_or(first);
        ui.push_id("found", |ui| self.found(ui, v, drop, out));
        ui.push_id("search", |ui| self.search(ui, v, drop)).inner
    }

    fn found(&mut self, ui: &mut Ui, v: &View<'_>, drop: &Drop, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::group(ui, w.where_found);
        if let Some(place) = choose(ui, v, self.found_at) {
            self.found_at = Some(place);
        }
        let Some(found_at) = self.found_at else {
            return;
        };
        frame::group(ui, w.goes_where);
        for to in goes_to(&drop.item) {
            let title = format!("{}: {}", w.found_it, w.place(*to));
            if Button::new(&title).ui(ui).tapped {
                out.push(Intent::Tap(vec![Event::PartFound {
                    dropped: drop.id,
                    found_at,
                    to: *to,
                }]));
            }
        }
    }

    fn search(&mut self, ui: &mut Ui, v: &View<'_>, drop: &Drop) -> Option<Sheet> {
        let w = v.words;
        frame::group(ui, w.search_list);
        for place in SearchPlace::LIST {
            let on = self.searched.contains(&place);
            let state = if on { w.searched } else { w.not_yet };
            if Button::new(w.search_place(place))
                .more(state)
                .chosen(on)
                .ui(ui)
                .tapped
            {
                if on {
                    self.searched.retain(|p| *p != place);
                } else {
                    self.searched.push(place);
                }
            }
        }
        let all = SearchPlace::LIST.iter().all(|p| self.searched.contains(p));
        let sign = Button::new(w.sign_unfound).more(w.unfound_in_record);
        sign.enabled(all)
            .ui(ui)
            .tapped
            .then(|| Sheet::Sign(SignedAct::Search(drop.id, self.searched.clone())))
    }
}

/// Two columns of places.
fn choose(ui: &mut Ui, v: &View<'_>, chosen: Option<SearchPlace>) -> Option<SearchPlace> {
    let width = (ui.available_width() - crate::ui::theme::GAP) / 2.0;
    let height = PLACES
        .iter()
        .map(|p| Button::new(v.words.search_place(*p)).height(ui, width))
        .fold(crate::ui::theme::TARGET, f32::max);
    let mut taken = None;
    for row in PLACES.chunks(2) {
        let rects = frame::columns(ui, 2, height);
        for (place, rect) in row.iter().zip(rects) {
            let name = v.words.search_place(*place);
            if Button::new(name)
                .chosen(chosen == Some(*place))
                .at(ui, rect)
                .tapped
            {
                taken = Some(*place);
            }
        }
    }
    taken
}

/// Where a found item may go.
fn goes_to(item: &Item) -> &'static [Place] {
    match item {
        Item::Lock | Item::Retainer | Item::Spring | Item::Follower => &[Place::Tray, Place::Scrap],
        Item::OldSeal | Item::SealPiece => &[Place::Scrap],
        Item::NewSeal => &[Place::Stock, Place::Scrap],
        Item::Cover | Item::Plug => &[Place::Aside],
        _ => &[Place::Kit],
    }
}
