//! The same in the window: what it says of a record is what the command line says, everything
//! in it can be looked at, and nothing of it goes anywhere.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::vec2;
use serde_json::Value;
use trayzero::data::pictures::Pixels;
use trayzero::data::store::{Clock, SetClock, Stamp, Store};
use trayzero::desk::Desk;
use trayzero::ui::intent::{Intent, Screen, SignedAct, TypedCode};
use trayzero::ui::view::DrawnPage;
use trayzero::ui::words::{Language, Words};
use trayzero_core::job::{Event, Person};
use trayzero_tests::pdf_pen::refilled;

use super::depot::{depot, taken_out, verified};
use super::hand::Hand;

const NOW: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// A window of another tablet, in a language.
pub fn window(language: Language) -> Hand {
    let folder = tempfile::tempdir().unwrap();
    let clock: Arc<dyn Clock> = Arc::new(SetClock::at(NOW));
    let store = Store::open(folder.path(), clock.now()).unwrap();
    let mut desk = Desk::open(store, clock).unwrap();
    let mut settings = desk.settings().clone();
    settings.language = language;
    desk.carry_out(Intent::Settings(Box::new(settings)));
    Hand::over(desk, folder, Screen::Bays, vec2(1024.0, 600.0))
}

/// Waits until something is so.
pub fn wait(hand: &mut Hand, what: &str, is_so: impl Fn(&Desk) -> bool) {
    let until = Instant::now() + Duration::from_mins(1);
    loop {
        hand.window.state_mut().desk.take_news();
        hand.window.run();
        if is_so(&hand.window.state().desk) {
            return;
        }
        assert!(Instant::now() < until, "{what} takes too long");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Opens a file and waits until it is read.
pub fn open(hand: &mut Hand, path: &Path) {
    let intent = Intent::OpenRecord(path.to_owned());
    hand.window.state_mut().carry_out(intent);
    wait(hand, "reading", |desk| {
        desk.view()
            .record
            .is_some_and(|record| record.read.is_some())
    });
}

fn words(hand: &Hand) -> &'static Words {
    hand.window.state().desk.settings().language.words()
}

/// Every file below a folder with its bytes.
fn everything(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            all.extend(everything(&path));
        } else {
            all.insert(path.clone(), fs::read(&path).unwrap());
        }
    }
    all
}

/// A record with one figure of its journal changed.
fn altered() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let mut files = taken_out(&depot().records[0]);
    let (_, journal) = files
        .iter_mut()
        .find(|(name, _)| name.starts_with("journal-") && name.contains(".jsonl"))
        .unwrap();
    let at = journal.len() / 2;
    let digit = journal[at..].iter().position(u8::is_ascii_digit).unwrap() + at;
    journal[digit] = if journal[digit] == b'1' { b'2' } else { b'1' };
    let files: Vec<_> = files.into_iter().collect();
    let path = folder.path().join("altered.pdf");
    fs::write(&path, refilled(&depot().record(0), &files)).unwrap();
    (folder, path)
}

fn lines(answer: &Value) -> Vec<(String, String)> {
    let lines = answer["lines"].as_array().unwrap().iter();
    let text = |line: &Value, key: &str| line[key].as_str().unwrap_or_default().to_owned();
    lines
        .map(|line| (text(line, "verdict"), text(line, "words")))
        .collect()
}

#[test]
fn the_window_says_of_a_record_what_the_command_line_says() {
    let (_kept, altered) = altered();
    let mut counts = [0, 0];
    for (file, code_wanted) in [(&depot().records[0], 0), (&altered, 1)] {
        let (code, answer) = verified(file, &[]);
        assert_eq!(code, code_wanted);
        let mut hand = window(Language::English);
        open(&mut hand, file);
        for (verdict, said) in lines(&answer) {
            counts[usize::from(code)] += 1;
            assert!(hand.says(&said), "{verdict} {said}: {:?}", hand.names());
        }
        for key in ["signer_words", "shop_words"] {
            let words = answer[key].as_str().unwrap();
            assert!(hand.says(words), "{key}");
        }
    }
    assert!(counts[0] > 5 && counts[1] > 5, "{counts:?}");
}

/// In German every line is another one, and none is empty.
#[test]
fn every_line_is_said_in_the_language_of_the_window() {
    let (_kept, altered) = altered();
    for file in [&depot().records[0], &altered] {
        let mut hand = window(Language::German);
        open(&mut hand, file);
        let desk = &hand.window.state().desk;
        let view = desk.view();
        let opened = view.record.unwrap().opened().unwrap();
        let both: Vec<(String, String)> = opened
            .report
            .lines
            .iter()
            .map(|line| {
                let of = |language: Language| language.words().verify_said(&line.said);
                (of(Language::English), of(Language::German))
            })
            .collect();
        for (english, german) in both {
            assert!(!german.trim().is_empty() && german != english, "{english}");
            assert!(hand.says(&german), "{german}");
            assert!(!hand.says(&english), "{english}");
        }
    }
}

#[test]
fn what_does_not_hold_is_said_on_every_page_and_over_the_bay() {
    let (_kept, altered) = altered();
    for language in Language::ALL {
        let mut hand = window(language);
        open(&mut hand, &altered);
        let w = words(&hand);
        let fails = {
            let view = hand.window.state().desk.view();
            view.record.unwrap().opened().unwrap().report.failures()
        };
        assert!(fails > 0);
        let loud = w.record_fails(fails);
        let parts = [w.record_part_holds, w.record_part_pages, w.record_part_job];
        for part in parts.into_iter().chain([w.record_part_hand_on]) {
            hand.tap(part);
            assert!(hand.says(&loud), "{part}");
            assert!(!hand.says(w.record_holds), "{part}");
        }
        hand.tap(w.record_part_job);
        hand.tap(&format!(
            "{}, {}",
            w.see_records_bay, w.see_records_bay_more
        ));
        assert_eq!(hand.window.state().desk.view().screen, Screen::Bay);
        assert!(hand.says(&loud), "the bay");
        hand.tap(&format!("{loud}, {}", w.back_to_record));
        assert_eq!(hand.window.state().desk.view().screen, Screen::Record);
    }
}

#[test]
fn a_file_that_is_no_record_is_said_to_be_none_and_nothing_fails() {
    let folder = tempfile::tempdir().unwrap();
    let record = depot().record(0);
    let files: [(&str, Vec<u8>); 5] = [
        ("empty.pdf", Vec::new()),
        ("text.pdf", b"a letter".to_vec()),
        ("half.pdf", record[..record.len() / 2].to_vec()),
        (
            "added.pdf",
            [&record[..], b"\nstartxref\n9\n%%EOF\n"].concat(),
        ),
        ("zeros.pdf", vec![0; 1 << 20]),
    ];
    for language in Language::ALL {
        for (name, bytes) in &files {
            let path = folder.path().join(name);
            fs::write(&path, bytes).unwrap();
            let mut hand = window(language);
            open(&mut hand, &path);
            assert!(hand.says(words(&hand).record_unread), "{name}");
        }
        let mut hand = window(language);
        open(&mut hand, &folder.path().join("nowhere.pdf"));
        assert!(hand.says(words(&hand).record_unread));
        open(&mut hand, folder.path());
        assert!(hand.says(words(&hand).record_unread));
    }
}

#[test]
fn every_page_is_drawn_and_turned_and_enlarged() {
    let mut hand = window(Language::English);
    open(&mut hand, &depot().records[0]);
    let w = words(&hand);
    hand.tap(w.record_part_pages);
    let pages = hand
        .window
        .state()
        .desk
        .view()
        .record
        .unwrap()
        .opened()
        .unwrap()
        .pages;
    assert!(pages > 3);
    let is_drawn = |desk: &Desk| {
        let page = desk.view().record.and_then(|record| record.page.as_ref());
        let asked = desk.view().record.and_then(|record| record.asked);
        let is_large = |pixels: &Pixels| asked.is_some_and(|(_, px)| u32::from(px) == pixels.width);
        matches!(page, Some((at, DrawnPage::There(pixels))) if asked.is_some_and(|(page, _)| page == *at) && is_large(pixels))
    };
    let wide = |hand: &Hand| {
        let view = hand.window.state().desk.view();
        view.record.unwrap().asked.unwrap()
    };
    for page in 1..=pages {
        wait(&mut hand, "drawing", is_drawn);
        assert!(hand.says(&w.page_n_of_m(page, pages)));
        assert_eq!(wide(&hand).0, page - 1);
        if page < pages {
            hand.tap(w.page_after);
        }
    }
    let before = wide(&hand).1;
    hand.tap(w.page_larger);
    wait(&mut hand, "drawing", is_drawn);
    assert!(wide(&hand).1 > before);
}

/// Everything that a screen can ask for while a record's bay is looked at leaves the data folder
/// and the record as they are.
#[test]
fn nothing_that_is_tapped_at_a_records_bay_reaches_a_disk() {
    let mut hand = window(Language::English);
    open(&mut hand, &depot().records[0]);
    let before = everything(hand.folder.path());
    let root = everything(depot().root());
    let shell = hand.window.state_mut();
    shell.carry_out(Intent::SeeRecordsBay);
    let id = shell.desk.view().job.as_ref().unwrap().id;
    assert_eq!(id, depot().jobs[0]);
    let last = shell.desk.view().job.as_ref().unwrap().state.last_ms();
    // The minutes of a bay of then do not run on.
    assert_eq!(shell.desk.view().now_ms, last);
    let ada = (Person::new("Ada"), TypedCode("123456".into()));
    let event = Event::Paused {
        why: "lunch".into(),
    };
    let asked = [
        Intent::Tap(vec![event]),
        Intent::PedalTakesBack(None),
        Intent::TakeBack(id),
        Intent::Sign {
            act: SignedAct::CloseJob,
            codes: vec![ada],
        },
        Intent::HandOver(id),
        Intent::WriteRecord,
        Intent::WriteWorkSheet,
    ];
    for intent in asked {
        hand.window.state_mut().carry_out(intent.clone());
        hand.window.run();
        assert_eq!(everything(hand.folder.path()), before, "{intent:?}");
    }
    let w = words(&hand);
    hand.tap(w.more);
    let names = hand.names();
    assert!(names.iter().any(|name| name == w.you_are_here), "{names:?}");
    hand.window.state_mut().carry_out(Intent::LeaveJob);
    hand.window.run();
    assert_eq!(hand.window.state().desk.view().screen, Screen::Record);
    assert_eq!(everything(hand.folder.path()), before);
    assert_eq!(everything(depot().root()), root);
    hand.window.state_mut().carry_out(Intent::CloseRecord);
    hand.window.run();
    assert!(hand.window.state().desk.view().record.is_none());
}
