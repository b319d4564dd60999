//! A whole job at the desk: taps, signatures by code, and what the command line makes of it.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use serde_json::Value;
use trayzero::cli;
use trayzero::data::crew::Role;
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::{Intent, SignedAct, TypedCode};
use trayzero_core::engine::Layout;
use trayzero_core::job::{Event, JobPhase, JobState, NextStep, Opening, Person};
use uuid::Uuid;

use crate::bay::true_lines;

const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};
const PEOPLE: [(&str, &str); 2] = [("Ada", "480217"), ("Ben", "913564")];

/// A desk with two foremen, an open job, and the clock on its wall.
pub struct Sat {
    /// The desk.
    pub desk: Desk,
    /// The clock.
    pub clock: Arc<SetClock>,
    /// Its folder.
    pub root: PathBuf,
    /// The job.
    pub job: Uuid,
}

fn code(of: &str) -> (Person, TypedCode) {
    let known = PEOPLE.iter().find(|(name, _)| *name == of).unwrap();
    (Person::new(known.0), TypedCode(known.1.to_owned()))
}

impl Sat {
    /// A new job on an engine in an empty folder.
    ///
    /// # Panics
    /// If it cannot be opened.
    pub fn at(root: &Path, layout: Layout) -> Self {
        let clock = Arc::new(SetClock::at(START));
        let store = Store::open(root, START).unwrap();
        let mut desk = Desk::open(store, Arc::clone(&clock) as Arc<dyn Clock>).unwrap();
        for (name, typed) in PEOPLE {
            let added = desk.carry_out(Intent::AddPerson {
                name: name.to_owned(),
                role: Role::Foreman,
                code: TypedCode(typed.to_owned()),
                by: (name != "Ada").then(|| code("Ada")),
            });
            assert_eq!(added, Outcome::Taken, "{:?}", desk.view().notice);
        }
        let opening = Opening {
            order_number: None,
            layout,
            vehicle: "Van 12".to_owned(),
            bay: "Bay 1".to_owned(),
            technician: Person::new("Ada"),
        };
        desk.carry_out(Intent::NewJob(Box::new(opening)));
        let job = desk.view().job.unwrap().id;
        let root = root.to_owned();
        Self {
            desk,
            clock,
            root,
            job,
        }
    }

    /// The job as the desk has it.
    ///
    /// # Panics
    /// If none is open.
    pub fn state(&self) -> &JobState {
        self.desk.state().unwrap()
    }

    /// Works on by taps until so many valves are verified, or no tap goes further.
    ///
    /// # Panics
    /// If a tap is not taken.
    pub fn work(&mut self, valves: usize) {
        while self.state().verified_count() < valves {
            let step = self.state().next_step(None);
            let mut events = self.state().events_of(&step);
            if events.is_empty() {
                events.push(match step {
                    NextStep::TakeIn => Event::TakeInNoted(Box::default()),
                    NextStep::ReadLeak { cylinder, when } => Event::LeakRead {
                        cylinder,
                        when,
                        supply_bar: 6.0,
                        cylinder_bar: 5.6,
                        heard: Vec::new(),
                    },
                    NextStep::AirOn { cylinder } => Event::AirOn { cylinder, bar: 3.0 },
                    other => panic!("no tap for {other:?}"),
                });
            }
            self.clock.advance(20_000);
            let taken = self.desk.carry_out(Intent::Tap(events));
            assert_eq!(taken, Outcome::Taken, "{:?}", self.desk.view().notice);
        }
    }

    /// Signs an act.
    pub fn sign(&mut self, act: SignedAct, who: &str) -> Outcome {
        self.clock.advance(20_000);
        let codes = vec![code(who)];
        self.desk.carry_out(Intent::Sign { act, codes })
    }

    /// Signs an act that has to be taken.
    ///
    /// # Panics
    /// If it is not.
    pub fn must_sign(&mut self, act: SignedAct, who: &str) {
        let outcome = self.sign(act, who);
        assert_eq!(outcome, Outcome::Taken, "{:?}", self.desk.view().notice);
    }

    /// Two people clear, count and close; what is left is tapped, and the job closed.
    ///
    /// # Panics
    /// If something is not taken.
    pub fn close(&mut self) {
        while self.state().phase() == JobPhase::Open {
            let step = self.state().next_step(None);
            match step {
                NextStep::Gate { bank } => {
                    for who in ["Ada", "Ben"] {
                        let lines = true_lines(self.state());
                        self.must_sign(SignedAct::Count(lines), who);
                    }
                    self.must_sign(SignedAct::CloseBank(bank), "Ada");
                }
                NextStep::CloseJob => self.must_sign(SignedAct::CloseJob, "Ben"),
                NextStep::ReadLeak { cylinder, when } => {
                    let read = Event::LeakRead {
                        cylinder,
                        when,
                        supply_bar: 6.0,
                        cylinder_bar: 5.8,
                        heard: Vec::new(),
                    };
                    self.desk.carry_out(Intent::Tap(vec![read]));
                }
                step => {
                    let events = self.state().events_of(&step);
                    let taken = self.desk.carry_out(Intent::Tap(events));
                    assert_eq!(taken, Outcome::Taken, "{:?}", self.desk.view().notice);
                }
            }
        }
    }

    /// Makes the record; a copy stays to be looked at.
    ///
    /// # Panics
    /// If it cannot be made.
    pub fn record(&self, name: &str) -> PathBuf {
        let file = self.root.join(name);
        let job = self.job.to_string();
        let (code, said) = run(&[
            "record",
            self.root.to_str().unwrap(),
            "--job",
            &job,
            "--out",
            file.to_str().unwrap(),
        ]);
        assert_eq!(code, 0, "{said}");
        file
    }

    /// The record as JSON.
    ///
    /// # Panics
    /// If it cannot be made.
    pub fn json(&self) -> Value {
        let job = self.job.to_string();
        let root = self.root.to_str().unwrap();
        let file = self.root.join("record.json");
        let out = file.to_str().unwrap();
        let (code, said) = run(&["record", root, "--job", &job, "--json", "--out", out]);
        assert_eq!(code, 0, "{said}");
        let text = fs::read_to_string(&file).unwrap_or(said);
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"))
    }
}

/// Exit code and everything said by a command line.
///
/// # Panics
/// If it says what is no text.
pub fn run(args: &[&str]) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = [&["trayzero"], args].concat();
    let code = cli::run(args, &mut out, &mut err);
    let said = [out, err].map(|text| String::from_utf8(text).unwrap());
    (code, said.concat())
}

/// The text of a PDF as poppler reads it.
///
/// # Panics
/// If it cannot be read.
pub fn text_of(pdf: &Path) -> String {
    let done = Command::new("pdftotext")
        .args(["-layout"])
        .arg(pdf)
        .arg("-")
        .output();
    String::from_utf8(done.unwrap().stdout).unwrap()
}
