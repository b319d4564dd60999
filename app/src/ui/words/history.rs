//! The jobs that are over, week by week, in words: for the screen and the command line.

use jiff::civil::Date;
use trayzero_core::bench::OilWent;
use trayzero_core::job::SearchPlace;

use super::Words;
use crate::shop::{LostTo, SEEN_AGAIN_MIN, SinceThen, Week};

/// How many figures a week has.
pub const WEEK_FIGURES: usize = 7;

impl Words {
    /// Which way oil use has gone.
    pub fn oil_went(&self, went: Option<OilWent>) -> &'static str {
        match went {
            Some(OilWent::Down) => self.oil_went_down,
            Some(OilWent::NotClear) => self.oil_went_not_clear,
            Some(OilWent::Up) => self.oil_went_up,
            None => self.oil_went_unknown,
        }
    }

    /// What is known of the vehicles that were seen again, line by line. Nothing is claimed
    /// for few of them.
    pub fn since_lines(&self, since: &SinceThen) -> Vec<String> {
        let seen = since.seen();
        if seen + since.unseen == 0 {
            return Vec::new();
        }
        let mut lines = vec![self.since_seen(seen, seen + since.unseen)];
        if seen > 0 {
            lines.push(self.since_went(since.down, since.not_clear, since.up));
        }
        if since.not_known > 0 {
            lines.push(self.since_not_known(since.not_known));
        }
        if let Some((share, (low, high))) = since.share_down() {
            lines.push(self.since_share(share, low, high));
        } else if seen > 0 {
            lines.push(self.since_too_few(SEEN_AGAIN_MIN));
        }
        lines
    }

    /// A week by its number in the year, as ISO 8601 counts.
    pub fn week(&self, monday: Date) -> String {
        format!("{} {}", self.week_word, monday.iso_week_date().week())
    }

    /// What the figures of a week are of, in the order of [`Words::week_figures`].
    pub fn week_heads(&self) -> [&'static str; WEEK_FIGURES] {
        [
            self.jobs_closed,
            self.jobs_stopped,
            self.valves_many,
            self.minutes_a_valve,
            self.parts_fallen,
            self.never_found,
            self.hours_lost,
        ]
    }

    /// The figures of a week.
    pub fn week_figures(&self, week: &Week) -> [String; WEEK_FIGURES] {
        let a_valve = week.valve_min();
        [
            week.closed.to_string(),
            week.stopped.to_string(),
            week.valves.to_string(),
            a_valve.map_or_else(|| "–".to_owned(), |min| self.one_digit(min)),
            week.parts_fallen().to_string(),
            week.parts_unfound().to_string(),
            self.one_digit(week.lost_min() / 60.0),
        ]
    }

    /// Where what fell was found, with how many parts, the place where most were first.
    pub fn found_lines(&self, week: &Week) -> Vec<(String, u32)> {
        let mut places: Vec<(SearchPlace, u32)> = Vec::new();
        for ((_, found_at), often) in &week.fell {
            let Some(found_at) = found_at else { continue };
            match places.iter_mut().find(|(place, _)| place == found_at) {
                Some((_, parts)) => *parts += often.parts,
                None => places.push((*found_at, often.parts)),
            }
        }
        places.sort_by_key(|(_, parts)| std::cmp::Reverse(*parts));
        let named = |(place, parts)| (self.search_place(place).to_owned(), parts);
        places.into_iter().map(named).collect()
    }

    /// What time was lost to, how often and how long in words, and in minutes; the most
    /// first.
    pub fn lost_lines(&self, week: &Week) -> Vec<(String, String, f64)> {
        let name = |to: &LostTo| match to {
            LostTo::Dropped(item) => self.loss_dropped(&self.item(item)),
            LostTo::Foreman => self.foremans_word.to_owned(),
            LostTo::Conflict => self.loss_conflict.to_owned(),
        };
        let mut lines: Vec<(String, String, f64)> = week
            .lost
            .iter()
            .map(|(to, lost)| {
                let lasts = self.lasts(lost.minutes.round() as i64);
                (
                    name(to),
                    self.times_and_lasts(lost.times, &lasts),
                    lost.minutes,
                )
            })
            .collect();
        lines.sort_by(|a, b| b.2.total_cmp(&a.2));
        lines
    }
}
