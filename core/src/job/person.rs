//! Who works, who signs, and which tablet.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A person of the crew, by the name the crew list has.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Person(pub Arc<str>);

impl Person {
    /// A person of that name.
    pub fn new(name: &str) -> Self {
        Self(Arc::from(name))
    }
}

impl fmt::Display for Person {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A signature by code: who, and the one entering of the code that it rests on.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignOff {
    /// Who entered the code.
    pub person: Person,
    /// Identity of that one entering; it counts for one signature only.
    pub entering: Uuid,
    /// The person's own signature over the event (Ed25519), 128 hex digits; see
    /// [`Shop::proves`](crate::shop_log::Shop::proves). Lines from before people had keys
    /// have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<Arc<str>>,
}

impl SignOff {
    /// A sign-off that the person's own signature is still to be put on.
    pub fn new(person: Person, entering: Uuid) -> Self {
        Self {
            person,
            entering,
            proof: None,
        }
    }
}

/// A tablet's signature over the link before this line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// The tablet's public key (ed25519), 64 hex digits.
    pub key: String,
    /// Signature over the 32 bytes of the previous link, 128 hex digits.
    pub signature: String,
}
