//! The folder of a shop that has worked for ten years.

use std::path::Path;

use trayzero::data::store::Store;
use trayzero_core::job::{Event, Person, SignOff};
use trayzero_core::journal::Writer;
use uuid::Uuid;

use super::jobs::{NOW, TABLET, one_job, stamped};

/// Jobs that are over. They are short, for nothing of them may count but their number.
pub const FINISHED: usize = 10_000;
/// Jobs in the middle of the work on an engine with 32 valves.
pub const UNDER_WAY: usize = 60;

/// Makes such a folder, as it is after the program has run in it once.
pub fn ten_years(data: &Path) {
    let whole = one_job("v8-cross-plane-32v");
    let stopped = Event::JobStopped {
        by: SignOff {
            person: Person::new("Zoë Ferro"),
            entering: Uuid::from_u128(1),
            proof: None,
        },
        why: "Sold as it is".to_owned(),
    };
    let over = [whole[0].clone(), stopped];
    let half = &whole[..whole.len() / 2];
    for number in 0..FINISHED + UNDER_WAY {
        let events = if number < FINISHED { &over } else { half };
        let job = Uuid::from_u128(number as u128 + 1);
        let mut writer = Writer::open(data, job, TABLET).unwrap().writer;
        writer.append(&stamped(events, 0, number as u16)).unwrap();
    }
    let list = Store::open(data, NOW).unwrap().jobs().unwrap();
    assert_eq!((list.jobs.len(), list.finished), (UNDER_WAY, FINISHED));
}
