//! `trayzero hours`: how long a whole job on an engine takes in a shop, by phase. The
//! number that a customer is quoted comes from here.

use std::io::{self, Write};
use std::path::PathBuf;

use serde_json::{Value, json};
use trayzero_core::engine::Layout;
use trayzero_core::phases::quote;
use trayzero_core::plan::{JobForecast, ShopPace, WorkPhase};

use super::place::brought;
use super::reading::{listed, read_board, settings_of};
use super::{CliError, Reply, shop_key, write_json};
use crate::data::layouts;
use crate::data::store::usual_folder;
use crate::shop::Board;
use crate::ui::words::Words;

/// Arguments of `trayzero hours`.
#[derive(Debug, clap::Args)]
pub struct HoursArgs {
    /// Engine layout.
    #[arg(value_name = "ENGINE.json")]
    pub engine: PathBuf,
    /// A shop folder or a tablet's data folder to learn from; this tablet's own unless
    /// named.
    #[arg(long, value_name = "FOLDER")]
    pub shop: Option<PathBuf>,
    /// The shop's first key, 64 hex digits: only what its members have sealed counts.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Says how long a whole job takes.
///
/// # Errors
/// Those of [`layouts::read_file`], and [`CliError::Journal`] if the folder cannot be read.
pub fn run(args: &HoursArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let layout = layouts::read_file(&args.engine)?;
    let folder = match &args.shop {
        Some(folder) => {
            let folder = brought(folder, args.shop_key.as_deref())?;
            listed(&folder)?;
            Some(folder)
        }
        // A tablet that has no folder yet has no history either.
        None => usual_folder().ok().filter(|folder| folder.is_dir()),
    };
    let mut reply = Reply::done();
    let board = match &folder {
        Some(folder) => {
            let (board, note) = read_board(folder, args.shop_key.as_deref())?;
            reply = reply.with_notes(vec![note]);
            board
        }
        None => Board::default(),
    };
    let nothing = ShopPace::learn(&[], &[]);
    let pace = board.pace().map_or(&nothing, |pace| pace);
    let said = quote(pace, &layout);
    if args.json {
        write_json(out, &answer(pace, &layout, &said))?;
    } else {
        let words = folder.map(|folder| settings_of(&folder));
        let words = words.unwrap_or_default().language.words();
        write_words(out, words, &layout, &said, pace).map_err(CliError::Write)?;
    }
    Ok(reply)
}

fn answer(pace: &ShopPace, layout: &Layout, said: &JobForecast) -> Value {
    let mean_min = |phase: WorkPhase| said.phase_min[phase.index()];
    let phase = |phase| json!({ "phase": phase, "mean_min": mean_min(phase) });
    let scores = pace.scores();
    json!({
        "engine": layout.name,
        "about_min": said.about_min,
        "low_min": said.low_min,
        "high_min": said.high_min,
        "phases": WorkPhase::ALL.into_iter().map(phase).collect::<Value>(),
        "footing": said.footing,
        "rough": said.footing.is_rough(),
        "forecasts_scored": scores.len(),
        "forecasts_inside": scores.iter().filter(|score| score.inside).count(),
    })
}

fn write_words(
    out: &mut dyn Write,
    words: &Words,
    layout: &Layout,
    said: &JobForecast,
    pace: &ShopPace,
) -> io::Result<()> {
    writeln!(out, "{}: {}", layout.name, words.to_go(said))?;
    for phase in WorkPhase::ALL {
        let minutes = said.phase_min[phase.index()].round() as i64;
        let name = words.work_phase(phase);
        writeln!(out, "  {name}: {}", words.lasts(minutes))?;
    }
    for line in words.footing_lines(said, pace.scores()) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}
