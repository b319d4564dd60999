//! A new job: which engine, which vehicle, which bay, who works.

use egui::{Rect, Ui, pos2, vec2};
use trayzero_core::job::{Opening, Person};
use trayzero_core::phases::quote;

use super::frame::{self, MARGIN};
use super::{first_use, layout_made, top, where_time_goes};
use crate::data::layouts::LibraryEntry;
use crate::data::written::Kind;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{Intent, Screen};
use crate::ui::theme::{GAP, Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::engine_mark::EngineMark;
use crate::ui::widgets::note;
use crate::ui::widgets::text_field::TextField;

/// The least part of the height that is left for what is typed.
const LEAST_ROOM: f32 = 0.45;

/// What is chosen and typed.
#[derive(Default)]
pub struct NewJob {
    key: Option<String>,
    vehicle: String,
    order_number: String,
    bay: String,
    technician: String,
    is_filled: bool,
}

impl NewJob {
    /// Draws the screen.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        if !std::mem::replace(&mut self.is_filled, true) {
            self.bay.clone_from(&v.settings.default_bay);
        }
        let (rest, _) = top::ui(ui, v, out);
        let inner = rest.shrink2(vec2(MARGIN, GAP));
        let (left, right) = if frame::is_landscape(rest.size()) {
            let half = (inner.width() - MARGIN) / 2.0;
            let mid = inner.left() + half;
            (
                Rect::from_min_max(inner.min, pos2(mid, inner.bottom())),
                Rect::from_min_max(pos2(mid + MARGIN, inner.top()), inner.max),
            )
        } else {
            let mid = inner.top() + inner.height() * 0.42;
            (
                Rect::from_min_max(inner.min, pos2(inner.right(), mid)),
                Rect::from_min_max(pos2(inner.left(), mid + GAP), inner.max),
            )
        };
        self.engines(ui, left, v, out);
        self.details(ui, right, v, out);
    }

    fn engines(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let mut area = frame::child(ui, rect, "engines");
        frame::scrolling().show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            first_use::ui(ui, v, FirstUse::NewJob, out);
            frame::line(ui, v.words.choose_engine, Type::Title, false);
            for fault in &v.library.faulty {
                let colours = Theme::of(ui.ctx()).colours;
                note::ui(
                    ui,
                    v.words.file_fault,
                    &v.words.error(fault),
                    colours.astray,
                );
            }
            for entry in last_used_first(v) {
                let chosen = self.key.as_ref() == Some(&entry.key);
                let valves = v.words.n_valves(entry.layout.valve_count());
                // Said once: most names say it already.
                let is_said = entry.layout.name.contains(&valves);
                let mut more = if is_said { String::new() } else { valves };
                if let Some(made) = entry.made.as_ref().filter(|made| !made.is_own) {
                    let from = layout_made::line(v, made);
                    more = if is_said {
                        from
                    } else {
                        format!("{more} · {from}")
                    };
                }
                let button = Button::new(&entry.layout.name)
                    .more(&more)
                    .chosen(chosen)
                    .inset(EngineMark::WIDTH);
                // Two layouts may have the same name.
                let tapped = ui.push_id(&entry.key, |ui| button.ui(ui)).inner;
                EngineMark(&entry.layout).at(ui, tapped.response.rect);
                if tapped.tapped {
                    self.key = Some(entry.key.clone());
                }
            }
        });
    }

    /// What is typed scrolls above the bar, which stays at the foot: how long the job takes
    /// must not push it out of sight. Where both leave too little room, all of it scrolls.
    fn details(&mut self, ui: &mut Ui, rect: Rect, v: &View<'_>, out: &mut Vec<Intent>) {
        let (title, more) = (v.words.open_job, self.bar_more(v));
        let bar_height = BigBar::new(title, &more).height(ui, rect.width());
        let is_low = rect.height() - bar_height < rect.height() * LEAST_ROOM;
        let mut fields = rect;
        if !is_low {
            fields.max.y -= bar_height + GAP;
        }
        let mut area = frame::child(ui, fields, "details");
        frame::scrolling().show(&mut area, |ui| {
            ui.spacing_mut().item_spacing.y = GAP;
            let w = v.words;
            let chosen = self.key.as_ref().and_then(|key| v.library.find(key));
            let made = chosen.and_then(|entry| entry.made.as_ref());
            layout_made::ui(
                ui,
                v,
                made.filter(|made| !made.is_own || !made.apart.is_empty()),
            );
            TextField::new(w.vehicle, &mut self.vehicle)
                .choices(v.written.of(Kind::Vehicle))
                .ui(ui, w);
            TextField::new(w.order_number, &mut self.order_number).ui(ui, w);
            TextField::new(w.bay, &mut self.bay)
                .choices(v.written.of(Kind::Bay))
                .ui(ui, w);
            self.technician(ui, v, out);
            if is_low {
                self.bar(ui, v, &more, out);
            }
            self.hours(ui, v);
        });
        if !is_low {
            let foot = rect.with_min_y(fields.bottom() + GAP);
            self.bar(&mut frame::child(ui, foot, "open"), v, &more, out);
        }
    }

    /// What is missing, or what comes before all else.
    fn bar_more(&self, v: &View<'_>) -> String {
        let missing = self.missing(v);
        if missing.is_empty() {
            return v.words.maker_first.to_owned();
        }
        format!("{}: {}", v.words.missing_word, missing.join(", "))
    }

    fn bar(&self, ui: &mut Ui, v: &View<'_>, more: &str, out: &mut Vec<Intent>) {
        let opening = self.opening(v);
        let mut bar = BigBar::new(v.words.open_job, more);
        bar.is_enabled = opening.is_some();
        let tapped = bar.ui(ui).tapped;
        if let (true, Some(opening)) = (tapped, opening) {
            out.push(Intent::NewJob(Box::new(opening)));
        }
    }

    /// How long the chosen engine takes in this shop.
    fn hours(&self, ui: &mut Ui, v: &View<'_>) {
        let chosen = self.key.as_ref().and_then(|key| v.library.find(key));
        let (Some(entry), Some(pace)) = (chosen, v.pace) else {
            return;
        };
        let said = quote(pace, &entry.layout);
        frame::line(ui, v.words.hours_quote, Type::Body, true);
        frame::line(ui, &v.words.to_go(&said), Type::Strong, false);
        for line in v.words.footing_lines(&said, pace.scores()) {
            frame::line(ui, &line, Type::Body, true);
        }
        where_time_goes::bars(ui, v, &said.phase_min);
    }

    /// One of the crew; without one, the way to the crew.
    fn technician(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        frame::line(ui, w.technician, Type::Body, true);
        if v.crew.is_empty() {
            let people = Button::new(w.people_first).more(w.people_first_more);
            if people.ui(ui).tapped {
                out.push(Intent::Go(Screen::Settings));
            }
        }
        for row in v.crew.chunks(3) {
            let names: Vec<String> = row.iter().map(|m| m.person.to_string()).collect();
            let width = (ui.available_width() - 2.0 * GAP) / 3.0;
            let height = names
                .iter()
                .map(|n| Button::new(n).height(ui, width))
                .fold(crate::ui::theme::TARGET, f32::max);
            let rects = frame::columns(ui, 3, height);
            for (name, rect) in names.iter().zip(rects) {
                if Button::new(name)
                    .chosen(*name == self.technician)
                    .at(ui, rect)
                    .tapped
                {
                    self.technician.clone_from(name);
                }
            }
        }
    }

    fn is_of_the_crew(&self, v: &View<'_>) -> bool {
        let mut crew = v.crew.iter();
        crew.any(|member| *member.person.0 == *self.technician)
    }

    /// What is not there yet.
    fn missing(&self, v: &View<'_>) -> Vec<&'static str> {
        let w = v.words;
        let fields = [
            (w.engine_word, self.key.is_some()),
            (w.vehicle, !self.vehicle.trim().is_empty()),
            (w.bay, !self.bay.trim().is_empty()),
            (w.technician, self.is_of_the_crew(v)),
        ];
        let open = fields.into_iter().filter(|(_, is_there)| !is_there);
        open.map(|(name, _)| name).collect()
    }

    /// The opening, once everything it needs is there.
    fn opening(&self, v: &View<'_>) -> Option<Opening> {
        let entry = v.library.find(self.key.as_ref()?)?;
        let filled = |text: &str| !text.trim().is_empty();
        let complete = filled(&self.vehicle) && filled(&self.bay) && self.is_of_the_crew(v);
        let number = self.order_number.trim();
        complete.then(|| Opening {
            order_number: (!number.is_empty()).then(|| number.to_owned()),
            layout: entry.layout.clone(),
            vehicle: self.vehicle.trim().to_owned(),
            bay: self.bay.trim().to_owned(),
            technician: Person::new(self.technician.trim()),
        })
    }
}

/// The layouts, those that a job was opened with last before the others.
fn last_used_first<'v>(v: &View<'v>) -> Vec<&'v LibraryEntry> {
    let last_ms = |name: &str| {
        let jobs = v.jobs.iter().map(|job| &job.summary);
        let used = jobs.filter(|s| s.layout == name).map(|s| s.started_ms);
        used.max().unwrap_or(i64::MIN)
    };
    let mut all: Vec<&LibraryEntry> = v.library.entries.iter().collect();
    all.sort_by_cached_key(|entry| std::cmp::Reverse(last_ms(&entry.layout.name)));
    all
}
