//! Syncthing: each peer keeps the shop folder of one tablet.

use std::fmt::Write as _;
use std::fs::{self, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::Duration;

use trayzero::shop::Surroundings;

use super::parts::scratch;
use super::programs::{Program, find, free_port, is_long, said, wait_for_port};
use super::shift::Shift;

const KEY: &str = "only-for-this-test";
const PATIENCE: Duration = Duration::from_secs(90);
const TAP: Duration = Duration::from_millis(150);
/// So slow that a file on its way is seen, in KiB/s.
const SLOW: u32 = 6;

/// One peer: its home, its folder and its ports.
struct Peer {
    home: PathBuf,
    folder: PathBuf,
    name: String,
    port: u16,
    rest: u16,
    program: Option<Program>,
}

impl Peer {
    fn new(scratch: &Path, at: usize) -> Self {
        let home = scratch.join(format!("peer-{at}"));
        let folder = scratch.join(format!("shop-{at}"));
        fs::create_dir_all(folder.join(".stfolder")).unwrap();
        said(syncthing("generate", &home).arg("--no-default-folder"));
        let name = said(syncthing("serve", &home).arg("--device-id"));
        Self {
            home,
            folder,
            name,
            port: free_port(),
            rest: free_port(),
            program: None,
        }
    }

    fn start(&mut self) {
        let mut command = syncthing("serve", &self.home);
        let command = command.args(["--no-browser", "--no-restart"]);
        self.program = Some(Program::start(command, &self.home.join("log.txt")));
        wait_for_port(self.rest);
    }

    /// Asks its REST interface.
    fn rest(&self, method: &str, path: &str, body: &str) {
        let address = format!("http://127.0.0.1:{}/rest/{path}", self.rest);
        let mut curl = Command::new("curl");
        let curl = curl.args(["--silent", "--show-error", "--fail", "--max-time", "20"]);
        let curl = curl.args(["--noproxy", "*", "-X", method, &address, "-d", body]);
        said(curl.args(["-H", &format!("X-API-Key: {KEY}")]));
    }

    fn cut_off(&self, other: &Self) {
        let path = format!("system/pause?device={}", other.name);
        self.rest("POST", &path, "");
    }

    fn connect(&self, other: &Self) {
        let path = format!("system/resume?device={}", other.name);
        self.rest("POST", &path, "");
    }

    fn limit(&self, kib_s: u32) {
        let limits = format!(r#"{{"maxRecvKbps": {kib_s}, "limitBandwidthInLan": true}}"#);
        self.rest("PATCH", "config/options", &limits);
    }
}

/// The program at a home of its own; it asks nobody on the Internet.
fn syncthing(what: &str, home: &Path) -> Command {
    let mut command = Command::new("syncthing");
    command.arg(what).arg("--home").arg(home);
    command.env("HOME", home).env("STNOUPGRADE", "1");
    command
}

/// Writes every peer's settings: all know all, on this machine alone.
fn introduce(peers: &[Peer]) {
    for peer in peers {
        let mut text = String::from("<configuration version=\"36\">\n");
        let folder = peer.folder.display();
        let _ = writeln!(
            text,
            "<folder id=\"shop\" label=\"shop\" path=\"{folder}\" type=\"sendreceive\" \
             rescanIntervalS=\"30\" fsWatcherEnabled=\"true\" fsWatcherDelayS=\"1\">"
        );
        for other in peers {
            let _ = writeln!(text, "<device id=\"{}\"></device>", other.name);
        }
        text.push_str("<maxConflicts>10</maxConflicts></folder>\n");
        for other in peers {
            let _ = writeln!(
                text,
                "<device id=\"{}\" name=\"peer\"><address>tcp://127.0.0.1:{}</address></device>",
                other.name, other.port
            );
        }
        let _ = writeln!(
            text,
            "<gui enabled=\"true\" tls=\"false\"><address>127.0.0.1:{}</address>\
             <apikey>{KEY}</apikey></gui>\n<options>\
             <listenAddress>tcp://127.0.0.1:{}</listenAddress>\
             <globalAnnounceEnabled>false</globalAnnounceEnabled>\
             <localAnnounceEnabled>false</localAnnounceEnabled>\
             <relaysEnabled>false</relaysEnabled><natEnabled>false</natEnabled>\
             <urAccepted>-1</urAccepted><autoUpgradeIntervalH>0</autoUpgradeIntervalH>\
             <crashReportingEnabled>false</crashReportingEnabled>\
             <startBrowser>false</startBrowser>\
             <reconnectionIntervalS>2</reconnectionIntervalS></options>\n</configuration>",
            peer.rest, peer.port
        );
        fs::write(peer.home.join("config.xml"), text).unwrap();
    }
}

fn peers(scratch: &Path, count: usize) -> Vec<Peer> {
    let mut peers: Vec<Peer> = (0..count).map(|at| Peer::new(scratch, at)).collect();
    introduce(&peers);
    for peer in &mut peers {
        peer.start();
    }
    peers
}

fn version() -> String {
    let said = said(Command::new("syncthing").arg("--version"));
    said.split(' ').take(2).collect::<Vec<_>>().join(" ")
}

fn begin(scratch: &Path, peers: &[Peer]) -> Shift {
    let places: Vec<_> = peers
        .iter()
        .map(|peer| (peer.folder.clone(), Surroundings::default()))
        .collect();
    Shift::begin(scratch, &places, PATIENCE)
}

/// Somebody opens another tablet's journal in an editor, where it is only a copy.
fn scribble(shift: &Shift, writer: usize, peer: &Peer) {
    let job = peer.folder.join("jobs").join(shift.job.to_string());
    let path = job.join(format!("{}.jsonl", shift.workers[writer].id()));
    let mut file = OpenOptions::new().append(true).open(path).unwrap();
    file.write_all(b"written by hand\n").unwrap();
}

#[test]
fn two_peers_cut_off_and_written_into_by_hand() {
    if find("syncthing").is_none() {
        return;
    }
    let scratch = scratch();
    let peers = peers(scratch.path(), 2);
    let mut shift = begin(scratch.path(), &peers);
    shift.tap(10, TAP);
    // Both write while they do not see each other, and a third hand writes as well.
    peers[0].cut_off(&peers[1]);
    shift.tap(10, TAP);
    scribble(&shift, 0, &peers[1]);
    shift.tap(10, TAP);
    thread::sleep(Duration::from_secs(3));
    for peer in &peers {
        peer.limit(SLOW);
    }
    peers[0].connect(&peers[1]);
    shift.tap(10, TAP);
    let seen = |shift: &mut Shift, part: &str| {
        let met = shift.workers.iter().map(|worker| worker.met().left_alone);
        met.flatten().any(|left| left.contains(part))
    };
    shift.wait("a file on its way", PATIENCE, |shift| {
        seen(shift, ".syncthing.")
    });
    for peer in &peers {
        peer.limit(0);
    }
    shift.wait("a file of a conflict", PATIENCE, |shift| {
        seen(shift, ".sync-conflict-")
    });
    shift.tap(10, TAP);
    let outcome = shift.end(PATIENCE);
    outcome.say(
        &version(),
        "cut off once, a journal written into by hand meanwhile",
    );
}

#[test]
fn three_peers_one_killed_and_one_cut_off() {
    if !is_long() || find("syncthing").is_none() {
        return;
    }
    let scratch = scratch();
    let mut peers = peers(scratch.path(), 3);
    let mut shift = begin(scratch.path(), &peers);
    for round in 0..3 {
        shift.tap(8, TAP);
        peers[0].cut_off(&peers[2]);
        peers[1].cut_off(&peers[2]);
        shift.tap(8, TAP);
        let killed = round % 2;
        peers[killed].program.as_mut().unwrap().kill();
        shift.tap(8, TAP);
        // What the hand has written is newer than its tablet's own lines and wins over them.
        scribble(&shift, killed, &peers[2]);
        thread::sleep(Duration::from_secs(3));
        peers[killed].start();
        for peer in &peers[..2] {
            peer.connect(&peers[2]);
        }
        thread::sleep(Duration::from_secs(5));
        shift.tap(8, TAP);
    }
    let outcome = shift.end(PATIENCE);
    outcome.say(
        &version(),
        "3 times one cut off, another killed, and its journal written into by hand",
    );
    assert!(outcome.met.iter().all(|met| met.faults.is_empty()));
}
