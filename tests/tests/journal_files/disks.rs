//! Real disks at their worst: full, read-only, gone; and a second copy of the program.

use std::fs;
use std::io::ErrorKind;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::Command;
use std::thread::sleep;
use std::time::Duration;

use trayzero_core::journal::{
    Hlc, JournalError, Limits, Writer, job_path, journal_path, read_journal,
};

use trayzero_tests::small_disk::SmallDisk;

use crate::support::{JOB, NOON_MS, Shop, TABLET, entries, entry, small_event};

#[test]
fn a_full_disk_loses_nothing_and_takes_taps_again_once_there_is_room() {
    let Some(disk) = SmallDisk::of(64, "full disk") else {
        return;
    };
    let all = entries(TABLET, 400);
    let mut writer = Writer::open(disk.path(), JOB, TABLET).unwrap().writer;
    let journal = writer.file().to_owned();
    writer.append(&all[..1]).unwrap();
    let filler = disk.fill_up();
    let mut kept = 1;
    let error = loop {
        match writer.append(&all[kept..=kept]) {
            Ok(()) => kept += 1,
            Err(e) => break e,
        }
    };
    assert!(matches!(error, JournalError::NoSpace { .. }), "{error}");
    assert!(
        error.to_string().contains(&*journal.to_string_lossy()),
        "{error}"
    );
    let again = writer.append(&all[kept..=kept]).unwrap_err();
    assert!(matches!(again, JournalError::Poisoned { .. }), "{again}");
    drop(writer);

    let read = read_journal(&journal, JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.entries, all[..kept]);
    assert_eq!(
        (read.torn, read.fault),
        (None, None),
        "cut back to what was acknowledged"
    );

    fs::remove_file(filler).unwrap();
    let mut opened = Writer::restore(disk.path(), JOB, TABLET, &all[..kept]).unwrap();
    opened.writer.append(&all[kept..kept + 3]).unwrap();
    let read = read_journal(&journal, JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.entries, all[..kept + 3]);
    println!("full disk: {kept} acknowledged before, lost: 0");
}

#[test]
fn a_torn_line_stays_where_it_is_while_there_is_no_room_to_set_it_aside() {
    let Some(disk) = SmallDisk::of(64, "torn line on a full disk") else {
        return;
    };
    let all = entries(TABLET, 3);
    let mut writer = Writer::open(disk.path(), JOB, TABLET).unwrap().writer;
    writer.append(&all).unwrap();
    let journal = writer.file().to_owned();
    drop(writer);
    let mut bytes = fs::read(&journal).unwrap();
    bytes.extend_from_slice(b"{\"n\":4,\"id\"");
    fs::write(&journal, &bytes).unwrap();
    let filler = disk.fill_up();
    let error = Writer::open(disk.path(), JOB, TABLET).unwrap_err();
    assert!(matches!(error, JournalError::NoSpace { .. }), "{error}");
    assert_eq!(fs::read(&journal).unwrap(), bytes);
    fs::remove_file(filler).unwrap();
    assert!(
        Writer::open(disk.path(), JOB, TABLET)
            .unwrap()
            .read
            .torn
            .is_some()
    );
}

#[test]
fn a_new_job_on_a_full_disk_leaves_no_empty_journal() {
    let Some(disk) = SmallDisk::of(64, "new job on a full disk") else {
        return;
    };
    disk.fill_up();
    let error = Writer::open(disk.path(), JOB, TABLET).unwrap_err();
    assert!(matches!(error, JournalError::NoSpace { .. }), "{error}");
    assert!(!journal_path(disk.path(), JOB, TABLET).exists());
}

#[test]
fn a_read_only_disk_is_read_and_says_so_when_written() {
    let Some(disk) = SmallDisk::of(256, "read-only disk") else {
        return;
    };
    let all = entries(TABLET, 5);
    let mut writer = Writer::open(disk.path(), JOB, TABLET).unwrap().writer;
    writer.append(&all).unwrap();
    let journal = writer.file().to_owned();
    drop(writer);
    disk.remount("ro");
    let error = Writer::open(disk.path(), JOB, TABLET).unwrap_err();
    assert!(matches!(error, JournalError::ReadOnly { .. }), "{error}");
    let read = read_journal(&journal, JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.entries, all);
    disk.remount("rw");
    Writer::open(disk.path(), JOB, TABLET).unwrap();
}

/// Rights do not bind the system's administrator. Started as one, this test runs
/// `rights_bind` once more as the user 65534, who owns nothing.
#[test]
fn a_folder_without_rights_is_named_in_the_message() {
    let folder = tempfile::tempdir().unwrap();
    let probe = folder.path().join("probe");
    fs::write(&probe, "").unwrap();
    fs::set_permissions(&probe, fs::Permissions::from_mode(0o000)).unwrap();
    if fs::read(&probe).is_err() {
        rights_bind();
        return;
    }
    // The build folder may lie where no other user may look; a copy can be reached.
    let own_program = folder.path().join("journal-test");
    fs::copy(std::env::current_exe().unwrap(), &own_program).unwrap();
    for open in [folder.path(), &own_program] {
        fs::set_permissions(open, fs::Permissions::from_mode(0o755)).unwrap();
    }
    let mut as_nobody = Command::new(&own_program);
    as_nobody
        .args(["--ignored", "--exact", "disks::rights_bind"])
        .current_dir("/")
        .uid(65_534)
        .gid(65_534);
    let run = loop {
        match as_nobody.output() {
            // Another test's child may have the copy open for writing for a moment more.
            Err(e) if e.kind() == ErrorKind::ExecutableFileBusy => {
                sleep(Duration::from_millis(5));
            }
            other => break other.unwrap(),
        }
    };
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success() && said.contains("1 passed"), "{said}");
}

#[test]
#[ignore = "run by the test above as a user whom rights bind"]
fn rights_bind() {
    let shop = Shop::with(3);
    let folder = job_path(shop.path(), JOB);
    let other = uuid::Uuid::from_u128(9);
    for rights in [0o500, 0o000] {
        fs::set_permissions(&folder, fs::Permissions::from_mode(rights)).unwrap();
        let error = Writer::open(shop.path(), JOB, other).unwrap_err();
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o700)).unwrap();
        assert!(matches!(error, JournalError::ReadOnly { .. }), "{error}");
        assert!(
            error.to_string().contains(&*folder.to_string_lossy()),
            "{error}"
        );
    }
    fs::set_permissions(shop.journal(), fs::Permissions::from_mode(0o400)).unwrap();
    let error = Writer::open(shop.path(), JOB, TABLET).unwrap_err();
    assert!(matches!(error, JournalError::ReadOnly { .. }), "{error}");
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.entries, shop.entries);
}

#[test]
fn a_folder_deleted_while_open_is_noticed_and_the_journal_made_anew_from_memory() {
    let shop = Shop::with(30);
    let before = shop.bytes();
    let mut writer = Writer::open(shop.path(), JOB, TABLET).unwrap().writer;
    fs::remove_dir_all(shop.path().join("jobs")).unwrap();
    let next = entry(TABLET, 30, writer.clock(), small_event(30));
    let error = writer.append(std::slice::from_ref(&next)).unwrap_err();
    assert!(matches!(error, JournalError::Gone { .. }), "{error}");
    drop(writer);
    let mut opened = Writer::restore(shop.path(), JOB, TABLET, &shop.entries).unwrap();
    assert_eq!(opened.read.entries, shop.entries);
    assert_eq!(shop.bytes(), before, "the same entries make the same bytes");
    opened.writer.append(&[next]).unwrap();
}

#[test]
fn a_file_changed_behind_the_writer_is_noticed_and_left_to_its_changer() {
    let shop = Shop::with(5);
    let mut writer = Writer::open(shop.path(), JOB, TABLET).unwrap().writer;
    let mut bytes = shop.bytes();
    bytes.extend_from_slice(b"something else\n");
    shop.put(&bytes);
    let next = entry(TABLET, 5, writer.clock(), small_event(5));
    let error = writer.append(std::slice::from_ref(&next)).unwrap_err();
    assert!(matches!(error, JournalError::Changed { .. }), "{error}");
    assert!(shop.bytes().starts_with(&bytes));
    drop(writer);
    let other = Writer::restore(shop.path(), JOB, TABLET, &shop.entries).unwrap_err();
    assert!(matches!(other, JournalError::Faulty(_)), "{other}");
}

#[test]
fn a_journal_with_other_events_is_not_gone_on_with() {
    let shop = Shop::with(5);
    let mut other = shop.entries.clone();
    other[3].who = trayzero_core::job::Person::new("Somebody else");
    let error = Writer::restore(shop.path(), JOB, TABLET, &other).unwrap_err();
    assert!(
        matches!(error, JournalError::Unwritable { field: "n", .. }),
        "{error}"
    );
}

#[test]
fn the_clock_set_back_a_day_keeps_the_order_of_the_lines() {
    let shop = Shop::with(10);
    let mut opened = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let mut late = Vec::new();
    for step in 10..20 {
        let mut entry = entry(TABLET, step, Hlc::default(), small_event(step));
        entry.at_ms = NOON_MS - 86_400_000 + i64::from(step);
        entry.clock = opened.writer.clock().tick(entry.at_ms).pair();
        opened.writer.append(std::slice::from_ref(&entry)).unwrap();
        late.push(entry);
    }
    let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
    assert_eq!(read.fault, None);
    let order = trayzero_core::journal::merge([late.clone(), shop.entries.clone()]);
    assert_eq!(
        order.entries, read.entries,
        "the order written is the order merged"
    );
    assert!(
        late[0].at_ms < shop.entries[0].at_ms,
        "the wall clock did go back"
    );
}

const CHILD: &str = "TRAYZERO_TEST_SECOND_WRITER";

/// The other copy of the program: tries to open what the variable names.
#[test]
#[ignore = "the child of the test below"]
fn second_writer_child() {
    let data = std::env::var_os(CHILD).unwrap();
    match Writer::open(Path::new(&data), JOB, TABLET) {
        Err(e @ JournalError::SecondWriter { .. }) => println!("turned away: {e}"),
        Err(e) => println!("other error: {e}"),
        Ok(_) => println!("let in"),
    }
}

/// A process being started has a copy of every open file until it runs its own program.
/// The lock must not stay with it.
#[test]
fn a_journal_let_go_is_free_at_once_while_other_processes_start() {
    let shop = Shop::with(2);
    let started = std::thread::scope(|scope| {
        let starter = scope.spawn(|| {
            (0..150)
                .filter(|_| Command::new("true").status().is_ok_and(|s| s.success()))
                .count()
        });
        while !starter.is_finished() {
            drop(Writer::open(shop.path(), JOB, TABLET).unwrap());
        }
        starter.join().unwrap()
    });
    assert_eq!(started, 150);
}

#[test]
fn a_second_copy_of_the_program_is_turned_away() {
    let shop = Shop::with(5);
    let ask = || {
        let out = Command::new(std::env::current_exe().unwrap())
            .args([
                "--ignored",
                "--exact",
                "disks::second_writer_child",
                "--nocapture",
            ])
            .env(CHILD, shop.path())
            .output()
            .unwrap();
        String::from_utf8(out.stdout).unwrap()
    };
    let first = Writer::open(shop.path(), JOB, TABLET).unwrap();
    let before = shop.bytes();
    let said = ask();
    assert!(said.contains("turned away"), "{said}");
    assert_eq!(shop.bytes(), before);
    drop(first);
    assert!(ask().contains("let in"));
}
