//! The shop log in the data folder: this tablet's own lines, and copies of the others' as
//! far as they were checked. A copy never gets shorter, so a shop folder that is set back
//! or frozen is noticed.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use ed25519_dalek::SigningKey;
use serde::{Deserialize, Serialize};
use trayzero_core::journal::{Link, read_plain};
use trayzero_core::shop_log::{Body, Deed, LOG_FORMAT, Line, NotFounded, Shop, read_log};
use uuid::Uuid;

use super::{CodeError, CrewFault, WhyFaulty};
use crate::data::store::small_file;
use crate::data::store::{Doing, FileError, Stamp, Tablet, sealed};

/// The folder of the log, in a data folder and in a shop folder.
pub const LOG_FOLDER: &str = "log";
const PIN: &str = "shop.json";
const PIN_PURPOSE: &str = "trayzero shop 1";
/// The largest log of one tablet, in bytes.
pub const LOG_BYTES_MAX: u64 = 16 << 20;
/// The most names in a folder of logs that are looked at.
const NAMES_MAX: usize = 20_000;
/// The most faults that are told of one folder.
const FAULTS_MAX: usize = 100;

/// Lines by tablet.
pub type LogLines = BTreeMap<Uuid, Vec<Line>>;

/// Which shop this tablet belongs to.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LogPin {
    shop_key: String,
}

/// The log of a data folder.
#[derive(Clone, Debug, Default)]
pub struct LogFiles {
    folder: PathBuf,
    lines: LogLines,
    shop: Option<Shop>,
}

/// The path of a tablet's log.
pub fn log_path(folder: &Path, tablet: Uuid) -> PathBuf {
    folder.join(LOG_FOLDER).join(format!("{tablet}.jsonl"))
}

/// The logs of a folder.
#[derive(Debug, Default)]
pub struct Logs {
    /// By tablet, with their bytes.
    pub bytes: BTreeMap<Uuid, Vec<u8>>,
    /// What lies among them and is no file, or is more than is read.
    pub faults: Vec<CrewFault>,
}

/// How much is read of logs of tablets that nobody knows, all of them together.
#[derive(Clone, Copy, Debug)]
pub struct Most {
    /// Files.
    pub files: usize,
    /// Bytes.
    pub bytes: u64,
}

impl Most {
    /// All that lies in a folder into which nobody else writes.
    pub const ALL: Most = Most {
        files: usize::MAX,
        bytes: u64::MAX,
    };
}

/// Reads the logs of a folder: those of the tablets that are `known`, whatever else lies
/// there, and of the others the shortest first, up to a bound. So a folder that somebody has
/// filled hides no log that is known, and takes no more memory. What is no log is left alone.
///
/// # Errors
/// What the disk says.
pub fn logs_in(folder: &Path, known: &BTreeSet<Uuid>, most: Most) -> io::Result<Logs> {
    let mut logs = Logs::default();
    let names = match fs::read_dir(folder.join(LOG_FOLDER)) {
        Ok(names) => names,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(logs),
        Err(e) => return Err(e),
    };
    for tablet in known {
        if let Some(bytes) = read_log_file(&log_path(folder, *tablet))? {
            logs.bytes.insert(*tablet, bytes);
        }
    }
    let mut others = Vec::new();
    for name in names.take(NAMES_MAX) {
        let path = name?.path();
        let lies_there = path.symlink_metadata()?;
        if !lies_there.is_file() {
            logs.faults.push(CrewFault::of(&path, WhyFaulty::NoFile));
            continue;
        }
        let stem = path.file_stem().and_then(|stem| stem.to_str());
        let tablet: Option<Uuid> = stem.and_then(|stem| stem.parse().ok());
        let is_log = path.extension().is_some_and(|e| e == "jsonl");
        if let Some(tablet) = tablet.filter(|id| is_log && !known.contains(id)) {
            others.push((lies_there.len().min(LOG_BYTES_MAX), tablet));
        }
    }
    others.sort_unstable();
    let (all, mut bytes) = (others.len(), 0);
    let are_read = |(length, _): &(u64, Uuid)| {
        bytes += length;
        bytes <= most.bytes
    };
    let read: Vec<_> = others
        .into_iter()
        .take(most.files)
        .take_while(are_read)
        .collect();
    if read.len() < all {
        let path = folder.join(LOG_FOLDER);
        let why = WhyFaulty::TooMany(all, read.len());
        logs.faults.push(CrewFault::of(&path, why));
    }
    for (length, tablet) in read {
        // It may have grown since.
        if let Some(mut bytes) = read_log_file(&log_path(folder, tablet))? {
            bytes.truncate(length as usize);
            logs.bytes.insert(tablet, bytes);
        }
    }
    logs.faults.truncate(FAULTS_MAX);
    Ok(logs)
}

/// A log's bytes as far as they count; `None` where there is no plain file.
fn read_log_file(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match read_plain(path, 0, LOG_BYTES_MAX) {
        Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::InvalidInput) => Ok(None),
        read => read.map(Some),
    }
}

impl LogFiles {
    /// Reads the log of a data folder and checks it from its first line on. A folder that
    /// belongs to no shop has none, and that is no fault.
    ///
    /// # Errors
    /// What is wrong, naming the file.
    pub fn read(root: &Path, tablet: &Tablet) -> Result<Self, CrewFault> {
        let mut files = Self {
            folder: root.to_owned(),
            ..Self::default()
        };
        let pin_path = root.join(LOG_FOLDER).join(PIN);
        let pin = sealed::read::<LogPin>(&pin_path, PIN_PURPOSE)?;
        let folder = root.join(LOG_FOLDER);
        let logs = logs_in(root, &BTreeSet::new(), Most::ALL)
            .map_err(|e| FileError::of(&folder, Doing::Reading, e))?
            .bytes;
        let Some(pin) = pin else {
            let is_empty = logs.is_empty();
            return is_empty
                .then_some(files)
                .ok_or_else(|| CrewFault::of(&pin_path, WhyFaulty::Missing));
        };
        if pin.key != tablet.public_key() {
            return Err(CrewFault::of(&pin_path, WhyFaulty::OtherSeal));
        }
        for (id, bytes) in logs {
            let read = read_log(&bytes, id, &[]);
            let path = log_path(root, id);
            if let Some(fault) = read.fault {
                return Err(CrewFault::of_line(&path, fault));
            }
            if read.bytes < bytes.len() {
                // A write that was cut off. It was never told to anybody.
                let cut = OpenOptions::new().write(true).open(&path);
                cut.and_then(|file| file.set_len(read.bytes as u64))
                    .map_err(|e| FileError::of(&path, Doing::Writing, e))?;
            }
            files.lines.insert(id, read.lines);
        }
        let key = Link::from_hex(&pin.payload.shop_key);
        let key = key.ok_or_else(|| CrewFault::of(&pin_path, WhyFaulty::NoShop))?;
        files.shop = Some(files.shop_of(key, &files.lines)?);
        Ok(files)
    }

    /// The shop as the log has it; `None` where the tablet belongs to none yet.
    pub fn shop(&self) -> Option<&Shop> {
        self.shop.as_ref()
    }

    /// Every line that was checked.
    pub fn lines(&self) -> &LogLines {
        &self.lines
    }

    /// Writes an own line, durably, if it says what its writer has the right to.
    ///
    /// # Errors
    /// Why it has not, or what the disk says; nothing has changed then.
    pub fn append(
        &mut self,
        deed: Deed,
        by: Option<(&str, &SigningKey)>,
        tablet: &Tablet,
        now: Stamp,
    ) -> Result<(), CodeError> {
        let line = self.next_line(deed, by, tablet, now);
        if let Some(shop) = &self.shop {
            shop.would_take(&line).map_err(CodeError::Refused)?;
        }
        if self.shop.is_none() {
            // A founding that does not hold would close the crew for good.
            let founding = LogLines::from([(tablet.id(), vec![line.clone()])]);
            self.shop_of(line.link(), &founding)?;
        }
        let own = self.lines.get(&tablet.id()).map_or(0, Vec::len);
        self.keep(tablet.id(), own, std::slice::from_ref(&line))?;
        if self.shop.is_none() {
            self.pin(line.link(), tablet)?;
        }
        Ok(self.fold(line.link())?)
    }

    fn next_line(
        &self,
        deed: Deed,
        by: Option<(&str, &SigningKey)>,
        tablet: &Tablet,
        now: Stamp,
    ) -> Line {
        let own = self.lines.get(&tablet.id());
        let last = own.and_then(|lines| lines.last());
        let others = self.lines.iter().filter(|(id, _)| **id != tablet.id());
        let seen = others.filter_map(|(id, lines)| {
            let last = lines.last()?;
            Some((*id, (last.body().n, last.link().to_string())))
        });
        let body = Body {
            format: LOG_FORMAT,
            shop: self.shop.as_ref().map(|shop| shop.key.to_string()),
            tablet: tablet.id(),
            n: own.map_or(0, Vec::len) as u64 + 1,
            before: last.map_or(Link::BEFORE_ALL, Line::link).to_string(),
            seen: seen.collect(),
            at_ms: now.at_ms,
            by: by.map(|(name, _)| name.to_owned()),
            deed,
        };
        Line::close(body, by.map(|(_, key)| key), tablet.key())
    }

    /// Takes lines of other tablets in, as far as they are part of the log. Gives whether
    /// anything is new.
    ///
    /// # Errors
    /// What the disk says.
    pub fn take_in(&mut self, new: &LogLines) -> Result<bool, CrewFault> {
        let Some(key) = self.shop.as_ref().map(|shop| shop.key) else {
            return Ok(false);
        };
        self.take_in_of(key, new)
    }

    fn take_in_of(&mut self, key: Link, new: &LogLines) -> Result<bool, CrewFault> {
        let mut all = self.lines.clone();
        for (tablet, lines) in new {
            let known = all.entry(*tablet).or_default();
            for line in lines {
                let follows = line.body().n == known.len() as u64 + 1
                    && line.body().before
                        == known
                            .last()
                            .map_or(Link::BEFORE_ALL, Line::link)
                            .to_string();
                if follows {
                    known.push(line.clone());
                }
            }
        }
        let shop = self.shop_of(key, &all)?;
        let mut is_new = false;
        for (tablet, (n, _)) in &shop.taken {
            let known = self.lines.get(tablet).map_or(0, Vec::len);
            let lines = all.get(tablet).map_or(&[][..], Vec::as_slice);
            if let Some(fresh) = lines.get(known..*n as usize).filter(|l| !l.is_empty()) {
                self.keep(*tablet, known, fresh)?;
                is_new = true;
            }
        }
        if is_new {
            self.fold(key)?;
        }
        Ok(is_new)
    }

    /// Joins the shop with this key, with the lines that lie in the shop folder.
    ///
    /// # Errors
    /// That the lines are not that shop's, or what the disk says.
    pub fn join(&mut self, key: Link, lines: &LogLines, tablet: &Tablet) -> Result<(), CrewFault> {
        self.shop_of(key, lines)?;
        if self.shop.is_some() {
            set_aside(&self.folder)?;
            *self = Self {
                folder: std::mem::take(&mut self.folder),
                ..Self::default()
            };
        }
        self.take_in_of(key, lines)?;
        self.pin(key, tablet)?;
        self.fold(key)
    }

    fn shop_of(&self, key: Link, lines: &LogLines) -> Result<Shop, CrewFault> {
        let not_founded = |NotFounded| {
            let folder = self.folder.join(LOG_FOLDER);
            CrewFault::of(&folder, WhyFaulty::NotFounded)
        };
        Shop::of(key, lines).map_err(not_founded)
    }

    fn pin(&self, key: Link, tablet: &Tablet) -> Result<(), CrewFault> {
        let pin = LogPin {
            shop_key: key.to_string(),
        };
        let path = self.folder.join(LOG_FOLDER).join(PIN);
        Ok(sealed::write(&path, PIN_PURPOSE, &pin, tablet)?)
    }

    /// Puts the pin of a restored log under this tablet's own seal.
    ///
    /// # Errors
    /// What the disk says.
    pub fn reseal(root: &Path, before: &str, tablet: &Tablet) -> Result<(), CrewFault> {
        let path = root.join(LOG_FOLDER).join(PIN);
        let read = sealed::read::<LogPin>(&path, PIN_PURPOSE)?;
        if let Some(read) = read.filter(|read| read.key == before) {
            sealed::write(&path, PIN_PURPOSE, &read.payload, tablet)?;
        }
        Ok(())
    }

    fn keep(&mut self, tablet: Uuid, known: usize, new: &[Line]) -> Result<(), CrewFault> {
        let path = log_path(&self.folder, tablet);
        let failed = |e: io::Error| FileError::of(&path, Doing::Writing, e);
        fs::create_dir_all(self.folder.join(LOG_FOLDER)).map_err(failed)?;
        let text: Vec<u8> = new.iter().flat_map(Line::encode).collect();
        let mut file = OpenOptions::new()
            .append(true)
            .create(true)
            .open(&path)
            .map_err(failed)?;
        file.write_all(&text).map_err(failed)?;
        file.sync_all().map_err(failed)?;
        if known == 0 {
            small_file::sync_parent(&path).map_err(failed)?;
        }
        self.lines.entry(tablet).or_default().extend_from_slice(new);
        Ok(())
    }

    fn fold(&mut self, founding: Link) -> Result<(), CrewFault> {
        let key = self.shop.as_ref().map_or(founding, |shop| shop.key);
        self.shop = Some(self.shop_of(key, &self.lines)?);
        Ok(())
    }
}

/// Sets a log aside as `log.set-aside-N`.
///
/// # Errors
/// What the disk says.
pub fn set_aside(root: &Path) -> Result<(), CrewFault> {
    let log = root.join(LOG_FOLDER);
    if !log.exists() {
        return Ok(());
    }
    let free = (1..10_000)
        .map(|n| root.join(format!("{LOG_FOLDER}.set-aside-{n}")))
        .find(|path| !path.exists())
        .ok_or_else(|| CrewFault::of(&log, WhyFaulty::NoFreeName))?;
    Ok(fs::rename(&log, &free).map_err(|e| FileError::of(&log, Doing::SettingAside, e))?)
}
