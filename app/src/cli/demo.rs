//! `trayzero demo`: one whole job of the demo shop, played without a window.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::Serialize;
use trayzero_core::job::JobState;
use uuid::Uuid;

use super::record::{self, LanguageArg, UnitsArg};
use super::{CliError, Reply, write_json};
use crate::data::settings::Settings;
use crate::data::store::{Clock, SetClock, Stamp, Store, StoreError, SystemClock};
use crate::demo::{Moment, Played, lines, open_demo_folder, play_closed_job};
use crate::desk::Desk;
use crate::record::pdf::Paper;
use crate::ui::intent::{Intent, Screen};
use crate::ui::picture::HeadlessScreen;
use crate::window::Shell;

/// Name of the picture of the bay in the folder.
const PICTURE: &str = "bay.png";

/// Name of the picture of the whole depot's board in the folder.
const BOARD: &str = "board.png";

/// When the depot's board is pictured: a Wednesday, 2026-11-25 at 10:40 UTC. The board tells
/// days and times of day, and its picture is the same on any day.
const BOARD_AT: Stamp = Stamp {
    at_ms: 1_795_603_200_000,
    offset_min: 0,
};

/// Name of the record in the folder.
const RECORD: &str = "record.pdf";

/// Size of the picture in points, and pixels a point.
const PICTURE_SIZE: egui::Vec2 = egui::Vec2::new(1280.0, 800.0);

/// Frames until all sizes and movements have settled.
const PICTURE_FRAMES: usize = 40;

/// Arguments of `trayzero demo`.
#[derive(Debug, clap::Args)]
pub struct DemoArgs {
    /// Folder for what is made: a new one, or an empty one.
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Answer as JSON, without the progress.
    #[arg(long)]
    pub json: bool,
}

/// What was made.
#[derive(Serialize)]
struct DemoAnswer {
    job: Uuid,
    events: usize,
    valves: usize,
    adrift: u32,
    same_when_read_again: bool,
    journal: PathBuf,
    record: PathBuf,
    picture: PathBuf,
    board: PathBuf,
}

/// Plays the job, then reads its journal again; the answer is no if the two differ.
///
/// # Errors
/// [`CliError::FolderInUse`] for a folder that holds anything, [`CliError::Demo`] if the
/// job cannot be played or kept, [`CliError::File`] if a file cannot be written,
/// [`CliError::Gather`] and [`CliError::Pdf`] where no record comes of it.
pub fn run(args: &DemoArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    be_empty(&args.out)?;
    let now = SystemClock.now();
    let store = Store::open(&args.out, now).map_err(demo_fault)?;
    let mut progress = Progress {
        out,
        is_silent: args.json,
        offset_min: now.offset_min,
        fault: None,
    };
    let picture = args.out.join(PICTURE);
    let mut pictured = Ok(());
    let played = play_closed_job(
        &store,
        now,
        &mut |moment| progress.tell(&moment),
        &mut |job, at| pictured = picture_bay(&args.out, job, at, &picture),
    )?;
    if let Some(fault) = progress.fault {
        return Err(CliError::Write(fault));
    }
    pictured?;
    picture_board(BOARD_AT, &args.out.join(BOARD))?;
    let record = args.out.join(RECORD);
    let reply = write_record(&args.out, played.id, &record)?;
    let answer = answer(&args.out, &store, &played, record, picture)?;
    let yes = reply.yes && answer.same_when_read_again;
    if args.json {
        write_json(out, &answer)?;
    } else {
        write_words(out, &answer).map_err(CliError::Write)?;
    }
    // Whose lines count is no question in a folder that was made just now.
    Ok(Reply::answer(yes))
}

/// Refuses a folder that holds anything: nothing of anybody's is written over or mixed up.
fn be_empty(folder: &Path) -> Result<(), CliError> {
    let fault = |fault| CliError::File {
        path: folder.to_owned(),
        fault,
    };
    let mut entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(fault(error)),
    };
    match entries.next() {
        None => Ok(()),
        Some(Err(error)) => Err(fault(error)),
        Some(Ok(entry)) => Err(CliError::FolderInUse {
            path: folder.to_owned(),
            holds: entry.file_name().to_string_lossy().into_owned(),
        }),
    }
}

/// Writes the progress as the job goes on, each line with its time of day.
struct Progress<'a> {
    out: &'a mut dyn Write,
    is_silent: bool,
    offset_min: i16,
    fault: Option<io::Error>,
}

impl Progress<'_> {
    fn tell(&mut self, moment: &Moment<'_>) {
        if self.is_silent || self.fault.is_some() {
            return;
        }
        let minutes = moment.state().last_ms().div_euclid(60_000) + i64::from(self.offset_min);
        let (hour, minute) = (
            minutes.div_euclid(60).rem_euclid(24),
            minutes.rem_euclid(60),
        );
        for line in lines(moment) {
            let written = writeln!(self.out, "{hour:02}:{minute:02}  {line}");
            self.fault = self.fault.take().or(written.err());
        }
    }
}

/// Pictures the bay screen of a job as it stands in a data folder, at a time.
fn picture_bay(folder: &Path, job: Uuid, at: Stamp, file: &Path) -> Result<(), CliError> {
    let store = Store::open(folder, at).map_err(demo_fault)?;
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(at));
    let mut shell = Shell::new(Desk::open(store, clock).map_err(demo_fault)?);
    shell.desk.carry_out(Intent::OpenJob(job));
    picture(shell, file)
}

/// Pictures the board of the whole depot, as it stands at a time.
fn picture_board(now: Stamp, file: &Path) -> Result<(), CliError> {
    let depot = open_demo_folder(now)?;
    let store = Store::open(depot.path(), now).map_err(demo_fault)?;
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(now));
    let mut desk = Desk::open(store, clock).map_err(demo_fault)?;
    desk.read_board();
    let settings = Settings {
        first_use_cards: false,
        ..desk.settings().clone()
    };
    desk.carry_out(Intent::Settings(Box::new(settings)));
    desk.carry_out(Intent::Go(Screen::Board));
    picture(Shell::new(desk), file)
}

/// Pictures what is shown, once all sizes and movements have settled.
fn picture(mut shell: Shell, file: &Path) -> Result<(), CliError> {
    let mut screen = HeadlessScreen::new(shell.theme(), PICTURE_SIZE, 1.0);
    for _ in 0..PICTURE_FRAMES {
        screen.frame(Vec::new(), |ui| shell.ui(ui));
    }
    screen
        .image()
        .save_png(file)
        .map_err(|fault| CliError::File {
            path: file.to_owned(),
            fault,
        })
}

/// Writes the record of a job in a data folder, as `trayzero record` does.
fn write_record(folder: &Path, job: Uuid, file: &Path) -> Result<Reply, CliError> {
    let args = record::RecordArgs {
        folder: folder.to_owned(),
        job,
        shop_key: None,
        out: Some(file.to_owned()),
        paper: Some(Paper::A4),
        units: UnitsArg::Metric,
        language: LanguageArg::En,
        json: None,
    };
    record::run(&args, &mut io::sink())
}

fn answer(
    folder: &Path,
    store: &Store,
    played: &Played,
    record: PathBuf,
    picture: PathBuf,
) -> Result<DemoAnswer, CliError> {
    let again = Store::open(folder, SystemClock.now())
        .and_then(|store| store.open_job(played.id))
        .map_err(demo_fault)?;
    let state: &JobState = &played.state;
    Ok(DemoAnswer {
        job: played.id,
        events: state.event_count(),
        valves: state.verified_count(),
        adrift: state.adrift(),
        same_when_read_again: again.faults().next().is_none() && again.state() == state,
        journal: trayzero_core::journal::journal_path(folder, played.id, store.tablet().id()),
        record,
        picture,
        board: folder.join(BOARD),
    })
}

fn write_words(out: &mut dyn Write, answer: &DemoAnswer) -> io::Result<()> {
    let again = if answer.same_when_read_again {
        "read again: the same state"
    } else {
        "read again: ANOTHER STATE"
    };
    writeln!(out)?;
    writeln!(out, "journal  {}", answer.journal.display())?;
    writeln!(out, "         {} events, {again}", answer.events)?;
    writeln!(out, "record   {}", answer.record.display())?;
    writeln!(out, "pictures {}", answer.picture.display())?;
    writeln!(out, "         {}", answer.board.display())
}

fn demo_fault(error: StoreError) -> CliError {
    CliError::Demo(error.into())
}
