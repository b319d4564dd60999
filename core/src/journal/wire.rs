//! The lines as they stand in the file, apart from the types the core works with.

use std::borrow::Cow;
use std::cell::Cell;
use std::io;

use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};
use serde_json::ser::Formatter;
use serde_json::{Map, Serializer, Value};
use uuid::Uuid;

use super::clock::{CLOCK_MS_MAX, Hlc};
use super::link::{Link, close_line};
use super::time::write_own;
use super::{FIRST_FORMAT, FORMAT, JournalWhy, parse_rfc3339};
use crate::job::{Entry, Event};

/// How a header's body begins; an event's begins with its number.
pub(super) const HEADER_START: &[u8] = b"{\"format\":";

/// The fields of an event line, in order.
const FIELDS: [&str; 7] = ["n", "id", "at", "clock", "who", "event", "link"];

/// A field of later formats: the tablet and the identity of the event before.
const AFTER: &str = "after";
/// The format that it begins with.
const AFTER_FORMAT: u32 = 2;

/// A field of later formats still: the event that opened the batch from paper.
const PAPER: &str = "paper";
/// The format that it begins with.
const PAPER_FORMAT: u32 = 4;

/// The format that an event begins with, made after another or not, from paper or not.
pub(super) fn format_of(event: &Event, is_after: bool, is_from_paper: bool) -> u32 {
    match event {
        _ if is_from_paper => PAPER_FORMAT,
        Event::EnteredFromPaper(_) => PAPER_FORMAT,
        Event::FollowedUp { .. } => 5,
        Event::PictureAdded(_) => 3,
        _ if is_after => AFTER_FORMAT,
        _ => FIRST_FORMAT,
    }
}

/// What is wrong with a line: the field, and why.
pub(super) type Blame = (String, JournalWhy);

/// The header line.
#[derive(Serialize, Deserialize)]
pub(super) struct Header {
    pub format: u32,
    pub job: Uuid,
    pub tablet: Uuid,
}

/// An event line, as written.
#[derive(Serialize)]
struct LineOut<'a> {
    n: u64,
    id: Uuid,
    at: &'a str,
    clock: (u64, u32),
    who: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    after: Option<&'a (Uuid, Uuid)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    paper: Option<Uuid>,
    event: &'a Event,
}

/// An event line, as read. In format 1 there is no `after`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LineIn<'a> {
    n: u64,
    id: Uuid,
    #[serde(borrow)]
    at: Cow<'a, str>,
    clock: (u64, u32),
    #[serde(borrow)]
    who: Cow<'a, str>,
    #[serde(default)]
    after: Option<Box<(Uuid, Uuid)>>,
    #[serde(default)]
    paper: Option<Uuid>,
    event: Event,
    #[serde(rename = "link")]
    _link: IgnoredAny,
}

/// An event line of a newer format: what every format keeps.
#[derive(Deserialize)]
struct NewerLineIn<'a> {
    n: u64,
    id: Uuid,
    #[serde(borrow)]
    at: Cow<'a, str>,
    clock: (u64, u32),
    #[serde(borrow)]
    who: Cow<'a, str>,
    #[serde(default)]
    after: Option<Box<(Uuid, Uuid)>>,
    #[serde(default)]
    paper: Option<Uuid>,
    event: Value,
}

/// An event line, checked by itself. `event` is `None` where a newer program wrote one
/// that this program does not know.
#[derive(Debug, PartialEq)]
pub(super) struct WireLine<'a> {
    pub n: u64,
    pub id: Uuid,
    pub at_ms: i64,
    pub offset_min: i16,
    pub clock: Hlc,
    pub who: Cow<'a, str>,
    pub after: Option<Box<(Uuid, Uuid)>>,
    pub paper: Option<Uuid>,
    pub event: Option<Event>,
}

impl WireLine<'_> {
    /// Whether this line says what the entry says.
    fn says(&self, n: u64, entry: &Entry) -> bool {
        self.n == n
            && self.id == entry.id
            && (self.at_ms, self.offset_min) == (entry.at_ms, entry.offset_min)
            && self.clock.pair() == entry.clock
            && *self.who == *entry.who.0
            && self.after == entry.after
            && self.paper == entry.paper
            && self.event.as_ref() == Some(&entry.event)
    }
}

/// Writes the header line and returns its link.
pub(super) fn encode_header(
    text: &mut Vec<u8>,
    header: &Header,
    before: Link,
) -> Result<Link, String> {
    let start = text.len();
    serde_json::to_writer(&mut *text, header).map_err(|e| e.to_string())?;
    Ok(close_line(text, start, before))
}

/// Compact JSON that tells whether there is a `null` in it. A figure that is no number
/// becomes one, so that what has none holds every figure as it was.
struct NullNoting<'a>(&'a Cell<bool>);

impl Formatter for NullNoting<'_> {
    fn write_null<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.set(true);
        writer.write_all(b"null")
    }
}

/// Writes the line of an entry after `before` and returns its link.
///
/// What JSON cannot hold (a figure that is not a number, a year that RFC 3339 has no digits
/// for) is found before it is on disk rather than after. A line with a `null` is read back
/// for that; no usual tap has one.
pub(super) fn encode(
    text: &mut Vec<u8>,
    n: u64,
    entry: &Entry,
    before: Link,
) -> Result<Link, (&'static str, String)> {
    let start = text.len();
    let at = write_own(entry.at_ms, entry.offset_min).map_err(|e| ("at", e.to_string()))?;
    let line = LineOut {
        n,
        id: entry.id,
        at: str::from_utf8(&at).map_err(|e| ("at", e.to_string()))?,
        clock: entry.clock,
        who: &entry.who.0,
        after: entry.after.as_deref(),
        paper: entry.paper,
        event: &entry.event,
    };
    let has_null = Cell::new(false);
    line.serialize(&mut Serializer::with_formatter(
        &mut *text,
        NullNoting(&has_null),
    ))
    .map_err(|e| ("event", e.to_string()))?;
    if entry.clock.0 > CLOCK_MS_MAX {
        return Err(("clock", JournalWhy::Past9999(entry.clock.0).to_string()));
    }
    let link = close_line(text, start, before);
    if !has_null.get() {
        return Ok(link);
    }
    match decode(&text[start..text.len() - 1], FORMAT) {
        Ok(line) if line.says(n, entry) => Ok(link),
        Ok(_) => Err(("event", "it does not read back as it was".to_owned())),
        Err((_, why)) => Err(("event", format!("it does not read back: {why}"))),
    }
}

/// Reads a header line.
pub(super) fn decode_header(line: &[u8]) -> Result<Header, Blame> {
    let header: Header = serde_json::from_slice(line)
        .map_err(|e| (String::new(), JournalWhy::NoHeader(e.to_string())))?;
    if header.format == 0 {
        return Err(("format".to_owned(), JournalWhy::NoFormat));
    }
    Ok(header)
}

/// Reads an event line of a format that this program writes.
pub(super) fn decode(line: &[u8], format: u32) -> Result<WireLine<'_>, Blame> {
    let read: LineIn = serde_json::from_slice(line).map_err(|e| blame(line, &e))?;
    if read.after.is_some() && format < AFTER_FORMAT {
        return Err((AFTER.to_owned(), JournalWhy::UnknownField));
    }
    if read.paper.is_some() && format < PAPER_FORMAT {
        return Err((PAPER.to_owned(), JournalWhy::UnknownField));
    }
    let event = Some(read.event);
    checked((read.n, read.id, read.clock), &read.at, read.who, event).map(|line| WireLine {
        after: read.after,
        paper: read.paper,
        ..line
    })
}

/// Reads an event line of a newer format as far as this program knows it.
pub(super) fn decode_newer(line: &[u8]) -> Result<WireLine<'_>, Blame> {
    let read: NewerLineIn = serde_json::from_slice(line).map_err(|e| blame(line, &e))?;
    let event = serde_json::from_value(read.event).ok();
    checked((read.n, read.id, read.clock), &read.at, read.who, event).map(|line| WireLine {
        after: read.after,
        paper: read.paper,
        ..line
    })
}

fn checked<'a>(
    (n, id, clock): (u64, Uuid, (u64, u32)),
    at: &str,
    who: Cow<'a, str>,
    event: Option<Event>,
) -> Result<WireLine<'a>, Blame> {
    let (at_ms, offset_min) = parse_rfc3339(at).map_err(|e| ("at".to_owned(), e.into()))?;
    if clock.0 > CLOCK_MS_MAX {
        return Err(("clock".to_owned(), JournalWhy::Past9999(clock.0)));
    }
    Ok(WireLine {
        n,
        id,
        at_ms,
        offset_min,
        clock: clock.into(),
        who,
        after: None,
        paper: None,
        event,
    })
}

/// Names the field that keeps a line from being read.
fn blame(line: &[u8], whole: &serde_json::Error) -> Blame {
    let Ok(fields) = serde_json::from_slice::<Map<String, Value>>(line) else {
        return (String::new(), JournalWhy::NoJson(whole.to_string()));
    };
    let bad = |field: &str| -> Option<JournalWhy> {
        let Some(value) = fields.get(field) else {
            return Some(JournalWhy::Missing);
        };
        let value = value.clone();
        let read = match field {
            "n" => serde_json::from_value::<u64>(value).map(drop),
            "id" => serde_json::from_value::<Uuid>(value).map(drop),
            "clock" => serde_json::from_value::<(u64, u32)>(value).map(drop),
            "event" => serde_json::from_value::<Event>(value).map(drop),
            _ => serde_json::from_value::<String>(value).map(drop),
        };
        read.err().map(|e| shortened(&e))
    };
    if let Some(blame) = FIELDS.iter().find_map(|f| Some(((*f).to_owned(), bad(f)?))) {
        return blame;
    }
    if let Some(after) = fields.get(AFTER)
        && let Err(e) = serde_json::from_value::<Option<(Uuid, Uuid)>>(after.clone())
    {
        return (AFTER.to_owned(), shortened(&e));
    }
    if let Some(paper) = fields.get(PAPER)
        && let Err(e) = serde_json::from_value::<Option<Uuid>>(paper.clone())
    {
        return (PAPER.to_owned(), shortened(&e));
    }
    let is_known = |name: &str| [AFTER, PAPER].contains(&name) || FIELDS.contains(&name);
    match fields.keys().find(|k| !is_known(k)) {
        Some(field) => (field.chars().take(40).collect(), JournalWhy::UnknownField),
        None => (String::new(), shortened(whole)),
    }
}

/// An error without the list of everything that would have been right.
fn shortened(error: &serde_json::Error) -> JournalWhy {
    let why = error.to_string();
    let first = why.split(", expected one of").next().unwrap_or(&why);
    JournalWhy::Json(first.chars().take(200).collect())
}
