//! One line of the shop log: written in one spelling, and read only in that spelling.

use std::collections::BTreeMap;

use ed25519_dalek::SigningKey;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use thiserror::Error;
use uuid::Uuid;

use super::{Deed, LOG_FORMAT, LOG_LINE_BYTES_MAX, LOG_LINES_MAX};
use crate::job::Seal;
use crate::journal::{Link, seal_holds, seal_over};

const PURPOSE: &[u8] = b"trayzero shop log 1\n";

/// What a line says, and what its writer knew then.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Body {
    /// Version of the log.
    pub format: u32,
    /// The shop key, 64 hex digits; `None` in the founding line alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<String>,
    /// The tablet that writes.
    pub tablet: Uuid,
    /// Number of the line in its tablet's file, from 1.
    pub n: u64,
    /// Link of the line before, 64 hex digits; zeros before the first.
    pub before: String,
    /// What was known of the other tablets' files: number and link of the last line.
    pub seen: BTreeMap<Uuid, (u64, String)>,
    /// Wall clock of the tablet, milliseconds since 1970 UTC. It orders nothing.
    pub at_ms: i64,
    /// The person who answers for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// What is done.
    pub deed: Deed,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Wire {
    body: Body,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    person: Option<Seal>,
    seal: Seal,
}

/// Why a text is no line of the log, or does not stand where it should.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Error)]
pub enum LineFault {
    /// It is too long.
    #[error("more than {} bytes", LOG_LINE_BYTES_MAX)]
    TooLong,
    /// It does not read as a line, in the reader's words.
    #[error("{0}")]
    NoLine(String),
    /// A newer program has written it.
    #[error("format {0}; this program knows format {known}", known = LOG_FORMAT)]
    OtherFormat(u32),
    /// It says what a line may say, in another spelling.
    #[error("it is not spelled as it should be")]
    OtherSpelling,
    /// A name without its signature, or the other way round.
    #[error("a person is named without a signature, or signs unnamed")]
    HalfSigned,
    /// The tablet's signature is over something else.
    #[error("the tablet's signature does not hold")]
    TabletsSeal,
    /// The person's signature is over something else.
    #[error("the person's signature does not hold")]
    PersonsSeal,
    /// It stands in the file of a tablet that is not its writer.
    #[error("it is another tablet's line")]
    OthersLine,
    /// Its number or its link back is another line's.
    #[error("it does not follow the line before")]
    DoesNotFollow,
    /// One tablet's log is full.
    #[error("more than {} lines", LOG_LINES_MAX)]
    TooMany,
}

/// A line whose signatures are by the keys that it names. Whether those keys belong to
/// whom it says, the fold decides.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    body: Body,
    person: Option<Seal>,
    seal: Seal,
    link: Link,
}

impl Line {
    /// Closes a body with the tablet's signature, and a person's where one answers for it.
    pub fn close(body: Body, person: Option<&SigningKey>, tablet: &SigningKey) -> Line {
        let link = link_of(&body);
        Line {
            person: person.map(|key| seal_over(link, key)),
            seal: seal_over(link, tablet),
            link,
            body,
        }
    }

    /// What it says.
    pub fn body(&self) -> &Body {
        &self.body
    }

    /// Its link.
    pub fn link(&self) -> Link {
        self.link
    }

    /// The tablet key that signed it, 64 hex digits.
    pub fn key(&self) -> &str {
        &self.seal.key
    }

    /// The person's key that signed it, 64 hex digits.
    pub fn person_key(&self) -> Option<&str> {
        self.person.as_ref().map(|seal| seal.key.as_str())
    }

    /// The line as it stands in a file, with its newline.
    pub fn encode(&self) -> Vec<u8> {
        let wire = Wire {
            body: self.body.clone(),
            person: self.person.clone(),
            seal: self.seal.clone(),
        };
        // Nothing in it can fail to be JSON: no figure but whole ones, no key but texts.
        let mut text = serde_json::to_vec(&wire).unwrap_or_default();
        text.push(b'\n');
        text
    }

    /// Reads a line without its newline and checks its signatures.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn decode(text: &[u8]) -> Result<Line, LineFault> {
        if text.len() > LOG_LINE_BYTES_MAX {
            return Err(LineFault::TooLong);
        }
        let wire: Wire =
            serde_json::from_slice(text).map_err(|e| LineFault::NoLine(e.to_string()))?;
        if wire.body.format != LOG_FORMAT {
            return Err(LineFault::OtherFormat(wire.body.format));
        }
        let line = Line {
            link: link_of(&wire.body),
            body: wire.body,
            person: wire.person,
            seal: wire.seal,
        };
        if line.encode().strip_suffix(b"\n") != Some(text) {
            return Err(LineFault::OtherSpelling);
        }
        if line.person.is_some() != line.body.by.is_some() {
            return Err(LineFault::HalfSigned);
        }
        seal_holds(&line.seal, line.link).map_err(|_| LineFault::TabletsSeal)?;
        if let Some(person) = &line.person {
            seal_holds(person, line.link).map_err(|_| LineFault::PersonsSeal)?;
        }
        Ok(line)
    }
}

fn link_of(body: &Body) -> Link {
    let text = serde_json::to_vec(body).unwrap_or_default();
    let hash = Sha256::new()
        .chain_update(PURPOSE)
        .chain_update(&text)
        .finalize();
    Link(hash.into())
}

/// A tablet's log as far as it holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LogRead {
    /// Its lines.
    pub lines: Vec<Line>,
    /// Bytes of them.
    pub bytes: usize,
    /// The line after them that does not hold, counted from 1, and why. Bytes without a
    /// newline at the end are a line that is still being written, and no fault.
    pub fault: Option<(usize, LineFault)>,
}

/// Reads a tablet's log after lines that are known.
pub fn read_log(text: &[u8], tablet: Uuid, known: &[Line]) -> LogRead {
    let mut read = LogRead::default();
    let mut before = known.last().map_or(Link::BEFORE_ALL, Line::link);
    let mut n = known.len() as u64;
    for line in text.split_inclusive(|b| *b == b'\n') {
        let Some(whole) = line.strip_suffix(b"\n") else {
            break;
        };
        n += 1;
        let decoded = Line::decode(whole).and_then(|line| {
            let body = line.body();
            if body.tablet != tablet {
                return Err(LineFault::OthersLine);
            }
            if body.n != n || body.before != before.to_string() {
                return Err(LineFault::DoesNotFollow);
            }
            if n as usize > LOG_LINES_MAX {
                return Err(LineFault::TooMany);
            }
            Ok(line)
        });
        match decoded {
            Ok(decoded) => {
                before = decoded.link();
                read.lines.push(decoded);
                read.bytes += line.len();
            }
            Err(why) => {
                read.fault = Some((n as usize, why));
                break;
            }
        }
    }
    read
}
