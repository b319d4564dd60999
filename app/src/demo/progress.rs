//! One played job told in short lines, for a screen of text.

use trayzero_core::engine::ValveName;
use trayzero_core::job::{CountLine, Event, JobState, Refusal, Stage};
use trayzero_core::parts::{Item, Place};

use super::Moment;
use crate::ui::words::{EN, Words};

/// The words that the progress uses.
const WORDS: &Words = &EN;

/// What there is to say about a moment; often nothing.
pub fn lines(moment: &Moment<'_>) -> Vec<String> {
    match moment {
        Moment::Taken(state, events) => match told_once(state, events) {
            Some(line) => vec![line],
            None => events.iter().filter_map(|e| line(state, e)).collect(),
        },
        Moment::GateRefused(_, holds) => refused(holds),
    }
}

/// The one line of a tap that has many events.
fn told_once(state: &JobState, events: &[Event]) -> Option<String> {
    match events.first()? {
        Event::KitCounted { .. } => {
            let pieces = state.ledger().sum_at(Place::Kit);
            Some(format!("kit counted in: {pieces} pieces"))
        }
        Event::PlugOut { .. } => Some("plugs out, vented covers in".to_owned()),
        Event::PlugIn { .. } | Event::VentedCoverOut { .. } => {
            let plugs_in = events.iter().any(|e| matches!(e, Event::PlugIn { .. }));
            plugs_in.then(|| {
                let aboard = state.aboard();
                format!("plugs in, everything else off: {aboard} pieces aboard")
            })
        }
        Event::StockIssued { item, count } if events.len() > 1 => {
            let what = WORDS.items_n(item, *count);
            Some(format!("{what} from the store makes up for it"))
        }
        _ => None,
    }
}

fn line(state: &JobState, event: &Event) -> Option<String> {
    Some(match event {
        Event::TakeInNoted(take_in) => taken_in(state, &take_in.complaint),
        Event::LeakRead {
            cylinder,
            supply_bar,
            cylinder_bar,
            ..
        } => {
            let loss = (supply_bar - cylinder_bar) / supply_bar * 100.0;
            format!("leak-down, cylinder {cylinder}: {loss:.0} % lost")
        }
        Event::Paused { why } => format!("work rests: {why}"),
        Event::StepSeen { step } => format!("seen: {}", WORDS.step(*step)),
        Event::StockIssued { item, count } => {
            format!("from the store: {}", WORDS.items_n(item, *count))
        }
        Event::CoverOff { bank } => format!("cover of bank {} off", bank_name(state, *bank)),
        Event::CrankTurned { to, turn_deg, .. } => {
            format!(
                "crank turned {turn_deg:.0} degrees, to cylinder {}",
                to.cylinder
            )
        }
        Event::AirOn { cylinder, bar } => {
            format!("air on, cylinder {cylinder}: {bar:.1} bar")
        }
        Event::StageSeen {
            valve,
            stage: Stage::Verified,
            ..
        } => verified(state, *valve),
        Event::PartDropped { item, count, .. } => {
            let what = WORDS.items_n(item, *count);
            format!("DROPPED: {what}; {} adrift", state.adrift())
        }
        Event::PartFound {
            dropped, found_at, ..
        } => found(state, *dropped, WORDS.search_place(*found_at)),
        Event::PutAway { item, count, to } => {
            let what = WORDS.items_n(item, *count);
            format!("{what}: {}", WORDS.place(*to))
        }
        Event::BlindCount { by, lines } => {
            let pieces: u32 = lines.iter().map(|l: &CountLine| l.count).sum();
            let kinds = lines.len();
            format!(
                "blind count by {}: {kinds} lines, {pieces} pieces",
                by.person
            )
        }
        Event::BankClosed { bank, by } => {
            let bank = bank_name(state, *bank);
            format!(
                "the gate opens: cover of bank {bank} on, signed by {}",
                by.person
            )
        }
        Event::JobClosed { by } => format!("job closed, signed by {}", by.person),
        _ => return None,
    })
}

fn taken_in(state: &JobState, complaint: &str) -> String {
    let engine = state.layout().map_or("", |l| l.name.as_str());
    format!(
        "{}, {} ({engine}): {complaint}",
        state.bay(),
        state.vehicle()
    )
}

fn verified(state: &JobState, valve: ValveName) -> String {
    format!(
        "{} verified, {} of {}; {} loose in the tray",
        WORDS.valve(valve),
        state.verified_count(),
        state.valves().count(),
        state.loose()
    )
}

fn found(state: &JobState, dropped: uuid::Uuid, place: &str) -> String {
    let what = match state.drop_of(dropped) {
        Some(drop) => WORDS.items_n(&drop.item, drop.count),
        None => WORDS.items_n(&Item::Lock, 1),
    };
    format!("FOUND: {what}, {place}; {} adrift", state.adrift())
}

fn refused(holds: &[Refusal]) -> Vec<String> {
    let mut lines = vec!["the gate refuses:".to_owned()];
    lines.extend(holds.iter().map(|hold| {
        let (why, way_out) = (WORDS.refusal_why(hold), WORDS.refusal_way_out(hold));
        format!("  {} {why} {way_out}", hold.code())
    }));
    lines
}

fn bank_name(state: &JobState, bank: u8) -> &str {
    let layout = state.layout();
    let bank = layout.and_then(|l| l.banks.get(usize::from(bank)));
    bank.map_or("", |b| b.name.as_str())
}
