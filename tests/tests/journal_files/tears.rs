//! Power loss: the journal ends anywhere, or in zeros, or in half a write.

use std::fs;

use trayzero_core::job::Entry;
use trayzero_core::journal::{Limits, Torn, Writer, read_journal};

use trayzero_tests::figures::say;

use crate::support::{JOB, Shop, TABLET, entry, line_starts, lost_of, small_event};

/// Reads the journal, then opens it for writing and goes on: every whole line is there
/// both times, and what is left over is set aside. Gives how many are not.
fn reopens_with_every_whole_line(shop: &Shop, whole_lines: usize, rest: &[u8], what: &str) -> u64 {
    let known = &shop.entries[..whole_lines.saturating_sub(1)];
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.fault, None, "{what}");
    assert_eq!(read.entries, known, "{what}");
    assert_eq!(
        read.torn.as_ref().map(|t| t.bytes.as_slice()),
        (!rest.is_empty()).then_some(rest)
    );

    let side = Torn::side_file(&shop.journal());
    fs::remove_file(&side).ok();
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    assert_eq!(opened.read.entries, known, "{what}");
    assert_eq!(
        opened.read.torn, read.torn,
        "{what}: the torn line is reported"
    );
    if rest.is_empty() {
        assert!(!side.exists(), "{what}: nothing to set aside");
    } else {
        assert_eq!(set_aside(&shop.journal()), rest, "{what}");
    }
    let next = entry(TABLET, 999, opened.writer.clock(), small_event(3));
    opened.writer.append(std::slice::from_ref(&next)).unwrap();
    drop(opened);
    let again = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    let lost = lost_of(known, &read.entries) + lost_of(known, &again.entries);
    assert_eq!((again.torn, again.fault), (None, None), "{what}");
    assert_eq!(again.entries.split_last(), Some((&next, known)), "{what}");
    lost
}

/// What the side file holds, zeros at the end put back.
fn set_aside(journal: &std::path::Path) -> Vec<u8> {
    let text = fs::read_to_string(Torn::side_file(journal)).unwrap();
    let line: serde_json::Value = serde_json::from_str(text.trim_end()).unwrap();
    let hex = line["hex"].as_str().unwrap();
    let mut bytes: Vec<u8> = (0..hex.len() / 2)
        .map(|at| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16).unwrap())
        .collect();
    bytes.resize(line["bytes"].as_u64().unwrap() as usize, 0);
    bytes
}

#[test]
fn cut_at_every_byte_every_whole_line_is_there_and_the_torn_one_is_set_aside() {
    let shop = Shop::with(49);
    let whole = shop.bytes();
    let starts = line_starts(&whole);
    assert_eq!(starts.len(), 51, "fifty lines");
    let mut lost = 0;
    for cut in 0..=whole.len() {
        shop.put(&whole[..cut]);
        let lines = starts.iter().filter(|start| **start <= cut).count() - 1;
        let rest = &whole[starts[lines]..cut];
        let what = format!("cut at byte {cut}");
        lost += reopens_with_every_whole_line(&shop, lines, rest, &what);
    }
    say("offsets cut", whole.len() as u64 + 1);
    say("acknowledged lost", lost);
}

#[test]
fn a_zeroed_last_block_takes_only_what_it_held() {
    let shop = Shop::with(49);
    let whole = shop.bytes();
    let starts = line_starts(&whole);
    let (mut blocks, mut lost) = (0, 0);
    for block in [512, 4096] {
        for first in (0..whole.len()).step_by(block) {
            let mut bytes = whole.clone();
            bytes[first..].fill(0);
            shop.put(&bytes);
            let lines = starts.iter().filter(|start| **start <= first).count() - 1;
            let rest = &bytes[starts[lines]..];
            let what = format!("zeros from {first}");
            lost += reopens_with_every_whole_line(&shop, lines, rest, &what);
            blocks += 1;
        }
    }
    say("tails zeroed", blocks);
    say("acknowledged lost", lost);
}

/// One write of eight lines of which any subset of sectors reached the disk. The lines
/// acknowledged before must all be there, and of the others none that is not whole.
#[test]
fn a_write_torn_by_sectors_never_takes_an_acknowledged_line_with_it() {
    const SECTOR: usize = 512;
    let shop = Shop::with(20);
    let acknowledged = shop.bytes().len();
    let mut writer = Writer::open(shop.path(), JOB, TABLET).unwrap().writer;
    let mut last = writer.clock();
    let batch: Vec<Entry> = (20..28)
        .map(|step| {
            let entry = entry(TABLET, step, last, small_event(step));
            last = entry.clock.into();
            entry
        })
        .collect();
    writer.append(&batch).unwrap();
    drop(writer);
    let whole = shop.bytes();
    let all: Vec<Entry> = shop.entries.iter().cloned().chain(batch).collect();
    let first = acknowledged / SECTOR;
    let sectors = whole.len().div_ceil(SECTOR) - first;
    let mut lost = 0;
    for kept in 0_u32..1 << sectors {
        let mut bytes = whole.clone();
        for lost in (0..sectors).filter(|s| kept >> s & 1 == 0) {
            let from = ((first + lost) * SECTOR).max(acknowledged);
            let to = ((first + lost + 1) * SECTOR).min(whole.len());
            bytes[from..to].fill(0);
        }
        shop.put(&bytes);
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
        assert!(
            read.entries.len() >= shop.entries.len(),
            "sectors kept {kept:b}"
        );
        assert_eq!(
            read.entries,
            all[..read.entries.len()],
            "sectors kept {kept:b}"
        );
        lost += lost_of(&shop.entries, &read.entries);
        let is_whole = kept == (1 << sectors) - 1;
        assert_eq!(
            read.torn.is_none() && read.fault.is_none(),
            is_whole,
            "{kept:b}"
        );
    }
    say("writes torn", 1 << sectors);
    say("acknowledged lost", lost);
}
