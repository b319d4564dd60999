//! The journal: what the screen showed as done, on disk, line by line.
//!
//! One folder a job, one file a tablet: `jobs/<job>/<tablet>.jsonl`, both names
//! lower-case UUIDs with hyphens. Only its own tablet appends to a file, and nothing
//! written is ever changed.
//!
//! # The file
//! Every line is one JSON object in UTF-8 and ends with a newline. The first is the
//! header, the others are events:
//! ```text
//! {"format":1,"job":"<uuid>","tablet":"<uuid>","link":"<64 hex digits>"}
//! {"n":1,"id":"<uuid>","at":"2026-11-25T08:03:07.120+01:00","clock":[1796022187120,0],"who":"…","event":{…},"link":"…"}
//! ```
//! - `n` counts the events of the file from 1, without a gap.
//! - `at` is the tablet's wall clock (RFC 3339, with its offset).
//! - `clock` is the hybrid logical clock ([`Hlc`]): milliseconds and a counter. It
//!   rises strictly from line to line, whatever the wall clock does.
//! - `link` closes the line. The line's *body* is its text from the opening brace up
//!   to, and without, the `,"link":"`; the rest is always 75 bytes. The link is SHA-256
//!   over the 32 raw bytes of the link before (32 zero bytes before the header) and
//!   then the bytes of the body as they stand in the file, in lower-case hex. So a check
//!   needs no second serialisation, and every byte of the file is covered.
//!
//! # Versions
//! The header's `format` says which version wrote the lines after it; this program
//! begins with [`FIRST_FORMAT`], and goes on with a higher one from the first line on that
//! needs it: 2 has `after`, the tablet and the identity of an event that a line was made
//! after although its clock does not say so ([`merge`]); 3 has pictures; 4 has `paper`, the
//! event that opened a batch of lines that were done on paper and entered later; 5 has what was seen after the vehicle left. A program that goes on with a file of an older format puts another
//! header line with the higher number first. Every format keeps the names and meanings
//! of `n`, `id`, `at`, `clock`, `who`, `event` and `link`; a reader that meets a higher
//! number counts the events it does not know ([`JournalRead::unknown`]), leaves fields it
//! does not know alone, and never writes to the file.
//!
//! # What can be wrong with a file
//! - **Torn**: bytes after the last newline. A line is acknowledged only after its
//!   newline is on disk, so such bytes never were. Its own tablet moves them to
//!   `<tablet>.torn` when it opens the file for writing ([`Torn`]).
//! - **Faulty**: anything else that does not hold ([`JournalFault`]). The lines before are good,
//!   nothing after is trusted, and the file is read only from then on.
//! # Examples
//! What is written is read again; a byte that was changed is found, with its line.
//! ```
//! use trayzero_core::job::{Entry, Event, Person};
//! use trayzero_core::journal::{Limits, Writer, journal_path, read_journal};
//! use uuid::Uuid;
//!
//! let data = tempfile::tempdir()?;
//! let (job, tablet) = (Uuid::from_u128(1), Uuid::from_u128(2));
//! let mut writer = Writer::open(data.path(), job, tablet)?.writer;
//! let entry = Entry {
//!     id: Uuid::parse_str("019cd7a8-8d80-7000-8000-000000000001")?,
//!     tablet,
//!     at_ms: 1_796_000_000_000,
//!     offset_min: 60,
//!     clock: (1_796_000_000_000, 0),
//!     who: Person::new("Ada"),
//!     event: Event::Noted { text: "oil is off".into() },
//! };
//! writer.append(std::slice::from_ref(&entry))?;
//! drop(writer);
//!
//! let file = journal_path(data.path(), job, tablet);
//! let read = read_journal(&file, job, tablet, Limits::OWN)?;
//! assert_eq!(read.entries, [entry]);
//! assert!(read.fault.is_none());
//!
//! let changed = std::fs::read_to_string(&file)?.replace("oil is off", "oil is on!");
//! std::fs::write(&file, changed)?;
//! let read = read_journal(&file, job, tablet, Limits::OWN)?;
//! assert!(read.entries.is_empty());
//! assert_eq!(read.fault.map(|fault| fault.line), Some(2));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod check;
mod clock;
mod cover;
mod disk;
mod end_seal;
mod fault;
mod folder;
mod journal_read;
mod link;
mod members;
mod merge;
mod reader;
mod scan;
mod seal;
mod summary;
mod time;
mod torn;
mod why;
mod wire;
mod writer;

pub use check::{CheckReport, Checked, check_folder, check_folder_of};
pub use clock::{
    CLOCK_AHEAD_MS_MAX, CLOCK_MS_MAX, FOREIGN_CLOCK_MS_MAX, Hlc, event_id, passed_min, passed_ms,
};
pub use cover::{Cover, Covered, WrongSeal};
pub use disk::{Disk, FileDisk, FileState, sync_folder};
pub use end_seal::EndSeal;
pub use fault::{FileFault, JournalError, JournalFault};
pub use folder::{
    JobFolder, JournalFile, Listing, find_job, job_folders, job_path, journal_path, list_jobs,
    list_jobs_but, pictures_path,
};
pub use journal_read::{JournalRead, read_journal};
pub use link::{Link, from_hex, sha256, to_hex};
pub use members::Members;
pub use merge::{Merged, merge, order};
pub use reader::{Limits, Mark, ReadEnd, Reader, link_at, open_plain, read_plain};
pub use seal::{SealReport, seal_holds, seal_over};
pub use summary::{read_summary, write_summary};
pub use time::{TimeError, format_rfc3339, parse_rfc3339};
pub use torn::Torn;
pub use why::{Complaint, JournalWhy};
pub use writer::{Opened, Writer};

/// The newest version of the format that this program writes.
pub const FORMAT: u32 = 5;

/// The version that a journal begins with: older programs read all of it.
pub const FIRST_FORMAT: u32 = 1;

/// The longest line, and the longest batch of lines written at once, in bytes.
pub const LINE_BYTES_MAX: usize = 1 << 20;

/// The largest journal of an own tablet, in bytes.
pub const FILE_BYTES_MAX: u64 = 512 << 20;
