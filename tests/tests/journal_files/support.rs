//! A journal of fifty lines, and small things that every test here needs.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;
use trayzero_core::engine::{Side, ValveName, shipped};
use trayzero_core::job::{Entry, Event, Opening, Person, Stage};
use trayzero_core::journal::{Hlc, Link, Writer, event_id, journal_path};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

pub const JOB: Uuid = Uuid::from_u128(0x017f_22e2_79b0_7cc3_98c4_dc0c_0c07_0001);
pub const TABLET: Uuid = Uuid::from_u128(0x017f_22e2_79b0_7cc3_98c4_dc0c_0c07_0002);
pub const NOON_MS: i64 = 1_796_000_000_000;

/// An entry of this tablet after `last`, with an identity of its own.
pub fn entry(tablet: Uuid, step: u32, last: Hlc, event: Event) -> Entry {
    let at_ms = NOON_MS + i64::from(step) * 700;
    let mut random = [0; 10];
    random[..4].copy_from_slice(&step.to_be_bytes());
    random[4..].copy_from_slice(&tablet.as_bytes()[10..]);
    Entry {
        id: event_id(at_ms, &random),
        tablet,
        at_ms,
        offset_min: 60,
        clock: last.tick(at_ms).pair(),
        after: None,
        paper: None,
        who: Person::new("Zoë Ferro"),
        event,
    }
}

/// A short event that differs from step to step.
pub fn small_event(step: u32) -> Event {
    let cylinder = (step % 6) as u8 + 1;
    match step % 5 {
        0 => Event::AirOn {
            cylinder,
            bar: 3.0 + f64::from(step) / 7.0,
        },
        1 => Event::StageSeen {
            valve: ValveName::new(cylinder, Side::Intake, 1),
            stage: Stage::LocksOut,
            locks_dropped: 1,
            seals_spoiled: 0,
        },
        2 => Event::PartDropped {
            item: Item::Lock,
            count: 1,
            from: Place::Tray,
            bank: Some(0),
            valve: None,
        },
        3 => Event::Noted {
            text: format!("step {step}: \"quoted\" \\ and öl\n"),
        },
        _ => Event::WrenchOff {},
    }
}

/// So many entries, one after the other; the first opens the job.
pub fn entries(tablet: Uuid, count: u32) -> Vec<Entry> {
    let mut last = Hlc::default();
    (0..count)
        .map(|step| {
            let event = if step == 0 {
                opening()
            } else {
                small_event(step)
            };
            let entry = entry(tablet, step, last, event);
            last = entry.clock.into();
            entry
        })
        .collect()
}

fn opening() -> Event {
    let layout = serde_json::from_str(shipped()[0].json).unwrap();
    Event::JobOpened(Box::new(Opening {
        order_number: None,
        layout,
        vehicle: "Van 12".to_owned(),
        bay: "Bay 2".to_owned(),
        technician: Person::new("Zoë Ferro"),
    }))
}

/// A folder for the tests that make thousands of files, in memory where the system has
/// such a place: what they cut and flip themselves needs no real sync.
pub fn scratch() -> TempDir {
    tempfile::tempdir_in("/dev/shm").unwrap_or_else(|_| tempfile::tempdir().unwrap())
}

/// A data folder with one journal of one header and `count` events in it.
pub struct Shop {
    pub data: TempDir,
    pub entries: Vec<Entry>,
}

impl Shop {
    pub fn with(count: u32) -> Self {
        let data = scratch();
        let entries = entries(TABLET, count);
        let mut writer = Writer::open(data.path(), JOB, TABLET).unwrap().writer;
        for entry in &entries {
            writer.append(std::slice::from_ref(entry)).unwrap();
        }
        Self { data, entries }
    }

    pub fn path(&self) -> &Path {
        self.data.path()
    }

    pub fn journal(&self) -> PathBuf {
        journal_path(self.path(), JOB, TABLET)
    }

    pub fn bytes(&self) -> Vec<u8> {
        fs::read(self.journal()).unwrap()
    }

    pub fn put(&self, bytes: &[u8]) {
        fs::write(self.journal(), bytes).unwrap();
    }
}

/// How many of the entries that were acknowledged are not where they belong.
pub fn lost_of(acknowledged: &[Entry], found: &[Entry]) -> u64 {
    let pairs = acknowledged.iter().zip(found);
    let kept = pairs.take_while(|(a, f)| a == f).count();
    (acknowledged.len() - kept) as u64
}

/// Where each line of a journal begins, and at last its length.
pub fn line_starts(bytes: &[u8]) -> Vec<usize> {
    let after = |(at, byte): (usize, &u8)| (*byte == b'\n').then_some(at + 1);
    std::iter::once(0)
        .chain(bytes.iter().enumerate().filter_map(after))
        .collect()
}

/// Chains bodies (objects without their closing brace) into lines, as the format says.
pub fn chained(bodies: &[String]) -> String {
    let mut link = Link::BEFORE_ALL;
    let mut text = String::new();
    for body in bodies {
        link = link.then(body.as_bytes());
        writeln!(text, "{body},\"link\":\"{link}\"}}").unwrap();
    }
    text
}

/// The bodies of the lines of a journal.
pub fn bodies_of(text: &str) -> Vec<String> {
    text.lines()
        .map(|line| line.split_once(",\"link\":\"").unwrap().0.to_owned())
        .collect()
}

pub fn header(format: u32) -> String {
    format!(r#"{{"format":{format},"job":"{JOB}","tablet":"{TABLET}""#)
}

/// The body of an event line with whatever event is wanted.
pub fn body(n: u64, event: &str) -> String {
    format!(
        r#"{{"n":{n},"id":"{}","at":"2026-11-25T08:03:07.120+01:00","clock":[{},0],"who":"Zoë","event":{event}"#,
        Uuid::from_u128(u128::from(n)),
        1000 + n
    )
}
