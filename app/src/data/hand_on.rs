//! Handing a file on: to a folder or a stick, to the system's program for it, to a printer.
//! The system's own programs are asked by name and with arguments, never through a shell.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use thiserror::Error;
use trayzero_core::journal::read_plain;

use super::store::FileError;
use super::store::small_file::{self, Readers};

/// How long the system's programs are waited for.
const WAIT: Duration = Duration::from_secs(20);
/// How long one that shows a file is waited for: some stay as long as the file is shown.
const SHOW_WAIT: Duration = Duration::from_secs(4);
/// The most printers that are offered.
const PRINTERS_MAX: usize = 20;
/// How many other names are tried where one is taken.
const NAMES_MAX: u32 = 99;
/// The longest that is read of an answer, in bytes.
const ANSWER_BYTES_MAX: u64 = 64 << 10;

/// Why a file was not handed on.
#[derive(Debug, Error)]
pub enum NotHandedOn {
    /// The folder is not there.
    #[error("{}: the folder is not there", .0.display())]
    FolderGone(PathBuf),
    /// It cannot be written.
    #[error(transparent)]
    File(#[from] FileError),
    /// Files of other content have all the names.
    #[error("{}: files of this name are there already", .0.display())]
    NamesTaken(PathBuf),
    /// The file is not what it was when it was opened, or gone.
    #[error("{}: the file has gone or changed since it was opened", .0.display())]
    FileGone(PathBuf),
    /// The system has no such program.
    #[error("this system has no program for it ({0})")]
    NoProgram(&'static str),
    /// The program did not answer in time.
    #[error("{0}: no answer")]
    NoAnswer(&'static str),
    /// The program did not do it.
    #[error("{program}: {why}")]
    Program {
        /// Which one.
        program: &'static str,
        /// What it said.
        why: String,
    },
}

/// Where a file was written to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HandedTo {
    /// The file.
    pub path: PathBuf,
    /// A file of the same content was there already.
    pub was_there: bool,
    /// Another file has the name, so this one got a number.
    pub is_renamed: bool,
}

/// Writes a file into a folder, whole or not at all. A file of the same name with other content
/// stays, and this one gets a number.
///
/// # Errors
/// [`NotHandedOn`].
pub fn write_to(folder: &Path, name: &str, bytes: &[u8]) -> Result<HandedTo, NotHandedOn> {
    if !folder.is_dir() {
        return Err(NotHandedOn::FolderGone(folder.to_owned()));
    }
    let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "pdf"));
    for n in 1..=NAMES_MAX {
        let name = match n {
            1 => name.to_owned(),
            n => format!("{stem}-{n}.{ending}"),
        };
        let path = folder.join(name);
        let is_renamed = n > 1;
        if path.symlink_metadata().is_ok() {
            if has_content(&path, bytes) {
                return Ok(HandedTo {
                    path,
                    was_there: true,
                    is_renamed,
                });
            }
            continue;
        }
        small_file::write(&path, bytes, Readers::Usual)?;
        return Ok(HandedTo {
            path,
            was_there: false,
            is_renamed,
        });
    }
    Err(NotHandedOn::NamesTaken(folder.join(name)))
}

/// Whether a plain file has exactly these bytes.
fn has_content(path: &Path, bytes: &[u8]) -> bool {
    read_plain(path, 0, bytes.len() as u64 + 1).is_ok_and(|there| there == bytes)
}

/// The system's programs that files are handed to.
#[derive(Clone, Debug, Default)]
pub struct SystemPrograms {
    folder: Option<PathBuf>,
}

impl SystemPrograms {
    /// Those that lie in one folder, and no others.
    pub fn in_folder(folder: &Path) -> Self {
        Self {
            folder: Some(folder.to_owned()),
        }
    }

    fn command(&self, program: &'static str) -> Command {
        match &self.folder {
            Some(folder) => Command::new(folder.join(program)),
            None => Command::new(program),
        }
    }

    /// Has the system show a file that still has these bytes.
    ///
    /// # Errors
    /// [`NotHandedOn`].
    pub fn show(&self, path: &Path, bytes: &[u8]) -> Result<(), NotHandedOn> {
        const PROGRAM: &str = if cfg!(target_os = "windows") {
            "explorer"
        } else if cfg!(target_os = "macos") {
            "open"
        } else {
            "xdg-open"
        };
        let gone = || NotHandedOn::FileGone(path.to_owned());
        let path = path.canonicalize().map_err(|_| gone())?;
        if !has_content(&path, bytes) {
            return Err(gone());
        }
        let mut command = self.command(PROGRAM);
        command.arg(&path).stdin(Stdio::null());
        let child = started(PROGRAM, &mut command)?;
        // One that goes on showing the file has done what was asked.
        finished(PROGRAM, child, SHOW_WAIT, true).map(|_| ())
    }

    /// The printers that the system knows; none where it knows of no printing.
    ///
    /// # Errors
    /// [`NotHandedOn`] where it does not answer.
    pub fn printers(&self) -> Result<Vec<String>, NotHandedOn> {
        const PROGRAM: &str = "lpstat";
        let mut command = self.command(PROGRAM);
        command.arg("-e").stdin(Stdio::null());
        let child = match started(PROGRAM, &mut command) {
            Err(NotHandedOn::NoProgram(_)) => return Ok(Vec::new()),
            child => child?,
        };
        let answer = finished(PROGRAM, child, WAIT, false)?;
        let names = answer.lines().map(str::trim).filter(|name| {
            let is_plain = !name.chars().any(|c| c.is_whitespace() || c.is_control());
            !name.is_empty() && is_plain && !name.starts_with('-')
        });
        Ok(names.take(PRINTERS_MAX).map(str::to_owned).collect())
    }

    /// Prints a file, given by its bytes.
    ///
    /// # Errors
    /// [`NotHandedOn`].
    pub fn print(&self, printer: &str, title: &str, bytes: &[u8]) -> Result<(), NotHandedOn> {
        const PROGRAM: &str = "lp";
        let mut command = self.command(PROGRAM);
        command
            .args(["-d", printer, "-t", title])
            .stdin(Stdio::piped());
        let mut child = started(PROGRAM, &mut command)?;
        let fed = child.stdin.take().map(|mut stdin| {
            let bytes = bytes.to_vec();
            // It may take in no more than it likes.
            thread::spawn(move || stdin.write_all(&bytes))
        });
        finished(PROGRAM, child, WAIT, false)?;
        let fed = fed.and_then(|fed| fed.join().ok());
        fed.transpose()
            .map(|_| ())
            .map_err(|why| said(PROGRAM, &why))
    }
}

fn said(program: &'static str, why: &impl ToString) -> NotHandedOn {
    let why = why.to_string();
    NotHandedOn::Program { program, why }
}

fn started(program: &'static str, command: &mut Command) -> Result<Child, NotHandedOn> {
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().map_err(|why| match why.kind() {
        io::ErrorKind::NotFound => NotHandedOn::NoProgram(program),
        _ => said(program, &why),
    })
}

/// Waits for a program and gives what it answered. One that is not done in time is stopped,
/// unless it may go on.
fn finished(
    program: &'static str,
    mut child: Child,
    wait: Duration,
    may_go_on: bool,
) -> Result<String, NotHandedOn> {
    let out = child.stdout.take().map(read_aside);
    let err = child.stderr.take().map(read_aside);
    let until = Instant::now() + wait;
    let status = loop {
        match child.try_wait().map_err(|why| said(program, &why))? {
            Some(status) => break status,
            None if Instant::now() < until => thread::sleep(Duration::from_millis(20)),
            None if may_go_on => return Ok(String::new()),
            None => {
                // It may have ended just now.
                let _ = child.kill();
                let _ = child.wait();
                return Err(NotHandedOn::NoAnswer(program));
            }
        }
    };
    let read = |from: Option<thread::JoinHandle<String>>| {
        from.and_then(|from| from.join().ok()).unwrap_or_default()
    };
    if status.success() {
        return Ok(read(out));
    }
    let why = read(err);
    let why = why.lines().next().unwrap_or_default().trim();
    let why = if why.is_empty() {
        status.to_string()
    } else {
        why.chars().take(200).collect()
    };
    Err(said(program, &why))
}

fn read_aside(from: impl Read + Send + 'static) -> thread::JoinHandle<String> {
    thread::spawn(move || {
        let mut text = Vec::new();
        // What was read so far is what there is.
        let _ = from.take(ANSWER_BYTES_MAX).read_to_end(&mut text);
        String::from_utf8_lossy(&text).into_owned()
    })
}
