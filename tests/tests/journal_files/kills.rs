//! A process that appends and says what was acknowledged, killed at any moment.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use trayzero_core::journal::{Limits, Writer, journal_path, read_journal};

use trayzero_tests::figures::say;

use crate::support::{JOB, TABLET, entry, small_event};

const CHILD: &str = "TRAYZERO_TEST_KILLED_WRITER";
const ROUNDS: u64 = 500;

/// Appends for ever and prints the number of each event once it is acknowledged.
#[test]
#[ignore = "the child of the test below"]
fn killed_writer_child() {
    let data = std::env::var_os(CHILD).unwrap();
    let mut writer = Writer::open(Path::new(&data), JOB, TABLET).unwrap().writer;
    let mut out = std::io::stdout().lock();
    loop {
        let step = writer.mark().n as u32;
        let batch = [entry(TABLET, step, writer.clock(), small_event(step))];
        writer.append(&batch).unwrap();
        writeln!(out, "kept {}", writer.mark().n).unwrap();
        out.flush().unwrap();
    }
}

/// All rounds go on with the same journal, so what one kill leaves the next one meets.
#[test]
fn killed_at_any_moment_everything_acknowledged_is_there() {
    let data = tempfile::tempdir().unwrap();
    let journal = journal_path(data.path(), JOB, TABLET);
    let mut torn = 0;
    let mut kept = 0;
    let mut lost = 0;
    // The moments of the kills are spread by a fixed rule, so a failure can be repeated
    // as far as the machine's own timing lets it.
    for round in 0..ROUNDS {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--ignored",
                "--exact",
                "kills::killed_writer_child",
                "--nocapture",
            ])
            .env(CHILD, data.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        let mut lines = String::new();
        // Half of the kills come at any moment from the start on, half among the writes.
        if round % 2 == 0 {
            while said.read_line(&mut lines).unwrap() > 0 && !lines.contains("kept") {}
            std::thread::sleep(Duration::from_micros(round * 7_919 % 4_000));
        } else {
            std::thread::sleep(Duration::from_micros(round * 7_919 % 30_000));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        said.read_to_string(&mut lines).unwrap();
        // A last line without its newline was not said.
        let whole = lines.rfind('\n').map_or("", |end| &lines[..end]);
        let acknowledged = whole
            .lines()
            .filter_map(|line| line.strip_prefix("kept ")?.parse::<u64>().ok())
            .max()
            .unwrap_or(kept);
        if !journal.exists() {
            continue;
        }
        let read = read_journal(&journal, JOB, TABLET, Limits::OWN).unwrap();
        assert_eq!(read.fault, None, "round {round}");
        lost += acknowledged.max(kept).saturating_sub(read.mark.n);
        assert_eq!(lost, 0, "round {round}: {}", read.mark.n);
        torn += u32::from(read.torn.is_some());
        kept = read.mark.n;
    }
    assert!(kept >= ROUNDS / 2, "the writers got to write: {kept}");
    println!("killed writers: events written {kept}, torn lines {torn}");
    say("kills survived", ROUNDS);
    say("acknowledged lost", lost);
}
