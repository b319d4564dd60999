//! Where the fuzzer sets out from: the shipped layouts, journals of work at random, and
//! shop folders with several tablets in them.

use trayzero_core::engine::shipped;
use trayzero_core::job::Entry;
use trayzero_core::journal::{Mark, Writer};

use super::journal::Memory;
use super::text::{FILE, identity, job, tablet};
use crate::hands::{Dice, Hands};
use crate::pdf_pen::{BLANK, refilled};
use crate::photos;

/// Jobs of work at random, each a seed of its own.
const JOBS: u64 = 24;
/// Lines of such a job that are kept.
const LINES_MAX: usize = 48;

/// Seeds of a target: a name and the bytes.
///
/// # Panics
/// If there is no such target.
pub fn seeds(target: &str) -> Vec<(String, Vec<u8>)> {
    match target {
        "layout" => layouts(),
        "journal" => (0..JOBS)
            .map(|n| (format!("hands-{n}"), journal(n)))
            .collect(),
        "shop" => shops(),
        "record" => records(),
        "picture" => pictures(),
        other => panic!("no target {other}"),
    }
}

fn pictures() -> Vec<(String, Vec<u8>)> {
    let taken = |jpeg: &[u8], turned: u16| photos::as_taken(jpeg, turned);
    let all = [
        ("baseline", taken(photos::QUADRANTS, 6)),
        ("progressive", taken(photos::PROGRESSIVE, 3)),
        ("grey", photos::GREY.to_vec()),
        ("cmyk", photos::CMYK.to_vec()),
        ("tiny", taken(photos::TINY, 1)),
        ("palette", photos::QUADRANTS_PNG.to_vec()),
        ("tiny-png", photos::TINY_PNG.to_vec()),
    ];
    all.map(|(name, bytes)| (name.to_owned(), bytes)).to_vec()
}

fn layouts() -> Vec<(String, Vec<u8>)> {
    shipped()
        .iter()
        .map(|s| (s.key.to_owned(), s.json.as_bytes().to_vec()))
        .collect()
}

/// A job's journal without its links, as tablet `a` would write it on job `1`.
fn journal(seed: u64) -> Vec<u8> {
    let mut hands = Hands::new(seed);
    for tap in 0..200 {
        hands.step(&mut Dice::new(seed * 1_000 + tap));
    }
    let entries = hands.bay.entries;
    // Some journals from the beginning, some with a middle that nothing leads up to.
    let from = if seed.is_multiple_of(3) {
        entries.len() / 2
    } else {
        0
    };
    let mut text = unlinked(&entries[from..entries.len().min(from + LINES_MAX)]);
    if seed.is_multiple_of(4) {
        text.extend_from_slice(&line(900, 9_000_000_000_000, "{\"sealed\":$s}"));
    }
    if seed.is_multiple_of(5) {
        text.extend_from_slice(b"!{\"n\":901,\"id\":\"torn");
    }
    text
}

/// The lines of these entries without their links, identities by their names.
fn unlinked(entries: &[Entry]) -> Vec<u8> {
    let disk = Memory::default();
    let mut writer = Writer::on(
        disk.clone(),
        FILE.as_ref(),
        job(b'1'),
        tablet(b'a'),
        Mark::START,
    )
    .unwrap();
    for entry in entries {
        let mut entry = entry.clone();
        entry.tablet = tablet(b'a');
        writer.append(&[entry]).unwrap();
    }
    let written = disk.bytes();
    let mut text = String::from_utf8(written).unwrap();
    for name in *b"oabc0123" {
        let id = identity(name).unwrap().to_string();
        text = text.replace(&id, &format!("${}", char::from(name)));
    }
    let mut lines = Vec::new();
    for line in text.lines() {
        let body = line.split_once(",\"link\":\"").unwrap().0;
        lines.extend_from_slice(format!("{body}}}\n").as_bytes());
    }
    lines
}

/// An event line without its link.
fn line(n: u64, clock_ms: u64, event: &str) -> Vec<u8> {
    let line = format!(
        r#"{{"n":{n},"id":"00000000-0000-7000-8000-{n:012}","at":"2026-03-02T08:00:00.000+01:00","clock":[{clock_ms},0],"who":"Zoë","event":{event}}}"#
    );
    format!("{line}\n").into_bytes()
}

const HEADER_A: &str = "{\"format\":1,\"job\":\"$1\",\"tablet\":\"$a\"}\n";
const HEADER_B: &str = "{\"format\":1,\"job\":\"$1\",\"tablet\":\"$b\"}\n";
const MARKER: &str = "= shop.json raw\n{\"format\":1,\"this\":\"a shop folder of Tray Zero\"}\n";
const CARDS: &str = "= tablets/$a.json sealed\n{\"tablet\":\"$a\",\"name\":\"Lift 1\"}\n\
= tablets/$b.json sealed\n{\"tablet\":\"$b\",\"name\":\"Lift 2\"}\n";
const CREW: &str = "= crew/$a.json sealed\n{\"format\":1,\"members\":[\
{\"name\":\"Mira\",\"role\":\"foreman\",\"code\":null,\"left\":false,\"changed\":[1772434800000,0],\"by\":\"$a\"},\
{\"name\":\"Ada\",\"role\":\"technician\",\"code\":null,\"left\":true,\"changed\":[1772434800000,1],\"by\":\"$b\"}]}\n";
const RUBBISH: &str = "= jobs/notes.txt raw\nhello\n= jobs/$2/deep/deeper folder\n\
= jobs/$1/$c.jsonl folder\n= tablets/card.json raw\n{}\n= crew/$b.json raw\n[1,2]\n\
= jobs/$0/$o.jsonl linked\n{\"format\":1,\"job\":\"$0\",\"tablet\":\"$o\"}\n";

fn shops() -> Vec<(String, Vec<u8>)> {
    let opened = |seed: u64, lines: usize| -> Vec<u8> {
        let mut hands = Hands::new(seed);
        for tap in 0..200 {
            hands.step(&mut Dice::new(seed * 77 + tap));
        }
        unlinked(&hands.bay.entries[..lines.min(hands.bay.entries.len())])
    };
    let file = |name: &str, bytes: &[u8]| [format!("= {name} linked\n").as_bytes(), bytes].concat();
    let signed = [
        opened(1, 6),
        line(7, 9_000_000_000_000, "{\"taken_over\":{\"by\":{\"person\":\"Ada\",\"entering\":\"00000000-0000-7000-8000-000000000099\"}}}"),
        line(8, 9_000_000_000_001, "{\"sealed\":$s}"),
    ]
    .concat();
    let other = [
        HEADER_B.as_bytes(),
        &line(1, 9_000_000_000_002, "{\"noted\":{\"text\":\"from here\"}}"),
        &line(2, 9_000_000_000_003, "{\"paused\":{\"why\":\"lunch\"}}"),
        b"!{\"n\":3,\"id\"",
    ]
    .concat();
    let newer = HEADER_A.replace(":1,", ":2,");
    let newer = [newer.as_bytes(), &line(1, 5, "{\"something_new\":{}}")].concat();
    let on_own = [
        b"{\"format\":1,\"job\":\"$0\",\"tablet\":\"$a\"}\n".as_slice(),
        &line(1, 9_000_000_000_004, "{\"noted\":{\"text\":\"on yours\"}}"),
    ]
    .concat();
    let joined = |parts: &[&[u8]]| parts.concat();
    let two = joined(&[
        MARKER.as_bytes(),
        CARDS.as_bytes(),
        CREW.as_bytes(),
        &file("jobs/$1/$a.jsonl", &signed),
        &file("jobs/$1/$b.jsonl", &other),
    ]);
    vec![
        ("empty".to_owned(), Vec::new()),
        (
            "rubbish".to_owned(),
            joined(&[MARKER.as_bytes(), RUBBISH.as_bytes()]),
        ),
        ("newer".to_owned(), file("jobs/$1/$a.jsonl", &newer)),
        (
            "on-own".to_owned(),
            joined(&[CARDS.as_bytes(), &file("jobs/$0/$a.jsonl", &on_own)]),
        ),
        ("long".to_owned(), file("jobs/$3/$a.jsonl", &opened(3, 40))),
        ("all".to_owned(), joined(&[&two, RUBBISH.as_bytes()])),
        ("two".to_owned(), two),
    ]
}

/// Files of records: whole ones, one without a list, and the smallest PDFs.
fn records() -> Vec<(String, Vec<u8>)> {
    let making = "= made.json raw\n{\"format\":1,\"program\":\"0.1.0\",\"job\":\"$1\",\"tablet\":\"$a\",\
        \"tablet_name\":\"Lift 1\",\"whole_journals\":true,\"own_folder\":\"$a\",\"keys\":{\"$a\":[]},\
        \"language\":\"en\",\"paper\":\"a4\",\"units\":\"metric\",\"pages\":[\"\"]}\n\
        = record.json raw\n{\"check_value\":\"\",\"valves\":[{\"valve\":1}]}\n";
    let of = |name: &str, files: &[&[u8]]| (name.to_owned(), files.concat());
    let journal = [b"= journal-$a.jsonl linked\n".as_slice(), &journal(5)].concat();
    let other = format!("= journal-$b.jsonl linked\n{HEADER_B}= journal-$b.seal raw\n{{}}\n");
    let log = "= log-$a.jsonl raw\n{\"body\":{\"format\":1,\"tablet\":\"$a\",\"n\":1,\"before\":\"\",\
        \"seen\":{},\"at_ms\":1,\"deed\":{\"founded\":{}}},\"seal\":{\"key\":\"\",\"signature\":\"\"}}\n";
    let listed = "= SHA256SUMS raw\n00  made.json\n";
    let files = [("one".to_owned(), b"abc".to_vec())];
    vec![
        of("making", &[making.as_bytes()]),
        of("journal", &[making.as_bytes(), &journal]),
        of("two", &[making.as_bytes(), &journal, other.as_bytes()]),
        of("shop", &[making.as_bytes(), &journal, log.as_bytes()]),
        of("listed", &[making.as_bytes(), listed.as_bytes()]),
        of("blank", &[BLANK.as_bytes()]),
        of("filled", &[&refilled(BLANK.as_bytes(), &files)]),
    ]
}
