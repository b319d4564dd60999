//! Pictures: adding one where it belongs, and all that there are.

use std::path::PathBuf;

use egui::Ui;
use trayzero_core::job::{Event, Fact, Picture, PictureOf};

use super::foot::{Foot, Offer};
use super::{Sheet, chips};
use crate::ui::intent::Intent;
use crate::ui::screens::chooser::{Chooser, LookFor};
use crate::ui::screens::{frame, pictures};
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::text_field::TextField;

/// The most findings and drops that a picture may be told to belong to.
const PLACES_MAX: usize = 4;

/// What is chosen and typed.
#[derive(Default)]
pub struct PictureForm {
    of: Option<PictureOf>,
    remark: String,
    choose: Chooser,
    added: Vec<PathBuf>,
}

impl PictureForm {
    /// Draws the sheet; gives the one to open next.
    pub fn ui(
        &mut self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        opened_at: PictureOf,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let w = v.words;
        if job.read_only.is_some() {
            frame::line(ui, w.read_only, Type::Body, true);
            return None;
        }
        let of = *self.of.get_or_insert(opened_at);
        let places = places(job, opened_at);
        frame::line(ui, w.belongs_to, Type::Body, true);
        let names: Vec<String> = places
            .iter()
            .map(|of| pictures::belongs(v, job, *of))
            .collect();
        if let Some(i) = chips::ui(ui, &names, 2, |i| places[i] == of) {
            self.of = Some(places[i]);
        }
        TextField::new(w.picture_shows, &mut self.remark).ui(ui, w);
        if v.pictures.being_kept > 0 {
            frame::line(ui, w.picture_being_kept, Type::Strong, false);
        }
        if v.settings.pictures_folder.is_some() {
            frame::group(ui, w.newest_pictures);
        } else {
            frame::line(ui, w.no_camera_folder, Type::Body, true);
        }
        let tapped = pictures::newest(ui, v, |path| self.added.iter().any(|p| p == path), out);
        let start = v.settings.pictures_folder.as_ref();
        let start = start.map_or_else(String::new, |folder| folder.display().to_string());
        let chosen = self
            .choose
            .ui(ui, v, &start, LookFor::Picture, out)
            .map(PathBuf::from);
        for from in tapped.into_iter().chain(chosen) {
            self.added.push(from.clone());
            let remark = std::mem::take(&mut self.remark).trim().to_owned();
            out.push(Intent::AddPicture { from, of, remark });
        }
        self.here(ui, v, job, out)
    }

    /// What was added there already.
    fn here(
        &self,
        ui: &mut Ui,
        v: &View<'_>,
        job: &JobView<'_>,
        out: &mut Vec<Intent>,
    ) -> Option<Sheet> {
        let of = self.of?;
        let is_here = |(_, picture): &(&Fact, &Picture)| {
            picture.of == of && pictures::may_be_seen(job, picture)
        };
        let here: Vec<_> = job.state.pictures().filter(is_here).collect();
        if here.is_empty() {
            return None;
        }
        frame::group(ui, v.words.added_here);
        pictures::line(ui, v, job, &here, out).map(Sheet::Enlarged)
    }
}

/// The way to all of them.
pub fn foot_of_adding(v: &View<'_>, job: &JobView<'_>) -> Foot {
    let count = job.state.pictures().count();
    let more = if count == 0 {
        v.words.none.to_owned()
    } else {
        count.to_string()
    };
    Foot::of_deed(Offer::ready(v.words.all_pictures, more))
}

/// The way to one more.
pub fn foot_of_all(v: &View<'_>, job: &JobView<'_>) -> Foot {
    let read_only = job.read_only.map(|_| v.words.read_only.to_owned());
    Foot::of_deed(Offer::unless(v.words.add_picture, "", read_only))
}

/// All pictures of the job, the latest first; gives the sheet to open next.
pub fn all(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) -> Option<Sheet> {
    let mut every: Vec<_> = job.state.pictures().collect();
    if every.is_empty() {
        frame::line(ui, v.words.no_pictures, Type::Body, true);
        return None;
    }
    every.reverse();
    every.retain(|(_, picture)| pictures::may_be_seen(job, picture));
    pictures::ask(v, &every, out);
    let mut next = None;
    for (fact, picture) in every {
        if pictures::row(ui, v, job, fact, picture) {
            next = Some(Sheet::Enlarged(fact.id));
        }
    }
    next
}

/// Where a picture may belong: where the sheet was opened, what was found and what fell last,
/// the engine as it came, the job.
fn places(job: &JobView<'_>, opened_at: PictureOf) -> Vec<PictureOf> {
    let findings = job.state.facts().iter().rev();
    let findings = findings.filter(|f| matches!(f.event, Event::FindingNoted(_)));
    let findings = findings.map(|f| PictureOf::Finding { event: f.id });
    let drops = job.state.drops().iter().rev();
    let drops = drops.map(|d| PictureOf::Drop { event: d.id });
    let mut places = vec![opened_at];
    let others = findings
        .take(PLACES_MAX)
        .chain(drops.take(PLACES_MAX))
        .chain([PictureOf::TakeIn {}, PictureOf::Job {}]);
    for of in others {
        if !places.contains(&of) {
            places.push(of);
        }
    }
    places
}
