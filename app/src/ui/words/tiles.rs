//! A bay's tile in words: what the window, the page and the command line show of it.

use jiff::Timestamp;
use trayzero_core::job::Danger;
use trayzero_core::journal::passed_ms;
use uuid::Uuid;

use super::Words;
use crate::shop::{Air, Block, Looking, Need, Tile, TileReason};

const MINUTE_MS: i64 = 60_000;
const DAY_MS: i64 = 24 * 60 * MINUTE_MS;

/// How much somebody is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Urgency {
    /// Somebody may get hurt, or the board cannot tell.
    Urgent,
    /// Somebody is waited for.
    Asked,
    /// Nobody is needed.
    Calm,
}

/// What a mark on a tile is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MarkKind {
    /// A part is adrift.
    Adrift,
    /// Whether air is on is not known.
    NotKnown,
    /// Air is on.
    Air,
    /// A valve is unlocked.
    Unlocked,
    /// The figures may be old.
    Old,
}

/// A tile in words.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct TileFace {
    /// The job.
    pub job: Uuid,
    /// The place of its shop, where several are looked at.
    pub shop: Option<usize>,
    /// The bay, behind its shop where several are looked at.
    pub bay: String,
    /// The vehicle.
    pub vehicle: String,
    /// When the job ends.
    pub end: Option<EndFace>,
    /// What stands in place of an end.
    pub instead: String,
    /// How much somebody is needed.
    pub urgency: Urgency,
    /// Why somebody is needed, with since when; empty where nobody is.
    pub why: String,
    /// Air, adrift, unlocked, old.
    pub marks: Vec<(MarkKind, String)>,
    /// How far, such as `9 of 24 verified`.
    pub far: String,
    /// Stages seen of each valve, in the layout's order.
    pub stages: Vec<u8>,
    /// Valves verified, and valves.
    pub verified: (usize, usize),
}

/// An end in words.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct EndFace {
    /// The day, empty where it is today.
    pub day: String,
    /// Hours and minutes.
    pub time: String,
    /// From when to when it is likely.
    pub range: String,
}

impl TileFace {
    /// The end on one line.
    pub fn end_line(&self) -> String {
        match &self.end {
            Some(end) => joined(&end.day, &end.time),
            None => self.instead.clone(),
        }
    }

    /// Everything, for whoever hears it.
    pub fn spoken(&self) -> String {
        let range = self.end.as_ref().map(|end| end.range.clone());
        let title = format!("{} · {}", self.bay, self.vehicle);
        let parts = [title, self.why.clone(), self.end_line()].into_iter();
        let marks = self.marks.iter().map(|(_, text)| text.clone());
        let parts = parts.chain(range).chain(marks).chain([self.far.clone()]);
        let parts: Vec<String> = parts.filter(|part| !part.is_empty()).collect();
        parts.join(", ")
    }
}

fn joined(day: &str, time: &str) -> String {
    if day.is_empty() {
        time.to_owned()
    } else {
        format!("{day} {time}")
    }
}

pub(super) fn to_ten(ms: i64) -> i64 {
    (ms + 5 * MINUTE_MS).div_euclid(10 * MINUTE_MS) * 10 * MINUTE_MS
}

pub(super) fn urgency(need: Need) -> Urgency {
    match need {
        Need::AirForgotten | Need::LeftOpen | Need::Conflict | Need::FileFault | Need::Adrift => {
            Urgency::Urgent
        }
        Need::ForemanWanted | Need::CountsDiffer | Need::SecondCount | Need::Quiet => {
            Urgency::Asked
        }
        Need::Paused | Need::Working | Need::Over => Urgency::Calm,
    }
}

impl Words {
    /// The tile in words. Names of people stand in it only where they are wanted.
    pub fn tile(&self, tile: &Tile, looking: &Looking, with_names: bool) -> TileFace {
        let summary = &tile.card.summary;
        let mut why = tile
            .reasons
            .first()
            .map(|reason| self.reason(reason, &tile.card.summary.dangers, looking, with_names))
            .unwrap_or_default();
        if let Some(rest) = tile.rest() {
            why = self.reason(&TileReason::Block(rest.clone()), &[], looking, with_names);
            let said = tile
                .card
                .work
                .as_ref()
                .and_then(|work| work.rests.as_deref());
            // Whoever said why may have named somebody.
            if let Some(said) = said.filter(|said| with_names && !said.is_empty()) {
                why = format!("{why}: {said}");
            }
        }
        if tile.reasons.len() > 1 {
            let more = self.n_reasons_more(tile.reasons.len() - 1);
            why = format!("{why}; {more}");
        }
        TileFace {
            job: tile.card.job,
            shop: tile.card.shop.as_ref().map(|shop| shop.at),
            bay: tile.card.bay(),
            vehicle: summary.vehicle.clone(),
            end: self.end_face(tile, looking),
            instead: if tile.need == Need::Over {
                self.over_since(&self.when(summary.last_ms, looking))
            } else {
                self.end_not_known.to_owned()
            },
            urgency: urgency(tile.need),
            why,
            marks: self.marks(tile, looking),
            far: self.of_verified(summary.verified, summary.valves),
            stages: tile.card.stages.iter().map(|(_, seen)| *seen).collect(),
            verified: (summary.verified, summary.valves),
        }
    }

    fn end_face(&self, tile: &Tile, looking: &Looking) -> Option<EndFace> {
        let end = tile.end?;
        let [low, likely, high] = [end.low_ms, end.likely_ms, end.high_ms].map(to_ten);
        let (day, time) = self.day_and_time(likely, looking);
        // A day is named where it is another than that of the figure before it.
        let after = |ms: i64, before_ms: i64| {
            let (_, time) = self.day_and_time(ms, looking);
            let is_same = looking.date(ms) == looking.date(before_ms);
            joined(
                &if is_same {
                    String::new()
                } else {
                    self.day_name(ms, looking)
                },
                &time,
            )
        };
        let mut range = self.end_range(&after(low, likely), &after(high, low));
        let to_go = tile.card.to_go.as_ref();
        if to_go.is_some_and(|to_go| to_go.footing.is_rough()) {
            range = format!("{} {range}", self.roughly);
        }
        if tile.rest().is_some() {
            // No clock runs towards an end while work rests.
            let end = joined(&day, &time);
            return Some(EndFace {
                day: String::new(),
                time: self.need(Need::Paused).to_owned(),
                range: format!("{} {end}, {range}", self.if_on_now),
            });
        }
        Some(EndFace { day, time, range })
    }

    fn marks(&self, tile: &Tile, looking: &Looking) -> Vec<(MarkKind, String)> {
        let mut marks = Vec::new();
        let summary = &tile.card.summary;
        if summary.adrift > 0 {
            marks.push((MarkKind::Adrift, self.n_adrift(summary.adrift)));
        }
        marks.extend(tile.air.iter().map(|air| match air {
            Air::NotKnown { cylinder } => (MarkKind::NotKnown, self.air_not_known(*cylinder)),
            Air::On(air) => {
                let since = self.since_when(&self.when(air.since_ms, looking));
                let on = self.air_on_cylinder(air.cylinder);
                (MarkKind::Air, format!("{on} {since}"))
            }
        }));
        if tile.card.unlocked > 0 {
            marks.push((MarkKind::Unlocked, self.n_unlocked(tile.card.unlocked)));
        }
        if let Some(since_ms) = tile.old_since_ms {
            let old = match since_ms {
                0 => self.never_in_touch.to_owned(),
                _ => self.old_since(&self.when(since_ms, looking)),
            };
            marks.push((MarkKind::Old, old));
        }
        marks
    }

    /// Why somebody is needed, as one sentence with since when.
    pub fn reason(
        &self,
        reason: &TileReason,
        dangers: &[Danger],
        looking: &Looking,
        with_names: bool,
    ) -> String {
        let when = reason
            .since_ms()
            .map(|ms| self.when(ms, looking))
            .unwrap_or_default();
        match reason {
            TileReason::AirForgotten(air) => self.why_air(air.cylinder, &when),
            TileReason::Quiet { .. } => self.why_quiet(&when),
            TileReason::Block(block) => match block {
                Block::Conflicts { .. } => {
                    let asked = self.dangers(dangers);
                    let why = self.why_conflicts(&when);
                    if asked.is_empty() {
                        why
                    } else {
                        format!("{why} · {asked}")
                    }
                }
                Block::Adrift { count, .. } => self.why_adrift(*count, &when),
                Block::ForemanWanted {
                    cylinder,
                    loss_percent,
                    ..
                } => self.why_foreman(*cylinder, *loss_percent, &when),
                Block::CountsDiffer { .. } => self.why_counts(&when),
                Block::SecondCount { by, .. } if with_names => self.why_second_named(&when, by),
                Block::SecondCount { .. } => self.why_second(&when),
                Block::NotConfirmed(journals) => self.why_lines_wait(*journals),
                Block::NotSigned(_) if with_names => {
                    super::capital(&self.block(block, looking.now_ms))
                }
                Block::NotSigned(_) => self.not_confirmed.to_owned(),
                // The text names a file of the machine that has read it.
                Block::FileFault(_) => super::capital(self.need(Need::FileFault)),
                Block::Paused { stands_open, .. } if *stands_open => {
                    let open = super::capital(self.need(Need::LeftOpen));
                    format!("{open}: {}", self.why_paused(&when))
                }
                Block::Paused { .. } => self.why_paused(&when),
            },
        }
    }

    /// A moment that has passed, in hours and minutes; with the day where it is not today.
    /// One that a wrong clock tells is not known.
    pub fn when(&self, ms: i64, looking: &Looking) -> String {
        if passed_ms(ms, looking.now_ms).is_none() {
            return self.unknown.to_owned();
        }
        self.moment(ms, looking)
    }

    /// A moment, in hours and minutes; with the day where it is not today.
    pub(super) fn moment(&self, ms: i64, looking: &Looking) -> String {
        let (day, time) = self.day_and_time(ms, looking);
        joined(&day, &time)
    }

    /// The day, empty where it is today; and the time.
    pub fn day_and_time(&self, ms: i64, looking: &Looking) -> (String, String) {
        let Ok(at) = Timestamp::from_millisecond(ms) else {
            return (String::new(), "?".to_owned());
        };
        let time = looking.zone.to_datetime(at).strftime("%H:%M");
        let is_today = looking.date(ms) == looking.date(looking.now_ms);
        let day = if is_today {
            String::new()
        } else {
            self.day_name(ms, looking)
        };
        (day, time.to_string())
    }

    /// The weekday within six days, the date beyond.
    fn day_name(&self, ms: i64, looking: &Looking) -> String {
        let Some(day) = looking.date(ms) else {
            return "?".to_owned();
        };
        if (ms - looking.now_ms).abs() < 6 * DAY_MS {
            return self.weekday(day.weekday()).to_owned();
        }
        day.to_string()
    }
}
