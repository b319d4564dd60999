//! Shares: a server of files on this machine, mounted at a place for each tablet, killed in the
//! middle of writes and started again. The kernel has to know the share's kind, and mounting
//! takes root; `tests/real/run` has both in a small machine of its own where this one has not.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::Duration;

use tempfile::TempDir;
use trayzero::shop::Surroundings;

use super::programs::{Program, find, free_port, is_long, output, said, wait_for_port};
use super::shift::{Met, Shift, Worker};

const PATIENCE: Duration = Duration::from_mins(2);
const TAP: Duration = Duration::from_millis(250);
const TABLETS: usize = 3;
/// How often the server is killed.
const KILLS: usize = 3;
/// A round that takes longer is taken for one that hangs; the window takes 20 seconds.
const HANGS_AFTER: Duration = Duration::from_secs(15);

/// Whether this kernel can mount a kind of share; it is said if not.
fn can_mount(kind: &str) -> bool {
    let known = fs::read_to_string("/proc/filesystems").unwrap_or_default();
    let is_known = known.lines().any(|line| line.ends_with(kind));
    let is_root = said(Command::new("id").arg("-u")) == "0";
    if !is_known {
        println!("NOT RUN: the kernel of this machine mounts no {kind}");
    } else if !is_root {
        println!("NOT RUN: only root may mount {kind}");
    }
    is_known && is_root
}

/// A share at a mount point, until the test has ended.
struct Mounted(PathBuf);

impl Mounted {
    fn at(point: &Path, kind: &str, what: &str, options: &str) -> Self {
        fs::create_dir_all(point).unwrap();
        let mut mount = Command::new("mount");
        mount.args(["-t", kind, "-o", options, what]).arg(point);
        said(&mut mount);
        Self(point.to_owned())
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        // A server that has ended would be waited for.
        let _ = output(Command::new("umount").args(["-f", "-l"]).arg(&self.0));
    }
}

/// A server of files that can be killed and started again with the same folder.
trait Server {
    fn name(&self) -> String;
    fn start(&mut self);
    fn kill(&mut self);
    /// Mounts it once more, for one tablet.
    fn mount(&self, point: &Path) -> Mounted;
}

/// Waits until a tablet's round says what is wrong, or hangs, which the window says of a round
/// that takes too long; gives which of both.
fn noticed(shift: &mut Shift) -> String {
    let mut said = None;
    shift.wait("a fault or a round that hangs", PATIENCE, |shift| {
        let met: Vec<Met> = shift.workers.iter().map(Worker::met).collect();
        let mut since = met.iter().filter_map(|met| met.since);
        let hangs = since.any(|since| since.elapsed() > HANGS_AFTER);
        let fault = met.iter().find_map(|met| met.fault.clone());
        said = fault.or_else(|| hangs.then(|| format!("a round hangs for {HANGS_AFTER:?}")));
        said.is_some()
    });
    said.unwrap()
}

/// Everybody works over the share while its server is killed and comes again.
fn work(server: &mut dyn Server, scratch: &Path) {
    server.start();
    let points: Vec<PathBuf> = (0..TABLETS)
        .map(|at| scratch.join(format!("mount-{at}")))
        .collect();
    let mounted: Vec<Mounted> = points.iter().map(|point| server.mount(point)).collect();
    let places: Vec<_> = mounted
        .iter()
        .map(|mounted| (mounted.0.join("shop"), Surroundings::default()))
        .collect();
    fs::create_dir(&places[0].0).unwrap();
    let mut shift = Shift::begin(scratch, &places, PATIENCE);
    for _ in 0..KILLS {
        shift.tap(12, TAP);
        server.kill();
        shift.tap(12, TAP);
        println!("  while it was away: {}", noticed(&mut shift));
        server.start();
        shift.tap(12, TAP);
    }
    let outcome = shift.end(PATIENCE);
    let done = format!("the server killed {KILLS} times (SIGKILL) while they wrote");
    outcome.say(&server.name(), &done);
    drop(shift);
    // The tablets' threads go before the share does.
    thread::sleep(Duration::from_secs(3));
}

/// smbd with a share of its own.
struct Samba {
    folder: PathBuf,
    port: u16,
    options: &'static str,
    program: Option<Program>,
}

impl Samba {
    fn new(scratch: &Path, options: &'static str) -> Self {
        let folder = scratch.join("samba");
        for part in ["share", "state", "private"] {
            fs::create_dir_all(folder.join(part)).unwrap();
        }
        let state = folder.join("state");
        let (state, folder_name) = (state.display(), folder.display());
        let settings = format!(
            "[global]\nserver role = standalone server\nmap to guest = bad user\n\
             guest account = root\nbind interfaces only = yes\ninterfaces = 127.0.0.1\n\
             disable spoolss = yes\nload printers = no\nlog level = 0\n\
             lock directory = {state}\nstate directory = {state}\ncache directory = {state}\n\
             pid directory = {state}\nncalrpc dir = {state}/rpc\n\
             private dir = {folder_name}/private\n\
             [shop]\npath = {folder_name}/share\nguest ok = yes\nread only = no\n\
             force user = root\n"
        );
        fs::write(folder.join("smb.conf"), settings).unwrap();
        Self {
            folder,
            port: free_port(),
            options,
            program: None,
        }
    }
}

impl Server for Samba {
    fn name(&self) -> String {
        let version = said(Command::new("smbd").arg("--version"));
        format!("Samba ({version}), mounted `{}`", self.options)
    }

    fn start(&mut self) {
        let mut smbd = Command::new("smbd");
        smbd.args(["--foreground", "--no-process-group", "--debug-stdout"]);
        smbd.arg("-s").arg(self.folder.join("smb.conf"));
        smbd.args(["-p", &self.port.to_string()]);
        self.program = Some(Program::start(&mut smbd, &self.folder.join("log.txt")));
        wait_for_port(self.port);
    }

    fn kill(&mut self) {
        self.program.as_mut().unwrap().kill();
    }

    fn mount(&self, point: &Path) -> Mounted {
        let options = format!("guest,port={},{}", self.port, self.options);
        Mounted::at(point, "cifs", "//127.0.0.1/shop", &options)
    }
}

#[test]
fn a_windows_share() {
    if !is_long() || find("smbd").is_none() || !can_mount("cifs") {
        return;
    }
    let scratch = TempDir::new().unwrap();
    let mut samba = Samba::new(
        scratch.path(),
        "vers=3.1.1,soft,echo_interval=5,nosharesock",
    );
    work(&mut samba, scratch.path());
}

/// nfs-ganesha with an export of its own.
struct Ganesha {
    folder: PathBuf,
    port: u16,
    options: &'static str,
    program: Option<Program>,
}

impl Ganesha {
    fn new(scratch: &Path, options: &'static str) -> Self {
        let folder = scratch.join("nfs");
        for part in ["export", "recovery"] {
            fs::create_dir_all(folder.join(part)).unwrap();
        }
        let port = free_port();
        let name = folder.display();
        let settings = format!(
            "NFS_CORE_PARAM {{ Protocols = 4; NFS_Port = {port}; Bind_addr = 127.0.0.1;\n\
             Enable_NLM = false; Enable_RQUOTA = false; }}\n\
             NFSv4 {{ RecoveryRoot = {name}/recovery; Grace_Period = 5; Lease_Lifetime = 5; }}\n\
             EXPORT {{ Export_Id = 1; Path = {name}/export; Pseudo = /shop;\n\
             Access_Type = RW; Squash = No_Root_Squash; SecType = sys;\n\
             FSAL {{ Name = VFS; }} }}\n"
        );
        fs::write(folder.join("ganesha.conf"), settings).unwrap();
        Self {
            folder,
            port,
            options,
            program: None,
        }
    }
}

impl Server for Ganesha {
    fn name(&self) -> String {
        let version = said(Command::new("ganesha.nfsd").arg("-v"));
        let version = version.lines().next().unwrap_or_default();
        format!("{version}, mounted `{}`", self.options)
    }

    fn start(&mut self) {
        let at = |name: &str| self.folder.join(name);
        let mut ganesha = Command::new("ganesha.nfsd");
        ganesha.arg("-F").arg("-f").arg(at("ganesha.conf"));
        ganesha.arg("-L").arg(at("log.txt"));
        ganesha.arg("-p").arg(at("ganesha.pid"));
        self.program = Some(Program::start(&mut ganesha, &at("out.txt")));
        wait_for_port(self.port);
    }

    fn kill(&mut self) {
        self.program.as_mut().unwrap().kill();
    }

    fn mount(&self, point: &Path) -> Mounted {
        let options = format!("vers=4.2,port={},nosharecache,{}", self.port, self.options);
        Mounted::at(point, "nfs", "127.0.0.1:/shop", &options)
    }
}

#[test]
fn an_nfs_share_that_gives_up() {
    if !is_long() || find("ganesha.nfsd").is_none() || !can_mount("nfs4") {
        return;
    }
    let scratch = TempDir::new().unwrap();
    let mut ganesha = Ganesha::new(scratch.path(), "softerr,timeo=30,retrans=2");
    work(&mut ganesha, scratch.path());
}

#[test]
fn an_nfs_share_that_waits_for_ever() {
    if !is_long() || find("ganesha.nfsd").is_none() || !can_mount("nfs4") {
        return;
    }
    let scratch = TempDir::new().unwrap();
    let mut ganesha = Ganesha::new(scratch.path(), "hard");
    work(&mut ganesha, scratch.path());
}
