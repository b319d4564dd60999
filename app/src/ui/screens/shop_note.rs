//! What is wrong with the shop folder, in words, wherever a screen leans on it.

use egui::Ui;

use uuid::Uuid;

use super::frame;
use crate::shop::{OUT_OF_TOUCH_MS, WhyNotConfirmed};
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::View;
use crate::ui::widgets::note;

/// Files named one by one; of more their number is said.
const NAMED_MAX: usize = 3;

/// Says since when the board may be out of date and why; nothing while all is well.
pub fn trouble(ui: &mut Ui, v: &View<'_>) {
    let Some(since_ms) = v.shop.stale_since_ms(v.now_ms) else {
        return;
    };
    let w = v.words;
    let head = if since_ms > 0 {
        w.stale_for((v.now_ms - since_ms).max(0) / 60_000)
    } else {
        w.never_in_touch.to_owned()
    };
    let fault = v.shop.fault.as_ref();
    let why = fault.map_or_else(|| w.folder_hangs.to_owned(), |f| w.shop_fault(f));
    let more = format!("{why} {}", w.caught_up_alone);
    note::ui(ui, &head, &more, Theme::of(ui.ctx()).colours.open);
}

/// Says since when nothing can have come from the other tablets of the open job, so that
/// its figures may be old.
pub fn out_of_touch(v: &View<'_>) -> Option<String> {
    let job = v.job.as_ref().filter(|job| !job.others.is_empty())?;
    let since_ms = v.shop.out_of_touch_since_ms(v.now_ms)?;
    let names: Vec<String> = job.others.iter().map(|(id, _)| name_of(v, *id)).collect();
    let names = names.join(", ");
    Some(if since_ms > 0 {
        let since = times::since(since_ms, v.now_ms, v.offset_min);
        v.words.out_of_touch_since(&since, &names)
    } else {
        v.words.out_of_touch(&names)
    })
}

/// When each of the other tablets of the open job has told something last, once that is
/// longer ago. A tablet that rests tells nothing, and neither does one that is cut off: from
/// here they look the same, and nothing more is claimed.
pub fn told_last(v: &View<'_>) -> Vec<String> {
    let others = v.job.iter().flat_map(|job| &job.others);
    let silent = others.filter_map(|(tablet, last_ms)| {
        let last_ms = last_ms.filter(|at_ms| v.now_ms - at_ms > OUT_OF_TOUCH_MS)?;
        let when = times::since(last_ms, v.now_ms, v.offset_min);
        Some(v.words.told_last(&name_of(v, *tablet), &when))
    });
    silent.collect()
}

/// Names lines that do not count, whose they are and why, and tablets whose clock is wrong.
pub fn not_confirmed(ui: &mut Ui, v: &View<'_>) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let waiting = &v.shop.not_confirmed;
    for one in waiting.iter().take(NAMED_MAX) {
        let vehicle = vehicle_of(v, one.job).map(|vehicle| format!("{vehicle}: "));
        let vehicle = vehicle.unwrap_or_default();
        let why = w.why_not_confirmed(&one.why);
        let name = name_of(v, one.tablet);
        let way = match one.why {
            WhyNotConfirmed::Stranger => w.stranger_way,
            _ => "",
        };
        let text = format!("{vehicle}{name}, {why}. {} {way}", w.not_confirmed_more);
        note::ui(ui, w.not_confirmed, &text, c.astray);
    }
    if waiting.len() > NAMED_MAX {
        let more = w.more_of_them(waiting.len() - NAMED_MAX);
        frame::line(ui, &more, Type::Body, true);
    }
    for wrong in v.shop.clocks_ahead.iter().take(NAMED_MAX) {
        let text = w.clock_days_ahead(&name_of(v, wrong.tablet), wrong.ahead_days);
        note::ui(ui, w.clock_wrong, &text, c.astray);
    }
}

/// The vehicle of a job that is listed here.
pub fn vehicle_of<'a>(v: &View<'a>, job: Uuid) -> Option<&'a str> {
    let mut jobs = v.jobs.iter();
    let listed = jobs.find(|listed| listed.job == job)?;
    Some(&listed.summary.vehicle)
}

/// A tablet by its name, or by the beginning of its identity where it has none here.
pub fn name_of(v: &View<'_>, tablet: Uuid) -> String {
    let known = v.shop.tablets.iter().find(|(id, _)| *id == tablet);
    match known {
        Some((_, name)) if !name.is_empty() => name.clone(),
        _ => short(tablet),
    }
}

/// The beginning of an identity that has no name here.
pub fn short(id: Uuid) -> String {
    id.to_string().chars().take(8).collect()
}

/// Names what lies in the folder and does not hold, or is none of ours.
pub fn files(ui: &mut Ui, v: &View<'_>) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let faulty = &v.shop.file_faults;
    for fault in faulty.iter().take(NAMED_MAX) {
        note::ui(ui, w.files_faulty, &w.error(fault), c.astray);
    }
    if faulty.len() > NAMED_MAX {
        let more = w.more_of_them(faulty.len() - NAMED_MAX);
        frame::line(ui, &more, Type::Body, true);
    }
    if let Some(first) = v.shop.left_alone.first() {
        let mut text = format!("{}: {}", first.path.display(), w.left_alone_word);
        let others = v.shop.left_alone.len() - 1;
        if others > 0 {
            text = format!("{text}; {}", w.more_of_them(others));
        }
        frame::line(ui, &text, Type::Small, true);
    }
}
