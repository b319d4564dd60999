//! Pictures of the jobs: their copies to the shop folder, and from there the ones that an
//! event names and that are not here.
//!
//! A copy lies under its own hash, so that it does not matter who brought it. What lies there
//! and no event of the job names is never read.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use trayzero_core::job::Picture;
use trayzero_core::journal::{job_path, pictures_path};
use uuid::Uuid;

use super::folder::{LastChange, make_plain_folder};
use super::{FileWhy, SharedFault, ShopFault};
use crate::data::pictures::{Found, find_copy, pictures_in, read_copy, write_copy};
use crate::data::store::small_file;

/// What is known of the pictures here and in the shop folder.
#[derive(Debug, Default)]
pub(super) struct PictureMirror {
    /// Both folders' last change when all of the one was in the other.
    pushed: BTreeMap<Uuid, [LastChange; 2]>,
    /// Pictures that events name and that are not here.
    wanted: BTreeMap<Uuid, Vec<Picture>>,
    faults: BTreeMap<PathBuf, SharedFault>,
}

impl PictureMirror {
    /// Files in the shop folder that are not what events name.
    pub fn faults(&self) -> impl Iterator<Item = &SharedFault> {
        self.faults.values()
    }

    /// The pictures that a job's events name.
    pub fn want(&mut self, data: &Path, job: Uuid, mut wanted: Vec<Picture>) {
        wanted.retain(|picture| !is_here(data, job, picture));
        if wanted.is_empty() {
            self.wanted.remove(&job);
        } else {
            self.wanted.insert(job, wanted);
        }
    }

    /// Pictures that are looked for, by job and file name.
    pub fn wanted(&self) -> Vec<(Uuid, String)> {
        let wanted = self.wanted.iter();
        let names = wanted.flat_map(|(job, wanted)| wanted.iter().map(|p| (*job, p.copy_name())));
        names.collect()
    }

    /// Brings the copies of a job to the shop folder.
    pub fn push(
        &mut self,
        job: Uuid,
        own: &Path,
        folder: &Path,
        tablet: Uuid,
    ) -> Result<(), ShopFault> {
        let there = pictures_path(folder, job);
        let changed = || Some([settled(own)?, settled(&there)?]);
        let before = changed();
        if before.is_some() && self.pushed.get(&job) == before.as_ref() {
            return Ok(());
        }
        let mut is_whole = true;
        for copy in pictures_in(own).iter().filter(|p| p.parent() == Some(own)) {
            is_whole &= push_one(copy, &job_path(folder, job), &there, tablet)?;
        }
        // Only what was there before and after the look, and is not of this very moment.
        if let Some(after) = changed().filter(|_| is_whole) {
            self.pushed.insert(job, after);
        }
        Ok(())
    }

    /// Fetches the pictures that are wanted and lie in the shop folder. Gives the jobs of
    /// which some have come.
    pub fn pull(&mut self, data: &Path, folder: &Path) -> Vec<Uuid> {
        let mut come = Vec::new();
        for (job, wanted) in &mut self.wanted {
            let before = wanted.len();
            wanted.retain(|picture| {
                let path = pictures_path(folder, *job).join(picture.copy_name());
                let why = match find_copy(folder, *job, picture) {
                    Found::Missing => {
                        self.faults.remove(&path);
                        return true;
                    }
                    Found::Changed => FileWhy::OtherPicture,
                    Found::Whole(copy) => match write_copy(data, *job, picture, &copy) {
                        Ok(()) => {
                            self.faults.remove(&path);
                            return false;
                        }
                        Err(error) => FileWhy::told(error),
                    },
                };
                self.faults.insert(path.clone(), SharedFault { path, why });
                true
            });
            if wanted.len() < before {
                come.push(*job);
            }
        }
        self.wanted.retain(|_, wanted| !wanted.is_empty());
        come
    }
}

fn is_here(data: &Path, job: Uuid, picture: &Picture) -> bool {
    matches!(find_copy(data, job, picture), Found::Whole(_))
}

fn settled(folder: &Path) -> Option<LastChange> {
    let known = folder.symlink_metadata().ok()?;
    LastChange::settled(&known).filter(|_| known.is_dir())
}

/// Brings one copy there, unless it is there. Gives whether it is one that belongs there.
fn push_one(copy: &Path, job: &Path, there: &Path, tablet: Uuid) -> Result<bool, ShopFault> {
    let Some(name) = copy.file_name() else {
        return Ok(true);
    };
    let path = there.join(name);
    let is_there = match read_copy(&path) {
        Ok(found) => found.is_some(),
        Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::InvalidInput) => false,
        Err(e) => return Err(ShopFault::at(&path)(e)),
    };
    if is_there {
        return Ok(true);
    }
    let Some(bytes) = read_copy(copy).map_err(ShopFault::at(copy))? else {
        // A file on its way into its place, or one that was changed: it goes nowhere.
        return Ok(false);
    };
    for folder in [job, there] {
        make_plain_folder(folder).map_err(ShopFault::at(folder))?;
    }
    small_file::write_by(&path, &bytes, tablet)?;
    Ok(true)
}
