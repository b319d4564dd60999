//! A new user's first job in the real window: an empty data folder, an engine without seats
//! and spring from the editor, people, a job from the complaint to the record. At every
//! step an oracle of its own says what is true, and every sentence on the screen that
//! states a fact is held against it.

mod facts;
mod oracle;
mod quiet;
mod record;
mod rfc3339;
mod rules;
mod sentences;
mod way;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Instant;

use egui::{Vec2, vec2};
use trayzero::data::store::{Clock, Stamp, SystemClock};

use super::display::Display;
use super::drive::Drive;
use super::mirror::Mirror;
use super::{ONE_WINDOW, alone};
use oracle::Truth;
use sentences::{Found, Verdict};

/// Somebody at an empty tablet, and the oracle beside them.
pub struct Newcomer {
    d: Drive,
    data: PathBuf,
    size: Vec2,
    /// How many sentences of each kind and pattern were held against the oracle.
    held: BTreeMap<Found, usize>,
    /// How far the tablet's clock is ahead of the system's, in milliseconds.
    ahead_ms: i64,
    /// Supply and cylinder as they stand in the fields of the leak-down.
    typed: Option<(f64, f64)>,
    /// Somebody counts, and has not signed yet.
    counts: bool,
    /// Sentences that did not hold.
    wrong: BTreeSet<String>,
}

impl Newcomer {
    fn at(root: &Path, size: Vec2) -> Self {
        // As long as the mirror's, so that what names it takes as many lines.
        let data = root.join("window");
        std::fs::create_dir_all(&data).unwrap();
        let copy = root.join("mirror");
        let mirror = Mirror::as_opened(Arc::new(SystemClock), &data, &copy, size);
        Self {
            d: Drive::on(Display::start(size), mirror, &data, size),
            data,
            size,
            held: BTreeMap::new(),
            ahead_ms: 0,
            typed: None,
            counts: false,
            wrong: BTreeSet::new(),
        }
    }

    /// The program is closed and opened again so many seconds later.
    fn pass_the_night(&mut self, ahead_s: u64) {
        self.ahead_ms = ahead_s as i64 * 1_000;
        let clock = Arc::new(Later(self.ahead_ms));
        let copy = self.data.with_file_name("morrow");
        self.d.close();
        let mirror = Mirror::as_opened(clock, &self.data, &copy, self.size);
        self.d.reopen(mirror, ahead_s);
    }

    /// Window and mirror wrote the same lines, apart from their names and times.
    fn both_came_to_the_same(&self) {
        let mirror = self.data.with_file_name("morrow");
        let [window, mirror] = [&self.data, &mirror].map(|data| oracle::told(&journal_of(data)));
        assert_eq!(window, mirror);
        assert!(window.len() > 80, "{}", window.len());
    }

    /// A rule that no sentence came to on the whole way would prove nothing.
    fn every_rule_was_asked(&self) {
        let asked = |pattern: &str| self.held.keys().any(|(_, p)| *p == pattern);
        let may_be = rules::RULES
            .iter()
            .filter(|(kind, ..)| *kind != rules::NEVER);
        let idle = may_be.filter(|(_, p, _)| !asked(p));
        let idle: Vec<&str> = idle.map(|(_, p, _)| *p).collect();
        assert_eq!(idle, [""; 0], "no sentence came to these");
    }

    fn truth(&self) -> Truth {
        let journal = self
            .data
            .join("jobs")
            .is_dir()
            .then(|| journal_of(&self.data));
        journal.map(|j| Truth::of(&j)).unwrap_or_default()
    }

    fn tap(&mut self, name: &str) {
        self.d.tap(name);
        self.look();
    }

    fn bar(&mut self) {
        let bar = self.d.mirror.bar();
        self.tap(&bar);
    }

    fn write(&mut self, name: &str, text: &str) {
        self.d.write(name, text);
        self.look();
    }

    /// Holds all that the screen says against the oracle.
    fn look(&mut self) {
        let truth = self.truth();
        let now = sentences::Now {
            ms: sentences::system_ms() + self.ahead_ms,
            typed: self.typed,
            counts: self.counts,
            is_of_line: false,
        };
        let spoken = self.d.mirror.spoken();
        for text in &spoken {
            let why = match sentences::judge(text, &truth, &now) {
                Verdict::Holds(found) => {
                    for one in found {
                        *self.held.entry(one).or_default() += 1;
                    }
                    continue;
                }
                Verdict::Quiet => continue,
                Verdict::Unknown => "no rule knows whether it is so".to_owned(),
                Verdict::Wrong(why) => why,
            };
            if self.wrong.insert(text.clone()) {
                println!("{}: {text:?}: {why}", self.d.taps);
                self.d.keep(&format!("newcomer-wrong-{}", self.wrong.len()));
            }
        }
    }
}

/// The one journal of the one job in a data folder.
fn journal_of(data: &Path) -> PathBuf {
    let files = |folder: &Path| {
        let all = std::fs::read_dir(folder).into_iter().flatten().flatten();
        all.map(|f| f.path()).collect::<Vec<_>>()
    };
    let jobs = files(&data.join("jobs"));
    let mut all = jobs.iter().flat_map(|job| files(job));
    let journal = all.find(|f| f.extension().is_some_and(|e| e == "jsonl"));
    journal.unwrap_or_default()
}

/// A clock that is so many milliseconds ahead.
struct Later(i64);

impl Clock for Later {
    fn now(&self) -> Stamp {
        let now = SystemClock.now();
        Stamp {
            at_ms: now.at_ms + self.0,
            ..now
        }
    }
}

fn course(size: Vec2) -> String {
    let begun = Instant::now();
    let root = tempfile::tempdir().unwrap();
    let mut n = Newcomer::at(root.path(), size);
    n.set_up();
    n.open_the_job();
    n.work_to_the_air();
    n.drop_and_change();
    n.find_something();
    n.hold_the_other();
    n.rest_over_night();
    n.work_to_the_record();
    n.d.close();
    assert_eq!(n.wrong, BTreeSet::new(), "the screen says what is not true");
    n.both_came_to_the_same();
    record::tells_the_truth(&n.data, &n.truth());
    // Upright the stages stand in one row, without the words that some rules are about.
    if size.x > size.y {
        n.every_rule_was_asked();
    }
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for ((kind, _), times) in &n.held {
        *kinds.entry(kind).or_default() += times;
    }
    format!(
        "a new user {}x{}: {} taps, {:?}, held against the oracle: {kinds:?}",
        size.x,
        size.y,
        n.d.taps,
        begun.elapsed(),
    )
}

#[test]
fn a_new_user_comes_from_an_empty_tablet_to_the_record_in_the_real_window() {
    let _alone = alone(&ONE_WINDOW);
    println!("{}", course(vec2(1280.0, 800.0)));
}

/// The same way on a screen held upright.
#[test]
fn a_new_user_goes_the_same_way_on_an_upright_screen() {
    if std::env::var_os("TRAYZERO_LONG").is_none() {
        println!("left out: TRAYZERO_LONG is not set");
        return;
    }
    let _alone = alone(&ONE_WINDOW);
    println!("{}", course(vec2(800.0, 1280.0)));
}
