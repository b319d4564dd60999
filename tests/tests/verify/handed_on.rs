//! A record handed on: to a folder, to the system's programs, to a printer; and what is said
//! where one of them is missing, full or gone.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use trayzero::data::hand_on::{NotHandedOn, SystemPrograms, write_to};
use trayzero::desk::Desk;
use trayzero::ui::intent::Intent;
use trayzero::ui::view::Notice;
use trayzero::ui::words::Language;
use trayzero_tests::small_disk::SmallDisk;

use super::depot::depot;
use super::hand::Hand;
use super::window::{open, wait, window};

fn is_done(desk: &Desk) -> bool {
    desk.view()
        .record
        .is_some_and(|record| !record.is_being_handed_on)
}

/// What the desk says of it, and whether that is a fault.
fn said(hand: &Hand) -> (String, bool) {
    match hand.window.state().desk.view().notice {
        Some(Notice::Said(text)) => (text.clone(), false),
        Some(Notice::Fault { what, .. }) => (what.clone(), true),
        other => panic!("{other:?}"),
    }
}

fn asked(hand: &mut Hand, intent: Intent) -> (String, bool) {
    hand.window.state_mut().carry_out(intent);
    wait(hand, "handing on", is_done);
    let (text, is_fault) = said(hand);
    assert!(hand.says(&text), "{text}");
    (text, is_fault)
}

fn names(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().flatten();
    let mut names: Vec<String> = names
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// A program of the system that keeps what it is given.
fn program(folder: &Path, name: &str, script: &str) {
    let path = folder.join(name);
    fs::write(&path, format!("#!/bin/sh\n{script}\n")).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_record_is_written_to_a_folder_whole_and_over_nothing() {
    let stick = tempfile::tempdir().unwrap();
    let mut hand = window(Language::English);
    let file = &depot().records[0];
    open(&mut hand, file);
    hand.tap(Language::English.words().record_part_hand_on);
    let name = file.file_name().unwrap().to_str().unwrap().to_owned();
    let to = Intent::WriteRecordTo(stick.path().to_owned());
    assert!(!asked(&mut hand, to.clone()).1);
    assert_eq!(
        fs::read(stick.path().join(&name)).unwrap(),
        depot().record(0)
    );
    // The same again is said to be there, and nothing is written.
    let (text, is_fault) = asked(&mut hand, to.clone());
    assert!(!is_fault && text.contains("already"), "{text}");
    assert_eq!(names(stick.path()), std::slice::from_ref(&name));
    // Another file of that name stays.
    fs::write(stick.path().join(&name), b"another").unwrap();
    let (text, is_fault) = asked(&mut hand, to.clone());
    let second = name.replace(".pdf", "-2.pdf");
    assert!(!is_fault && text.contains(&second), "{text}");
    assert_eq!(fs::read(stick.path().join(&name)).unwrap(), b"another");
    assert_eq!(
        fs::read(stick.path().join(&second)).unwrap(),
        depot().record(0)
    );
    // The stick is pulled out.
    drop(stick);
    let (text, is_fault) = asked(&mut hand, to);
    assert!(is_fault && text.contains("not there"), "{text}");
}

#[test]
fn a_full_or_locked_stick_keeps_no_half_record() {
    let Some(stick) = SmallDisk::of(64, "a record on a full stick") else {
        return;
    };
    let mut hand = window(Language::German);
    open(&mut hand, &depot().records[0]);
    assert!(depot().record(0).len() > 64 << 10);
    let to = Intent::WriteRecordTo(stick.path().to_owned());
    let (text, is_fault) = asked(&mut hand, to.clone());
    assert!(is_fault && text.contains("No space left"), "{text}");
    assert_eq!(names(stick.path()), [""; 0]);
    stick.remount("ro");
    let (text, is_fault) = asked(&mut hand, to);
    assert!(is_fault && text.contains("Read-only"), "{text}");
    assert_eq!(names(stick.path()), [""; 0]);
}

/// The file is pulled out while it is open: everything is still there to be seen and handed on.
#[test]
fn a_file_that_goes_while_it_is_open_is_still_shown_and_written() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("record.pdf");
    fs::write(&file, depot().record(0)).unwrap();
    let mut hand = window(Language::English);
    open(&mut hand, &file);
    fs::remove_file(&file).unwrap();
    let w = Language::English.words();
    hand.tap(w.record_part_pages);
    wait(&mut hand, "drawing", |desk| {
        let page = desk.view().record.and_then(|record| record.page.as_ref());
        matches!(page, Some((0, trayzero::ui::view::DrawnPage::There(_))))
    });
    let (text, is_fault) = asked(&mut hand, Intent::ShowRecord);
    assert!(is_fault && text.contains("gone or changed"), "{text}");
    fs::write(&file, b"something else").unwrap();
    let (text, is_fault) = asked(&mut hand, Intent::ShowRecord);
    assert!(is_fault && text.contains("gone or changed"), "{text}");
    let stick = tempfile::tempdir().unwrap();
    let to = Intent::WriteRecordTo(stick.path().to_owned());
    assert!(!asked(&mut hand, to).1);
    let written = fs::read(stick.path().join("record.pdf")).unwrap();
    assert_eq!(written, depot().record(0));
}

#[test]
fn the_systems_programs_get_the_record_and_their_refusal_is_said() {
    let bin = tempfile::tempdir().unwrap();
    let out = bin.path().join("out");
    fs::create_dir(&out).unwrap();
    let here = out.display();
    let mut hand = window(Language::English);
    let desk = &mut hand.window.state_mut().desk;
    desk.set_system_programs(SystemPrograms::in_folder(bin.path()));
    open(&mut hand, &depot().records[0]);
    let w = Language::English.words();
    hand.tap(w.record_part_hand_on);
    // There is none of them.
    let (text, is_fault) = asked(&mut hand, Intent::ShowRecord);
    assert!(is_fault && text.contains("no program"), "{text}");
    hand.window.state_mut().carry_out(Intent::AskPrinters);
    wait(&mut hand, "printers", is_done);
    assert!(hand.says(w.no_printer), "{:?}", hand.names());
    // Now there are.
    program(bin.path(), "xdg-open", &format!("cp \"$1\" '{here}/shown'"));
    program(
        bin.path(),
        "lpstat",
        "echo office; echo 'two words'; echo -oops; echo yard",
    );
    program(
        bin.path(),
        "lp",
        &format!("echo \"$@\" >'{here}/asked'; cat >'{here}/printed'"),
    );
    assert!(!asked(&mut hand, Intent::ShowRecord).1);
    assert_eq!(fs::read(out.join("shown")).unwrap(), depot().record(0));
    open(&mut hand, &depot().records[0]);
    hand.window.state_mut().carry_out(Intent::AskPrinters);
    wait(&mut hand, "printers", is_done);
    let printers = {
        let view = hand.window.state().desk.view();
        view.record.unwrap().printers.clone().unwrap().unwrap()
    };
    assert_eq!(printers, ["office", "yard"]);
    hand.tap(w.record_part_hand_on);
    hand.tap(&w.print_on("yard"));
    wait(&mut hand, "printing", is_done);
    let (text, is_fault) = said(&hand);
    assert!(!is_fault && text.contains("yard"), "{text}");
    assert_eq!(fs::read(out.join("printed")).unwrap(), depot().record(0));
    let line = fs::read_to_string(out.join("asked")).unwrap();
    assert!(line.starts_with("-d yard -t "), "{line}");
    program(
        bin.path(),
        "lp",
        "echo 'lp: The printer is jammed.' >&2; exit 1",
    );
    let (text, is_fault) = asked(&mut hand, Intent::PrintRecord("yard".into()));
    assert!(is_fault && text.contains("jammed"), "{text}");
}

#[test]
fn a_folder_full_of_other_records_of_the_name_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    for n in 1..=99 {
        let name = if n == 1 {
            "a.pdf".to_owned()
        } else {
            format!("a-{n}.pdf")
        };
        fs::write(folder.path().join(name), b"another").unwrap();
    }
    let before = names(folder.path());
    let written = write_to(folder.path(), "a.pdf", b"this");
    assert!(
        matches!(written, Err(NotHandedOn::NamesTaken(_))),
        "{written:?}"
    );
    assert_eq!(names(folder.path()), before);
}
