//! Copies of photographs as objects, each under its job and its hash.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use trayzero_core::journal::pictures_path;
use uuid::Uuid;

use super::client::Client;
use super::journals::write_copy;
use crate::shop::ShopFault;

/// One that is not there is asked for again after this.
const AGAIN: Duration = Duration::from_mins(1);
/// The largest copy, in bytes.
const BYTES_MAX: u64 = 2 << 20;
/// Beside the copy of the bucket: the names of those that are there, one a line.
const SENT: &str = "pictures-sent.txt";

/// Copies of photographs in a bucket.
#[derive(Debug, Default)]
pub(super) struct Photographs {
    folder: PathBuf,
    asked: BTreeMap<(Uuid, String), Instant>,
    sent: Option<BTreeSet<String>>,
}

impl Photographs {
    /// With a copy of the bucket in this folder.
    pub fn of(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            ..Self::default()
        }
    }

    /// Brings those that are wanted, by job and file name, where they are there.
    pub fn fetch(&mut self, client: &Client, wanted: &[(Uuid, String)]) {
        self.asked.retain(|_, at| at.elapsed() < AGAIN);
        for (job, name) in wanted {
            let within = pictures_path(&self.folder, *job);
            let asked = (*job, name.clone());
            let is_here = within.join(name).exists();
            if is_here || !is_copy(name) || self.asked.contains_key(&asked) {
                continue;
            }
            self.asked.insert(asked, Instant::now());
            // What does not come now is asked for again.
            if let Ok(Some(got)) = client.get(&name_of(*job, name), BYTES_MAX) {
                let _ = fs::create_dir_all(&within)
                    .and_then(|()| write_copy(&within.join(name), &got.bytes));
            }
        }
    }

    /// Puts those that this tablet has of these jobs.
    pub fn send(&mut self, client: &Client, jobs: &[Uuid]) -> Result<(), ShopFault> {
        let list = self.folder.with_file_name(SENT);
        let sent = self.sent.get_or_insert_with(|| {
            let known = fs::read_to_string(&list).unwrap_or_default();
            known.lines().map(str::to_owned).collect()
        });
        for job in jobs {
            let within = pictures_path(&self.folder, *job);
            for file in fs::read_dir(&within).into_iter().flatten().flatten() {
                let file_name = file.file_name().to_string_lossy().into_owned();
                let name = name_of(*job, &file_name);
                if !is_copy(&file_name) || sent.contains(&name) {
                    continue;
                }
                let path = file.path();
                let bytes = fs::read(&path).map_err(ShopFault::at(&path))?;
                let put = client.put_new(&name, &bytes);
                put.map_err(|why| client.fault(why))?;
                let file = fs::OpenOptions::new().append(true).create(true).open(&list);
                // Without the list it is sent once more after the next start.
                let _ = file.and_then(|mut file| writeln!(file, "{name}"));
                sent.insert(name);
            }
        }
        Ok(())
    }
}

fn name_of(job: Uuid, name: &str) -> String {
    format!("pictures/{job}/{name}")
}

/// Whether a file's name is one that a copy has: its hash.
fn is_copy(name: &str) -> bool {
    let stem = name.strip_suffix(".jpg").unwrap_or_default();
    stem.len() == 64 && stem.bytes().all(|b| b.is_ascii_hexdigit())
}
