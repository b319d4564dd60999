//! Every screen, every sheet and every part of them, one after the other.
// Long because it is a list: one scene after another.

use egui::accesskit::Role;
use std::collections::BTreeSet;
use std::mem::discriminant;
use std::path::PathBuf;
use std::sync::Arc;

use trayzero::shop::{Card, History, KeyConflict, ShopFault, ShopStatus};
use trayzero::ui::intent::{Intent, Screen};
use trayzero::ui::screens::bay::bar_words;
use trayzero::ui::view::Notice;
use trayzero::ui::words::Words;
use trayzero_core::job::{Event, HeardAt, NextStep, SearchPlace};
use trayzero_core::parts::Place;
use trayzero_tests::yard;
use uuid::Uuid;

use super::shop::{FOREMAN, Jobs, cards, pace, tablets, technician};
use super::stage::{NOW, Stage};
use crate::words::refusals;

/// What is shown, for what must hold of it besides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The bay with its bar.
    Bay,
    /// A sheet over the bay's panel.
    Sheet,
    /// Another screen.
    Screen,
    /// The locked screen.
    Locked,
}

/// Where each scene is handed to.
pub struct Walk<'a> {
    pub stage: &'a mut Stage,
    pub look: &'a mut dyn FnMut(&mut Stage, &str, Kind),
}

impl Walk<'_> {
    pub fn see(&mut self, name: &str, kind: Kind) {
        (self.look)(self.stage, name, kind);
    }

    /// Every scene on a furnished folder.
    pub fn everything(&mut self, jobs: &Jobs) {
        self.lists();
        self.board();
        self.new_job();
        self.layouts();
        self.editor();
        self.settings();
        self.bays(jobs);
        self.sheets(jobs);
        self.count_and_gate(jobs.depot[3]);
        self.adrift(jobs.depot[1]);
        self.one_job(jobs.fresh);
        self.left_open(jobs.depot[2]);
    }

    /// The screens of a tablet on which nothing has been done yet.
    pub fn nothing_yet(&mut self) {
        for (name, place) in [
            ("bays, none", Screen::Bays),
            ("board, empty", Screen::Board),
            ("new job, no crew", Screen::NewJob),
            ("settings, no crew", Screen::Settings),
        ] {
            self.stage.go(place);
            self.see(name, Kind::Screen);
        }
        self.first_person();
    }

    fn lists(&mut self) {
        self.stage.go(Screen::Bays);
        self.see("bays", Kind::Screen);
        self.stage
            .shell
            .desk
            .carry_out(Intent::OpenJob(Uuid::nil()));
        self.stage.settle();
        self.see("bays, a fault", Kind::Screen);
        self.stage.shell.desk.carry_out(Intent::Lock);
        self.stage.settle();
        self.see("locked", Kind::Locked);
        self.stage.shell.desk.carry_out(Intent::Wake);
    }

    fn board(&mut self) {
        let root = self.stage.root().to_owned();
        let all = cards(&root, trayzero_core::journal::Limits::OWN);
        self.stage.go(Screen::Board);
        self.stage.dress = Some(Box::new(move |view| view.cards = all));
        self.see("board", Kind::Screen);
        let w = self.stage.words;
        for face in [w.bays_asked, w.the_day] {
            self.stage.tap(face);
            self.see(&format!("board: {face}"), Kind::Screen);
        }
        self.where_time_goes(all);
        self.history(all);
        let stale: &'static ShopStatus = Box::leak(Box::new(ShopStatus {
            folder: Some(PathBuf::from("/srv/yard")),
            last_good_ms: Some(NOW.at_ms - 720_000),
            fault: Some(ShopFault::Vanished {
                folder: PathBuf::from("/srv/yard"),
            }),
            key_conflicts: vec![KeyConflict {
                tablet: Uuid::nil(),
                name: "Bay 2 tablet".into(),
                pinned: "a".repeat(64),
                shown: "b".repeat(64),
            }],
            ..ShopStatus::default()
        }));
        self.stage.dress = Some(Box::new(move |view| {
            view.cards = all;
            view.shop = stale;
        }));
        self.see("board, stale", Kind::Screen);
        let shell = &mut self.stage.shell;
        shell.screens.board.look_at_key(Uuid::nil());
        self.see("board, a changed key", Kind::Screen);
    }

    /// The jobs that are over, and below them where their time went.
    fn where_time_goes(&mut self, all: &'static [Arc<Card>]) {
        let w = self.stage.words;
        let learned = pace(self.stage.root());
        self.stage.dress = Some(Box::new(move |view| {
            view.cards = all;
            view.pace = Some(learned);
        }));
        self.stage.tap(w.bays_over);
        self.see("board, where the time goes", Kind::Screen);
        self.stage.tap(w.bays_under_way);
    }

    /// What is over week by week: not read yet, nothing over, in pictures and as a table.
    fn history(&mut self, all: &'static [Arc<Card>]) {
        let w = self.stage.words;
        let history: &'static History = Box::leak(Box::new(yard::history(NOW.at_ms)));
        let nothing: &'static History = Box::leak(Box::default());
        let dressed = |known: Option<&'static History>| -> Option<super::stage::Dress> {
            Some(Box::new(move |view| {
                view.cards = all;
                view.history = known;
            }))
        };
        self.stage.dress = dressed(None);
        self.stage.tap(w.history_word);
        self.see("board, history not read", Kind::Screen);
        self.stage.dress = dressed(Some(nothing));
        self.see("board, history of nothing", Kind::Screen);
        self.stage.dress = dressed(Some(history));
        self.see("board, history", Kind::Screen);
        self.stage.tap(w.earlier_weeks);
        self.see("board, history before", Kind::Screen);
        self.stage.tap(w.later_weeks);
        self.stage.tap(w.as_table);
        self.see("board, history as a table", Kind::Screen);
        self.stage.tap(w.bays_under_way);
    }

    fn new_job(&mut self) {
        let w = self.stage.words;
        self.stage.go(Screen::NewJob);
        self.see("new job", Kind::Screen);
        let learned = pace(self.stage.root());
        self.stage.dress = Some(Box::new(move |view| view.pace = Some(learned)));
        self.stage.write(w.vehicle, "sweeper 12");
        self.stage.write(w.bay, "Bay 9");
        self.stage.tap("Wren");
        self.stage.tap("V6");
        self.see("new job, filled in", Kind::Screen);
        self.stage.tap("Sweeper engine");
        self.see("new job, an engine of another tablet", Kind::Screen);
        self.stage.dress = None;
    }

    fn layouts(&mut self) {
        let w = self.stage.words;
        self.stage.go(Screen::Layouts);
        self.see("layouts", Kind::Screen);
        self.stage.tap("V16");
        self.see("layouts, sixteen cylinders", Kind::Screen);
        self.stage.write(w.file_to_read, "/nowhere/engine.json");
        self.stage.tap(w.read_in_file);
        self.see("layouts, a fault", Kind::Screen);
    }

    fn editor(&mut self) {
        let w = self.stage.words;
        self.stage.go(Screen::Layouts);
        self.stage.tap("Sweeper engine");
        self.stage.tap(w.change_layout);
        self.see("editor: one of another tablet", Kind::Screen);
        self.stage.tap(w.back);
        self.stage.go(Screen::Layouts);
        self.stage.tap("V6");
        self.stage.tap(w.copy_layout);
        for part in [
            w.engine_part,
            w.valves_word,
            w.figures_word,
            w.positions_word,
            w.kit_word,
        ] {
            self.stage.tap(part);
            self.see(&format!("editor: {part}"), Kind::Screen);
        }
        self.stage.tap(w.positions_word);
        for line in [w.working_position, w.adaptor_word, w.remark] {
            self.stage.tap(&format!("{}: {line}", w.add));
            self.see(&format!("editor: a new {line}"), Kind::Screen);
        }
        self.stage.tap(w.kit_word);
        for line in [w.item_word, w.order_list] {
            self.stage.tap(&format!("{}: {line}", w.add));
            self.see(&format!("editor: a new {line}"), Kind::Screen);
        }
        self.stage.tap(w.valves_word);
        for known in [w.spring_known, w.guide_known] {
            self.stage.tap(known);
        }
        self.see("editor: spring and guide", Kind::Screen);
        self.stage.tap(w.figures_word);
        self.stage.write(w.bore_mm, "about 90");
        self.stage.tap(w.engine_part);
        self.stage.write(w.order_as_typed, "1 2 2 9");
        self.stage.tap(w.show_all);
        self.see("editor: all faults", Kind::Screen);
        self.stage.tap(w.back);
        self.see("editor: unsaved work", Kind::Screen);
    }

    fn settings(&mut self) {
        let w = self.stage.words;
        self.stage.go(Screen::Settings);
        self.see("settings", Kind::Screen);
        self.stage.write(w.reminder_minutes, "900");
        self.see("settings, out of range", Kind::Screen);
        self.stage.tap(w.back);
        self.see("settings, asked before they are left", Kind::Screen);
        self.stage.tap(w.keep_editing);
        self.stage.tap(&format!("{} {}", w.reset_code, FOREMAN.0));
        self.stage.tap("5");
        self.see("settings, a new code", Kind::Screen);
        for digit in ["1", "7", "3", "9", "2"] {
            self.stage.tap(digit);
        }
        self.stage.tap(w.go_on);
        for digit in ["5", "1", "7", "3", "9", "4"] {
            self.stage.tap(digit);
        }
        self.see("settings, codes differ", Kind::Screen);
        self.stage.tap(w.try_again);
        for _ in 0..2 {
            for digit in ["5", "1", "7", "3", "9", "2"] {
                self.stage.tap(digit);
            }
            self.stage.tap(w.go_on);
        }
        self.stage.tap(FOREMAN.0);
        self.see("settings, the foreman agrees", Kind::Screen);
        self.stage.tap(w.cancel);
        self.stage.tap(&w.role_or_leaving(FOREMAN.0));
        self.see("settings, one person", Kind::Screen);
        self.stage.tap(w.own_code);
        self.see("settings, an own code", Kind::Screen);
        self.stage.tap("abc");
        self.see("settings, a word as a code", Kind::Screen);
    }

    fn first_person(&mut self) {
        let w = self.stage.words;
        self.stage.go(Screen::Settings);
        self.stage.tap(w.add_person);
        self.stage.write(w.person_name, "Ada");
        self.see("settings, the first person", Kind::Screen);
    }

    fn bays(&mut self, jobs: &Jobs) {
        let depot = [
            "take-in only",
            "a lock adrift",
            "air on",
            "ready to count",
            "closed",
        ];
        for (name, job) in depot.iter().zip(&jobs.depot) {
            self.stage.come_back(*job, false);
            if self.stage.shell.screens.bay.sheets.is_open() {
                self.see(&format!("return, {name}"), Kind::Sheet);
            }
            self.stage.job(*job, false);
            self.see(&format!("bay, {name}"), Kind::Bay);
        }
        let follow_up = self.stage.words.follow_up;
        self.behind_more(follow_up);
        self.see(follow_up, Kind::Sheet);
        self.stage.job(jobs.depot[2], true);
        self.see("bay, read only", Kind::Bay);
        self.stage.job(jobs.damaged, false);
        self.see("bay, journal damaged", Kind::Bay);
        self.stage.job(jobs.large, false);
        self.see("bay, sixteen cylinders", Kind::Bay);
        self.stage.job(jobs.torn, false);
        self.see("bay, a conflict", Kind::Bay);
        let w = self.stage.words;
        self.stage.tap(w.more);
        self.stage.tap(w.conflicts);
        self.see("conflicts", Kind::Sheet);
        // An answer is named by what was seen, and by the entry and who made it.
        let mut buttons = self.stage.nodes().values();
        let answer = buttons.find_map(|node| {
            let name = node.label().filter(|_| node.role() == Role::Button)?;
            name.ends_with(')').then(|| name.to_owned())
        });
        self.stage.tap(&answer.expect("an answer to choose"));
        self.see("conflicts, signing", Kind::Sheet);
    }

    /// What lies behind "more", in the middle of a valve.
    fn sheets(&mut self, jobs: &Jobs) {
        let w = self.stage.words;
        let job = jobs.depot[2];
        self.stage.job(job, false);
        self.stage.tap(w.more);
        self.see("more", Kind::Sheet);
        let rows = [
            w.dropped_one,
            w.part_changed,
            w.you_are_here,
            w.crank,
            w.parts,
            w.kit,
            w.finding,
            w.add_picture,
            w.pictures_word,
            w.take_in,
            w.order_list,
            w.steps_word,
            w.where_time_goes,
            w.note,
            w.pause,
            w.take_over,
            w.hand_over,
            w.enter_paper,
            w.stop_job,
        ];
        for row in rows {
            self.behind_more(row);
            self.see(row, Kind::Sheet);
        }
        self.stage.dress = Some(Box::new(|view| view.tablets = tablets()));
        self.behind_more(w.hand_over);
        self.see("hand over, two tablets", Kind::Sheet);
        self.stage.dress = None;
        self.refusals(job);
        self.findings();
        self.typed_sheets();
        self.records(job);
        self.refused(job);
        self.pictures(job);
    }

    fn behind_more(&mut self, row: &str) {
        let w = self.stage.words;
        if self.stage.has(w.close) {
            self.stage.tap(w.close);
        }
        self.stage.tap(w.more);
        self.stage.tap(row);
    }

    /// Work rests, and then has stopped, with a valve open.
    fn left_open(&mut self, job: Uuid) {
        self.stage.job(job, false);
        let rest = Event::Paused {
            why: "night".into(),
        };
        self.stage.shell.carry_out(Intent::Tap(vec![rest]));
        self.stage.settle();
        self.see("bay, rests with something open", Kind::Bay);
        self.stage.go(Screen::Bays);
        self.see("bays, one rests with something open", Kind::Screen);
    }

    /// Each kind of finding with what it asks for.
    fn findings(&mut self) {
        let w = self.stage.words;
        self.behind_more(w.finding);
        for kind in [
            w.scored_stem,
            w.worn_guide,
            w.broken_spring,
            w.short_spring,
            w.damaged_groove,
            w.seal_torn,
            w.valve_fell,
            w.other_finding,
        ] {
            self.stage.tap(kind);
            self.see(&format!("finding: {kind}"), Kind::Sheet);
        }
    }

    fn typed_sheets(&mut self) {
        let w = self.stage.words;
        self.behind_more(w.crank);
        self.stage.write(w.reading_rising, "118");
        self.stage.write(w.reading_falling, "246");
        self.see("crank, the top by halving", Kind::Sheet);
        self.behind_more(w.take_in);
        self.stage.write(w.date, "yesterday");
        self.see("take-in, a date that is none", Kind::Sheet);
        self.behind_more(w.take_over);
        self.stage.tap(FOREMAN.0);
        self.stage.tap("5");
        self.see("take over, a code", Kind::Sheet);
        self.stage.tap(w.close);
        for from in [w.place(Place::Aside), w.place(Place::Tray)] {
            self.stage.tap(w.dropped_one);
            self.stage.tap(from);
            self.see(&format!("dropped from: {from}"), Kind::Sheet);
            self.stage.tap(w.close);
        }
    }

    /// The longest of what is refused, in this language.
    fn refusals(&mut self, job: Uuid) {
        let w = self.stage.words;
        self.stage.job(job, false);
        let mut all: Vec<Notice> = refusals()
            .iter()
            .map(|refusal| Notice::Refused {
                why: w.refusal_why(refusal),
                way_out: w.refusal_way_out(refusal),
                code: refusal.code(),
            })
            .collect();
        let length = |notice: &Notice| match notice {
            Notice::Refused { why, way_out, .. } => why.len() + way_out.len(),
            _ => 0,
        };
        all.sort_by_key(|notice| std::cmp::Reverse(length(notice)));
        all.truncate(6);
        let all: &'static [Notice] = Box::leak(all.into_boxed_slice());
        for (i, notice) in all.iter().enumerate() {
            self.stage.dress = Some(Box::new(move |view| view.notice = Some(notice)));
            self.see(&format!("bay, long refusal {i}"), Kind::Bay);
        }
        self.stage.dress = None;
    }

    /// A step that is refused.
    fn refused(&mut self, job: Uuid) {
        self.stage.job(job, false);
        let bank = Event::PutAboard {
            item: trayzero_core::parts::Item::Hose,
            bank: 0,
            count: 9,
        };
        self.stage.shell.desk.carry_out(Intent::Tap(vec![bank]));
        self.stage.settle();
        self.see("bay, refused", Kind::Bay);
    }

    fn adrift(&mut self, job: Uuid) {
        let w = self.stage.words;
        self.stage.job(job, false);
        self.stage.tap(&format!("{}: 1", w.adrift));
        self.see("adrift", Kind::Sheet);
        self.stage.tap(w.search_place(SearchPlace::PlugHole));
        self.see("adrift, found", Kind::Sheet);
    }

    fn count_and_gate(&mut self, job: Uuid) {
        let w = self.stage.words;
        self.stage.job(job, false);
        self.tap_bar();
        self.see("gate", Kind::Sheet);
        self.stage.tap(w.first_count);
        self.see("count", Kind::Sheet);
        let kinds = self.stage.shell.desk.state().unwrap().count_list().len();
        for _ in 0..kinds {
            self.stage.tap("1");
            self.stage.tap("4");
            self.stage.tap(w.next_item);
        }
        self.see("count, to be signed", Kind::Sheet);
        self.stage.tap(w.count_taken);
        self.stage.tap("Wren");
        self.see("count, a code", Kind::Sheet);
    }

    /// One job from its first step to its last: every bar, every sheet that a bar opens,
    /// every caution, every end that is announced.
    fn one_job(&mut self, job: Uuid) {
        self.stage.job(job, false);
        let mut technician = technician();
        let mut seen = BTreeSet::new();
        loop {
            let state = self.stage.shell.desk.state().unwrap();
            let step = self.next();
            if step == NextStep::Nothing {
                break;
            }
            let caution = step.caution().filter(|c| !state.caution_seen(*c));
            let events = technician.answer(state, &step);
            if let Some(caution) = caution {
                self.stage.settle();
                self.tap_bar();
                self.see(&format!("caution: {caution:?}"), Kind::Sheet);
                self.stage.job(job, false);
            } else if seen.insert(kind_of(&step)) {
                self.stage.settle();
                self.see(&format!("bay: {}", kind_of(&step)), Kind::Bay);
                self.sheet_of(&step);
            }
            self.announced(&mut seen);
            let outcome = self.stage.shell.desk.carry_out(Intent::Tap(events));
            assert_eq!(outcome, trayzero::desk::Outcome::Taken, "{step:?}");
            self.stage.shell.screens.after_tap();
        }
        self.stage.settle();
        self.see("bay: nothing left", Kind::Bay);
    }

    /// The sheet that the bar of a step opens, if it opens one.
    fn sheet_of(&mut self, step: &NextStep) {
        let opens = matches!(
            step,
            NextStep::CountKit
                | NextStep::ReadLeak { .. }
                | NextStep::AskForeman { .. }
                | NextStep::AirOn { .. }
                | NextStep::Gate { .. }
                | NextStep::CloseJob
        );
        if !opens {
            return;
        }
        let w = self.stage.words;
        self.tap_bar();
        self.see(&format!("sheet: {}", kind_of(step)), Kind::Sheet);
        if matches!(step, NextStep::ReadLeak { .. }) {
            self.stage.tap("6");
            self.stage.write(&format!("{} (bar)", w.in_cylinder), "3.4");
            self.stage.tap(w.heard_at(HeardAt::OilFiller));
            self.see("sheet: a leak that is read", Kind::Sheet);
        }
        if matches!(step, NextStep::AirOn { .. }) {
            self.stage.tap("9");
            self.see("sheet: air over the rating", Kind::Sheet);
        }
        self.stage.tap(w.close);
    }

    fn announced(&mut self, seen: &mut BTreeSet<String>) {
        let milestone = self.stage.shell.desk.view().job.unwrap().milestone;
        let Some(milestone) = milestone else {
            return;
        };
        let name = format!("{:?}", discriminant(&milestone));
        if seen.insert(name) {
            self.stage.settle();
            self.see(&format!("bay, announced: {milestone:?}"), Kind::Bay);
        }
    }

    fn next(&self) -> NextStep {
        self.stage.shell.desk.view().job.unwrap().next.clone()
    }

    fn tap_bar(&mut self) {
        let name = bar_of(self.stage);
        self.stage.tap(&name);
    }
}

/// What the bar of the bay is called now.
pub fn bar_of(stage: &Stage) -> String {
    let view = stage.shell.desk.view();
    let job = view.job.as_ref().unwrap();
    let step = stage.shell.screens.bay.step(job);
    let (title, more) = bar_words(&view, job, &step, job.layout().unwrap());
    if more.is_empty() {
        title
    } else {
        format!("{title}, {more}")
    }
}

/// The kind of a step, without its figures.
fn kind_of(step: &NextStep) -> String {
    let text = match step {
        NextStep::See(step) => format!("{step:?}"),
        NextStep::SeeStage { stage, .. } => format!("{stage:?}"),
        other => format!("{other:?}"),
    };
    text.split([' ', '{', '('])
        .next()
        .unwrap_or_default()
        .to_owned()
}

/// The four figures that never leave, as they are spoken, without their values.
pub fn figures(w: &Words) -> [&'static str; 4] {
    [w.loose, w.aboard, w.adrift, w.air]
}
