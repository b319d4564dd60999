//! Newer formats, and lines that chain well but do not hold.

use proptest::prelude::*;
use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Entry, Event, MediaType, PaperBatch, Person, Picture, PictureOf, SignOff,
};
use trayzero_core::journal::{
    FILE_BYTES_MAX, JournalError, LINE_BYTES_MAX, Limits, Writer, read_journal,
};
use uuid::Uuid;

use crate::support::{JOB, Shop, TABLET, bodies_of, body, chained, header, small_event};

const WRENCH: &str = r#"{"wrench_off":{}}"#;

#[test]
fn a_newer_format_is_read_as_far_as_known_and_never_written() {
    let shop = Shop::with(0);
    let text = chained(&[
        header(1),
        body(1, WRENCH),
        header(6),
        body(2, r#"{"seal_warmed":{"for_min":3}}"#) + r#","felt":"warm""#,
        body(3, WRENCH),
        body(4, r#"{"air_on":{"cylinder":1,"bar":3.0,"hiss":true}}"#),
    ]);
    shop.put(text.as_bytes());
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
    assert_eq!(read.fault, None);
    assert!(read.is_newer());
    assert_eq!((read.entries.len(), read.unknown, read.mark.n), (2, 2, 4));
    assert!(read.entries.iter().all(|e| e.event == Event::WrenchOff {}));
    let error = Writer::open(shop.path(), JOB, TABLET).unwrap_err();
    assert!(
        matches!(error, JournalError::NewerFormat { format: 6, .. }),
        "{error}"
    );
    assert_eq!(shop.bytes(), text.as_bytes(), "never rewritten");
}

/// A line that says what it was made after stands in format 2, which begins with the first such
/// line: older programs read a journal without one to its end.
#[test]
fn what_a_line_was_made_after_stands_in_format_2_from_that_line_on() {
    let shop = Shop::with(2);
    let (other, event) = (Uuid::from_u128(0xB0B), Uuid::from_u128(0xE));
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let mut add = |step: u32, after: Option<(Uuid, Uuid)>| {
        let last = opened.writer.clock();
        let entry = Entry {
            after: after.map(Box::new),
            paper: None,
            ..crate::support::entry(TABLET, step, last, small_event(step))
        };
        opened.writer.append(std::slice::from_ref(&entry)).unwrap();
        entry
    };
    let added = [
        add(3, Some((other, event))),
        add(4, None),
        add(5, Some((other, event))),
    ];
    drop(opened);
    let text = String::from_utf8(shop.bytes()).unwrap();
    let bodies = bodies_of(&text);
    assert_eq!((&bodies[0], &bodies[3]), (&header(1), &header(2)));
    let written = format!(r#""who":"Zoë Ferro","after":["{other}","{event}"],"event":"#);
    let with: Vec<usize> = (0..bodies.len())
        .filter(|at| bodies[*at].contains(&written))
        .collect();
    assert_eq!((bodies.len(), with), (7, vec![4, 6]), "{text}");
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
    assert_eq!(read.entries, [&shop.entries[..], &added].concat());
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let next = crate::support::entry(TABLET, 6, opened.writer.clock(), small_event(6));
    opened.writer.append(&[next]).unwrap();
    // In format 1 it is as unknown as it was; what is none is located.
    for (format, after, why) in [
        (1, format!(r#"["{other}","{event}"]"#), "unknown field"),
        (2, r#"["nobody"]"#.to_owned(), "UUID"),
        (2, "7".to_owned(), "invalid type"),
    ] {
        let line = body(1, WRENCH).replace(r#","event""#, &format!(r#","after":{after},"event""#));
        shop.put(chained(&[header(format), line]).as_bytes());
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
        let fault = read.fault.unwrap();
        assert_eq!((fault.line, &*fault.field), (2, "after"), "{fault}");
        assert!(fault.why.to_string().contains(why), "{fault}");
    }
}

/// Pictures stand in format 3, which begins with the first one: a program of before reads on
/// behind it and says that there is something it does not know.
#[test]
fn a_picture_stands_in_format_3_from_that_line_on() {
    let shop = Shop::with(2);
    let picture = Event::PictureAdded(Box::new(Picture {
        sha256: "a1".repeat(32),
        bytes: 4_000_000,
        media: MediaType::Png,
        copy_sha256: "b2".repeat(32),
        copy_bytes: 400_000,
        of: PictureOf::Valve {
            valve: ValveName::new(1, Side::Exhaust, 2),
        },
        remark: "scored".into(),
    }));
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let mut added = Vec::new();
    for (step, event) in [(3, picture), (4, small_event(4))] {
        let last = opened.writer.clock();
        let entry = crate::support::entry(TABLET, step, last, event);
        opened.writer.append(std::slice::from_ref(&entry)).unwrap();
        added.push(entry);
    }
    drop(opened);
    let text = String::from_utf8(shop.bytes()).unwrap();
    let bodies = bodies_of(&text);
    assert_eq!((&bodies[0], &bodies[3]), (&header(1), &header(3)));
    let wanted = format!(
        r#""event":{{"picture_added":{{"sha256":"{}","bytes":4000000,"media":"image/png","copy_sha256":"{}","copy_bytes":400000,"of":{{"valve":{{"valve":"#,
        "a1".repeat(32),
        "b2".repeat(32),
    );
    assert!(bodies[4].contains(&wanted), "{}", bodies[4]);
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
    assert_eq!(read.fault, None);
    assert_eq!(read.entries, [&shop.entries[..], &added].concat());
    // In an older format it is no event, whichever way the line is read.
    for spaced in [false, true] {
        let event = bodies[4].split_once(r#""event":"#).unwrap().1;
        let mut line = body(1, event);
        if spaced {
            line = line.replacen(r#""n":"#, r#""n": "#, 1);
        }
        for format in [1, 2] {
            shop.put(chained(&[header(format), line.clone()]).as_bytes());
            let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
            let fault = read.fault.unwrap();
            assert_eq!((fault.line, &*fault.field), (2, "event"), "{fault}");
        }
        shop.put(chained(&[header(3), line]).as_bytes());
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
        assert_eq!((read.fault, read.entries.len()), (None, 1));
    }
}

#[test]
fn a_torn_line_of_a_newer_format_is_left_alone() {
    let shop = Shop::with(0);
    let mut text = chained(&[header(7), body(1, WRENCH)]);
    text.push_str("{\"n\":2,");
    shop.put(text.as_bytes());
    assert!(Writer::open(shop.path(), JOB, TABLET).is_err());
    assert_eq!(shop.bytes(), text.as_bytes());
}

/// Each row: what stands in the file, the line and the field that are to blame.
#[test]
#[expect(clippy::too_many_lines, reason = "a table: one row a broken line")]
fn a_line_that_chains_but_does_not_hold_is_located_to_its_field() {
    let other = Uuid::from_u128(77);
    let good = body(1, WRENCH);
    let deep = format!("{}1{}", "[".repeat(100_000), "]".repeat(100_000));
    let rows: &[(&str, Vec<String>, u64, &str)] = &[
        ("no header", vec![good.clone()], 1, ""),
        ("format 0", vec![header(0)], 1, "format"),
        ("format again", vec![header(1), header(1)], 2, "format"),
        (
            "another job",
            vec![header(1).replace(&JOB.to_string(), &other.to_string())],
            1,
            "job",
        ),
        (
            "another tablet",
            vec![header(1).replace(&TABLET.to_string(), &other.to_string())],
            1,
            "tablet",
        ),
        ("a gap", vec![header(1), body(2, WRENCH)], 2, "n"),
        (
            "no number",
            vec![header(1), good.replace(r#""n":1"#, r#""n":"1""#)],
            2,
            "n",
        ),
        (
            "no identity",
            vec![header(1), good.replace("00000001\"", "0000000x\"")],
            2,
            "id",
        ),
        (
            "no offset",
            vec![header(1), good.replace("+01:00", "")],
            2,
            "at",
        ),
        (
            "no such day",
            vec![header(1), good.replace("11-25", "11-31")],
            2,
            "at",
        ),
        (
            "clock of text",
            vec![header(1), good.replace("[1001,0]", "\"soon\"")],
            2,
            "clock",
        ),
        (
            "clock past all years",
            vec![header(1), good.replace("[1001,0]", "[253402300800000,0]")],
            2,
            "clock",
        ),
        (
            "clock stands still",
            vec![
                header(1),
                good.clone(),
                body(2, WRENCH).replace("[1002,0]", "[1001,0]"),
            ],
            3,
            "clock",
        ),
        (
            "unknown event",
            vec![header(1), body(1, r#"{"sung":{}}"#)],
            2,
            "event",
        ),
        ("event too deep", vec![header(1), body(1, &deep)], 2, ""),
        (
            "more fields",
            vec![header(1), good.clone() + r#","more":1"#],
            2,
            "more",
        ),
        ("no JSON", vec![header(1), "{n".to_owned()], 2, ""),
        (
            "no who",
            vec![header(1), good.replace(r#""who":"Zoë","#, "")],
            2,
            "who",
        ),
    ];
    let shop = Shop::with(0);
    for (what, bodies, line, field) in rows {
        shop.put(chained(bodies).as_bytes());
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
        let fault = read.fault.unwrap_or_else(|| panic!("{what}: taken"));
        assert_eq!(
            (fault.line, fault.field.as_str()),
            (*line, *field),
            "{what}: {fault}"
        );
        assert_eq!(read.mark.lines, line - 1, "{what}");
    }
}

#[test]
fn every_field_of_a_line_is_told_to_be_missing() {
    let shop = Shop::with(0);
    for field in ["n", "id", "at", "clock", "who", "event"] {
        let renamed = body(1, WRENCH).replace(&format!("\"{field}\":"), "\"_\":");
        shop.put(chained(&[header(1), renamed]).as_bytes());
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
        assert_eq!(read.fault.unwrap().field, field);
    }
}

#[test]
fn a_line_or_a_file_without_an_end_is_refused_within_bounds() {
    let shop = Shop::with(3);
    let mut bytes = shop.bytes();
    bytes.resize(bytes.len() + LINE_BYTES_MAX + 2, b'x');
    shop.put(&bytes);
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.entries, shop.entries);
    assert!(
        read.fault
            .unwrap()
            .to_string()
            .contains("longer than 1048576 bytes")
    );

    // A file of a gigabyte, most of it a hole, is not even read.
    let file = std::fs::File::options()
        .write(true)
        .open(shop.journal())
        .unwrap();
    file.set_len(1_000_000_000).unwrap();
    for limits in [Limits::OWN, Limits::FOREIGN] {
        let read = read_journal(&shop.journal(), JOB, TABLET, limits).unwrap();
        assert!(read.fault.unwrap().to_string().contains("1000000000 bytes"));
    }
    const { assert!(FILE_BYTES_MAX < 1_000_000_000) };
}

#[test]
fn an_empty_file_is_a_journal_not_begun() {
    let shop = Shop::with(0);
    shop.put(b"");
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    assert!(read.mark.is_start() && read.fault.is_none() && read.torn.is_none());
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let entry = crate::support::entry(TABLET, 1, opened.writer.clock(), small_event(1));
    opened.writer.append(std::slice::from_ref(&entry)).unwrap();
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.entries, [entry]);
}

/// The format page says which bytes are hashed; this is that page, done by hand.
#[test]
fn the_written_file_is_what_the_format_says() {
    let shop = Shop::with(4);
    let text = String::from_utf8(shop.bytes()).unwrap();
    let bodies = bodies_of(&text);
    assert_eq!(bodies[0], header(1));
    assert!(bodies[3].starts_with(r#"{"n":3,"id":""#), "{}", bodies[3]);
    assert!(bodies[3].contains(r#""at":"2026-11-30T01:53:21.400+01:00","clock":[1796000001400,0],"who":"Zoë Ferro","event":{"part_dropped":{"#), "{}", bodies[3]);
    assert_eq!(chained(&bodies), text);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    /// Somebody edits a line and chains the file anew, so that only its meaning can give
    /// it away. It is taken or located, the lines before it are good, and a file that is
    /// not taken is not touched.
    #[test]
    fn whatever_chains_is_taken_or_located(
        line in 0..9_usize,
        at in any::<prop::sample::Index>(),
        removed in 0..12_usize,
        put in prop_oneof![
            "[-+0-9.eE]{1,12}",
            "[\\[\\]{}\",:]{1,4}",
            "(null|true|1e999|-0|\"\\\\u0000\"|\"\\\\ud800\"|\\[\\[\\[\\[)",
            "\\PC{0,8}",
        ],
    ) {
        thread_local! {
            static SHOP: Shop = Shop::with(8);
        }
        SHOP.with(|shop| {
            let whole = shop.bytes();
            let text = String::from_utf8(whole.clone()).unwrap();
            let mut bodies = bodies_of(&text);
            let edited: Vec<char> = bodies[line].chars().collect();
            let from = at.index(edited.len());
            let to = (from + removed).min(edited.len());
            bodies[line] = edited[..from].iter().collect::<String>() + &put
                + &edited[to..].iter().collect::<String>();
            let changed = chained(&bodies).into_bytes();
            shop.put(&changed);
            let read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
            let before = line.saturating_sub(1);
            assert_eq!(read.entries[..before.min(read.entries.len())], shop.entries[..before]);
            if let Some(fault) = &read.fault {
                assert!(fault.line > line as u64, "{fault}");
                assert!(Writer::open(shop.path(), JOB, TABLET).is_err());
                assert_eq!(shop.bytes(), changed);
            } else {
                assert_eq!(read.mark.lines, 9);
                assert_eq!(read.entries.len() as u64 + read.unknown, 8);
            }
            shop.put(&whole);
        });
    }
}

/// Lines from paper stand in format 4, which begins with the event that opens them: a program
/// of before says that there is something it does not know.
#[test]
fn what_comes_from_paper_stands_in_format_4_from_that_line_on() {
    let shop = Shop::with(2);
    let batch = Event::EnteredFromPaper(Box::new(PaperBatch {
        lines: 1,
        sha256: "a1".repeat(32),
        done_by: Person::new("Zoë Ferro"),
        done_ms: 1_796_000_000_000,
        done_offset_min: 60,
        by: SignOff::new(Person::new("Zoë Ferro"), Uuid::from_u128(0xE7)),
    }));
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let mut added: Vec<Entry> = Vec::new();
    for (step, event) in [(3, batch), (4, small_event(4))] {
        let last = opened.writer.clock();
        let mut entry = crate::support::entry(TABLET, step, last, event);
        entry.paper = added.first().map(|opener| opener.id);
        opened.writer.append(std::slice::from_ref(&entry)).unwrap();
        added.push(entry);
    }
    drop(opened);
    let text = String::from_utf8(shop.bytes()).unwrap();
    let bodies = bodies_of(&text);
    assert_eq!((&bodies[0], &bodies[3]), (&header(1), &header(4)));
    assert!(bodies[4].contains(r#""event":{"entered_from_paper":{"lines":1,"#));
    let marked = format!(r#""paper":"{}","event":"#, added[0].id);
    assert!(bodies[5].contains(&marked), "{}", bodies[5]);
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::FOREIGN).unwrap();
    assert_eq!(read.fault, None);
    assert_eq!(read.entries, [&shop.entries[..], &added].concat());
    // In an older format neither is known, and a mark that is none is located.
    let event = bodies[4].split_once(r#""event":"#).unwrap().1;
    let mark = |paper: &str| {
        body(1, WRENCH).replace(r#","event""#, &format!(r#","paper":{paper},"event""#))
    };
    let lines = [
        (3, body(1, event), "event"),
        (3, mark(&format!(r#""{}""#, added[0].id)), "paper"),
        (4, mark("7"), "paper"),
    ];
    for (format, line, field) in lines {
        shop.put(chained(&[header(format), line]).as_bytes());
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
        assert_eq!(&*read.fault.unwrap().field, field);
    }
}
