//! A folder that hangs, for tests.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A file system that answers nothing at all, as a server that is switched off: the kernel
/// hands every call to a program that never reads them.
#[derive(Debug)]
pub struct Mute {
    at: PathBuf,
    device: Option<File>,
}

impl Mute {
    /// Mounts it over a folder; `None` where this user may not, which the test then says.
    pub fn mount(at: &Path) -> Option<Self> {
        let mut options = File::options();
        let device = options.read(true).write(true).open("/dev/fuse").ok()?;
        let done = Command::new("mount")
            .args(["-i", "-t", "fuse", "-o"])
            .arg("fd=0,rootmode=40000,user_id=0,group_id=0")
            .arg("mute")
            .arg(at)
            .stdin(Stdio::from(device.try_clone().ok()?))
            .output()
            .ok()?;
        done.status.success().then(|| Self {
            at: at.to_owned(),
            device: Some(device),
        })
    }
}

impl Drop for Mute {
    /// The kernel gives up every call that hangs once nobody holds the device.
    fn drop(&mut self) {
        self.device = None;
        let _ = Command::new("umount").arg("-l").arg(&self.at).status();
    }
}
