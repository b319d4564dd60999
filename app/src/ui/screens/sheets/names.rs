//! What sheets are called.

use trayzero_core::job::Reading;

use super::{Sheet, TalkKind};
use crate::ui::first_use::FirstUse;
use crate::ui::words::{Words, capital};

/// The first-use card of a sheet.
pub fn first_use_of(sheet: &Sheet) -> Option<FirstUse> {
    Some(match sheet {
        Sheet::Parts => FirstUse::Parts,
        Sheet::Gate(_) => FirstUse::Gate,
        Sheet::TakeIn => FirstUse::TakeIn,
        Sheet::Crank => FirstUse::Crank,
        Sheet::Drop => FirstUse::Drop,
        _ => return None,
    })
}

/// What a sheet is called.
pub fn title(w: &Words, sheet: &Sheet) -> String {
    match sheet {
        Sheet::Caution(_) => w.caution_title.to_owned(),
        Sheet::Air(cylinder) => w.bar_air_on(*cylinder),
        Sheet::AirNow(cylinder) => capital(&w.air_on_cylinder(*cylinder)),
        Sheet::Hold(_) => w.mechanical_hold.to_owned(),
        Sheet::Leak(cylinder, when) => {
            let when = match when {
                Reading::Before => w.before_work,
                Reading::After => w.after_work,
            };
            let cylinder = w.cylinder_n(*cylinder);
            format!("{}, {when}: {cylinder}", capital(w.leak_test))
        }
        Sheet::Drop => w.dropped_one.to_owned(),
        Sheet::Adrift => w.still_adrift.to_owned(),
        Sheet::Part => w.part_changed.to_owned(),
        Sheet::Kit => w.kit_list.to_owned(),
        Sheet::Parts => w.parts.to_owned(),
        Sheet::Gate(_) => w.gate.to_owned(),
        Sheet::Count(_) => w.blind_count.to_owned(),
        Sheet::Sign(_) => w.sign.to_owned(),
        Sheet::More => w.more.to_owned(),
        Sheet::Crank => capital(w.crank),
        Sheet::Talk(TalkKind::Note) => w.note.to_owned(),
        Sheet::Talk(TalkKind::Rest) => w.pause.to_owned(),
        Sheet::Talk(TalkKind::Stop) => w.stop_job.to_owned(),
        Sheet::Finding => w.finding.to_owned(),
        Sheet::TakeIn => w.take_in.to_owned(),
        Sheet::Picture(_) => w.add_picture.to_owned(),
        Sheet::Pictures => w.pictures_word.to_owned(),
        Sheet::Enlarged(_) => capital(w.picture_word),
        Sheet::OrderList => w.order_list.to_owned(),
        Sheet::Steps => w.steps_word.to_owned(),
        Sheet::Hours => w.where_time_goes.to_owned(),
        Sheet::Conflicts => w.conflicts.to_owned(),
        Sheet::Card => w.welcome_back.to_owned(),
        Sheet::HandOver => w.hand_over.to_owned(),
        Sheet::Paper => w.enter_paper.to_owned(),
        Sheet::FollowUp => w.follow_up.to_owned(),
    }
}

/// Whether a sheet has the keys of a figure right at its top.
pub fn has_figure(sheet: &Sheet) -> bool {
    matches!(sheet, Sheet::Air(_) | Sheet::AirNow(_) | Sheet::Leak(..))
}

/// Whether a sheet shows how many of what should be where.
pub fn shows_figures(sheet: &Sheet) -> bool {
    matches!(
        sheet,
        Sheet::Parts | Sheet::Part | Sheet::OrderList | Sheet::Kit
    )
}
