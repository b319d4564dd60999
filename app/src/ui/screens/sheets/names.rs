//! What sheets are called, and what a step is called that may be taken back.

use trayzero_core::job::Event;

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
        Sheet::Leak(cylinder, _) => format!("{}: {}", w.leak_test, w.cylinder_n(*cylinder)),
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

/// What an undo would take back, in a few words.
pub fn undo_words(w: &Words, event: &Event) -> String {
    match event {
        Event::StageSeen { stage, .. } => w.stage(*stage).to_owned(),
        Event::AirOn { cylinder, .. } => w.air_on_cylinder(*cylinder),
        Event::AirLost { .. } => w.air_is_gone.to_owned(),
        Event::AirReadAnew { .. } => w.regulator_reads_now.to_owned(),
        Event::PartsSwapped { .. } => w.swapped_parts.to_owned(),
        Event::SwapMended { .. } => w.bar_mend_swap.to_owned(),
        Event::AirOff { .. } => format!("{} {}", w.air, w.off),
        Event::CrankTurned { to, .. } => format!("{} {}", w.turn, to.cylinder),
        Event::PartDropped { .. } => w.dropped_one.to_owned(),
        Event::PartFound { .. } => w.found_it.to_owned(),
        Event::WrenchOn {} => w.wrench_on.to_owned(),
        Event::WrenchOff {} => w.wrench_off.to_owned(),
        Event::StepSeen { step } => w.step(*step).to_owned(),
        Event::KitCounted { .. } => w.bar_kit.to_owned(),
        Event::StockIssued { item, .. }
        | Event::StockReturned { item, .. }
        | Event::TakenFromStock { item, .. }
        | Event::PartUsed { item, .. }
        | Event::PutAway { item, .. }
        | Event::PutAboard { item, .. }
        | Event::TakenOff { item, .. }
        | Event::PartReplaced { item, .. } => w.item(item),
        Event::BlindCount { .. } => w.blind_count.to_owned(),
        Event::BankClosed { .. } => w.cover_on.to_owned(),
        Event::HoseIn { .. } | Event::HoseOut { .. } => w.items[13].to_owned(),
        Event::VentedCoverIn { .. } | Event::VentedCoverOut { .. } => w.items[9].to_owned(),
        Event::PlugIn { .. } | Event::PlugOut { .. } => w.items[8].to_owned(),
        Event::CoverOff { .. } => w.items[7].to_owned(),
        Event::HoldDeclared { .. } | Event::HoldReleased { .. } => w.mechanical_hold.to_owned(),
        Event::LeakRead { .. } => w.leak_test.to_owned(),
        Event::FindingNoted(_) => w.finding.to_owned(),
        Event::Noted { .. } => w.note.to_owned(),
        Event::PictureAdded(_) => w.picture_word.to_owned(),
        Event::FollowedUp { .. } => w.follow_up.to_owned(),
        Event::EnteredFromPaper(_) => w.from_paper.to_owned(),
        Event::SearchSigned { .. } => w.sign_unfound.to_owned(),
        Event::JobClosed { .. } | Event::JobStopped { .. } => w.job_closed.to_owned(),
        _ => w.last_step.to_owned(),
    }
}

/// Whether a sheet shows how many of what should be where.
pub fn shows_figures(sheet: &Sheet) -> bool {
    matches!(
        sheet,
        Sheet::Parts | Sheet::Part | Sheet::OrderList | Sheet::Kit
    )
}
