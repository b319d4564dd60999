//! What the screen says of the shop folder, and what a tap costs while it fails: desks
//! with their threads at work, read from the accessibility tree.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use tempfile::TempDir;
use trayzero::cli;
use trayzero::data::crew::Crew;
use trayzero::data::settings::{Settings, SettingsFile};
use trayzero::data::store::{Clock, SetClock, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::shop::Exchange;
use trayzero::ui::intent::{Intent, Screen, TypedCode};
use trayzero::ui::words::{DE, EN, Language};
use trayzero_core::engine::Layout;
use trayzero_core::job::{Event, JobPhase, Opening, Person};
use trayzero_core::journal::journal_path;
use trayzero_tests::mute::Mute;
use uuid::Uuid;

use super::faulty::{QUICK, Small, public_key_of, wait_for};
use super::hand::Hand;
use super::parts::{LIGHT, SIZE, START, Tablet, layout, opening, scratch};

/// A window of a tablet that keeps a shop folder.
pub struct OpenScreen {
    pub hand: Hand,
    pub clock: Arc<SetClock>,
    root: PathBuf,
    shop: PathBuf,
    tablet: Uuid,
}

impl OpenScreen {
    pub fn of(root: &Path, shop: &Path) -> Self {
        let clock = Arc::new(SetClock::at(START));
        let store = Store::open(root, clock.now()).unwrap();
        let tablet = store.tablet().id();
        let mut desk = Desk::open(store, Arc::clone(&clock) as Arc<dyn Clock>).unwrap();
        let settings = Settings {
            shop_folder: Some(shop.to_owned()),
            ..desk.settings().clone()
        };
        desk.carry_out(Intent::Settings(Box::new(settings)));
        desk.join_shop(QUICK, Box::new(|| {}));
        Self {
            hand: Hand::over(desk, tempfile::tempdir().unwrap(), Screen::Board, SIZE),
            clock,
            root: root.to_owned(),
            shop: shop.to_owned(),
            tablet,
        }
    }

    pub fn desk(&mut self) -> &mut Desk {
        &mut self.hand.window.state_mut().desk
    }

    /// A job of this tablet, open.
    pub fn new_job(&mut self, bay: &str) -> Uuid {
        self.new_job_on(layout("inline-4-8v"), bay)
    }

    /// The same on an engine.
    pub fn new_job_on(&mut self, layout: Layout, bay: &str) -> Uuid {
        let opening = Opening {
            layout,
            ..opening("inline-4-8v", bay, &Person::new("Ada"))
        };
        self.desk().carry_out(Intent::NewJob(Box::new(opening)));
        self.desk().view().job.unwrap().id
    }

    fn note(&mut self, text: &str) -> Duration {
        self.clock.advance(1_000);
        let text = text.to_owned();
        let tap = Intent::Tap(vec![Event::Noted { text }]);
        let begun = Instant::now();
        let outcome = self.desk().carry_out(tap);
        assert_eq!(outcome, Outcome::Taken);
        begun.elapsed()
    }

    /// Draws frames until the screen says something.
    pub fn wait_until_it_says(&mut self, words: &str) {
        wait_for(words, || {
            self.desk().take_news();
            self.hand.window.run();
            self.hand.says(words)
        });
    }

    pub fn wait_until_silent(&mut self, words: &str) {
        wait_for(words, || {
            self.desk().take_news();
            self.hand.window.run();
            !self.hand.says(words)
        });
    }

    pub fn named(&self, start: &str) -> String {
        let names = self.hand.names();
        let found = names.iter().find(|name| name.starts_with(start));
        found
            .unwrap_or_else(|| panic!("{start}: {names:?}"))
            .clone()
    }

    /// Whether the shop folder has every byte of a job that this tablet has.
    pub fn is_mirrored(&self, job: Uuid) -> bool {
        let own = fs::read(journal_path(&self.root, job, self.tablet)).unwrap();
        fs::read(journal_path(&self.shop, job, self.tablet)).is_ok_and(|copy| copy == own)
    }
}

pub fn empty_shop() -> (TempDir, PathBuf) {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    fs::create_dir(&shop).unwrap();
    (scratch, shop)
}

#[test]
fn the_screen_says_what_is_wrong_with_the_folder_and_it_catches_up_by_itself() {
    let (scratch, shop) = empty_shop();
    let small = Small::mount(&shop, 64);
    let mut screen = OpenScreen::of(&scratch.path().join("one"), &shop);
    let job = screen.new_job("Bay 1");
    screen.desk().carry_out(Intent::Go(Screen::Board));
    wait_for("the first copy", || screen.is_mirrored(job));
    screen.wait_until_silent("stale");
    let path = shop.display().to_string();
    if let Some(small) = small {
        while fs::metadata(journal_path(&screen.root, job, screen.tablet))
            .unwrap()
            .len()
            < 120 << 10
        {
            screen.note(&"full ".repeat(300));
        }
        screen.wait_until_it_says("The shop folder is full");
        assert!(screen.hand.says(EN.caught_up_alone));
        screen.hand.picture("board-folder-full");
        small.remount("size=4m");
        screen.wait_until_silent("The shop folder is full");
        wait_for("caught up", || screen.is_mirrored(job));
        small.remount("ro");
        screen.note("while read-only");
        screen.wait_until_it_says("The shop folder cannot be written to");
        assert!(screen.hand.says("board stale for"));
        small.remount("rw");
        screen.wait_until_silent("board stale");
        wait_for("caught up", || screen.is_mirrored(job));
        drop(small);
        screen.note("while away");
        screen.wait_until_it_says(&EN.folder_not_ours(&path));
        fs::remove_dir(&shop).unwrap();
    } else {
        println!("NOT RUN: this user may not mount a small file system");
        fs::rename(&shop, scratch.path().join("away")).unwrap();
    }
    screen.wait_until_it_says(&EN.folder_gone(&path));
    screen.clock.advance(3 * 3_600_000);
    screen.hand.window.run();
    assert!(screen.hand.says("board stale for 3 h"), "since when");
    let kept = scratch.path().join("away");
    if kept.exists() {
        fs::rename(kept, &shop).unwrap();
        screen.wait_until_silent("board stale");
        assert!(screen.is_mirrored(job));
    }
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort();
    times[times.len() / 2]
}

#[test]
fn a_folder_that_never_answers_holds_up_no_tap_and_no_exit() {
    let (scratch, shop) = empty_shop();
    let mut screen = OpenScreen::of(&scratch.path().join("one"), &shop);
    let job = screen.new_job("Bay 1");
    screen.desk().carry_out(Intent::Go(Screen::Board));
    wait_for("the first copy", || screen.is_mirrored(job));
    let mut with: Vec<Duration> = (0..60).map(|_| screen.note("it answers")).collect();
    let Some(mute) = Mute::mount(&shop) else {
        println!("NOT RUN: this user may not mount a file system of a program's own");
        return;
    };
    let mut without: Vec<Duration> = (0..60).map(|_| screen.note("it hangs")).collect();
    let slowest = *without.iter().max().unwrap();
    let (with, without) = (median(&mut with), median(&mut without));
    println!("a tap: {with:?}; while the folder hangs: {without:?}, slowest {slowest:?}");
    assert!(without < with * 2 + Duration::from_millis(5));
    assert!(slowest < Duration::from_secs(1), "no tap waits for it");
    wait_for("word of the folder that hangs", || {
        screen.clock.advance(5_000);
        screen.desk().take_news();
        screen.hand.window.run();
        screen.hand.says(EN.folder_hangs)
    });
    assert!(screen.hand.says("board stale for"));
    screen.hand.picture("board-folder-hangs");
    drop(mute);
    screen.wait_until_silent("board stale");
    assert!(screen.is_mirrored(job), "caught up by itself");
    // A clean exit waits a little and no longer.
    let mute = Mute::mount(&shop).unwrap();
    screen.note("before the end");
    let begun = Instant::now();
    screen.desk().end();
    let waited = begun.elapsed();
    println!("a clean exit while the folder hangs: {waited:?}");
    assert!(waited < Duration::from_secs(4), "{waited:?}");
    drop(mute);
}

#[test]
fn the_list_of_bays_follows_the_other_tablets() {
    let (scratch, shop) = empty_shop();
    let mut one = OpenScreen::of(&scratch.path().join("one"), &shop);
    one.new_job("Bay 1");
    one.desk().carry_out(Intent::LeaveJob);
    one.wait_until_it_says("Bay 1");
    assert!(!one.hand.says("Bay 7"));
    let mut two = OpenScreen::of(&scratch.path().join("two"), &shop);
    two.new_job("Bay 7");
    one.wait_until_it_says("Bay 7");
    assert!(!one.hand.says(EN.phase(JobPhase::Paused)));
    two.clock.advance(1_000);
    let why = "the day is over".to_owned();
    let pause = Intent::Tap(vec![Event::Paused { why }]);
    let paused = two.desk().carry_out(pause);
    assert_eq!(paused, Outcome::Taken);
    one.wait_until_it_says(EN.phase(JobPhase::Paused));
}

#[test]
fn the_tablet_signs_at_the_mirror_now_and_then_and_at_a_clean_exit() {
    let (scratch, shop) = empty_shop();
    let mut screen = OpenScreen::of(&scratch.path().join("one"), &shop);
    let job = screen.new_job("Bay 1");
    screen.desk().take_news();
    let lines = |screen: &OpenScreen| {
        let own = journal_path(&screen.root, job, screen.tablet);
        let text = fs::read_to_string(own).unwrap();
        text.lines().map(str::to_owned).collect::<Vec<String>>()
    };
    let seals = |screen: &OpenScreen| {
        let lines = lines(screen);
        let is_seal = |line: &&String| line.contains("\"sealed\"");
        (
            lines.iter().filter(is_seal).count(),
            lines.last().unwrap().contains("\"sealed\""),
        )
    };
    for _ in 0..20 {
        screen.note("a tap");
        screen.desk().take_news();
    }
    assert_eq!(seals(&screen), (0, false), "not at every tap");
    screen.clock.advance(60_000);
    screen.desk().take_news();
    assert_eq!(seals(&screen), (1, true), "at the mirror");
    screen.desk().take_news();
    screen.clock.advance(600_000);
    screen.desk().take_news();
    assert_eq!(seals(&screen), (1, true), "nothing new, nothing to sign");
    screen.note("the last tap");
    screen.desk().end();
    assert_eq!(seals(&screen), (2, true), "at a clean exit");
    assert!(screen.is_mirrored(job), "and it is in the folder");
}

#[test]
fn a_changed_key_is_looked_at_and_accepted_on_the_board_with_the_foremans_code() {
    let (scratch, shop) = empty_shop();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    one.create("inline-4-8v", "Bay 1");
    one.meet();
    let root = scratch.path().join("other");
    let store = Store::open(&root, START).unwrap();
    let mut crew = Crew::open(&root, Arc::clone(store.tablet()), LIGHT);
    crew.add_first_foreman("Mira", &"714025".into(), START)
        .unwrap();
    let mut exchange = Exchange::new(&store.for_exchange(), &shop);
    crew.take_sight(exchange.round().sight.unwrap(), START)
        .unwrap();
    let (card, _) = crew.asking().remove(0);
    let agreed = crew
        .approve(&Person::new("Mira"), &"714025".into(), START)
        .unwrap();
    crew.admit(card, Vec::new(), agreed, START).unwrap();
    drop((store, crew, exchange));
    let mut screen = OpenScreen::of(&root, &shop);
    screen.wait_until_it_says("Bay 1 · Van in Bay 1");
    assert!(!screen.hand.says(EN.key_changed));
    let pinned = one.store.tablet().public_key();
    let key = public_key_of(0x11);
    fs::write(one.root.join("tablet.key"), "11".repeat(32)).unwrap();
    let card = one.root.join("tablet.json");
    let text = fs::read_to_string(&card).unwrap();
    fs::write(&card, text.replace(&pinned, &key)).unwrap();
    one.restart();
    one.meet();
    screen.wait_until_it_says(EN.key_changed);
    screen.hand.picture("board-key-changed");
    let name = one.store.tablet().name().to_owned();
    let look = screen.named(EN.key_look);
    assert!(look.contains(&name), "whose: {look}");
    screen.hand.tap(&look);
    let groups = |key: &str| {
        let four = |at: usize| &key[at * 4..at * 4 + 4];
        (0..16).map(four).collect::<Vec<&str>>().join(" ")
    };
    for words in [&groups(&pinned), &groups(&key), &name] {
        assert!(screen.hand.says(words), "{words}");
    }
    screen.hand.tap("Mira");
    screen.hand.picture("board-key-look");
    for (code, is_right) in [("258614", false), ("714025", true)] {
        for digit in code.chars() {
            screen.hand.tap(&digit.to_string());
        }
        let bar = screen.named(EN.key_is_theirs);
        screen.hand.tap(&bar);
        let said = screen.hand.says(EN.key_accepted);
        assert_eq!(said, is_right, "{code}: {:?}", screen.desk().view().notice);
        assert_eq!(screen.hand.says(EN.wrong_code), !is_right, "{code}");
        screen.clock.advance(5_000);
        // The wait after a wrong code runs by the time that the program is up.
        std::thread::sleep(Duration::from_millis(1_100));
        // The bar is deaf for a moment after a tap.
        screen.hand.window.run_steps(60);
    }
    screen.wait_until_silent(EN.key_look);
    assert_eq!(screen.desk().view().shop.key_conflicts, []);
}

#[test]
fn handing_over_is_asked_first_and_the_board_opens_what_it_shows_to_read() {
    let (scratch, shop) = empty_shop();
    let mut other = Tablet::new(&scratch.path().join("two"), &shop, "Ben");
    other.create("inline-3-12v", "Bay 2");
    other.meet();
    let mut screen = OpenScreen::of(&scratch.path().join("one"), &shop);
    let job = screen.new_job("Bay 1");
    let name = other.store.tablet().name().to_owned();
    wait_for("the other tablet", || {
        screen.desk().take_news();
        screen.desk().view().tablets.iter().any(|(_, n)| *n == name)
    });
    screen.hand.window.run();
    let events = screen.desk().state().unwrap().event_count();
    screen.hand.tap(EN.more);
    screen.hand.tap(EN.hand_over);
    let button = screen.named(&name);
    screen.hand.tap(&button);
    let state = screen.desk().state().unwrap();
    assert_eq!(state.holder(), None, "the tablet is only chosen yet");
    assert_eq!(state.event_count(), events);
    screen.hand.tap(&EN.hand_over_to(&name));
    assert!(screen.desk().state().is_none(), "the giver leaves the bay");
    assert!(screen.hand.says(&EN.handed_to(&name)));
    wait_for("the folder", || screen.is_mirrored(job));
    other.meet();
    let theirs = other.store.open_job(job).unwrap();
    assert_eq!(theirs.state().holder(), Some(other.id()));
    let expected = events + 2;
    assert_eq!(
        theirs.state().event_count(),
        expected,
        "that line and its seal"
    );
    drop(theirs);
    let mut there = OpenScreen::of(&other.root, &shop);
    there.wait_until_it_says("Bay 1");
    assert!(there.hand.says(EN.handed_here));
    // Filters, and a press that opens the job to read.
    let over = EN.bays_over;
    there.hand.tap(over);
    assert!(there.hand.says(EN.no_jobs));
    there.hand.tap(EN.bays_under_way);
    let row = there.named("Bay 1 · Van in Bay 1");
    assert!(row.contains(EN.handed_here), "{row}");
    there.hand.tap(&row);
    let view = there.desk().view();
    assert_eq!(view.screen, Screen::Bay);
    let open = view.job.unwrap();
    assert_eq!((open.id, open.read_only.is_some()), (job, true));
}

#[test]
fn a_change_of_the_crew_and_a_new_name_reach_the_folder() {
    let (scratch, shop) = empty_shop();
    let mut screen = OpenScreen::of(&scratch.path().join("one"), &shop);
    let list = shop.join(format!("log/{}.jsonl", screen.tablet));
    let added = screen.desk().carry_out(Intent::AddPerson {
        name: "Mira".into(),
        role: trayzero_core::shop_log::Role::Foreman,
        code: TypedCode("714025".into()),
        by: None,
    });
    assert_eq!(added, Outcome::Taken);
    wait_for("the shop log", || {
        fs::read_to_string(&list).is_ok_and(|text| text.contains("Mira"))
    });
    let card = shop.join(format!("tablets/{}.json", screen.tablet));
    let name = "at the hoist".to_owned();
    screen.desk().carry_out(Intent::RenameTablet(name.clone()));
    wait_for("the tablet's card", || {
        fs::read_to_string(&card).is_ok_and(|text| text.contains(&name))
    });
}

#[test]
fn the_board_on_the_command_line_speaks_the_language_of_the_settings() {
    let (scratch, shop) = empty_shop();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    one.create("inline-4-8v", "Bay 1");
    for (language, words) in [(Language::German, &DE), (Language::English, &EN)] {
        let mut file = SettingsFile::read(&one.root);
        file.settings.language = language;
        file.write().unwrap();
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let folder = one.root.to_str().unwrap();
        let code = cli::run(["trayzero", "board", folder], &mut out, &mut err);
        assert_eq!(code, cli::EXIT_DONE);
        let text = String::from_utf8(out).unwrap();
        for said in [words.of_verified(0, 8), words.last_tap.to_owned()] {
            assert!(text.contains(&said), "{said}: {text}");
        }
    }
}
