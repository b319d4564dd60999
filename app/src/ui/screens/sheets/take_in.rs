//! Take-in: what the customer says, what was seen, the oil, and the evidence side by side.

use std::path::PathBuf;

use egui::Ui;
use trayzero_core::bench::BenchError;
use trayzero_core::job::{Event, PictureOf, Smoke, TakeIn};
use trayzero_core::record::{EvidenceLine, Reason, Speaks, Suspect, evidence, oil_use};

use super::foot::{Foot, Offer};
use super::{chips, leak_chart};
use crate::data::written::Kind;
use crate::ui::intent::Intent;
use crate::ui::screens::{frame, layout_made, pictures};
use crate::ui::theme::{Theme, Type};
use crate::ui::units::{self, DISTANCE, VOLUME};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::note;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::Words;

/// When the exhaust may smoke.
const SMOKES: [Smoke; 5] = [
    Smoke::ColdStart,
    Smoke::AfterIdling,
    Smoke::OnOverrun,
    Smoke::UnderLoad,
    Smoke::Never,
];

/// What is typed.
#[derive(Default)]
pub struct TakeInForm {
    is_filled: bool,
    /// The note is written down: the sheet is done with.
    pub is_written: bool,
    complaint: String,
    odometer: String,
    codes: String,
    seen: String,
    smoke: Vec<Smoke>,
    oil_date: String,
    oil_odometer: String,
    oil_volume: String,
    pictures: Vec<PathBuf>,
}

impl TakeInForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        if !self.is_filled {
            self.fill(v, job);
        }
        let layout = job.layout();
        let made = layout.and_then(|layout| v.library.made(layout));
        layout_made::ui(
            ui,
            v,
            made.filter(|made| !made.is_own || !made.apart.is_empty()),
        );
        TextField::new(w.complaint, &mut self.complaint)
            .rows(2)
            .choices(v.written.of(Kind::Complaint))
            .ui(ui, w);
        let odometer = units::field(w.odometer, &DISTANCE, v.units);
        TextField::new(&odometer, &mut self.odometer)
            .keys(Keys::Whole)
            .ui(ui, w);
        TextField::new(w.fault_codes, &mut self.codes)
            .rows(2)
            .keys(Keys::Codes)
            .choices(v.written.of(Kind::FaultCode))
            .ui(ui, w);
        frame::group(ui, w.when_smokes);
        tick_smoke(ui, w, &mut self.smoke);
        TextField::new(w.also_seen, &mut self.seen)
            .rows(2)
            .choices(v.written.of(Kind::AlsoSeen))
            .ui(ui, w);
        pictures::at_once(ui, v, job, PictureOf::TakeIn {}, &mut self.pictures, out);
        self.oil(ui, v, job, out);
        leak_chart::ui(ui, v, job);
        lines(ui, v, job);
    }

    /// The big bar, once the complaint stands there and every figure is one.
    pub fn foot(&self, v: &View<'_>) -> Foot {
        let w = v.words;
        let missing = match self.note(v) {
            Err(why) => Some(v.words.error(&why)),
            Ok(note) if note.complaint.is_empty() => Some(w.write_the_complaint.to_owned()),
            Ok(_) => None,
        };
        Foot::of_bar(Offer::unless(w.save, w.goes_into_record, missing))
    }

    /// What was written down is taken; the sheet is done with.
    pub fn act(&mut self, v: &View<'_>, out: &mut Vec<Intent>) {
        if let Ok(note) = self.note(v) {
            out.push(Intent::Tap(vec![Event::TakeInNoted(Box::new(note))]));
            self.is_written = true;
        }
    }

    fn fill(&mut self, v: &View<'_>, job: &JobView<'_>) {
        self.is_filled = true;
        let Some(note) = job.state.take_in_note() else {
            return;
        };
        self.complaint.clone_from(&note.complaint);
        if let Some(km) = note.odometer_km {
            self.odometer = units::distance(km, v.units);
        }
        self.codes = note.codes.join("; ");
        self.smoke.clone_from(&note.smoke);
        self.seen.clone_from(&note.seen);
    }

    fn note(&self, v: &View<'_>) -> Result<TakeIn, BenchError> {
        let odometer_km = if self.odometer.trim().is_empty() {
            None
        } else {
            Some(units::read(&DISTANCE, &self.odometer, v.units)?)
        };
        let codes = self.codes.split(';').map(str::trim);
        Ok(TakeIn {
            complaint: self.complaint.trim().to_owned(),
            odometer_km,
            codes: codes.filter(|c| !c.is_empty()).map(str::to_owned).collect(),
            smoke: self.smoke.clone(),
            seen: self.seen.trim().to_owned(),
        })
    }

    /// The oil topped up, and its rate.
    fn oil(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        let w = v.words;
        let days = last_days(v);
        frame::group(ui, w.oil_topped_up);
        let used = oil_use(job.state);
        for line in &used.top_ups {
            let km = units::distance(line.odometer_km, v.units);
            let litres = units::volume(line.litres, v.units);
            frame::line(
                ui,
                &format!("{}: {km}, {litres}", line.on),
                Type::Body,
                false,
            );
        }
        if let Some(rate) = &used.rate {
            frame::line(ui, &units::oil_rate(rate, v.units), Type::Strong, false);
        } else if let Some(why) = &used.no_rate_because {
            frame::line(ui, &w.error(why), Type::Small, true);
        }
        TextField::new(w.date, &mut self.oil_date)
            .keys(Keys::Date)
            .choices(&days)
            .ui(ui, w);
        let odometer = units::field(w.odometer, &DISTANCE, v.units);
        TextField::new(&odometer, &mut self.oil_odometer)
            .salt("odometer at a top-up")
            .keys(Keys::Whole)
            .ui(ui, w);
        let volume = units::field(w.volume_word, &VOLUME, v.units);
        TextField::new(&volume, &mut self.oil_volume)
            .keys(Keys::Figure)
            .ui(ui, w);
        let event = self.top_up(v);
        if let Err(Some(why)) = &event {
            frame::line(ui, why, Type::Body, true);
        }
        let add = Button::new(w.add).wants(w.enter_all_three, event.is_err());
        if let (true, Ok(event)) = (add.ui(ui).tapped, event) {
            out.push(Intent::Tap(vec![event]));
            self.oil_date.clear();
            self.oil_odometer.clear();
            self.oil_volume.clear();
        }
    }

    /// The top-up as typed; `Err(None)` while nothing is typed yet.
    fn top_up(&self, v: &View<'_>) -> Result<Event, Option<String>> {
        let typed = [&self.oil_date, &self.oil_odometer, &self.oil_volume];
        if typed.iter().all(|t| t.trim().is_empty()) {
            return Err(None);
        }
        let on = self.oil_date.trim();
        if on.parse::<jiff::civil::Date>().is_err() {
            return Err(Some(v.words.bad_date(on)));
        }
        let told = |why: BenchError| Some(v.words.error(&why));
        Ok(Event::OilToppedUp {
            on: on.to_owned(),
            odometer_km: units::read(&DISTANCE, &self.oil_odometer, v.units).map_err(told)?,
            litres: units::read(&VOLUME, &self.oil_volume, v.units).map_err(told)?,
        })
    }
}

/// Today and the days before it, to be chosen.
fn last_days(v: &View<'_>) -> Vec<String> {
    let here_ms = v.now_ms + i64::from(v.offset_min) * 60_000;
    let day_ms = 24 * 60 * 60_000;
    let days = (0..4).filter_map(|back| {
        let at = jiff::Timestamp::from_millisecond(here_ms - back * day_ms).ok()?;
        Some(jiff::tz::Offset::UTC.to_datetime(at).date().to_string())
    });
    days.collect()
}

/// The evidence, suspect by suspect: what speaks for it, what against, and why.
fn lines(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let all = evidence(job.state);
    let suspects = [
        (Suspect::Seals, w.suspect_seals),
        (Suspect::Rings, w.suspect_rings),
        (Suspect::Elsewhere, w.suspect_elsewhere),
    ];
    for (suspect, name) in suspects {
        frame::group(ui, name);
        let mut any = false;
        for line in all.iter().filter(|l| l.about == suspect) {
            any = true;
            evidence_note(ui, v, line);
        }
        if !any {
            frame::line(ui, w.none, Type::Body, true);
        }
    }
    frame::line(ui, w.no_diagnosis, Type::Body, true);
}

fn evidence_note(ui: &mut Ui, v: &View<'_>, line: &EvidenceLine) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let quiet = crate::ui::theme::Tint {
        ground: c.paper,
        mark: c.ink,
    };
    let way = match line.speaks {
        Speaks::For => w.speaks_for,
        Speaks::Against => w.speaks_against,
    };
    note::ui(ui, &format!("{way}: {}", reason_words(v, line)), "", quiet);
}

/// The reason of a line, as a sentence.
fn reason_words(v: &View<'_>, line: &EvidenceLine) -> String {
    let w = v.words;
    let list = |cylinders: &[u8]| {
        if let [only] = cylinders {
            return w.cylinder_n(*only);
        }
        let all: Vec<String> = cylinders.iter().map(u8::to_string).collect();
        format!("{} {}", w.cylinders_word, all.join(", "))
    };
    match &line.reason {
        Reason::SmokeAfterIdling => w.smokes_after_idling.to_owned(),
        Reason::SmokeOnOverrun => w.smokes_on_overrun.to_owned(),
        Reason::SmokeColdStart => w.smokes_cold.to_owned(),
        Reason::SmokeUnderLoad => w.smokes_under_load.to_owned(),
        Reason::NoSmoke => w.no_smoke_seen.to_owned(),
        Reason::OilUsed { litres_per_1000_km }
        | Reason::OilUsedWithoutSmoke { litres_per_1000_km } => {
            w.oil_used(&units::oil_used(*litres_per_1000_km, v.units))
        }
        Reason::NoOilUseShown { .. } => w.no_oil_used.to_owned(),
        Reason::AllHoldAir { worst_loss_percent } => w.all_hold_air(*worst_loss_percent),
        Reason::HeardAt { heard, cylinders } => {
            let place = w.points_to(*heard);
            format!("{}: {place}", list(cylinders))
        }
        Reason::PastLimit { cylinders } => {
            format!("{}: {}", list(cylinders), w.leak_find)
        }
        Reason::NotHeard { cylinders } => {
            format!("{}: {}", list(cylinders), w.not_heard)
        }
    }
}

/// What is ticked of when it smokes; *never* stands alone.
pub(super) fn tick_smoke(ui: &mut Ui, w: &Words, ticked: &mut Vec<Smoke>) {
    let names = SMOKES.map(|s| w.smoke(s).to_owned());
    let Some(index) = chips::ui(ui, &names, 2, |i| ticked.contains(&SMOKES[i])) else {
        return;
    };
    let smoke = SMOKES[index];
    if ticked.contains(&smoke) {
        ticked.retain(|s| *s != smoke);
    } else if smoke == Smoke::Never {
        *ticked = vec![Smoke::Never];
    } else {
        ticked.retain(|s| *s != Smoke::Never);
        ticked.push(smoke);
    }
}
