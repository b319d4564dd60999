//! A shop that is looked at from outside: by the command line, and by the board of an office.
//! Nothing is written where its tablets meet.

use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use directories::ProjectDirs;
use trayzero_core::journal::{JournalError, Members};
use uuid::Uuid;

use super::admitted::Admitted;
use super::bucket::Surroundings;
use super::open_place::open_place;
use super::place::MeetingPlace;
use super::{Board, SharedFault, ShopFault};

/// A shop that is looked at from outside.
#[derive(Debug)]
pub struct Visit {
    place: Box<dyn MeetingPlace>,
    shop_key: Option<String>,
    members: Members,
}

impl Visit {
    /// Of a folder, or of a bucket, whose copy is kept in this user's cache. `shop_key` is the
    /// shop's first key, 64 hex digits, where it is known.
    pub fn of(place: &Path, shop_key: Option<&str>) -> Self {
        let usual = ProjectDirs::from("", "", "trayzero");
        let cache = usual.map_or_else(std::env::temp_dir, |dirs| dirs.cache_dir().to_owned());
        Self::within(place, shop_key, &cache, &Surroundings::of_system())
    }

    /// The same with a folder for copies, and with what says how a bucket is asked.
    pub fn within(
        place: &Path,
        shop_key: Option<&str>,
        cache: &Path,
        around: &Surroundings,
    ) -> Self {
        Self {
            place: open_place(place, cache, None, around),
            shop_key: shop_key.map(str::to_owned),
            members: Members::default(),
        }
    }

    /// The folder to read, once [`Visit::look`] has brought it up to what the shop has.
    pub fn folder(&self) -> &Path {
        self.place.folder()
    }

    /// Brings up to date what is read.
    ///
    /// # Errors
    /// Why the place does not serve; what was there before can still be read.
    pub fn look(&mut self) -> Result<(), ShopFault> {
        self.place.fetch(&self.members)?;
        let read = self.folder().read_dir();
        read.map_err(|e| not_read(self.folder(), &e))?;
        if self.place.take_is_shop_changed()
            && let Ok(admitted) = Admitted::of(self.folder(), self.shop_key.as_deref())
            && admitted.members != self.members
        {
            // Of those who are members everything is brought.
            self.members = admitted.members;
            self.place.fetch(&self.members)?;
        }
        Ok(())
    }

    /// Reads on a board of the folder, after a look. Gives the jobs that have changed.
    ///
    /// # Errors
    /// [`JournalError`] if the folder cannot be read.
    pub fn read_on(&mut self, board: &mut Board) -> Result<Vec<Uuid>, JournalError> {
        let Some(changed) = self.place.take_changed() else {
            return board.read_on();
        };
        let mut read = Vec::new();
        for job in changed {
            if board.read_job(job)? {
                read.push(job);
            }
        }
        Ok(read)
    }

    /// What does not hold where the tablets meet, and never came into the folder.
    pub fn faults(&self) -> Vec<SharedFault> {
        self.place.faults()
    }

    /// How long to wait before the next look, where a folder would be looked at after `usual`.
    pub fn pause(&self, usual: Duration) -> Duration {
        self.place.pause(usual)
    }
}

/// Nothing was to be written, so nothing is said of writing.
fn not_read(folder: &Path, cause: &io::Error) -> ShopFault {
    match cause.kind() {
        io::ErrorKind::NotFound => ShopFault::Vanished {
            folder: folder.to_owned(),
        },
        _ => ShopFault::io(folder, cause),
    }
}

/// The folder of a shop that is looked at once.
///
/// # Errors
/// Why the place does not serve.
pub fn visited(place: &Path, shop_key: Option<&str>) -> Result<PathBuf, ShopFault> {
    let mut visit = Visit::of(place, shop_key);
    visit.look()?;
    Ok(visit.folder().to_owned())
}
