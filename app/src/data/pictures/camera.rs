//! The folder in which the tablet's own camera program leaves its pictures.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// The most pictures that are offered.
pub const NEWEST_MAX: usize = 12;
/// The most names that are looked at.
const NAMES_MAX: usize = 20_000;
/// Pictures older than this are not offered.
const LAST_HOURS: Duration = Duration::from_hours(12);
/// Camera programs sort by day or by device, one folder below or two.
const DEPTH_MAX: usize = 2;

/// A picture that a camera has left.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Taken {
    /// The file.
    pub path: PathBuf,
    /// When it was written last, wall clock in milliseconds since 1970 UTC.
    pub at_ms: i64,
    /// Its length.
    pub bytes: u64,
}

/// The newest pictures of the last hours, the latest first.
///
/// # Errors
/// What the system says of the folder itself.
pub fn newest(folder: &Path, now: SystemTime) -> io::Result<Vec<Taken>> {
    let mut found = Vec::new();
    let mut names = NAMES_MAX;
    look(folder, now, DEPTH_MAX, &mut names, &mut found)?;
    found.sort_by(|a: &Taken, b| (b.at_ms, &a.path).cmp(&(a.at_ms, &b.path)));
    found.truncate(NEWEST_MAX);
    Ok(found)
}

fn look(
    folder: &Path,
    now: SystemTime,
    depth: usize,
    names: &mut usize,
    found: &mut Vec<Taken>,
) -> io::Result<()> {
    for name in fs::read_dir(folder)? {
        if *names == 0 {
            break;
        }
        *names -= 1;
        let Ok(name) = name else { continue };
        let is_hidden = name.file_name().to_string_lossy().starts_with('.');
        let Ok(kind) = name.file_type() else { continue };
        if kind.is_dir() && !is_hidden && depth > 0 {
            // A folder that cannot be looked into keeps nobody from the others.
            let _ = look(&name.path(), now, depth - 1, names, found);
        } else if kind.is_file() && !is_hidden && is_picture(&name.path()) {
            found.extend(taken(&name, now));
        }
    }
    Ok(())
}

fn taken(name: &fs::DirEntry, now: SystemTime) -> Option<Taken> {
    let known = name.metadata().ok()?;
    let modified = known.modified().ok()?;
    // One from the future was written by another clock; it is new all the same.
    let age = now.duration_since(modified).unwrap_or_default();
    let since_1970 = modified.duration_since(SystemTime::UNIX_EPOCH).ok()?;
    (age <= LAST_HOURS).then(|| Taken {
        path: name.path(),
        at_ms: i64::try_from(since_1970.as_millis()).unwrap_or(i64::MAX),
        bytes: known.len(),
    })
}

/// Whether a name is one that cameras give to pictures that are read.
fn is_picture(path: &Path) -> bool {
    let ending = path
        .extension()
        .and_then(|e| e.to_str())
        .unwrap_or_default();
    ["jpg", "jpeg", "png"]
        .iter()
        .any(|known| ending.eq_ignore_ascii_case(known))
}
