//! What several screens show of a job's pictures: small ones, where each belongs, and those
//! that the camera has left.

use std::path::{Path, PathBuf};

use egui::{Rect, Ui};
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, Fact, Picture, PictureOf};
use uuid::Uuid;

use super::bay::told;
use super::frame;
use crate::data::pictures::Pixels;
use crate::ui::intent::Intent;
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::times;
use crate::ui::view::{JobView, PictureOffer, Shown, View};
use crate::ui::widgets::note;
use crate::ui::widgets::thumb::{Rgb, Thumb};
use crate::ui::words::capital;

/// The least width of a small picture, in points.
const CELL_LEAST: f32 = 2.0 * TARGET;

/// Where a picture belongs, in a few words.
pub fn belongs(v: &View<'_>, job: &JobView<'_>, of: PictureOf) -> String {
    let w = v.words;
    match of {
        PictureOf::Job {} => w.job_word.to_owned(),
        PictureOf::TakeIn {} => w.take_in.to_owned(),
        PictureOf::Valve { valve } => capital(&w.valve(valve)),
        PictureOf::Finding { event } => match job.state.fact_of(event).map(|f| &f.event) {
            Some(Event::FindingNoted(finding)) => {
                let place = match finding.valve {
                    Some(valve) => w.valve(valve),
                    None => w.cylinder_n(finding.cylinder),
                };
                format!("{}: {}", capital(&place), told::finding_words(v, finding))
            }
            _ => w.finding.to_owned(),
        },
        PictureOf::Drop { event } => match job.state.drop_of(event) {
            Some(drop) => format!("{}: {}", w.dropped_one, w.items_n(&drop.item, drop.count)),
            None => w.dropped_one.to_owned(),
        },
        PictureOf::Count { bank } => {
            let banks = job.layout().map(|l| &l.banks[..]).unwrap_or_default();
            let name = banks.get(usize::from(bank)).map(|b| w.bank_n(&b.name));
            format!("{}: {}", w.laid_out, name.unwrap_or_default())
        }
    }
}

/// Whether a picture is shown: while somebody counts, nothing that was laid out is.
pub fn may_be_seen(job: &JobView<'_>, picture: &Picture) -> bool {
    !job.state.is_count_open() || !matches!(picture.of, PictureOf::Count { .. })
}

/// The pictures at a valve.
pub fn at_valve<'a>(
    job: &JobView<'a>,
    valve: ValveName,
) -> impl Iterator<Item = (&'a Fact, &'a Picture)> {
    let state = job.state;
    state
        .pictures()
        .filter(move |(_, picture)| state.valve_of(picture) == Some(valve))
}

/// Asks for small pictures that are not at hand yet.
pub fn ask(v: &View<'_>, shown: &[(&Fact, &Picture)], out: &mut Vec<Intent>) {
    let unread = |p: &&Picture| !v.pictures.small.contains_key(&p.copy_sha256);
    let pictures = shown.iter().map(|(_, picture)| *picture).filter(unread);
    let pictures: Vec<Picture> = pictures.cloned().collect();
    if !pictures.is_empty() {
        out.push(Intent::ShowPictures(pictures));
    }
}

/// What is said in the place of a picture that is not there to be seen.
pub fn instead(v: &View<'_>, shown: Option<&Shown>) -> String {
    let w = v.words;
    match shown {
        None | Some(Shown::Asked) => w.picture_asked.to_owned(),
        Some(Shown::There(_)) => String::new(),
        Some(Shown::Missing) => w.picture_missing.to_owned(),
        Some(Shown::Changed) => w.picture_changed.to_owned(),
        Some(Shown::Bad(why)) => w.bad_picture(why),
    }
}

fn is_awaited(shown: Option<&Shown>) -> bool {
    matches!(shown, None | Some(Shown::Asked))
}

/// The pixels that there are, under a name.
pub fn rgb<'a>(name: &'a str, shown: Option<&'a Shown>) -> Option<Rgb<'a>> {
    let Some(Shown::There(pixels)) = shown else {
        return None;
    };
    let Pixels { width, height, rgb } = &**pixels;
    Some(Rgb {
        name,
        width: *width,
        height: *height,
        bytes: rgb,
    })
}

/// One picture as a line: what it is of, who added it and when, the remark. Gives whether it
/// was tapped.
pub fn row(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, fact: &Fact, picture: &Picture) -> bool {
    let shown = v.pictures.small.get(&picture.copy_sha256);
    let when = times::clock(fact.at_ms, fact.offset_min);
    let mut detail = format!("{} \u{b7} {when}", fact.who);
    if !picture.remark.is_empty() {
        detail = format!("{} \u{b7} {detail}", picture.remark);
    }
    let title = belongs(v, job, picture.of);
    let thumb = Thumb {
        rgb: rgb(&picture.copy_sha256, shown),
        instead: &instead(v, shown),
        is_awaited: is_awaited(shown),
        title: &title,
        detail: &detail,
        is_chosen: false,
        is_enabled: true,
    };
    ui.push_id(fact.id, |ui| thumb.row(ui)).inner.tapped
}

/// Small pictures beside each other in one line of a height, the latest first, as many as
/// there is room for. Gives the one tapped, by its event.
pub fn line(
    ui: &mut Ui,
    v: &View<'_>,
    job: &JobView<'_>,
    pictures: &[(&Fact, &Picture)],
    out: &mut Vec<Intent>,
) -> Option<Uuid> {
    let columns = columns(ui.available_width());
    let from = pictures.len().saturating_sub(columns);
    let pictures = &pictures[from..];
    ask(v, pictures, out);
    let places = frame::columns(ui, columns, line_height());
    let mut tapped = None;
    for ((fact, picture), rect) in pictures.iter().rev().zip(places) {
        let shown = v.pictures.small.get(&picture.copy_sha256);
        let title = belongs(v, job, picture.of);
        let thumb = Thumb {
            rgb: rgb(&picture.copy_sha256, shown),
            instead: &instead(v, shown),
            is_awaited: is_awaited(shown),
            title: &title,
            detail: "",
            is_chosen: false,
            is_enabled: true,
        };
        if ui.push_id(fact.id, |ui| thumb.cell(ui, rect)).inner.tapped {
            tapped = Some(fact.id);
        }
    }
    tapped
}

/// Height of [`line()`].
pub fn line_height() -> f32 {
    1.6 * TARGET
}

fn columns(width: f32) -> usize {
    ((width + GAP) / (CELL_LEAST + GAP)).floor().max(1.0) as usize
}

/// The newest pictures of the camera, with those marked that are chosen. Gives the one
/// tapped. Nothing at all where no folder is named.
pub fn newest(
    ui: &mut Ui,
    v: &View<'_>,
    is_chosen: impl Fn(&Path) -> bool,
    out: &mut Vec<Intent>,
) -> Option<PathBuf> {
    let w = v.words;
    let folder = v.settings.pictures_folder.as_ref()?;
    if !v.pictures.is_watched {
        out.push(Intent::WatchPictures);
    }
    if let Some(fault) = &v.pictures.folder_fault {
        note::ui(
            ui,
            w.camera_folder_fault,
            fault,
            Theme::of(ui.ctx()).colours.astray,
        );
        return None;
    }
    let offers = v.pictures.offers.as_ref()?;
    if offers.is_empty() {
        frame::line(
            ui,
            &w.no_new_pictures(&folder.display().to_string()),
            Type::Body,
            true,
        );
        return None;
    }
    let columns = columns(ui.available_width());
    let mut tapped = None;
    for (row, some) in offers.chunks(columns).enumerate() {
        let places: Vec<Rect> = frame::columns(ui, columns, 2.0 * TARGET);
        ui.push_id(row, |ui| {
            for (offer, rect) in some.iter().zip(places) {
                if offer_cell(ui, v, offer, is_chosen(&offer.taken.path), rect) {
                    tapped = Some(offer.taken.path.clone());
                }
            }
        });
    }
    tapped
}

fn offer_cell(
    ui: &mut Ui,
    v: &View<'_>,
    offer: &PictureOffer,
    is_chosen: bool,
    rect: Rect,
) -> bool {
    let name = offer.taken.path.display().to_string();
    let name = format!("{name} {}", offer.taken.at_ms);
    let when = times::since(offer.taken.at_ms, v.now_ms, v.offset_min);
    let thumb = Thumb {
        rgb: rgb(&name, Some(&offer.shown)),
        instead: &instead(v, Some(&offer.shown)),
        is_awaited: is_awaited(Some(&offer.shown)),
        title: &when,
        detail: "",
        is_chosen,
        is_enabled: matches!(offer.shown, Shown::There(_)),
    };
    ui.push_id(&name, |ui| thumb.cell(ui, rect)).inner.tapped
}

/// Pictures of the camera that go with what is noted on a sheet: a tap takes one along, or
/// leaves it out again.
pub fn along(ui: &mut Ui, v: &View<'_>, chosen: &mut Vec<PathBuf>, out: &mut Vec<Intent>) {
    if v.settings.pictures_folder.is_none() {
        return;
    }
    frame::group(ui, v.words.pictures_along);
    if let Some(tapped) = newest(ui, v, |path| chosen.iter().any(|c| c == path), out) {
        if chosen.contains(&tapped) {
            chosen.retain(|path| *path != tapped);
        } else {
            chosen.push(tapped);
        }
    }
    ui.add_space(GAP);
}

/// Pictures of the camera that are added there by one tap each.
pub fn at_once(
    ui: &mut Ui,
    v: &View<'_>,
    job: &JobView<'_>,
    of: PictureOf,
    added: &mut Vec<PathBuf>,
    out: &mut Vec<Intent>,
) {
    if v.settings.pictures_folder.is_none() || job.read_only.is_some() {
        return;
    }
    frame::group(ui, v.words.pictures_word);
    let tapped = newest(ui, v, |path| added.iter().any(|a| a == path), out);
    // One that is there already is not added twice.
    if let Some(from) = tapped.filter(|from| !added.contains(from)) {
        added.push(from.clone());
        let remark = String::new();
        out.push(Intent::AddPicture { from, of, remark });
    }
}
