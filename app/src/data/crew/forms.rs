//! What codes are tried on: the locked keys of the people, and the one-way forms of codes
//! of the version before.
//!
//! `keys.json` in the data folder, for this user alone and sealed by the tablet. It also
//! counts the tries of codes, so that an old file of tries put back is noticed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use trayzero_core::shop_log::Shop;

use super::locked_key::LockedKey;
use super::{CodeError, CrewFault, WhyFaulty};
use crate::data::store::Tablet;
use crate::data::store::sealed;
use crate::data::store::small_file::Readers;

/// The file's name in the data folder.
pub const FILE: &str = "keys.json";
const PURPOSE: &str = "trayzero keys 1";

/// Locked keys by person, as they go to another tablet.
pub type LockedKeys = BTreeMap<String, LockedKey>;

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FormsFile {
    keys: LockedKeys,
    #[serde(default)]
    old_codes: BTreeMap<String, String>,
}

#[derive(Debug)]
pub(super) struct Forms {
    path: PathBuf,
    file: FormsFile,
}

impl Forms {
    /// Reads what codes are tried on.
    pub fn read(root: &Path, tablet: &Tablet) -> Result<Self, CrewFault> {
        let path = root.join(FILE);
        let file = match sealed::read::<FormsFile>(&path, PURPOSE)? {
            Some(read) if read.key == tablet.public_key() => read.payload,
            Some(_) => return Err(CrewFault::of(&path, WhyFaulty::OtherSeal)),
            None => FormsFile::default(),
        };
        Ok(Self { path, file })
    }

    /// Puts a restored file under this tablet's own seal.
    pub fn reseal(root: &Path, before: &str, tablet: &Tablet) -> Result<(), CrewFault> {
        let path = root.join(FILE);
        let read = sealed::read::<FormsFile>(&path, PURPOSE)?;
        if let Some(read) = read.filter(|read| read.key == before) {
            sealed::write_for(Readers::OwnerOnly, &path, PURPOSE, &read.payload, tablet)?;
        }
        Ok(())
    }

    /// The locked form of a person's key, if it is the one that the shop log names.
    pub fn key_of(&self, name: &str, shop: &Shop) -> Option<&LockedKey> {
        let lock = shop.people.get(name)?.lock.as_ref()?;
        self.file
            .keys
            .get(name)
            .filter(|form| form.digest() == *lock)
    }

    /// Every form that belongs to a key of the shop now.
    pub fn current(&self, shop: &Shop) -> LockedKeys {
        let names = self.file.keys.keys();
        names
            .filter_map(|name| Some((name.clone(), self.key_of(name, shop)?.clone())))
            .collect()
    }

    /// The one-way form of a code of the version before.
    pub fn old_code_of(&self, name: &str) -> Option<&str> {
        self.file.old_codes.get(name).map(String::as_str)
    }

    /// Keeps a person's locked key; an old code is of no use any more.
    pub fn keep(&mut self, name: &str, form: LockedKey, tablet: &Tablet) -> Result<(), CodeError> {
        let mut file = self.file.clone();
        file.old_codes.remove(name);
        file.keys.insert(name.to_owned(), form);
        self.write(file, tablet)
    }

    /// Keeps the one-way forms of the version before.
    pub fn keep_old_codes(
        &mut self,
        codes: BTreeMap<String, String>,
        tablet: &Tablet,
    ) -> Result<(), CodeError> {
        let mut file = self.file.clone();
        file.old_codes = codes;
        self.write(file, tablet)
    }

    /// Takes in forms that came in a box, as far as they are the ones that the log names.
    pub fn take_in(
        &mut self,
        forms: &[(String, LockedKey)],
        shop: &Shop,
        tablet: &Tablet,
    ) -> Result<bool, CodeError> {
        let mut file = self.file.clone();
        for (name, form) in forms {
            let lock = shop.people.get(name).and_then(|p| p.lock.as_ref());
            if lock.is_some_and(|lock| form.digest() == *lock) {
                file.old_codes.remove(name);
                file.keys.insert(name.clone(), form.clone());
            }
        }
        if file == self.file {
            return Ok(false);
        }
        self.write(file, tablet)?;
        Ok(true)
    }

    fn write(&mut self, file: FormsFile, tablet: &Tablet) -> Result<(), CodeError> {
        sealed::write_for(Readers::OwnerOnly, &self.path, PURPOSE, &file, tablet)?;
        self.file = file;
        Ok(())
    }
}
