//! Looking into folders for a person who chooses one by tapping, never by typing.

use std::path::{Path, PathBuf};

use directories::BaseDirs;

use super::{Desk, Outcome};
use crate::ui::view::Looked;

/// The most names that are shown of one folder.
const NAMES_MAX: usize = 400;
/// Where sticks and shares usually are.
const ELSEWHERE: [&str; 3] = ["/media", "/run/media", "/mnt"];

impl Desk {
    /// Looks into a folder; one that is not there leads to the nearest above it that is.
    pub(super) fn look_into(&mut self, folder: &Path) -> Outcome {
        let home = BaseDirs::new().map(|dirs| dirs.home_dir().to_owned());
        let start = if folder.as_os_str().is_empty() {
            home.clone().unwrap_or_else(|| PathBuf::from("/"))
        } else {
            folder.to_owned()
        };
        let there = start.ancestors().find(|at| at.is_dir());
        let at = there.unwrap_or(Path::new("/")).to_owned();
        let mut looked = Looked {
            above: at.parent().map(Path::to_owned),
            elsewhere: home
                .into_iter()
                .chain(ELSEWHERE.map(PathBuf::from))
                .filter(|place| *place != at && place.is_dir())
                .collect(),
            ..Looked::default()
        };
        match std::fs::read_dir(&at) {
            Ok(entries) => {
                for entry in entries.flatten() {
                    let name = entry.file_name().to_string_lossy().into_owned();
                    if name.starts_with('.') {
                        continue;
                    }
                    // A link counts as what it leads to.
                    if entry.path().is_dir() {
                        looked.folders.push(name);
                        continue;
                    }
                    let ending = name.rsplit('.').next().unwrap_or_default();
                    match ending.to_lowercase().as_str() {
                        "json" => looked.files.push(name),
                        "jpg" | "jpeg" | "png" => looked.pictures.push(name),
                        "pdf" => looked.records.push(name),
                        _ => {}
                    }
                }
            }
            Err(error) => looked.fault = Some(error.to_string()),
        }
        for names in [
            &mut looked.folders,
            &mut looked.files,
            &mut looked.pictures,
            &mut looked.records,
        ] {
            names.sort_by_key(|name| name.to_lowercase());
        }
        looked.folders.truncate(NAMES_MAX);
        looked.files.truncate(NAMES_MAX);
        // Cameras count upwards: the latest picture comes first.
        looked.pictures.reverse();
        looked.pictures.truncate(NAMES_MAX);
        looked.records.truncate(NAMES_MAX);
        looked.at = at;
        self.looked = Some(looked);
        Outcome::Stayed
    }
}
