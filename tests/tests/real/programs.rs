//! Programs of others: looked for, started below a test's own folder, killed, and ended with it.

use std::fs::File;
use std::net::{TcpListener, TcpStream};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// How long a server may take until it answers.
const STARTS_WITHIN: Duration = Duration::from_secs(30);

/// Whether the long form is asked for.
pub fn is_long() -> bool {
    std::env::var_os("TRAYZERO_LONG").is_some()
}

/// Where a program lies; it is said if it is not there.
pub fn find(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders = std::env::split_paths(&path).chain(["/usr/sbin", "/sbin"].map(PathBuf::from));
    let found = folders.map(|f| f.join(name)).find(|file| file.is_file());
    if found.is_none() {
        println!("NOT RUN: this machine has no {name}; `bash tests/real/run` installs it");
    }
    found
}

/// What a command said; it has to end well.
pub fn said(command: &mut Command) -> String {
    let done = output(command);
    assert!(done.status.success(), "{command:?}: {done:?}");
    String::from_utf8_lossy(&done.stdout).trim().to_owned()
}

pub fn output(command: &mut Command) -> Output {
    command.stdin(Stdio::null()).output().unwrap()
}

/// A port of this machine that nobody listens on.
pub fn free_port() -> u16 {
    let listener = TcpListener::bind(("127.0.0.1", 0)).unwrap();
    listener.local_addr().unwrap().port()
}

/// Waits until somebody listens on a port.
pub fn wait_for_port(port: u16) {
    let until = Instant::now() + STARTS_WITHIN;
    while TcpStream::connect(("127.0.0.1", port)).is_err() {
        assert!(Instant::now() < until, "nobody listens on port {port}");
        thread::sleep(Duration::from_millis(50));
    }
}

/// A program that runs until it is killed, with whatever it has started itself.
#[derive(Debug)]
pub struct Program {
    child: Child,
}

impl Program {
    /// Starts one; what it says goes to the end of a file.
    pub fn start(command: &mut Command, log: &Path) -> Self {
        let log = File::options().append(true).create(true).open(log).unwrap();
        let errors = log.try_clone().unwrap();
        let command = command.stdin(Stdio::null()).stdout(log).stderr(errors);
        Self {
            child: command.process_group(0).spawn().unwrap(),
        }
    }

    pub fn is_running(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }

    /// With what it has ended, if it has.
    pub fn ended(&mut self) -> Option<i32> {
        let ended = self.child.try_wait().unwrap();
        ended.map(|status| status.code().unwrap_or(-1))
    }

    /// SIGKILL to it and to all of its own.
    pub fn kill(&mut self) {
        self.signal("KILL");
        // It is gone, or it was gone before.
        let _ = self.child.wait();
    }

    pub fn signal(&self, signal: &str) {
        let group = format!("-{}", self.child.id());
        // Whoever has ended already hears nothing.
        let _ = output(Command::new("kill").args(["-s", signal, "--", &group]));
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        self.kill();
    }
}
