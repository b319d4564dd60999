//! The shop log: who belongs to a shop, as signed entries that every tablet checks from
//! the first one on.
//!
//! A shop has members (tablets) and people. Nothing about either is ever a list that the
//! latest clock wins: it is the outcome of an append-only log. Each tablet appends to a
//! file of its own, so that two that are cut off from one another never write one file:
//! ```text
//! log/<tablet>.jsonl     one JSON object a line
//! {"body":{"format":1,"shop":"…","tablet":"…","n":2,"before":"…","seen":{…},"at_ms":…,
//!          "by":"…","deed":{…}},"person":{"key":"…","signature":"…"},"seal":{…}}
//! ```
//! - `shop` is the link of the founding line, 64 hex digits: the *shop key*. Whoever has it
//!   can check everything else. The founding line itself has none.
//! - `n` counts the file's lines from 1; `before` is the link of the line before.
//! - `seen` says up to which line the writer knew the other tablets' files, and their links.
//!   So the lines form an order of what was known when, which no clock can bend.
//! - The *link* of a line is SHA-256 over a purpose and the body's bytes. The tablet signs
//!   it (`seal`), and where a person answers for the deed, so does that person (`person`).
//! - A line is read only if it is spelled exactly as this program would spell it.
//!
//! [`Shop::of`] folds the files into one outcome that is the same on every tablet that has
//! the same lines ([`fold`](Shop::of) says in which order). A file that is cut short, or
//! differs from a copy that was checked before, is for the caller to notice: it keeps what
//! it has checked.
//!
//! After the roles and the rollback and freeze attacks of The Update Framework, and the
//! append-only logs of RFC 9162; signatures are Ed25519 (RFC 8032).

mod apply;
mod deed;
mod ends;
mod fold;
mod line;
mod proofs;
mod prove;
mod quints;
mod refused;
mod shop;

pub use deed::{Deed, JournalPlace, NewPerson, PersonKey, Role, StrangerFile, TabletCard};
pub use ends::{ENDS_BYTES_MAX, EndUnsigned, Ends, SignedEnds};
pub use fold::NotFounded;
pub use line::{Body, Line, LineFault, LogRead, read_log};
pub use proofs::{Judged, NotSigned, Proofs, Unproven, WhyNotSigned};
pub use prove::{sign_event, vouched_link};
pub use quints::{words_of_key, words_to_compare};
pub use refused::{Refused, WhyRefused};
pub use shop::{MemberKey, MemberTablet, Shop, ShopPerson};

/// Version of the log that this program writes and reads.
pub const LOG_FORMAT: u32 = 1;

/// The most people of a shop, those who have left included.
pub const PEOPLE_MAX: usize = 500;

/// The most tablets of a shop, those struck off included.
pub const TABLETS_MAX: usize = 200;

/// The longest name of a person or a tablet, in characters.
pub const NAME_CHARS_MAX: usize = 40;

/// The most journals of a tablet that a line says to stand: the latest jobs of a shop.
pub const PLACES_MAX: usize = 2_000;

/// The most files of strangers that a shop can dismiss.
pub const DISMISSED_MAX: usize = 1_000;

/// The longest line of a log, in bytes.
pub const LOG_LINE_BYTES_MAX: usize = 512 << 10;

/// The most lines of one tablet's log.
pub const LOG_LINES_MAX: usize = 20_000;
