//! A person at the real window: finds things where the mirror shows them, taps, types.

use std::path::{Path, PathBuf};
use std::process::Child;
use std::thread::sleep;
use std::time::{Duration, Instant};

use egui::{Id, Pos2, Rect, Vec2};
use trayzero::ui::view::Notice;
use trayzero::ui::words::EN;
use trayzero_core::job::{Event, JobState};

use super::CODES;
use super::display::Display;
use super::mirror::Mirror;
use super::process::{used_time, waits};
use super::trouble::Trouble;

/// What has come to lie where another control was is deaf for 1.2 s.
const DEAF: Duration = Duration::from_millis(1_350);
/// The same target is deaf for 600 ms after its tap.
const SAME: Duration = Duration::from_millis(700);
/// What lay so near is taken to have lain there, in points.
const NEAR: f32 = 12.0;
/// The least time between two keys.
const KEY_PACE: Duration = Duration::from_millis(60);
/// How long the window may take over what one tap asks for.
const PATIENCE: Duration = Duration::from_secs(20);

pub struct Drive {
    pub display: Display,
    pub mirror: Mirror,
    pub taps: usize,
    size: Vec2,
    pictures: PathBuf,
    data: PathBuf,
    window: Child,
    last: (String, Instant),
    /// What the last tap went to.
    last_ids: Vec<Id>,
    /// What lay where before the last taps.
    under: Vec<(Instant, Vec<(Id, Rect)>)>,
    /// What the glass has to bear besides; with it every text is written by its keys.
    pub trouble: Option<Trouble>,
}

impl Drive {
    /// Opens the window on a data folder, and the mirror on a copy of it.
    pub fn of(data: &Path, size: Vec2) -> Self {
        let mirror = Mirror::of(data, &data.with_extension("mirror"), size);
        Self::on(Display::start(size), mirror, data, size)
    }

    /// Opens the window on a display, beside a mirror of the same folder.
    pub fn on(display: Display, mirror: Mirror, data: &Path, size: Vec2) -> Self {
        let window = display.open(data, size);
        let mut pictures = std::env::current_exe().unwrap();
        for _ in 0..3 {
            pictures.pop();
        }
        pictures.push("pictures");
        std::fs::create_dir_all(&pictures).unwrap();
        Self {
            display,
            mirror,
            taps: 0,
            size,
            pictures,
            data: data.to_owned(),
            window,
            last: (String::new(), Instant::now()),
            last_ids: Vec::new(),
            under: Vec::new(),
            trouble: None,
        }
    }

    /// Opens the window again on the same folder, so many seconds later by its clock.
    pub fn reopen(&mut self, mirror: Mirror, ahead_s: u64) {
        self.mirror = mirror;
        self.display.clock_ahead_s = ahead_s;
        self.window = self.display.open(&self.data, self.size);
        self.under.clear();
        self.last_ids.clear();
    }

    /// Closes the window.
    pub fn close(&mut self) {
        let _ = self.window.kill();
        let _ = self.window.wait();
    }

    /// Taps what has this name, in the window and in the mirror. After a key, as after keys
    /// on the glass, the next one is not waited for: a hand types faster than that.
    pub fn tap(&mut self, name: &str) {
        if is_key(&self.last.0) && !is_key(name) {
            self.settle();
        }
        let place = self.bring_into_sight(name);
        self.wait_for_hearing(name, place);
        let now = Instant::now();
        let controls = self.mirror.controls();
        self.last_ids = ids_at(&controls, place);
        self.under.retain(|(at, _)| now - *at < 2 * DEAF);
        self.under.push((now, controls));
        self.touch(place);
        self.mirror.tap(place);
        // Of two presses of a mouse in one slow picture only one counts; fingers count singly.
        if is_key(name) && self.display.has_glass() {
            sleep(KEY_PACE);
        } else {
            self.settle();
            self.keep_up(name);
        }
        if let Some((at, _)) = self.under.last_mut() {
            // What the tap has changed is deaf from its first picture on.
            *at = Instant::now();
        }
        self.last = (name.to_owned(), Instant::now());
        self.taps += 1;
    }

    /// Waits while what lies there is deaf: after its own tap, and where another control lay
    /// before the last one. Keys are never deaf, for they stay where they are.
    fn wait_for_hearing(&self, name: &str, at: Pos2) {
        let (last, tapped) = &self.last;
        if is_key(last) && is_key(name) {
            return;
        }
        let now = ids_at(&self.mirror.controls(), at);
        // In the window it may have lain a little aside.
        let near = |controls: &[(Id, Rect)]| -> Vec<(Id, Rect)> {
            let wider = controls.iter().map(|(id, rect)| (*id, rect.expand(NEAR)));
            wider.collect()
        };
        let had_another = |controls: &[(Id, Rect)]| {
            let before = ids_at(&near(controls), at);
            before.iter().any(|id| !now.contains(id))
        };
        let mut deaf = self.under.iter().filter(|(_, all)| had_another(all));
        if let Some((at, _)) = deaf.next_back() {
            sleep(DEAF.saturating_sub(at.elapsed()));
        }
        // The bar says another thing after each step and is the same target. A card that was
        // hidden makes all of them deaf, and so do keys that were put away.
        let is_same = now.iter().any(|id| self.last_ids.contains(id));
        let has_moved = last.starts_with(EN.hide_card) || last == EN.keys_away;
        if is_same || has_moved {
            sleep(SAME.saturating_sub(tapped.elapsed()));
        }
    }

    /// The tap itself: of a mouse, or of a finger with all that a glass has to bear.
    fn touch(&mut self, at: Pos2) {
        let lines = self.lines();
        let Some(trouble) = &mut self.trouble else {
            self.display.tap(at);
            return;
        };
        if trouble.slides_too_far(&self.display, at) {
            sleep(SAME);
            assert_eq!(self.lines(), lines, "a slide by 32 points is no tap");
        }
        if let Some(trouble) = &mut self.trouble {
            trouble.tap(&self.display, at);
        }
    }

    /// Writes a text into a field by the keys on the glass.
    fn write_by_keys(&mut self, name: &str, text: &str) {
        let stood = self.mirror.value(name).unwrap_or_default();
        self.tap(name);
        sleep(Duration::from_millis(100));
        if self.mirror.key(EN.erase_all).is_some() {
            self.tap_key(EN.erase_all);
        } else {
            for _ in stood.chars() {
                self.tap_key(EN.delete);
            }
        }
        for sign in text.chars() {
            let name = if sign == ' ' {
                EN.key_space.to_owned()
            } else {
                sign.to_string()
            };
            if self.mirror.key(&name).is_none() && sign.is_alphabetic() {
                if self.mirror.key("abc").is_some() {
                    self.tap_key("abc");
                }
                if self.mirror.key(&name).is_none() {
                    self.tap_key(EN.key_shift);
                }
            } else if self.mirror.key(&name).is_none() {
                self.tap_key("12?");
            }
            self.tap_key(&name);
        }
        self.tap_key(EN.keys_away);
        let stands = self.mirror.value(name);
        assert_eq!(stands.as_deref(), Some(text), "written into {name:?}");
    }

    fn tap_key(&mut self, name: &str) {
        let Some(place) = self.mirror.key(name) else {
            self.keep("no-key");
            panic!("no key {name:?}: {:#?}", self.mirror.spoken());
        };
        // No palm and no slide between keys: it is a second finger that strikes them.
        self.display.glass().tap(1, place.center(), Vec2::ZERO);
        self.mirror.tap(place.center());
        if is_key(name) {
            sleep(KEY_PACE);
        } else {
            self.settle();
        }
        self.last = (name.to_owned(), Instant::now());
        self.taps += 1;
    }

    /// How many lines the window's journal holds, its first one too, without the tablet's own
    /// signatures: it adds those by itself where there is a shop folder.
    pub fn lines(&self) -> usize {
        let read = self.journal().and_then(|j| std::fs::read_to_string(j).ok());
        let read = read.unwrap_or_default();
        let is_signature = |line: &&str| line.contains("\"event\":{\"sealed\":");
        read.lines().filter(|line| !is_signature(line)).count()
    }

    /// Puts a text into the field of that name, in place of what stands there.
    pub fn write(&mut self, name: &str, text: &str) {
        if self.trouble.is_some() {
            self.write_by_keys(name, text);
            return;
        }
        self.tap(name);
        self.display.select_all();
        self.mirror.select_all();
        self.settle();
        self.display.write(text);
        self.mirror.write(text);
        self.settle();
        let stands = self.mirror.value(name);
        assert_eq!(stands.as_deref(), Some(text), "typed into {name:?}");
    }

    /// Waits until the window has nothing left to do: it draws nothing while nothing
    /// changes. On a machine that has much else to do it may wait for its turn meanwhile.
    pub fn settle(&self) {
        self.display.answers();
        let until = Instant::now() + Duration::from_secs(10);
        let mut used = used_time(self.window.id());
        let mut quiet = 0;
        while quiet < 3 && Instant::now() < until {
            sleep(Duration::from_millis(35));
            let now = used_time(self.window.id());
            let is_quiet = now == used && !waits(self.window.id()) && !waits(self.display.id());
            quiet = if is_quiet { quiet + 1 } else { 0 };
            used = now;
        }
    }

    /// The window's journal, once there is a job.
    fn journal(&self) -> Option<PathBuf> {
        let job = std::fs::read_dir(self.data.join("jobs")).ok()?.next()?;
        let mut files = std::fs::read_dir(job.ok()?.path()).ok()?.flatten();
        files
            .find(|f| f.path().extension().is_some_and(|e| e == "jsonl"))
            .map(|f| f.path())
    }

    /// Waits until the window's journal holds as many lines as the mirror's.
    fn keep_up(&self, name: &str) {
        let Some(state) = self.mirror.shell().desk.state() else {
            return;
        };
        let wanted = meant(state);
        let until = Instant::now() + PATIENCE;
        while self.lines() < wanted + 1 {
            if Instant::now() > until {
                self.keep("lost");
                panic!(
                    "line {wanted} of the journal did not come after \"{name}\"; it has {}",
                    self.lines()
                );
            }
            sleep(Duration::from_millis(20));
        }
    }

    /// Where the middle of a control is, if it is seen.
    pub fn in_sight(&self, name: &str) -> Option<Pos2> {
        let Some(rect) = self.mirror.place(name) else {
            self.keep("lost");
            panic!(
                "\"{name}\" is not on the screen: {:#?}",
                self.mirror.spoken()
            );
        };
        let at = rect.center();
        let seen = self.mirror.seen_of(rect);
        let screen = Rect::from_min_size(Pos2::ZERO, self.size);
        let is_seen = seen.is_positive() && seen.shrink(4.0).contains(at) && screen.contains(at);
        is_seen.then_some(at)
    }

    pub fn tap_bar(&mut self) {
        let bar = self.mirror.bar();
        self.tap(&bar);
    }

    pub fn type_digits(&mut self, digits: &str) {
        for digit in digits.chars() {
            self.tap(&digit.to_string());
        }
    }

    /// Reads the regulator and says so.
    pub fn read_regulator(&mut self) {
        let (cylinder, _) = self.cylinder();
        self.tap("3");
        self.tap(&EN.bar_air_on(cylinder));
    }

    /// The cylinder at which the crank stands, and how far off its top.
    fn cylinder(&self) -> (u8, f64) {
        let at = self.state().crank().unwrap();
        (at.cylinder, at.offset_deg)
    }

    /// The permanent code of what is refused now.
    pub fn refused(&self) -> Option<&'static str> {
        match self.mirror.shell().desk.view().notice {
            Some(Notice::Refused { code, .. }) => Some(*code),
            _ => None,
        }
    }

    /// Ticks every line of the kit as it is listed.
    pub fn count_kit(&mut self) {
        for (item, count) in self.state().kit_missing() {
            self.tap(&EN.items_n(&item, count));
        }
        self.tap(EN.bar_kit);
    }

    /// Keeps a picture of what the display shows.
    pub fn keep(&self, name: &str) {
        // What moves to the tray has come there.
        sleep(Duration::from_millis(350));
        self.display.picture(&self.picture_path(name));
    }

    /// Where a picture of that name is kept.
    pub fn picture_path(&self, name: &str) -> PathBuf {
        let size = format!("{}x{}", self.size.x, self.size.y);
        self.pictures.join(format!("window-{size}-{name}.png"))
    }

    /// The size of the window.
    pub fn size(&self) -> Vec2 {
        self.size
    }

    /// The data folder of the window.
    pub fn data(&self) -> &Path {
        &self.data
    }

    pub fn state(&self) -> &JobState {
        self.mirror.shell().desk.state().unwrap()
    }

    /// One person counts everything laid out and signs.
    pub fn count_and_sign(&mut self, who: usize) {
        let list = self.state().count_list();
        for (item, place) in list {
            let count = self.state().ledger().at(&item, place);
            self.type_digits(&count.to_string());
            self.tap("Next item");
        }
        self.tap("Count taken");
        self.sign(who);
    }

    pub fn sign(&mut self, who: usize) {
        let (name, code) = CODES[who];
        self.tap(name);
        self.type_digits(code);
        self.tap("Sign");
    }
}

/// Whether a control of that name is a key: of the code, of a figure or of a text.
fn is_key(name: &str) -> bool {
    name.chars().count() == 1
}

/// How many events somebody meant: all but the tablet's own signatures.
pub fn meant(state: &JobState) -> usize {
    let is_signature = |event: &Event| matches!(event, Event::Sealed(_));
    let all = state.timeline();
    all.filter(|past| !is_signature(past.event)).count()
}

/// The controls that lie at a place.
fn ids_at(controls: &[(Id, Rect)], at: Pos2) -> Vec<Id> {
    let there = controls.iter().filter(|(_, rect)| rect.contains(at));
    there.map(|(id, _)| *id).collect()
}

impl Drop for Drive {
    fn drop(&mut self) {
        self.close();
    }
}
