//! `trayzero board`: every job of a folder, the one that needs the foreman most first.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::Serialize;
use trayzero_core::job::Stage;
use trayzero_core::journal::{JournalError, format_rfc3339, passed_min};
use trayzero_core::plan::{JobForecast, Score};
use uuid::Uuid;

use super::{CliError, Reply, shop_key, write_json};
use crate::data::settings::{SETTINGS_FILE, Settings, SettingsFile};
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Clock, Phase, Stamp, SystemClock, usual_folder};
use crate::desk::page_keeper::{PageSettings, page_of};
use crate::shop::{Admitted, Board, BoardFilter, FileFault, Looking, Tile, in_order};
use crate::ui::times;
use crate::ui::words::{EN, Words};

/// Arguments of `trayzero board`.
#[derive(Debug, clap::Args)]
pub struct BoardArgs {
    /// A tablet's data folder or a shop folder.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Jobs that are over, too.
    #[arg(long)]
    pub all: bool,
    /// Minutes after which air that is on and forgotten is pointed out.
    #[arg(long, value_name = "MIN", default_value_t = 10)]
    pub air_reminder_min: u16,
    /// The shop's first key, 64 hex digits: only what its members have sealed counts.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// Make a page for a browser, by itself in one file.
    #[arg(long, value_name = "OUT", conflicts_with = "json")]
    pub html: Option<PathBuf>,
    /// Show it over the whole screen and keep it there, until Escape is pressed. It takes no
    /// part in the shop and writes nothing.
    #[arg(long, conflicts_with_all = ["json", "html", "all"])]
    pub window: bool,
    /// Names of people in the page.
    #[arg(long, requires = "html")]
    pub names: bool,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct BoardAnswer {
    at: String,
    jobs: Vec<JobAnswer>,
    faults: Vec<String>,
    left_alone: Vec<String>,
}

#[derive(Serialize)]
struct JobAnswer {
    job: Uuid,
    vehicle: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    order_number: Option<String>,
    bay: String,
    technician: String,
    layout: String,
    phase: Phase,
    need: &'static str,
    valves: usize,
    verified: usize,
    stage_now: Option<StageAnswer>,
    last_tap: String,
    /// Null where a wrong clock told it: nobody knows.
    quiet_min: Option<i64>,
    /// Null also where it is not known: see [`JobAnswer::air_not_known`].
    air_on: Option<BoardAir>,
    /// Cylinders in which air may be on or not, for two tablets disagree about it.
    air_not_known: Vec<u8>,
    unlocked: usize,
    reasons: Vec<ReasonAnswer>,
    loose: u32,
    aboard: u32,
    adrift: u32,
    blocks: Vec<String>,
    to_go: Option<JobForecast>,
    end: Option<EndAnswer>,
    holder: Option<Uuid>,
    tablets: Vec<Uuid>,
}

#[derive(Serialize)]
struct StageAnswer {
    valve: String,
    stage: Stage,
}

#[derive(Serialize)]
struct ReasonAnswer {
    need: &'static str,
    since: Option<String>,
    why: String,
}

#[derive(Serialize)]
struct EndAnswer {
    low: String,
    likely: String,
    high: String,
    stands_open_overnight: bool,
}

#[derive(Serialize)]
struct BoardAir {
    cylinder: u8,
    bar: f64,
    since: String,
    /// Null where a wrong clock told it: nobody knows.
    minutes: Option<i64>,
}

/// Shows the board.
///
/// # Errors
/// [`CliError::Journal`] if the folder cannot be read, [`CliError::OtherShop`] where it is
/// another shop's.
pub fn run(args: &BoardArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    run_at(args, SystemClock.now(), out)
}

/// The same at a given time.
///
/// # Errors
/// As [`run`].
pub fn run_at(args: &BoardArgs, now: Stamp, out: &mut dyn Write) -> Result<Reply, CliError> {
    listed(&args.folder)?;
    if args.window {
        let (key, settings) = (args.shop_key.clone(), settings_of(&args.folder));
        crate::office::open(&args.folder, key, settings, args.air_reminder_min)
            .map_err(CliError::Window)?;
        return Ok(Reply::done());
    }
    let (board, note) = read_board(&args.folder, args.shop_key.as_deref())?;
    let filter = if args.all {
        BoardFilter::All
    } else {
        BoardFilter::UnderWay
    };
    let placed = in_order(&board.cards(), filter, now.at_ms, args.air_reminder_min);
    let told = FolderFaults::of(&board, now);
    let notes = told.notes(note);
    let settings = settings_of(&args.folder);
    let looking = Looking {
        now_ms: now.at_ms,
        zone: times::zone(now.at_ms, now.offset_min),
        air_reminder_min: args.air_reminder_min,
        hours: settings.shop_hours.clone(),
        own: None,
        out_of_touch_ms: None,
    };
    let tiles: Vec<Tile> = placed.iter().map(|p| Tile::of(p, &looking)).collect();
    if let Some(path) = &args.html {
        let cards = board.cards();
        let page = PageSettings {
            with_names: args.names,
            air_reminder_min: args.air_reminder_min,
            settings: &settings,
        };
        let text = page_of(&cards, page, now, None);
        let written = small_file::write(path, text.as_bytes(), Readers::Usual);
        written.map_err(|e| CliError::File {
            path: e.path,
            fault: e.cause,
        })?;
    } else if args.json {
        let answer = BoardAnswer {
            at: time(now.at_ms, now),
            jobs: tiles.iter().map(|t| job_answer(t, now, &looking)).collect(),
            faults: told.faults,
            left_alone: told.left_alone,
        };
        write_json(out, &answer)?;
    } else {
        let scores = board.pace().map_or(&[][..], |pace| pace.scores());
        write_words(out, &tiles, (now, &looking), &settings, scores).map_err(CliError::Write)?;
    }
    Ok(Reply::done().with_notes(notes))
}

/// The board of a folder with its times to go, and whose lines count in it. Every line is
/// judged anew: what lies beside the journals is believed by nobody who comes from outside.
pub(super) fn read_board(
    folder: &Path,
    shop_key: Option<&str>,
) -> Result<(Board, String), CliError> {
    let admitted = Admitted::of(folder, shop_key)?;
    let note = admitted.note();
    let mut board = admitted.board(folder)?;
    board.work_out_to_go();
    Ok((board, note))
}

/// Whether a folder can be listed at all.
pub(super) fn listed(folder: &Path) -> Result<(), JournalError> {
    let listed = folder.read_dir().map_err(|cause| JournalError::Io {
        file: folder.to_owned(),
        doing: "listing it",
        cause,
    });
    listed.map(drop)
}

/// What of a folder does not hold or was left alone, in words.
pub(super) struct FolderFaults {
    pub faults: Vec<String>,
    pub left_alone: Vec<String>,
}

impl FolderFaults {
    /// Jobs of which nothing counts are among it, for no card tells of them.
    pub fn of(board: &Board, now: Stamp) -> Self {
        let hidden = board.not_shown();
        let hidden =
            hidden.map(|(job, block)| format!("job {job}: {}", EN.block(block, now.at_ms)));
        let faults = board.faults().map(ToString::to_string);
        let left_alone = board.left_alone().iter();
        Self {
            faults: faults.chain(hidden).collect(),
            left_alone: left_alone.map(FileFault::to_string).collect(),
        }
    }

    /// All of it with one note more, for the person at the terminal.
    pub fn notes(&self, note: String) -> Vec<String> {
        [self.faults.as_slice(), &self.left_alone, &[note]].concat()
    }
}

pub(super) fn time(at_ms: i64, now: Stamp) -> String {
    format_rfc3339(at_ms, now.offset_min).unwrap_or_default()
}

// Long because it is a table: every field of the answer.
fn job_answer(tile: &Tile, now: Stamp, looking: &Looking) -> JobAnswer {
    let card = &*tile.card;
    let summary = &card.summary;
    let air_not_known: Vec<u8> = summary.airs_asked().collect();
    let air_told = summary.air.filter(|_| air_not_known.is_empty());
    JobAnswer {
        job: card.job,
        vehicle: summary.vehicle.clone(),
        order_number: summary.order_number.clone(),
        bay: summary.bay.clone(),
        technician: summary.technician.clone(),
        layout: summary.layout.clone(),
        phase: summary.phase,
        need: tile.need.word(),
        valves: summary.valves,
        verified: summary.verified,
        stage_now: card.stage_now.map(|(valve, stage)| StageAnswer {
            valve: valve.to_string(),
            stage,
        }),
        last_tap: time(summary.last_ms, now),
        quiet_min: passed_min(summary.last_ms, now.at_ms),
        air_on: air_told.map(|air| BoardAir {
            cylinder: air.cylinder,
            bar: air.bar,
            since: time(air.since_ms, now),
            minutes: passed_min(air.since_ms, now.at_ms),
        }),
        air_not_known,
        unlocked: card.unlocked,
        reasons: tile
            .reasons
            .iter()
            .map(|reason| ReasonAnswer {
                need: reason.need().word(),
                since: reason.since_ms().map(|ms| time(ms, now)),
                why: EN.reason(reason, &summary.dangers, looking, true),
            })
            .collect(),
        loose: summary.loose,
        aboard: summary.aboard,
        adrift: summary.adrift,
        blocks: card
            .blocks
            .iter()
            .map(|block| EN.block(block, now.at_ms))
            .collect(),
        to_go: card.to_go,
        end: tile.end.map(|end| EndAnswer {
            low: time(end.low_ms, now),
            likely: time(end.likely_ms, now),
            high: time(end.high_ms, now),
            stands_open_overnight: end.stands_open_overnight,
        }),
        holder: summary.holder,
        tablets: card.tablets.clone(),
    }
}

fn write_words(
    out: &mut dyn Write,
    tiles: &[Tile],
    at: (Stamp, &Looking),
    settings: &Settings,
    scores: &[Score],
) -> io::Result<()> {
    let words = settings.language.words();
    if tiles.is_empty() {
        return writeln!(out, "{}", words.no_jobs);
    }
    for tile in tiles {
        let summary = &tile.card.summary;
        writeln!(
            out,
            "{}, {}, {}: {}; {}",
            summary.bay,
            summary.vehicle,
            summary.technician,
            words.of_verified(summary.verified, summary.valves),
            words.needs[tile.need as usize]
        )?;
        for line in lines_of(tile, at, words, scores) {
            writeln!(out, "  {line}")?;
        }
    }
    Ok(())
}

fn lines_of(
    tile: &Tile,
    (now, looking): (Stamp, &Looking),
    words: &Words,
    scores: &[Score],
) -> Vec<String> {
    let card = &tile.card;
    let face = words.tile(tile, looking, true);
    let reason = |reason| words.reason(reason, &card.summary.dangers, looking, true);
    let mut lines: Vec<String> = tile.reasons.iter().map(reason).collect();
    lines.extend(card.summary.order_number.iter().map(|n| words.number_n(n)));
    if let Some((valve, stage)) = card.stage_now {
        lines.push(format!("{}: {}", words.valve(valve), words.stage(stage)));
    }
    lines.extend(face.marks.iter().map(|(_, text)| text.clone()));
    if !card.summary.phase.is_over() {
        let quiet_min = passed_min(card.summary.last_ms, now.at_ms);
        let last = quiet_min.map_or_else(|| words.unknown.to_owned(), |min| words.ago(min));
        let (loose, aboard) = (words.loose, words.aboard);
        lines.push(format!(
            "{loose} {}, {aboard} {}, {}: {last}",
            card.summary.loose, card.summary.aboard, words.last_tap
        ));
    }
    if let Some(to_go) = &card.to_go {
        lines.push(format!("{}: {}", words.time_to_go, words.to_go(to_go)));
        if let Some(end) = &face.end {
            lines.push(words.ends_likely(&face.end_line(), &end.range));
        }
        if tile.end.is_some_and(|end| end.stands_open_overnight) {
            lines.push(words.stands_open.to_owned());
        }
        lines.extend(words.footing_lines(to_go, scores));
    }
    lines
}

/// The folder's own settings; where it has none, as a shop folder, those of this user's
/// tablet.
pub(super) fn settings_of(folder: &Path) -> Settings {
    let of = |folder: &Path| SettingsFile::read(folder).settings;
    if folder.join(SETTINGS_FILE).exists() {
        return of(folder);
    }
    usual_folder().map_or_else(|_| Settings::default(), |usual| of(&usual))
}
