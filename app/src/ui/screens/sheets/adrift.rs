//! What is adrift: found somewhere, or searched for by two people and signed. The two ways
//! look unlike each other, for one of them ends the alarm.

use egui::Ui;
use trayzero_core::job::{Drop, Event, SearchPlace, found_places};
use uuid::Uuid;

use super::Sheet;
use super::chips;
use super::foot::{Foot, Offer};
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::choice_row::{choice_row, tick_row};

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

/// How it is to end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Way {
    #[default]
    Found,
    Searched,
}

/// What is chosen on the sheet.
#[derive(Default)]
pub struct AdriftForm {
    dropped: Option<Uuid>,
    way: Way,
    found_at: Option<SearchPlace>,
    to: usize,
    searched: Vec<SearchPlace>,
}

impl AdriftForm {
    fn drop<'a>(&self, job: &JobView<'a>) -> Option<&'a Drop> {
        let mut all = job.state.drops_adrift();
        let chosen = all.find(|d| Some(d.id) == self.dropped);
        chosen.or_else(|| job.state.drops_adrift().next())
    }

    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
        let w = v.words;
        let Some(chosen) = self.drop(job) else {
            frame::line(ui, w.nothing_adrift, Type::Body, false);
            return;
        };
        for drop in job.state.drops_adrift() {
            let name = w.items_n(&drop.item, drop.count);
            let more = drop.valve.map_or_else(String::new, |valve| w.valve(valve));
            let button = Button::new(&name).more(&more).chosen(drop.id == chosen.id);
            if ui.push_id(drop.id, |ui| button.ui(ui)).inner.tapped {
                *self = Self {
                    dropped: Some(drop.id),
                    ..Self::default()
                };
            }
        }
        let ways = [w.was_found, w.was_searched];
        if let Some(i) = choice_row(ui, &ways, Some(self.way as usize)) {
            self.way = [Way::Found, Way::Searched][i];
        }
        match self.way {
            Way::Found => self.found(ui, v, chosen),
            Way::Searched => self.search(ui, v),
        }
    }

    fn found(&mut self, ui: &mut Ui, v: &View<'_>, drop: &Drop) {
        let w = v.words;
        frame::group(ui, w.where_found);
        let names = PLACES.map(|p| w.search_place(p).to_owned());
        if let Some(i) = chips::ui(ui, &names, 2, |i| self.found_at == Some(PLACES[i])) {
            self.found_at = Some(PLACES[i]);
        }
        frame::group(ui, w.goes_where);
        let to = found_places(&drop.item);
        let names: Vec<String> = to.iter().map(|p| w.place(*p).to_owned()).collect();
        if let Some(i) = chips::ui(ui, &names, 2, |i| self.to == i) {
            self.to = i;
        }
    }

    fn search(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        frame::group(ui, w.search_list);
        for place in SearchPlace::LIST {
            let on = self.searched.contains(&place);
            let text = format!("{}: {}", w.search_place(place), w.searched);
            if tick_row(ui, &text, on).tapped {
                if on {
                    self.searched.retain(|p| *p != place);
                } else {
                    self.searched.push(place);
                }
            }
        }
        frame::line(ui, w.unfound_in_record, Type::Body, true);
    }

    /// That it was found, or the way to the two signatures.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>) -> Foot {
        let w = v.words;
        let Some(drop) = self.drop(job) else {
            return Foot::default();
        };
        let offer = match self.way {
            Way::Found => {
                let to = found_places(&drop.item);
                let to = to.get(self.to).or(to.first()).copied();
                let to = to.map_or("", |place| w.place(place));
                let is_missing = self.found_at.is_none();
                let missing = is_missing.then(|| w.say_where_found.to_owned());
                Offer::unless(format!("{}: {to}", w.found_it), w.alarm_ends, missing)
            }
            Way::Searched => {
                let is_open = |p: &&SearchPlace| !self.searched.contains(p);
                let open = SearchPlace::LIST.iter().filter(is_open).count();
                let missing = (open > 0).then(|| w.places_left(open));
                Offer::unless(w.sign_unfound, w.two_sign, missing)
            }
        };
        Foot::of_deed(offer)
    }

    /// It was found: gives the sentence that says so. Or the sheet that two people sign.
    pub fn act(
        &mut self,
        v: &View<'_>,
        job: &JobView<'_>,
        out: &mut Vec<Intent>,
    ) -> Result<String, Sheet> {
        let w = v.words;
        let Some(drop) = self.drop(job) else {
            return Ok(String::new());
        };
        if self.way == Way::Searched {
            let act = SignedAct::Search(drop.id, self.searched.clone());
            return Err(Sheet::Sign(act));
        }
        let all = found_places(&drop.item);
        let to = all.get(self.to).or(all.first()).copied();
        if let Some((found_at, to)) = self.found_at.zip(to) {
            out.push(Intent::Tap(vec![Event::PartFound {
                dropped: drop.id,
                found_at,
                to,
            }]));
            return Ok(w.moves_to(&w.items_n(&drop.item, drop.count), w.place(to)));
        }
        Ok(String::new())
    }
}
