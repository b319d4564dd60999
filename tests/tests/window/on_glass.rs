//! From an empty folder to a closed job by touch alone, on a real X server with a
//! touchscreen: no keyboard and no mouse. Palms rest on the glass meanwhile, second fingers
//! come down beside the first, taps slide.
//!
//! The short form runs with the other tests. The long one moves the palm with every second
//! tap and wipes with 200 strokes over every screen:
//! `TRAYZERO_LONG=1 cargo test -p trayzero-tests --test window on_glass -- --nocapture`

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::panic::resume_unwind;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::thread::{self, JoinHandle};
use std::time::Instant;

use egui::{Vec2, vec2};
use trayzero::data::crew::Role;
use trayzero::data::settings::{KeysShown, Settings, SettingsFile};
use trayzero::data::store::{Clock, SystemClock};
use trayzero::shop::ExchangePace;
use trayzero::ui::intent::Intent;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::EN;
use trayzero::window::desk_on;
use trayzero_core::engine::Layout;
use trayzero_core::job::{JobPhase, NextStep};
use trayzero_tests::dice::Dice;
use trayzero_tests::engines::small_engine;
use trayzero_tests::figures::say;

use super::display::{Display, wait_for};
use super::drive::{Drive, meant};
use super::made::work_on;
use super::mirror::Mirror;
use super::plain_course::next;
use super::trouble::Trouble;
use super::{CODES, ONE_WINDOW, alone, replay};

/// The size of the course that runs in a process of its own, as `1280x800`.
const SIZE: &str = "TRAYZERO_GLASS_SIZE";

/// How much of it is tried.
struct Form {
    /// After so many taps the palm goes to its next place.
    palm_taps: usize,
    /// Strokes of a sleeve over each screen, over so many sheets and screens.
    strokes: usize,
    sheets: usize,
    screens: usize,
}

const SHORT: Form = Form {
    palm_taps: 16,
    strokes: 30,
    sheets: 0,
    screens: 0,
};
const LONG: Form = Form {
    palm_taps: 2,
    strokes: 200,
    sheets: 3,
    screens: 4,
};

fn form() -> Form {
    let is_long = std::env::var_os("TRAYZERO_LONG").is_some_and(|v| v == "1");
    if is_long { LONG } else { SHORT }
}

/// A mirror of an empty tablet, in which the keys come by any tap: its taps are a mouse's.
fn mirror(folder: &Path, size: Vec2) -> Mirror {
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let mut desk = desk_on(folder, clock).unwrap();
    let settings = Settings {
        keys: KeysShown::Always,
        ..desk.settings().clone()
    };
    desk.carry_out(Intent::Settings(Box::new(settings)));
    Mirror::over(desk, size)
}

/// An engine of one cylinder on a stick that the shop brings along.
fn stick(folder: &Path) -> Layout {
    let layout = small_engine(&[&[1]], false);
    std::fs::create_dir(folder).unwrap();
    let text = serde_json::to_string(&layout).unwrap();
    std::fs::write(folder.join("engine.json"), text).unwrap();
    layout
}

fn add_person(d: &mut Drive, (name, code): (&str, &str), foreman: Option<(&str, &str)>) {
    d.tap(EN.add_person);
    d.write(EN.person_name, name);
    if foreman.is_some() {
        d.tap(EN.role(Role::Technician));
    }
    d.tap(EN.go_on);
    d.type_digits(code);
    d.tap(EN.go_on);
    d.type_digits(code);
    let Some((foreman, foreman_code)) = foreman else {
        d.tap(&format!("{}, {name}", EN.add_person));
        return;
    };
    d.tap(EN.go_on);
    d.tap(foreman);
    d.type_digits(foreman_code);
    d.keep("glass-foreman-agrees");
    d.tap(EN.foreman_agrees);
}

/// The shop's folder, chosen by tapping through folders from the home folder on.
fn choose_shop_folder(d: &mut Drive, home: &Path) {
    d.tap(EN.choose_folder);
    d.tap("shared");
    d.tap("shop");
    d.keep("glass-choose-folder");
    d.tap(EN.take_this_folder);
    d.tap(EN.save_these);
    let kept = SettingsFile::read(d.data()).settings.shop_folder;
    assert_eq!(kept, Some(home.join("shared/shop")), "chosen by tapping");
    // The mirror is another tablet, and goes to a folder of its own.
    d.mirror.with_shell(|shell| {
        let settings = Settings {
            shop_folder: Some(home.join(".mirror")),
            ..shell.desk.settings().clone()
        };
        shell.carry_out(Intent::Settings(Box::new(settings)));
        shell
            .desk
            .join_shop(ExchangePace::default(), Box::new(|| {}));
    });
}

fn set_up(d: &mut Drive, home: &Path) {
    d.keep("glass-first");
    d.tap(&format!("1 {}", EN.first_day_people));
    d.keep("glass-settings");
    add_person(d, CODES[0], None);
    for person in &CODES[1..] {
        add_person(d, *person, Some(CODES[0]));
    }
    d.tap(EN.back);
    d.tap(&format!("2 {}", EN.first_day_folder));
    choose_shop_folder(d, home);
    d.tap(EN.back);
    d.tap(EN.layouts);
    d.tap(EN.choose_file);
    d.tap("stick");
    d.tap("engine.json");
    d.tap(EN.read_in_file);
    d.tap(EN.back);
    d.keep("glass-first-day");
    d.tap(&format!("3 {}", EN.first_day_job));
    d.tap("Small engine");
    d.write(EN.vehicle, "Van 7");
    d.write(EN.bay, "Bay 3");
    d.keep("glass-new-job");
    d.tap(CODES[1].0);
    d.tap(EN.open_job);
}

/// Works to the end; gives the taps of one valve, with its share of the cylinder's air.
fn work_to_the_end(d: &mut Drive) -> f64 {
    let mut on_valves = 0;
    for _ in 0..150 {
        let (step, before) = (next(d), d.taps);
        if !work_on(d) {
            return on_valves as f64 / d.state().valves().count() as f64;
        }
        let sheet = d.mirror.shell().screens.bay.sheets.sheet();
        // A caution is read once a job: what leads to it is no tap of the valve.
        let is_read = matches!(sheet, Some(Sheet::Caution(_)));
        let is_valve = matches!(
            step,
            NextStep::SeeStage { .. } | NextStep::AirOn { .. } | NextStep::AirOff { .. }
        );
        if is_valve && !is_read {
            on_valves += d.taps - before;
        }
    }
    panic!("the job does not end: {}", d.mirror.bar());
}

/// A sleeve over the bay of the closed job and what lies behind "More"; in the long form
/// over every sheet and screen that has much on it.
fn wipe_everything(d: &mut Drive, form: &Form) -> (usize, usize) {
    let mut dice = Dice::new(20);
    let mut done = Vec::new();
    let mut wipe = |d: &mut Drive, name: &str| done.push(d.wipe(name, form.strokes, &mut dice));
    wipe(d, "bay");
    d.tap(EN.more);
    wipe(d, "more");
    let sheets = [EN.parts, EN.take_in, EN.steps_word];
    for sheet in sheets.into_iter().take(form.sheets) {
        d.tap(sheet);
        wipe(d, sheet);
        d.tap(EN.close);
        d.tap(EN.more);
    }
    d.tap(EN.close);
    d.tap(EN.back);
    let screens = [EN.settings, EN.new_job, EN.board, EN.layouts];
    for screen in screens.into_iter().take(form.screens) {
        d.tap(screen);
        wipe(d, screen);
        d.tap(EN.back);
    }
    (done.iter().sum(), done.len())
}

/// The one job of a data folder.
fn the_job(data: &Path) -> String {
    let mut jobs = std::fs::read_dir(data.join("jobs")).unwrap();
    let job = jobs.next().unwrap().unwrap().file_name();
    assert!(jobs.next().is_none(), "one job and no more");
    job.into_string().unwrap()
}

/// The journals in the folder of a job, by name.
fn journals(job: &Path) -> BTreeMap<OsString, Vec<u8>> {
    let entries = std::fs::read_dir(job).unwrap().flatten();
    let is_journal = |path: &Path| path.extension().is_some_and(|e| e == "jsonl");
    let files = entries.filter(|entry| is_journal(&entry.path()));
    files
        .map(|entry| (entry.file_name(), std::fs::read(entry.path()).unwrap()))
        .collect()
}

fn course(size: Vec2, home: &Path) -> String {
    let begun = Instant::now();
    let data = home.join(".data");
    let shop = home.join("shared/shop");
    std::fs::create_dir_all(&shop).unwrap();
    std::fs::create_dir_all(home.join(".mirror")).unwrap();
    let layout = stick(&home.join("stick"));
    let mirror = mirror(&data.with_extension("mirror"), size);
    let mut d = Drive::on(Display::with_glass(size), mirror, &data, size);
    let form = form();
    d.trouble = Some(Trouble::on(size, form.palm_taps));
    set_up(&mut d, home);
    let to_open = d.taps;
    let job = the_job(&data);
    let mirrored = shop.join("jobs").join(&job);
    wait_for("the job in the shop folder", || mirrored.is_dir());
    println!("the job is open after {:?}", begun.elapsed());
    let a_valve = work_to_the_end(&mut d);
    d.keep("glass-closed");
    let (taps, wanted) = (d.taps, meant(d.state()));
    println!("the job is closed after {:?}", begun.elapsed());
    let (strokes, screens) = wipe_everything(&mut d, &form);
    let borne = d.trouble.take().unwrap().borne;
    wait_for("all of the job in the shop folder", || {
        journals(&mirrored) == journals(&data.join("jobs").join(&job))
    });
    d.close();
    let open = replay(&data, job.parse().unwrap());
    let state = open.state();
    assert_eq!(state.phase(), JobPhase::Closed);
    assert_eq!(state.layout().unwrap(), &layout);
    assert_eq!((state.loose(), state.adrift()), (0, 0));
    assert_eq!(
        meant(state),
        wanted,
        "none taken that was not meant, none lost that was"
    );
    assert!(a_valve <= 8.0, "{a_valve} taps for one valve");
    assert!(borne.palms.iter().all(|taps| *taps > 0), "{borne:?}");
    assert!(borne.seconds > 10 && borne.too_far > 5, "{borne:?}");
    assert!(borne.slides.iter().all(|taps| *taps > 10), "{borne:?}");
    say("taps meant on glass", (taps + borne.too_far) as u64);
    say("strokes of a sleeve on glass", strokes as u64);
    format!(
        "by touch alone {}x{}: {to_open} taps to the open job, {} more to the closed one, {} \
         events; {a_valve} for each valve; under a palm at each of nine places {:?} taps, beside a second finger {}, \
         slid by 0, 8, 16 and 24 points {:?}, by 32 and therefore none {}; {strokes} strokes \
         of a sleeve over {screens} screens; {:?}",
        size.x,
        size.y,
        taps - to_open,
        state.event_count(),
        borne.palms,
        borne.seconds,
        borne.slides,
        borne.too_far,
        begun.elapsed()
    )
}

/// In a process of its own, whose home folder holds a stick and a shared folder.
#[test]
#[ignore = "the child of the test below"]
fn course_child() {
    let size = std::env::var(SIZE).unwrap();
    let (w, h) = size.split_once('x').unwrap();
    let home = std::env::var("HOME").unwrap();
    let said = course(
        vec2(w.parse().unwrap(), h.parse().unwrap()),
        Path::new(&home),
    );
    println!("{said}");
}

/// Runs the course in a process of its own; gives what it says of itself.
fn run_course(size: &str) -> String {
    let home = tempfile::tempdir().unwrap();
    let out = Command::new(std::env::current_exe().unwrap())
        .args(["--ignored", "--exact", "on_glass::course_child"])
        .arg("--nocapture")
        .env("HOME", home.path())
        .env(SIZE, size)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stdout);
    let errors = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{size}: {said}{errors}");
    let line = said.lines().find(|line| line.contains("by touch alone"));
    line.unwrap().to_owned()
}

/// Two screens at once: a hand waits most of the time, until what it touched listens again.
#[test]
fn an_empty_tablet_comes_to_a_closed_job_by_touch_alone_in_landscape_and_in_portrait() {
    let _alone = alone(&ONE_WINDOW);
    let courses = ["1280x800", "800x1280"].map(|size| thread::spawn(move || run_course(size)));
    // Both come to their end before one of them is blamed.
    let said = courses.map(JoinHandle::join);
    for course in said {
        println!("{}", course.unwrap_or_else(|fault| resume_unwind(fault)));
    }
}
