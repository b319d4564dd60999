//! A small file system in memory, to be filled up, turned read-only and taken away.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A small file system of its own, unmounted when dropped.
#[derive(Debug)]
pub struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    /// `None`, with a line that says so, where this process may not mount one.
    ///
    /// # Panics
    /// If no folder can be made for it.
    pub fn of(kilobytes: u32, what: &str) -> Option<Self> {
        let at = tempfile::tempdir().unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={kilobytes}k"), "tmpfs"])
            .arg(at.path())
            .output();
        if mounted.is_ok_and(|out| out.status.success()) {
            return Some(Self(at));
        }
        println!("skipped: {what} (this user may not mount a small disk)");
        None
    }

    /// Where it is mounted.
    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// Mounts it again with another option, such as `ro`.
    ///
    /// # Panics
    /// If the system does not.
    pub fn remount(&self, option: &str) {
        let done = Command::new("mount")
            .args(["-o", &format!("remount,{option}")])
            .arg(self.path())
            .status();
        assert!(done.unwrap().success(), "remounting {option}");
    }

    /// Takes up whatever room is left; gives the file to be deleted for there to be room.
    pub fn fill_up(&self) -> PathBuf {
        let filler = self.path().join("filler");
        for chunk in [4096, 64, 1] {
            let mut bytes = fs::read(&filler).unwrap_or_default();
            loop {
                bytes.resize(bytes.len() + chunk, b'.');
                if fs::write(&filler, &bytes).is_err() {
                    break;
                }
            }
        }
        filler
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        Command::new("umount")
            .arg("-l")
            .arg(self.path())
            .status()
            .ok();
    }
}
