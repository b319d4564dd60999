//! The whole app below the screens, tapped at random and killed at any moment: what it
//! had shown as taken is there when it is started again.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use trayzero::data::store::{Store, SystemClock};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::Intent;
use trayzero_core::job::Event;
use trayzero_tests::dice::Dice;
use trayzero_tests::figures::say;

use super::desk::Sat;

const CHILD: &str = "TRAYZERO_TEST_KILLED_DESK";
const ROUNDS: u64 = 100;

/// One tap at random: the step that is due, a note, or something taken back.
fn anything(desk: &Desk, dice: &mut Dice) -> Intent {
    let view = desk.view();
    let job = view.job.unwrap();
    let due = job.state.events_of(job.next);
    match dice.below(8) {
        0 => job
            .undo
            .map_or(Intent::Read, |(event, _)| Intent::TakeBack(event)),
        1..=5 if !due.is_empty() => Intent::Tap(due),
        n => Intent::Tap(vec![Event::Noted {
            text: format!("note {n}"),
        }]),
    }
}

/// Taps for ever, and says how many events are shown once they are.
#[test]
#[ignore = "the child of the test below"]
fn killed_desk_child() {
    let root = std::env::var_os(CHILD).unwrap();
    let (folder, seed) = root.to_str().unwrap().rsplit_once('#').unwrap();
    let mut dice = Dice::new(seed.parse().unwrap());
    let clock = SystemClock;
    let store = Store::open(Path::new(folder), trayzero::data::store::Clock::now(&clock)).unwrap();
    let mut desk = Desk::open(store, std::sync::Arc::new(clock)).unwrap();
    let job = desk.view().jobs[0].job;
    desk.carry_out(Intent::OpenJob(job));
    let mut out = std::io::stdout().lock();
    loop {
        let intent = anything(&desk, &mut dice);
        if desk.carry_out(intent) == Outcome::Taken {
            writeln!(out, "shown {}", desk.state().unwrap().event_count()).unwrap();
            out.flush().unwrap();
        }
    }
}

#[test]
fn an_app_killed_at_any_moment_shows_again_what_it_had_shown() {
    let root = tempfile::tempdir().unwrap();
    let sat = Sat::at(root.path());
    let job = sat.desk.view().job.unwrap().id;
    drop(sat);
    let (mut shown, mut lost) = (0, 0);
    for round in 0..ROUNDS {
        let told = format!("{}#{round}", root.path().display());
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--ignored",
                "--exact",
                "killed::killed_desk_child",
                "--nocapture",
            ])
            .env(CHILD, told)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        let mut lines = String::new();
        while said.read_line(&mut lines).unwrap() > 0 && !lines.contains("shown") {}
        std::thread::sleep(Duration::from_micros(round * 7_919 % 20_000));
        child.kill().unwrap();
        child.wait().unwrap();
        said.read_to_string(&mut lines).unwrap();
        // A last line without its newline was not said.
        let whole = lines.rfind('\n').map_or("", |end| &lines[..end]);
        let count = whole
            .lines()
            .filter_map(|line| line.strip_prefix("shown ")?.parse::<u64>().ok())
            .next_back();
        shown = count.unwrap_or_else(|| panic!("round {round}: nothing was shown"));
        let store = Store::open(root.path(), super::desk::START).unwrap();
        let open = store.open_job(job).unwrap();
        assert!(open.read_only().is_none() && open.faults().count() == 0);
        lost += shown.saturating_sub(open.state().event_count() as u64);
        assert_eq!(lost, 0, "round {round}: {shown} events were shown");
    }
    println!("killed apps: {shown} events shown in the end");
    say("kills survived", ROUNDS);
    say("acknowledged lost", lost);
}
