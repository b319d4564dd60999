//! The command line: one word works without a window, none opens it.
//!
//! Each subcommand is a module with `Args` (read by clap) and
//! `run(&Args, &mut dyn Write) -> Result<Reply, CliError>`. To add one, declare its
//! module, give it a variant in `Command` and an arm in `carry_out`.

pub mod air;
pub mod board;
mod board_json;
pub mod check;
pub mod demo;
mod error;
pub mod history;
pub mod hours;
pub mod leak;
pub mod open;
pub mod order;
mod place;
mod reading;
pub mod record;
mod reply;
pub mod sheet;
mod shops;
pub mod verify;

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

use crate::data::store::{Clock, SystemClock, usual_folder};
use crate::demo::open_demo_folder;

pub use error::CliError;
pub use reply::{Reply, write_json};

/// Exit code when what was asked was done.
pub const EXIT_DONE: u8 = 0;
/// Exit code when the answer is no.
pub const EXIT_NO: u8 = 1;
/// Exit code for bad usage or input.
pub const EXIT_BAD_INPUT: u8 = 2;

/// What stands on the command line.
#[derive(Debug, Parser)]
#[command(
    name = "trayzero",
    version,
    about = "Offline bay checklist for valve stem seals with the heads left on. \
             Without a command it opens the window."
)]
struct CommandLine {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    window: WindowArgs,
}

/// How the window opens.
#[derive(Clone, Debug, Default, PartialEq, Eq, Args)]
pub struct WindowArgs {
    /// Open the invented demo shop instead of this tablet's own data. What is done in it
    /// is gone when the window closes.
    #[arg(long, conflicts_with = "data")]
    pub demo: bool,
    /// Folder for this tablet's data instead of the usual one.
    #[arg(long, value_name = "DIR")]
    pub data: Option<PathBuf>,
    /// Take the whole screen, whatever the settings say.
    #[arg(long)]
    pub full_screen: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// What the air in a cylinder holds and whether it turns the crank.
    Air(air::AirArgs),
    /// What a leak-down reading comes to.
    Leak(leak::LeakArgs),
    /// Every job of a folder, the one that needs the foreman most first.
    Board(board::BoardArgs),
    /// Whether every line of every journal in a folder holds.
    Check(check::CheckArgs),
    /// Play one whole job of the demo shop without a window.
    Demo(demo::DemoArgs),
    /// The jobs of a folder that are over, week by week.
    History(history::HistoryArgs),
    /// How long a whole job on an engine takes in this shop, by phase.
    Hours(hours::HoursArgs),
    /// A record in the window: whether it holds, its pages, its job.
    Open(open::OpenArgs),
    /// Which cylinder next, and how far to turn: the cheapest way round the engine.
    Order(order::OrderArgs),
    /// The record of a job, as a PDF or as JSON.
    Record(record::RecordArgs),
    /// The work sheet of an engine as a PDF, to be ticked by pen.
    Sheet(sheet::SheetArgs),
    /// Whether a record holds, from its PDF alone.
    Verify(verify::VerifyArgs),
}

/// Reads this process's arguments, does what they say and gives the exit code:
/// [`EXIT_DONE`], [`EXIT_NO`] or [`EXIT_BAD_INPUT`].
pub fn main() -> ExitCode {
    let (mut out, mut err) = (io::stdout(), io::stderr());
    ExitCode::from(run(std::env::args_os(), &mut out, &mut err))
}

/// The command line with its arguments (the program's name first), output and messages
/// handed in. Gives the exit code.
pub fn run<I, T>(args: I, out: &mut dyn Write, err: &mut dyn Write) -> u8
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let args: Vec<OsString> = args.into_iter().map(Into::into).collect();
    let wants_json = args.iter().any(is_json);
    let line = match CommandLine::try_parse_from(args) {
        Ok(line) => line,
        Err(fault) if wants_json && fault.use_stderr() => {
            say_json(&fault.to_string(), err);
            return EXIT_BAD_INPUT;
        }
        Err(fault) => return say_usage(&fault, out, err),
    };
    let result = match line.command {
        Some(command) => carry_out(&command, out),
        None => open_window(&line.window),
    };
    let result = result.and_then(|reply| out.flush().map(|()| reply).map_err(CliError::Write));
    // Messages that cannot be written any more have nobody to read them.
    match result {
        Ok(reply) => {
            for note in &reply.notes {
                let _ = writeln!(err, "{note}");
            }
            if reply.yes { EXIT_DONE } else { EXIT_NO }
        }
        Err(CliError::Write(fault)) if fault.kind() == io::ErrorKind::BrokenPipe => EXIT_DONE,
        Err(fault) => {
            if wants_json {
                say_json(&fault.to_string(), err);
            } else {
                let _ = writeln!(err, "{fault}");
            }
            match fault {
                CliError::OtherShop(_) => EXIT_NO,
                _ => EXIT_BAD_INPUT,
            }
        }
    }
}

/// Whether an argument asks for JSON.
fn is_json(arg: &OsString) -> bool {
    arg.to_str()
        .is_some_and(|arg| arg == "--json" || arg.starts_with("--json="))
}

/// A message as one line of JSON, for whoever asked for JSON.
fn say_json(message: &str, err: &mut dyn Write) {
    let _ = writeln!(err, "{}", serde_json::json!({ "error": message }));
}

/// A public key on the command line.
///
/// # Errors
/// Why it is none, in words.
pub(crate) fn shop_key(text: &str) -> Result<String, String> {
    let key = text.to_ascii_lowercase();
    match trayzero_core::journal::Link::from_hex(&key) {
        Some(_) => Ok(key),
        None => Err("a key has 64 hex digits".to_owned()),
    }
}

fn carry_out(command: &Command, out: &mut dyn Write) -> Result<Reply, CliError> {
    match command {
        Command::Air(args) => air::run(args, out),
        Command::Leak(args) => leak::run(args, out),
        Command::Board(args) => board::run(args, out),
        Command::Check(args) => check::run(args, out),
        Command::Demo(args) => demo::run(args, out),
        Command::History(args) => history::run(args, out),
        Command::Hours(args) => hours::run(args, out),
        Command::Open(args) => open::run(args),
        Command::Order(args) => order::run(args, out),
        Command::Record(args) => record::run(args, out),
        Command::Sheet(args) => sheet::run(args),
        Command::Verify(args) => verify::run(args, out),
    }
}

/// Opens the window and stays until it is closed.
fn open_window(window: &WindowArgs) -> Result<Reply, CliError> {
    if window.demo {
        let depot = open_demo_folder(SystemClock.now())?;
        crate::window::open(depot.path(), window.full_screen, None).map_err(CliError::Window)?;
        return Ok(Reply::done());
    }
    let data = match &window.data {
        Some(folder) => folder.clone(),
        None => usual_folder().map_err(|e| CliError::Window(e.to_string()))?,
    };
    crate::window::open(&data, window.full_screen, None).map_err(CliError::Window)?;
    Ok(Reply::done())
}

/// Help and version are answers; anything else clap has to say is bad usage.
fn say_usage(fault: &clap::Error, out: &mut dyn Write, err: &mut dyn Write) -> u8 {
    let text = fault.render();
    // As above: nobody is left to read what cannot be written.
    if fault.use_stderr() {
        let _ = write!(err, "{text}");
        EXIT_BAD_INPUT
    } else {
        let _ = write!(out, "{text}");
        EXIT_DONE
    }
}
