//! `trayzero board`: every job of a folder or of several shops, the one that needs the foreman
//! most first.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use serde_json::{Value, json};
use trayzero_core::journal::passed_min;
use trayzero_core::plan::Score;

use super::board_json::job_answer;
use super::place::brought;
use super::reading::{
    FolderFaults, listed, own_settings, read_board, scores_of, settings_of, time,
};
use super::reply::but_null;
use super::shops::{NamedShop, in_turn, named_shop, read_all, shops_of_file};
use super::{CliError, Reply, shop_key, write_json};
use crate::data::settings::Settings;
use crate::data::store::small_file::{self, Readers};
use crate::data::store::{Clock, Stamp, SystemClock};
use crate::desk::page_keeper::{PageSettings, page_of_shops};
use crate::shop::{BoardFilter, Card, Looking, ShopToRead, Tile, in_order, of_shop};
use crate::ui::times;
use crate::ui::words::Words;

/// So many seconds a shop is waited for, unless it is said.
const WAIT_S: u16 = 20;
/// After so many minutes air is pointed out, unless it is said.
const AIR_REMINDER_MIN: u16 = 10;

/// Arguments of `trayzero board`.
#[derive(Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["folder", "shop", "shops"])))]
pub struct BoardArgs {
    /// A tablet's data folder or a shop folder, or a bucket as `s3://bucket/prefix`.
    #[arg(value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
    /// One of several shops, by a name of your own, with its folder or bucket and, if you know
    /// it, its first key: NAME=WHERE or NAME=WHERE#KEY. Give it once for each.
    #[arg(long, value_name = "NAME=WHERE", value_parser = named_shop)]
    pub shop: Vec<NamedShop>,
    /// A JSON file that names several shops.
    #[arg(long, value_name = "FILE")]
    pub shops: Option<PathBuf>,
    /// Seconds after which a shop that has not answered is said not to be reached.
    #[arg(
        long,
        value_name = "S",
        default_value_t = WAIT_S,
        conflicts_with = "folder"
    )]
    pub wait_s: u16,
    /// Jobs that are over, too.
    #[arg(long)]
    pub all: bool,
    /// Minutes after which air that is on and forgotten is pointed out.
    #[arg(long, value_name = "MIN", default_value_t = AIR_REMINDER_MIN)]
    pub air_reminder_min: u16,
    /// The shop's first key, 64 hex digits: only what its members have sealed counts.
    #[arg(long, value_name = "KEY", value_parser = shop_key, conflicts_with_all = ["shop", "shops"])]
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

impl BoardArgs {
    /// Those that name a folder and nothing else.
    pub fn of(folder: &Path) -> Self {
        Self {
            folder: Some(folder.to_owned()),
            shop: Vec::new(),
            shops: None,
            wait_s: WAIT_S,
            all: false,
            air_reminder_min: AIR_REMINDER_MIN,
            shop_key: None,
            html: None,
            window: false,
            names: false,
            json: false,
        }
    }
}

/// Shows the board.
///
/// # Errors
/// [`CliError::Journal`] if the folder cannot be read, [`CliError::OtherShop`] where it is
/// another shop's, [`CliError::Shops`] where several are named wrongly. One of several that is
/// not read is no error; the reply says no then.
pub fn run(args: &BoardArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    run_at(args, SystemClock.now(), out)
}

/// The same at a given time.
///
/// # Errors
/// As [`run`].
pub fn run_at(args: &BoardArgs, now: Stamp, out: &mut dyn Write) -> Result<Reply, CliError> {
    let several = match (&args.folder, &args.shops) {
        (Some(_), _) => None,
        (None, Some(file)) => Some(in_turn(shops_of_file(file)?)?),
        (None, None) => Some(in_turn(args.shop.clone())?),
    };
    if args.window {
        let (shops, settings) = match (several, &args.folder) {
            (Some(shops), _) => (shops, own_settings()),
            (None, folder) => one_to_watch(folder.as_deref(), args)?,
        };
        crate::office::open(shops, settings, args.air_reminder_min).map_err(CliError::Window)?;
        return Ok(Reply::done());
    }
    let read = match several {
        Some(shops) => BoardRead::of_shops(&shops, args, now),
        None => BoardRead::of_one(args, now)?,
    };
    read.write(args, now, out)?;
    let all = read.shops.iter().all(|shop| shop.why.is_none());
    Ok(Reply::answer(all).with_notes(read.notes))
}

/// The one place that is watched in a window. A folder that cannot be listed opens none.
fn one_to_watch(
    folder: Option<&Path>,
    args: &BoardArgs,
) -> Result<(Vec<ShopToRead>, Settings), CliError> {
    let place = folder.unwrap_or(Path::new("")).to_owned();
    let is_bucket = place.starts_with("s3:");
    if !is_bucket {
        listed(&place)?;
    }
    let settings = if is_bucket {
        own_settings()
    } else {
        settings_of(&place)
    };
    let shop = ShopToRead {
        of: None,
        place,
        shop_key: args.shop_key.clone(),
    };
    Ok((vec![shop], settings))
}

/// One of several shops as it was read.
struct ShopOnBoard {
    shop: ShopToRead,
    name: String,
    /// Why it was not read, in words for the board and in words for whoever asked.
    why: Option<(String, String)>,
}

/// What was read, of one folder or of several shops.
struct BoardRead {
    cards: Vec<Arc<Card>>,
    faults: Vec<String>,
    left_alone: Vec<String>,
    notes: Vec<String>,
    settings: Settings,
    /// How each shop's forecasts turned out, by its place; of the one folder in the first.
    scores: Vec<Vec<Score>>,
    /// Several shops; none where it is one folder.
    shops: Vec<ShopOnBoard>,
}

impl BoardRead {
    fn of_one(args: &BoardArgs, now: Stamp) -> Result<Self, CliError> {
        let key = args.shop_key.as_deref();
        let place = args.folder.as_deref().unwrap_or(Path::new(""));
        let folder = brought(place, key)?;
        listed(&folder)?;
        let (board, note) = read_board(&folder, key)?;
        let told = FolderFaults::of(&board, now);
        Ok(Self {
            cards: board.cards(),
            notes: told.notes(note),
            faults: told.faults,
            left_alone: told.left_alone,
            settings: settings_of(&folder),
            scores: vec![scores_of(&board)],
            shops: Vec::new(),
        })
    }

    /// What does not hold in a shop is told with its name.
    fn of_shops(shops: &[ShopToRead], args: &BoardArgs, now: Stamp) -> Self {
        let at_most = Duration::from_secs(args.wait_s.into());
        let mut all = Self {
            cards: Vec::new(),
            faults: Vec::new(),
            left_alone: Vec::new(),
            notes: Vec::new(),
            settings: own_settings(),
            scores: Vec::new(),
            shops: Vec::new(),
        };
        for (shop, read) in shops.iter().zip(read_all(shops, at_most)) {
            let name = shop.of.as_ref().map_or("", |of| &*of.name).to_owned();
            let named = |said: &String| format!("{name}: {said}");
            let mut scores = Vec::new();
            let why = match read {
                Some(Ok((board, note))) => {
                    let told = FolderFaults::of(&board, now);
                    all.notes.extend(told.notes(note).iter().map(named));
                    all.faults.extend(told.faults.iter().map(named));
                    all.left_alone.extend(told.left_alone.iter().map(named));
                    all.cards.extend(of_shop(shop.of.as_ref(), board.cards()));
                    scores = scores_of(&board);
                    None
                }
                other => Some(all.unread(other.and_then(Result::err), args.wait_s)),
            };
            all.notes.extend(why.iter().map(|(_, fault)| named(fault)));
            all.scores.push(scores);
            let shop = shop.clone();
            all.shops.push(ShopOnBoard { shop, name, why });
        }
        all
    }

    /// Why a shop was not read: in short, and with everything that is known.
    fn unread(&self, fault: Option<CliError>, wait_s: u16) -> (String, String) {
        let words = self.settings.language.words();
        match fault {
            None => {
                let silent = format!("it has not answered within {wait_s} s; not reached yet");
                (words.shop_silent.to_owned(), silent)
            }
            Some(CliError::OtherShop(fault)) => {
                let other = format!("another shop than its key says: {fault}");
                (words.shop_other.to_owned(), other)
            }
            Some(fault) => (words.shop_unread.to_owned(), fault.to_string()),
        }
    }

    fn write(&self, args: &BoardArgs, now: Stamp, out: &mut dyn Write) -> Result<(), CliError> {
        let filter = if args.all {
            BoardFilter::All
        } else {
            BoardFilter::UnderWay
        };
        let settings = &self.settings;
        if let Some(path) = &args.html {
            let page = PageSettings {
                with_names: args.names,
                air_reminder_min: args.air_reminder_min,
                settings,
            };
            let shops = self.shops.iter().map(|shop| {
                let why = shop.why.as_ref().map(|(short, _)| short.clone());
                (shop.name.clone(), why)
            });
            let shops: Vec<(String, Option<String>)> = shops.collect();
            let text = page_of_shops(&shops, &self.cards, page, now, None);
            let written = small_file::write(path, text.as_bytes(), Readers::Usual);
            return written.map_err(|e| CliError::File {
                path: e.path,
                fault: e.cause,
            });
        }
        let looking = Looking {
            now_ms: now.at_ms,
            zone: times::zone(now.at_ms, now.offset_min),
            air_reminder_min: args.air_reminder_min,
            hours: settings.shop_hours.clone(),
            own: None,
            out_of_touch_ms: None,
        };
        let placed = in_order(&self.cards, filter, now.at_ms, args.air_reminder_min);
        let tiles: Vec<Tile> = placed.iter().map(|p| Tile::of(p, &looking)).collect();
        if args.json {
            let jobs = tiles.iter().map(|t| job_answer(t, now, &looking));
            // Where several are looked at.
            let shops: Vec<Value> = self.shops.iter().map(|shop| shop.answer(now)).collect();
            let answer = json!({
                "at": time(now.at_ms, now),
                "jobs": jobs.collect::<Value>(),
                "faults": self.faults,
                "left_alone": self.left_alone,
                "shops": (!shops.is_empty()).then_some(shops),
            });
            let answer = but_null(answer, &["shops"]);
            return write_json(out, &answer);
        }
        let words = settings.language.words();
        let mut lines: Vec<String> = self.shops.iter().filter_map(|s| s.line(words)).collect();
        if tiles.is_empty() {
            lines.push(words.no_jobs.to_owned());
        }
        for tile in &tiles {
            let at = tile.card.shop.as_ref().map_or(0, |shop| shop.at);
            let scores = self.scores.get(at).map_or(&[][..], Vec::as_slice);
            lines.push(head_of(tile, words));
            let below = lines_of(tile, (now, &looking), words, scores);
            lines.extend(below.iter().map(|line| format!("  {line}")));
        }
        let written = lines.iter().try_for_each(|line| writeln!(out, "{line}"));
        written.map_err(CliError::Write)
    }
}

impl ShopOnBoard {
    fn answer(&self, now: Stamp) -> Value {
        let why = self.why.as_ref();
        let answer = json!({
            "name": self.name,
            "where": self.shop.place.to_string_lossy(),
            // Whether this very shop was read; without it none of its jobs is among the jobs.
            "reached": why.is_none(),
            "fault": why.map(|(_, fault)| fault),
            // From when on it is known not to be reached.
            "since": why.map(|_| time(now.at_ms, now)),
        });
        but_null(answer, &["fault", "since"])
    }

    /// Its own line, where it was not read.
    fn line(&self, words: &Words) -> Option<String> {
        let (short, _) = self.why.as_ref()?;
        Some(words.shop_fails(&self.name, "", short))
    }
}

fn head_of(tile: &Tile, words: &Words) -> String {
    let summary = &tile.card.summary;
    format!(
        "{}, {}, {}: {}; {}",
        tile.card.bay(),
        summary.vehicle,
        summary.technician,
        words.of_verified(summary.verified, summary.valves),
        words.need(tile.need)
    )
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
