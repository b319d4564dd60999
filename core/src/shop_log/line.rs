//! One line of the shop log: written in one spelling, and read only in that spelling.

use std::collections::BTreeMap;

use ed25519_dalek::SigningKey;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
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
    /// What is wrong with it, in words.
    pub fn decode(text: &[u8]) -> Result<Line, String> {
        if text.len() > LOG_LINE_BYTES_MAX {
            return Err(format!("more than {LOG_LINE_BYTES_MAX} bytes"));
        }
        let wire: Wire = serde_json::from_slice(text).map_err(|e| e.to_string())?;
        if wire.body.format != LOG_FORMAT {
            let found = wire.body.format;
            return Err(format!(
                "format {found}; this program knows format {LOG_FORMAT}"
            ));
        }
        let line = Line {
            link: link_of(&wire.body),
            body: wire.body,
            person: wire.person,
            seal: wire.seal,
        };
        if line.encode().strip_suffix(b"\n") != Some(text) {
            return Err("it is not spelled as it should be".to_owned());
        }
        if line.person.is_some() != line.body.by.is_some() {
            return Err("a person is named without a signature, or signs unnamed".to_owned());
        }
        seal_holds(&line.seal, line.link).map_err(|_| "the tablet's signature does not hold")?;
        if let Some(person) = &line.person {
            seal_holds(person, line.link).map_err(|_| "the person's signature does not hold")?;
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
    pub fault: Option<(usize, String)>,
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
                return Err("it is another tablet's line".to_owned());
            }
            if body.n != n || body.before != before.to_string() {
                return Err("it does not follow the line before".to_owned());
            }
            if n as usize > LOG_LINES_MAX {
                return Err(format!("more than {LOG_LINES_MAX} lines"));
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
