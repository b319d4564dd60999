//! The checked summary: right while the journals end as it says, and never else.

use std::fs;

use serde_json::{Value, json};
use trayzero_core::journal::{
    JobFolder, Limits, Writer, job_path, list_jobs, read_journal, read_summary, write_summary,
};

use crate::support::{JOB, Shop, TABLET, entry, small_event};

fn folder(shop: &Shop) -> JobFolder {
    list_jobs(shop.path()).unwrap().jobs.remove(0)
}

fn summed_up() -> (Shop, Value) {
    let shop = Shop::with(20);
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    let payload = json!({"vehicle": "Van 12", "verified": 24, "hours": 0.1});
    let path = job_path(shop.path(), JOB);
    write_summary(&path, JOB, &[(TABLET, read.mark)], &payload).unwrap();
    (shop, payload)
}

#[test]
fn a_summary_stands_for_journals_that_end_as_it_says() {
    let (shop, payload) = summed_up();
    assert_eq!(read_summary::<Value>(&folder(&shop)), Some(payload));
    assert!(list_jobs(shop.path()).unwrap().left_alone.is_empty());
}

#[test]
fn one_more_line_makes_a_summary_void() {
    let (shop, _) = summed_up();
    let mut writer = Writer::open(shop.path(), JOB, TABLET).unwrap().writer;
    let next = entry(TABLET, 20, writer.clock(), small_event(20));
    writer.append(&[next]).unwrap();
    assert_eq!(read_summary::<Value>(&folder(&shop)), None);
}

#[test]
fn another_tablets_journal_makes_a_summary_void() {
    let (shop, _) = summed_up();
    Writer::open(shop.path(), JOB, uuid::Uuid::from_u128(5)).unwrap();
    assert_eq!(read_summary::<Value>(&folder(&shop)), None);
}

#[test]
fn a_journal_that_ends_otherwise_makes_a_summary_void() {
    let (shop, _) = summed_up();
    let mut bytes = shop.bytes();
    let digit = bytes.len() - 10;
    bytes[digit] ^= 1;
    shop.put(&bytes);
    assert_eq!(read_summary::<Value>(&folder(&shop)), None);
    shop.put(b"short");
    assert_eq!(read_summary::<Value>(&folder(&shop)), None);
}

#[test]
fn every_flipped_bit_makes_a_summary_void() {
    let (shop, payload) = summed_up();
    let path = job_path(shop.path(), JOB).join("summary.json");
    let whole = fs::read(&path).unwrap();
    for at in 0..whole.len() {
        for bit in 0..8 {
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << bit;
            fs::write(&path, &bytes).unwrap();
            assert_eq!(
                read_summary::<Value>(&folder(&shop)),
                None,
                "byte {at}, bit {bit}"
            );
        }
    }
    fs::write(&path, &whole).unwrap();
    assert_eq!(read_summary(&folder(&shop)), Some(payload));
}
