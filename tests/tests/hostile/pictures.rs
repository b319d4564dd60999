//! Photographs that are none, disks that do not take them, and files that somebody has
//! changed: nothing is added that is not whole on the disk, and nothing else is shown.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use sha2::{Digest, Sha256};
use trayzero::data::pictures::{BadPicture, Found, copy_of, find_copy, find_taken, shrunk};
use trayzero::data::settings::Settings;
use trayzero::desk::Desk;
use trayzero::ui::intent::Intent;
use trayzero::ui::view::{Notice, Shown};
use trayzero_core::job::{Event, PICTURE_BYTES_MAX, Picture, PictureOf};
use trayzero_core::journal::{job_path, pictures_path};
use trayzero_tests::figures::say;
use trayzero_tests::photos;
use trayzero_tests::small_disk::SmallDisk;
use uuid::Uuid;

use super::desk::Sat;
use super::pictures_read::{colour, is_like, rows};

const CHILD: &str = "TRAYZERO_TEST_KILLED_PICTURES";
const ROUNDS: u64 = 30;

/// Adds a picture to the open job, and waits until it is there or is not.
fn add(desk: &mut Desk, from: &Path) {
    desk.carry_out(Intent::AddPicture {
        from: from.to_owned(),
        of: PictureOf::Job {},
        remark: "as it came".to_owned(),
    });
    desk.finish_pictures();
}

fn pictures(desk: &Desk) -> Vec<Picture> {
    let state = desk.state().unwrap();
    state
        .pictures()
        .map(|(_, picture)| picture.clone())
        .collect()
}

/// The fault that is said.
fn fault(desk: &Desk) -> String {
    match desk.view().notice {
        Some(Notice::Fault { what, .. }) => what.to_owned(),
        other => panic!("no fault is said: {other:?}"),
    }
}

fn job_of(desk: &Desk) -> Uuid {
    desk.view().job.unwrap().id
}

/// Waits for an answer of the desk's thread.
fn answered<T>(desk: &mut Desk, mut look: impl FnMut(&Desk) -> Option<T>) -> T {
    let until = Instant::now() + Duration::from_secs(20);
    loop {
        desk.take_news();
        if let Some(found) = look(desk) {
            return found;
        }
        assert!(Instant::now() < until, "no answer");
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// What is shown of a picture.
fn shown(desk: &mut Desk, picture: &Picture) -> Shown {
    desk.carry_out(Intent::ShowPictures(vec![picture.clone()]));
    answered(desk, |desk| {
        let shown = desk
            .view()
            .pictures
            .small
            .get(&picture.copy_sha256)?
            .clone();
        (shown != Shown::Asked).then_some(shown)
    })
}

fn hash(bytes: &[u8]) -> String {
    let digits = Sha256::digest(bytes);
    let digits: Vec<String> = digits.iter().map(|b| format!("{b:02x}")).collect();
    digits.concat()
}

/// A file with these bytes.
fn file(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    path
}

#[test]
fn a_photograph_is_kept_as_taken_and_its_copy_tells_neither_place_nor_device() {
    let (root, camera) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut sat = Sat::at(root.path());
    let taken = photos::as_taken(photos::WIDE, 6);
    let from = file(camera.path(), "one.jpg", &taken);
    add(&mut sat.desk, &from);
    let job = job_of(&sat.desk);
    let [picture] = &pictures(&sat.desk)[..] else {
        panic!("one picture: {:?}", sat.desk.view().notice);
    };
    assert_eq!(
        (picture.of, &*picture.remark),
        (PictureOf::Job {}, "as it came")
    );
    assert_eq!(
        fs::read(&from).unwrap(),
        taken,
        "the camera's file stays as it was"
    );
    let folder = pictures_path(root.path(), job);
    let kept = fs::read(folder.join(format!("taken/{}.jpg", hash(&taken)))).unwrap();
    assert_eq!(kept, taken, "kept under its own hash, as taken");
    let copy = fs::read(folder.join(format!("{}.jpg", picture.copy_sha256))).unwrap();
    assert_eq!(
        (hash(&copy), copy.len() as u64),
        (picture.copy_sha256.clone(), picture.copy_bytes)
    );
    assert_eq!(
        (hash(&taken), taken.len() as u64),
        (picture.sha256.clone(), picture.bytes)
    );
    // 4200 x 1000 on its side stands upright with at most 2000 pixels.
    assert_eq!(photos::size(&copy), (476, 2_000));
    let told = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).any(|part| part == what);
    for secret in [photos::DEVICE, photos::PLACE, b"Exif", b"secret place"] {
        assert!(told(&taken, secret) && !told(&copy, secret), "{secret:?}");
    }
    let markers: Vec<u8> = photos::segments(&copy)
        .iter()
        .map(|(marker, _)| *marker)
        .collect();
    assert!(
        markers
            .iter()
            .all(|m| matches!(m, 0xE0 | 0xC0 | 0xC4 | 0xDA | 0xDB)),
        "{markers:x?}"
    );
    // Red was at the top left; held on its side it lies at the top right.
    let upright = shrunk(&taken, 100).unwrap();
    let (right, low) = (upright.width - 3, upright.height - 3);
    assert!(
        is_like(colour(&upright, right, 2), [255, 0, 0]),
        "{:?}",
        colour(&upright, right, 2)
    );
    assert!(is_like(colour(&upright, 2, 2), [0, 0, 255]));
    assert!(is_like(colour(&upright, right, low), [0, 255, 0]));
    // The same once more is one more event and no more files.
    add(&mut sat.desk, &from);
    assert_eq!(pictures(&sat.desk).len(), 2);
    assert_eq!(
        fs::read_dir(&folder).unwrap().count(),
        2,
        "one copy, and the folder of those taken"
    );
}

#[test]
fn what_is_no_picture_is_refused_in_words_and_leaves_nothing() {
    let (root, camera) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut sat = Sat::at(root.path());
    let words = sat.desk.settings().language.words();
    let is_refused = |desk: &mut Desk, path: &Path, said: &str| {
        let before = desk.state().unwrap().clone();
        add(desk, path);
        let Some(Notice::Fault { what, way_out }) = desk.view().notice else {
            panic!("{}: nothing is said", path.display());
        };
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(
            what.contains(words.picture_not_kept) && what.contains(name),
            "{what}"
        );
        assert!(
            what.contains(said) && !way_out.is_empty(),
            "{what}: {way_out}"
        );
        assert_eq!(*desk.state().unwrap(), before, "{what}");
    };
    let mut refused = 0;
    for (name, bytes, is_it) in rows() {
        let begun = Instant::now();
        let why = copy_of(&bytes).unwrap_err();
        assert!(is_it(&why), "{name}: {why}");
        assert!(
            begun.elapsed() < Duration::from_secs(10),
            "{name}: {:?}",
            begun.elapsed()
        );
        let path = file(camera.path(), &format!("{name}.jpg"), &bytes);
        is_refused(&mut sat.desk, &path, &words.bad_picture(&why));
        refused += 1;
    }
    // Longer than any camera writes, and nothing to be read at all.
    let long = camera.path().join("long.jpg");
    fs::File::create(&long)
        .unwrap()
        .set_len(PICTURE_BYTES_MAX + 1)
        .unwrap();
    is_refused(&mut sat.desk, &long, &words.picture_too_long(32));
    is_refused(&mut sat.desk, &camera.path().join("gone.jpg"), "");
    is_refused(&mut sat.desk, camera.path(), "no plain file");
    let kept = pictures_path(root.path(), job_of(&sat.desk));
    assert!(!kept.exists(), "nothing of it was kept");
    say("pictures refused", refused + 3);
}

#[test]
fn a_full_or_locked_disk_takes_no_picture_says_so_and_takes_it_once_it_can() {
    let Some(disk) = SmallDisk::of(512, "a full disk below pictures") else {
        return;
    };
    let camera = tempfile::tempdir().unwrap();
    let from = file(camera.path(), "one.jpg", photos::WIDE);
    let mut sat = Sat::at(&disk.path().join("data"));
    let job = job_of(&sat.desk);
    let filler = disk.fill_up();
    add(&mut sat.desk, &from);
    let what = fault(&sat.desk);
    assert!(what.to_lowercase().contains("no space"), "{what}");
    assert!(pictures(&sat.desk).is_empty());
    fs::remove_file(filler).unwrap();
    add(&mut sat.desk, &from);
    assert_eq!(pictures(&sat.desk).len(), 1);
    // The same on a disk that has turned read-only: nothing is added, and it is said.
    sat.desk.carry_out(Intent::LeaveJob);
    disk.remount("ro");
    sat.desk.carry_out(Intent::OpenJob(job));
    add(&mut sat.desk, &file(camera.path(), "two.jpg", photos::TINY));
    let what = fault(&sat.desk);
    assert!(what.to_lowercase().contains("read-only"), "{what}");
    assert_eq!(pictures(&sat.desk).len(), 1);
    disk.remount("rw");
    sat.desk.carry_out(Intent::OpenJob(job));
    let [picture] = &pictures(&sat.desk)[..] else {
        panic!("{:?}", sat.desk.view().notice);
    };
    let root = disk.path().join("data");
    assert!(matches!(find_copy(&root, job, picture), Found::Whole(_)));
    assert!(matches!(find_taken(&root, job, picture), Found::Whole(_)));
    let left = fs::read_dir(pictures_path(&root, job)).unwrap();
    let left = left.filter(|name| {
        name.as_ref()
            .unwrap()
            .path()
            .extension()
            .is_some_and(|e| e == "new")
    });
    assert_eq!(left.count(), 0, "no half file is left");
}

#[test]
fn a_deleted_folder_is_made_anew_and_what_was_lost_or_changed_is_said() {
    let (root, camera) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut sat = Sat::at(root.path());
    let job = job_of(&sat.desk);
    for (name, bytes) in [
        ("one.jpg", photos::QUADRANTS),
        ("two.png", photos::QUADRANTS_PNG),
    ] {
        add(&mut sat.desk, &file(camera.path(), name, bytes));
    }
    let [one, two] = &pictures(&sat.desk)[..] else {
        panic!("two pictures");
    };
    assert!(matches!(shown(&mut sat.desk, one), Shown::There(_)));
    // One byte of a copy is another: it is not shown.
    let copy = pictures_path(root.path(), job).join(two.copy_name());
    let mut bytes = fs::read(&copy).unwrap();
    let last = bytes.len() - 9;
    bytes[last] ^= 1;
    fs::write(&copy, &bytes).unwrap();
    assert_eq!(shown(&mut sat.desk, two), Shown::Changed);
    // Another good picture in its place, cut short, grown, a link: none of them is shown.
    for other in [
        photos::QUADRANTS.to_vec(),
        bytes[..40].to_vec(),
        vec![7; 3 << 20],
    ] {
        fs::write(&copy, other).unwrap();
        assert_eq!(shown(&mut sat.desk, two), Shown::Changed);
    }
    // The whole folder is gone: the journal is written anew, so are the pictures that follow.
    fs::remove_dir_all(job_path(root.path(), job)).unwrap();
    assert_eq!(shown(&mut sat.desk, one), Shown::Missing);
    let three = file(camera.path(), "three.jpg", photos::PROGRESSIVE);
    for _ in 0..2 {
        // The first tap finds the file gone; the next one finds it written again.
        add(&mut sat.desk, &three);
    }
    let all = pictures(&sat.desk);
    let last = all.last().unwrap();
    assert!(all.len() >= 3, "{:?}", sat.desk.view().notice);
    assert!(matches!(shown(&mut sat.desk, last), Shown::There(_)));
}

#[test]
fn nothing_is_looked_at_while_no_folder_is_named_and_the_newest_are_offered_then() {
    let (root, camera) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut sat = Sat::at(root.path());
    sat.desk.carry_out(Intent::WatchPictures);
    sat.desk.take_news();
    assert_eq!(sat.desk.view().pictures.offers, None, "no folder, no look");
    let settings = Settings {
        pictures_folder: Some(camera.path().to_owned()),
        ..sat.desk.settings().clone()
    };
    sat.desk.carry_out(Intent::Settings(Box::new(settings)));
    fs::create_dir(camera.path().join("2026-11-29")).unwrap();
    file(camera.path(), "2026-11-29/one.jpg", photos::QUADRANTS);
    file(camera.path(), "half.jpg", &photos::QUADRANTS[..700]);
    file(camera.path(), "notes.txt", b"no picture");
    let old = file(camera.path(), "old.jpg", photos::GREY);
    let yesterday = std::time::SystemTime::now() - Duration::from_hours(26);
    fs::File::options()
        .write(true)
        .open(&old)
        .unwrap()
        .set_modified(yesterday)
        .unwrap();
    sat.desk.carry_out(Intent::WatchPictures);
    let offers = answered(&mut sat.desk, |desk| {
        let offers = desk.view().pictures.offers.clone()?;
        let is_read = offers.iter().all(|offer| offer.shown != Shown::Asked);
        (offers.len() == 2 && is_read).then_some(offers)
    });
    let of = |name: &str| {
        let path = camera.path().join(name);
        offers
            .iter()
            .find(|offer| offer.taken.path == path)
            .unwrap()
    };
    assert!(matches!(of("2026-11-29/one.jpg").shown, Shown::There(_)));
    assert!(matches!(
        of("half.jpg").shown,
        Shown::Bad(BadPicture::Broken(_))
    ));
    // A new one comes while somebody looks.
    file(camera.path(), "two.jpg", photos::TINY);
    answered(&mut sat.desk, |desk| {
        let offers = desk.view().pictures.offers.as_ref()?;
        (offers.len() == 3).then_some(())
    });
    // The folder is gone: that is said.
    drop(camera);
    let fault = answered(&mut sat.desk, |desk| {
        desk.view().pictures.folder_fault.clone()
    });
    assert!(!fault.is_empty());
}

#[test]
fn what_is_noted_takes_its_pictures_along() {
    let (root, camera) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut sat = Sat::at(root.path());
    file(camera.path(), "two.jpg", photos::TINY);
    let valve = sat
        .desk
        .state()
        .unwrap()
        .layout()
        .unwrap()
        .valves()
        .next()
        .unwrap();
    let finding = trayzero_core::job::Finding {
        cylinder: valve.cylinder,
        valve: Some(valve),
        kind: trayzero_core::job::FindingKind::ScoredStem,
        text: String::new(),
    };
    let events = vec![Event::FindingNoted(Box::new(finding))];
    let from = vec![camera.path().join("two.jpg")];
    sat.desk.carry_out(Intent::TapWithPictures(events, from));
    sat.desk.finish_pictures();
    let state = sat.desk.state().unwrap();
    let found = state
        .facts()
        .iter()
        .find(|f| matches!(f.event, Event::FindingNoted(_)))
        .unwrap();
    let (_, picture) = state.pictures().next().unwrap();
    assert_eq!(picture.of, PictureOf::Finding { event: found.id });
    assert_eq!(state.valve_of(picture), Some(valve));
}

/// Adds pictures for ever, and says how many are shown once they are.
#[test]
#[ignore = "the child of the test below"]
fn killed_pictures_child() {
    let told = std::env::var_os(CHILD).unwrap();
    let (folder, camera) = told.to_str().unwrap().split_once('#').unwrap();
    let clock = std::sync::Arc::new(trayzero::data::store::SystemClock);
    let now = trayzero::data::store::Clock::now(&*clock);
    let store = trayzero::data::store::Store::open(Path::new(folder), now).unwrap();
    let mut desk = Desk::open(store, clock).unwrap();
    let job = desk.view().jobs[0].job;
    desk.carry_out(Intent::OpenJob(job));
    let mut out = std::io::stdout().lock();
    for n in 0_u64.. {
        // Each is another picture: a comment of its own before the pixels.
        let comment = photos::segment(0xFE, format!("{} {n}", std::process::id()).as_bytes());
        let bytes = [&photos::TINY[..2], &comment, &photos::TINY[2..]].concat();
        add(&mut desk, &file(Path::new(camera), "next.jpg", &bytes));
        writeln!(out, "shown {}", pictures(&desk).len()).unwrap();
        out.flush().unwrap();
    }
}

#[test]
fn a_picture_that_was_shown_as_added_is_whole_after_a_kill_at_any_moment() {
    let (root, camera) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let sat = Sat::at(root.path());
    let job = job_of(&sat.desk);
    drop(sat);
    let mut whole = 0;
    for round in 0..ROUNDS {
        let told = format!("{}#{}", root.path().display(), camera.path().display());
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--ignored",
                "--exact",
                "pictures::killed_pictures_child",
                "--nocapture",
            ])
            .env(CHILD, told)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        let mut lines = String::new();
        while said.read_line(&mut lines).unwrap() > 0 && !lines.contains("shown") {}
        std::thread::sleep(Duration::from_micros(round * 7_919 % 30_000));
        child.kill().unwrap();
        child.wait().unwrap();
        said.read_to_string(&mut lines).unwrap();
        let end = lines.rfind('\n').map_or("", |end| &lines[..end]);
        let mut shown = end
            .lines()
            .filter_map(|line| line.strip_prefix("shown ")?.parse().ok());
        let shown: usize = shown
            .next_back()
            .unwrap_or_else(|| panic!("round {round}: {lines}"));
        let store = trayzero::data::store::Store::open(root.path(), super::desk::START).unwrap();
        let open = store.open_job(job).unwrap();
        assert!(open.read_only().is_none());
        let added: Vec<Picture> = open.state().pictures().map(|(_, p)| p.clone()).collect();
        assert!(added.len() >= shown, "round {round}: {shown} were shown");
        for picture in &added {
            assert!(matches!(
                find_copy(root.path(), job, picture),
                Found::Whole(_)
            ));
            assert!(matches!(
                find_taken(root.path(), job, picture),
                Found::Whole(_)
            ));
        }
        whole = added.len();
    }
    println!("killed while adding: {whole} pictures whole in the end");
    say("kills survived", ROUNDS);
}
