//! The day of all bays, and what is asked of people, in words.

use uuid::Uuid;

use super::tiles::{to_ten, urgency};
use super::{Urgency, Words, capital};
use crate::shop::{BayDay, Day, Leaves, Looking, Tile, TileReason, asked};

/// So many gates that meet others are told, the next ones first.
const MEETINGS_TOLD: usize = 4;

const HOUR_MS: i64 = 3_600_000;

/// The day of all bays in words, with its clock in milliseconds.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct DayFace {
    /// Where the clock begins.
    pub from_ms: i64,
    /// Where it ends.
    pub to_ms: i64,
    /// Now.
    pub now_ms: i64,
    /// Begin and end of work, where there is any today.
    pub works: Option<(i64, i64)>,
    /// Full hours with their names.
    pub hours: Vec<(i64, String)>,
    /// What does not go as it should: who does not leave today, which gates meet.
    pub notes: Vec<String>,
    /// One line a bay.
    pub lines: Vec<DayLine>,
}

/// The day of one bay in words.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct DayLine {
    /// The job.
    pub job: Uuid,
    /// The bay.
    pub bay: String,
    /// When it ends, and from when to when it is likely.
    pub end: String,
    /// From when to when, and the likely end.
    pub spread_ms: (i64, i64, i64),
    /// The counts at the gate.
    pub gate_ms: Option<(i64, i64)>,
    /// It does not leave today, or perhaps not; empty where it does.
    pub leaves: &'static str,
}

/// What is asked of somebody, in words.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct AskFace {
    /// The job.
    pub job: Uuid,
    /// The place of its shop, where several are looked at.
    pub shop: Option<usize>,
    /// The bay, behind its shop where several are looked at.
    pub bay: String,
    /// The vehicle.
    pub vehicle: String,
    /// What for, and since when.
    pub why: String,
    /// How much.
    pub urgency: Urgency,
}

impl Words {
    /// The day in words.
    pub fn day(&self, day: &Day, looking: &Looking) -> DayFace {
        let now_ms = looking.now_ms;
        let (opens, closes) = day.works.unwrap_or((now_ms, now_ms));
        let from_ms = opens.min(now_ms).div_euclid(HOUR_MS) * HOUR_MS;
        let to_ms = closes.max(now_ms + HOUR_MS).div_euclid(HOUR_MS) * HOUR_MS + HOUR_MS;
        let hours = (from_ms..=to_ms).step_by(HOUR_MS as usize);
        DayFace {
            from_ms,
            to_ms,
            now_ms,
            works: day.works,
            hours: hours
                .map(|ms| (ms, self.day_and_time(ms, looking).1))
                .collect(),
            notes: self.day_notes(day),
            lines: day
                .bays
                .iter()
                .map(|bay| self.day_line(bay, looking))
                .collect(),
        }
    }

    fn day_line(&self, bay: &BayDay, looking: &Looking) -> DayLine {
        let at = |ms: i64| self.moment(to_ten(ms), looking);
        let end = &bay.end;
        let range = self.end_range(&at(end.low_ms), &at(end.high_ms));
        DayLine {
            job: bay.job,
            bay: bay.bay.clone(),
            end: format!("{} · {range}", at(end.likely_ms)),
            spread_ms: (end.low_ms, end.likely_ms, end.high_ms),
            gate_ms: bay.gate,
            leaves: match bay.leaves {
                Leaves::Today => "",
                Leaves::Perhaps => self.perhaps_today,
                Leaves::NotToday => self.not_today,
            },
        }
    }

    fn day_notes(&self, day: &Day) -> Vec<String> {
        let mut notes = Vec::new();
        for (leaves, says) in [
            (Leaves::NotToday, self.not_today),
            (Leaves::Perhaps, self.perhaps_today),
        ] {
            let bays: Vec<&str> = day.leaving(leaves).map(|bay| &*bay.bay).collect();
            if !bays.is_empty() {
                notes.push(format!("{}: {}", capital(says), bays.join(", ")));
            }
        }
        let meet = |(bay, others): (&BayDay, Vec<&BayDay>)| {
            let others: Vec<&str> = others.iter().map(|other| &*other.bay).collect();
            self.bay_with(&bay.bay, &others.join(", "))
        };
        let mut meet: Vec<String> = day.gates_that_meet().into_iter().map(meet).collect();
        if !meet.is_empty() {
            let more = meet.len().saturating_sub(MEETINGS_TOLD);
            meet.truncate(MEETINGS_TOLD);
            meet.extend((more > 0).then(|| self.more_of_them(more)));
            notes.push(format!("{}: {}", self.gates_meet, meet.join(" · ")));
        }
        notes
    }

    /// What is asked of people, in order.
    pub fn asks(&self, tiles: &[Tile], looking: &Looking, with_names: bool) -> Vec<AskFace> {
        let ask = |(tile, reason): (&Tile, &TileReason)| {
            let summary = &tile.card.summary;
            AskFace {
                job: tile.card.job,
                shop: tile.card.shop.as_ref().map(|shop| shop.at),
                bay: tile.card.bay(),
                vehicle: summary.vehicle.clone(),
                why: self.reason(reason, &summary.dangers, looking, with_names),
                urgency: urgency(reason.need()),
            }
        };
        asked(tiles).into_iter().map(ask).collect()
    }
}
