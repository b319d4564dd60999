//! Who this tablet is: an identity, a name, and a key that signs.

use std::fmt;
use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer, SigningKey};
use serde::{Deserialize, Serialize};
use trayzero_core::job::Seal;
use trayzero_core::journal::{Link, seal_over, to_hex};
use uuid::Uuid;
use zeroize::Zeroizing;

use super::clock::random;
use super::small_file::{self, Readers};
use super::{Stamp, StoreError};

/// The file with identity and name.
pub const TABLET_FILE: &str = "tablet.json";
/// The file with the secret key, for this user alone.
const KEY: &str = "tablet.key";

/// The longest name of a tablet, in characters.
pub const TABLET_NAME_MAX: usize = 40;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct TabletFile {
    format: u32,
    tablet: Uuid,
    name: String,
    public_key: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    was: Option<Uuid>,
}

/// This tablet. Its key is made at first start and never leaves it.
pub struct Tablet {
    id: Uuid,
    name: String,
    key: SigningKey,
    was: Option<Uuid>,
}

impl fmt::Debug for Tablet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // The key stays out of every log and crash text.
        write!(f, "Tablet({}, {:?})", self.id, self.name)
    }
}

/// A tablet whose files did not belong together any more, so that it goes on as a new one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GoesOnAsNew {
    /// The data folder.
    pub root: PathBuf,
    /// What is wrong there.
    pub why: WhyNew,
    /// Its identity from now on.
    pub tablet: Uuid,
}

/// Why a tablet is a new one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyNew {
    /// A file is missing.
    Missing(&'static str),
    /// The two do not belong together.
    Apart(&'static str, &'static str),
}

impl fmt::Display for GoesOnAsNew {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.why {
            WhyNew::Missing(file) => write!(f, "{file} is missing")?,
            WhyNew::Apart(one, other) => write!(f, "{one} and {other} do not belong together")?,
        }
        let (root, tablet) = (self.root.display(), self.tablet);
        write!(f, " in {root}: this tablet goes on as a new one, {tablet}")
    }
}

impl Tablet {
    /// Its identity.
    pub fn id(&self) -> Uuid {
        self.id
    }

    /// Its name in the shop.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The tablet that it was a copy of, if it was one.
    pub fn was(&self) -> Option<Uuid> {
        self.was
    }

    /// Its public key, 64 hex digits.
    pub fn public_key(&self) -> String {
        to_hex(self.key.verifying_key().as_bytes())
    }

    /// Its signature over a link.
    pub fn seal(&self, over: Link) -> Seal {
        seal_over(over, &self.key)
    }

    /// Its signature over bytes that say themselves what they are (Ed25519, RFC 8032).
    pub fn sign(&self, bytes: &[u8]) -> [u8; 64] {
        self.key.sign(bytes).to_bytes()
    }

    /// The tablet whose data folder this is; `None` for any other folder, and where its key
    /// cannot be read. Nothing is made or changed.
    pub fn of_folder(root: &Path) -> Option<Self> {
        let (card, key) = (read_card(root).ok()??, read_key(root).ok()??);
        let tablet = Tablet {
            id: card.tablet,
            name: card.name,
            key,
            was: card.was,
        };
        (tablet.public_key() == card.public_key).then_some(tablet)
    }

    pub(crate) fn key(&self) -> &SigningKey {
        &self.key
    }

    /// Reads who this tablet is, or makes it at the first start. Where identity and key
    /// do not belong together any more the tablet becomes a new one: its old lines stay,
    /// as another tablet's. The second value says so.
    pub(super) fn open(root: &Path, now: Stamp) -> Result<(Self, Option<GoesOnAsNew>), StoreError> {
        let card = read_card(root)?;
        let key = read_key(root)?;
        let why = match (card, key) {
            (Some(card), Some(key)) => {
                let tablet = Tablet {
                    id: card.tablet,
                    name: card.name,
                    key,
                    was: card.was,
                };
                if tablet.public_key() == card.public_key {
                    return Ok((tablet, None));
                }
                Some(WhyNew::Apart(TABLET_FILE, KEY))
            }
            (Some(_), None) => Some(WhyNew::Missing(KEY)),
            (None, Some(_)) => Some(WhyNew::Missing(TABLET_FILE)),
            (None, None) => None,
        };
        let tablet = Self::make(root, now)?;
        let note = why.map(|why| GoesOnAsNew {
            root: root.to_owned(),
            why,
            tablet: tablet.id,
        });
        Ok((tablet, note))
    }

    fn make(root: &Path, now: Stamp) -> Result<Self, StoreError> {
        let tablet = Self::new(now)?;
        tablet.write(root)?;
        Ok(tablet)
    }

    /// A tablet that nobody has seen yet.
    pub(super) fn new(now: Stamp) -> Result<Self, StoreError> {
        let secret = Zeroizing::new(random::<32>()?);
        let id = trayzero_core::journal::event_id(now.at_ms, &random()?);
        let digits = id.simple().to_string();
        Ok(Tablet {
            id,
            name: format!("Tablet {}", &digits[digits.len() - 4..]),
            key: SigningKey::from_bytes(&secret),
            was: None,
        })
    }

    /// A tablet that was a copy of this one until now.
    pub(super) fn new_from_copy(&self, now: Stamp) -> Result<Self, StoreError> {
        Ok(Tablet {
            was: Some(self.id),
            ..Self::new(now)?
        })
    }

    /// Makes it the tablet of a data folder.
    pub(super) fn write(&self, root: &Path) -> Result<(), StoreError> {
        let text = Zeroizing::new(to_hex(&self.key.to_bytes()));
        // The key first: a card without one would make another tablet at the next start.
        small_file::write(&root.join(KEY), text.as_bytes(), Readers::OwnerOnly)?;
        self.write_card(root)
    }

    /// Gives it another name; blanks at the ends go.
    ///
    /// # Errors
    /// [`StoreError::BadName`], or what the disk says.
    pub(super) fn rename(&mut self, root: &Path, name: &str) -> Result<(), StoreError> {
        let name = name.trim();
        let chars = name.chars().count();
        if chars == 0 || chars > TABLET_NAME_MAX || name.chars().any(char::is_control) {
            return Err(StoreError::BadName {
                name: name.chars().take(TABLET_NAME_MAX).collect(),
            });
        }
        let before = std::mem::replace(&mut self.name, name.to_owned());
        self.write_card(root).inspect_err(|_| self.name = before)
    }

    fn write_card(&self, root: &Path) -> Result<(), StoreError> {
        let path = root.join(TABLET_FILE);
        let card = TabletFile {
            format: 1,
            tablet: self.id,
            name: self.name.clone(),
            public_key: self.public_key(),
            was: self.was,
        };
        let mut text = serde_json::to_vec_pretty(&card).map_err(|e| StoreError::Unreadable {
            path: path.clone(),
            why: e.to_string(),
        })?;
        text.push(b'\n');
        Ok(small_file::write(&path, &text, Readers::Usual)?)
    }
}

fn read_card(root: &Path) -> Result<Option<TabletFile>, StoreError> {
    let path = root.join(TABLET_FILE);
    let Some(bytes) = small_file::read(&path)? else {
        return Ok(None);
    };
    let card: TabletFile = serde_json::from_slice(&bytes).map_err(|e| StoreError::Unreadable {
        path: path.clone(),
        why: e.to_string(),
    })?;
    let format = card.format;
    if format != 1 {
        return Err(StoreError::CardFormat { path, format });
    }
    Ok(Some(card))
}

fn read_key(root: &Path) -> Result<Option<SigningKey>, StoreError> {
    let path = root.join(KEY);
    let Some(text) = small_file::read(&path)?.map(Zeroizing::new) else {
        return Ok(None);
    };
    let digits = str::from_utf8(&text).ok();
    let bytes = digits.and_then(|digits| Link::from_hex(digits.trim_end()));
    let bytes = bytes.ok_or(StoreError::NoKey { path })?;
    let secret = Zeroizing::new(bytes.0);
    Ok(Some(SigningKey::from_bytes(&secret)))
}
