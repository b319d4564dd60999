//! Whole jobs, played by the scripted technician and kept in journals.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use trayzero::data::store::Stamp;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Entry, Event, JobPhase, JobState, Opening, Person, SearchPlace};
use trayzero_core::journal::{Hlc, Mark, Writer, event_id};
use trayzero_tests::demo_script::technician::Technician;
use uuid::Uuid;

pub const TABLET: Uuid = Uuid::from_u128(0x017f_22e2_79b0_7cc3_98c4_dc0c_0c07_0002);
const START_MS: i64 = 1_796_000_000_000;
/// A moment after every job.
pub const NOW: Stamp = Stamp {
    at_ms: 1_797_000_000_000,
    offset_min: 60,
};

/// Every event of one job on this engine, from its opening to its closing.
pub fn one_job(key: &str) -> Vec<Event> {
    let one = shipped().iter().find(|s| s.key == key).unwrap();
    let layout = Layout::from_json(key, one.json.as_bytes()).unwrap();
    let mut entering = 0_u128;
    let mut technician = Technician {
        name: Person::new("Zoë Ferro"),
        second: Person::new("Ilse Brandt"),
        foreman: Person::new("Tam Okoro"),
        leaks: BTreeMap::new(),
        found_at: SearchPlace::BenchAndFloor,
        entering: Box::new(move || {
            entering += 1;
            Uuid::from_u128(entering)
        }),
    };
    let mut state = JobState::new();
    let mut events = vec![Event::JobOpened(Box::new(Opening {
        order_number: None,
        layout,
        vehicle: "Van 12".to_owned(),
        bay: "Bay 2".to_owned(),
        technician: technician.name.clone(),
    }))];
    let mut done = 0;
    while done < events.len() {
        for entry in stamped(&events[done..], done, 0) {
            state.apply(&entry).unwrap();
        }
        done = events.len();
        events.extend(technician.tap(&state, None));
    }
    assert_eq!(state.phase(), JobPhase::Closed);
    events
}

/// A note.
pub fn noted(number: usize) -> Event {
    Event::Noted {
        text: format!("seen {number}"),
    }
}

/// These events with notes after the opening, so many in all.
pub fn lengthened(mut events: Vec<Event>, to: usize) -> Vec<Event> {
    let missing = to.saturating_sub(events.len());
    events.splice(1..1, (0..missing).map(noted));
    events
}

/// Entries of these events, the first one being number `first` of its journal. `job`
/// makes their identities differ from other jobs'.
pub fn stamped(events: &[Event], first: usize, job: u16) -> Vec<Entry> {
    let stamp = |(at, event): (usize, &Event)| {
        let number = (first + at) as u32;
        let at_ms = START_MS + i64::from(number) * 9_731;
        let mut random = [0; 10];
        random[..4].copy_from_slice(&number.to_le_bytes());
        random[4..6].copy_from_slice(&job.to_le_bytes());
        Entry {
            id: event_id(at_ms, &random),
            tablet: TABLET,
            at_ms,
            offset_min: 60,
            clock: Hlc::default().tick(at_ms).pair(),
            after: None,
            paper: None,
            who: Person::new("Zoë Ferro"),
            event: event.clone(),
        }
    };
    events.iter().enumerate().map(stamp).collect()
}

/// A journal on disk.
pub struct Kept {
    pub job: Uuid,
    pub file: PathBuf,
    pub mark: Mark,
}

/// Keeps `jobs` jobs with these events in a data folder.
pub fn keep(data: &Path, events: &[Event], jobs: u16) -> Vec<Kept> {
    (0..jobs)
        .map(|number| {
            let job = Uuid::from_u128(u128::from(number) + 1);
            let mut writer = Writer::open(data, job, TABLET).unwrap().writer;
            writer.append(&stamped(events, 0, number)).unwrap();
            Kept {
                job,
                file: writer.file().to_owned(),
                mark: *writer.mark(),
            }
        })
        .collect()
}
