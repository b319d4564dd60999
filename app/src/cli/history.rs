//! `trayzero history`: the jobs of a folder that are over, week by week.

use std::io::{self, Write};
use std::path::PathBuf;

use serde_json::{Value, json};

use super::place::brought;
use super::reading::{FolderFaults, listed, read_board, settings_of, time};
use super::reply::but_null;
use super::{CliError, Reply, shop_key, write_json};
use crate::data::store::{Clock, Stamp, SystemClock};
use crate::shop::{History, LostTo, SinceThen, Week};
use crate::ui::times;
use crate::ui::words::Words;

/// Arguments of `trayzero history`.
#[derive(Debug, clap::Args)]
pub struct HistoryArgs {
    /// A tablet's data folder or a shop folder.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// The shop's first key, 64 hex digits: only what its members have sealed counts.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Tells the history.
///
/// # Errors
/// [`CliError::Journal`] if the folder cannot be read, [`CliError::OtherShop`] where it is
/// another shop's.
pub fn run(args: &HistoryArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    run_at(args, SystemClock.now(), out)
}

/// The same at a given time.
///
/// # Errors
/// As [`run`].
pub fn run_at(args: &HistoryArgs, now: Stamp, out: &mut dyn Write) -> Result<Reply, CliError> {
    let folder = brought(&args.folder, args.shop_key.as_deref())?;
    listed(&folder)?;
    let (board, note) = read_board(&folder, args.shop_key.as_deref())?;
    let cards = board.cards();
    let zone = times::zone(now.at_ms, now.offset_min);
    let jobs = cards.iter().map(|card| &card.summary);
    let history = History::of(jobs, &zone, now.at_ms);
    let told = FolderFaults::of(&board, now);
    let notes = told.notes(note);
    if args.json {
        let answer = json!({
            "at": time(now.at_ms, now),
            "weeks": history.weeks.iter().map(week_answer).collect::<Value>(),
            // Jobs that ended by a wrong clock: nobody knows in which week.
            "undated": history.undated,
            "since": since_answer(&history.since),
            "faults": told.faults,
            "left_alone": told.left_alone,
        });
        write_json(out, &answer)?;
    } else {
        let words = settings_of(&folder).language.words();
        write_words(out, words, &history).map_err(CliError::Write)?;
    }
    Ok(Reply::done().with_notes(notes))
}

/// Closed jobs by what was seen after the vehicle left.
fn since_answer(since: &SinceThen) -> Value {
    let share = since.share_down();
    json!({
        "unseen": since.unseen,
        "down": since.down,
        "not_clear": since.not_clear,
        "up": since.up,
        "not_known": since.not_known,
        // Of those that can be compared; null for fewer than a handful.
        "share_down": share.map(|(share, _)| share),
        // 95 percent, Wilson's score interval.
        "share_down_interval": share.map(|(_, interval)| interval),
    })
}

fn week_answer(week: &Week) -> Value {
    let dropped = week.fell.iter().map(|((item, found_at), often)| {
        json!({
            "item": item.word(),
            // Null where it was never found.
            "found_at": found_at,
            "times": often.times,
            "parts": often.parts,
        })
    });
    let lost = week.lost.iter().map(|(to, lost)| {
        let (to, item) = match to {
            LostTo::Dropped(item) => ("dropped", Some(item.word())),
            LostTo::Foreman => ("foreman", None),
            LostTo::Conflict => ("conflict", None),
        };
        let hours = lost.minutes / 60.0;
        let told = json!({ "to": to, "item": item, "times": lost.times, "hours": hours });
        but_null(told, &["item"])
    });
    let iso = week.monday.iso_week_date();
    json!({
        // As ISO 8601 counts weeks.
        "week": format!("{}-W{:02}", iso.year(), iso.week()),
        "from": week.monday.to_string(),
        "closed": week.closed,
        "stopped": week.stopped,
        "valves": week.valves,
        "hours": week.closed_min / 60.0,
        // Null where no job was closed.
        "hours_a_valve": week.valve_min().map(|minutes| minutes / 60.0),
        "dropped": dropped.collect::<Value>(),
        "hours_lost": week.lost_min() / 60.0,
        "lost": lost.collect::<Value>(),
    })
}

fn write_words(out: &mut dyn Write, words: &Words, history: &History) -> io::Result<()> {
    if history.weeks.is_empty() {
        writeln!(out, "{}", words.no_history)?;
    }
    for week in &history.weeks {
        let figures = words.week_heads().into_iter().zip(words.week_figures(week));
        let figures: Vec<String> = figures
            .map(|(head, figure)| format!("{head} {figure}"))
            .collect();
        let name = words.week(week.monday);
        writeln!(out, "{} · {name}: {}", week.monday, figures.join(", "))?;
        for (place, parts) in words.found_lines(week) {
            writeln!(out, "  {place}: {parts}")?;
        }
        for (what, lasts, _) in words.lost_lines(week) {
            writeln!(out, "  {what}: {lasts}")?;
        }
    }
    for line in words.since_lines(&history.since) {
        writeln!(out, "{line}")?;
    }
    if history.undated > 0 {
        writeln!(out, "{}", words.n_undated(history.undated))?;
    }
    Ok(())
}
