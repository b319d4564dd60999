//! A record that is open: read, checked, drawn and handed on in a thread of its own, so that no
//! screen waits for it. It is looked at in memory; nothing of it goes into the data folder.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::job::Picture;

use super::pictures::{LARGE_SIDE, SMALL_SIDE, shown_of};
use super::worker::Worker;
use super::{Desk, Outcome};
use crate::data::hand_on::{HandedTo, NotHandedOn, SystemPrograms, write_to};
use crate::data::pictures::Pixels;
use crate::record::drawn::draw;
use crate::record::opened::{NotOpened, OpenedRecord};
use crate::record::pdf_file::NotRead;
use crate::ui::intent::Screen;
use crate::ui::view::{DrawnPage, JobView, Notice, ReadOnly, RecordView, Shown};
use crate::ui::words::Words;

/// What the thread is asked for. Each but the first is about the record that is open.
enum RecordAsk {
    Open(PathBuf, Option<String>),
    Page(Arc<[u8]>, usize, u16),
    Picture(Arc<[u8]>, String, bool),
    Show(PathBuf, Arc<[u8]>),
    WriteTo(PathBuf, String, Arc<[u8]>),
    Printers,
    Print(String, String, Arc<[u8]>),
}

enum RecordAnswer {
    Opened(Result<Box<OpenedRecord>, NotOpened>),
    Page(usize, u16, Result<Pixels, NotRead>),
    Picture(String, bool, Shown),
    Shown(Result<(), NotHandedOn>),
    Written(Result<HandedTo, NotHandedOn>),
    Printers(Result<Vec<String>, NotHandedOn>),
    Printed(String, Result<(), NotHandedOn>),
}

/// Which record an answer is about: those of one that was let go are passed over.
type Turn = u64;

/// What the desk holds of it.
#[derive(Default)]
pub(super) struct RecordDesk {
    /// The record that is open.
    pub seen: Option<RecordView>,
    /// Its job is looked at as its bay showed it.
    pub is_at_bay: bool,
    /// The system's programs that it is handed to.
    pub programs: SystemPrograms,
    turn: Turn,
    worker: Worker<(Turn, RecordAsk), (Turn, RecordAnswer)>,
}

impl RecordDesk {
    /// Lets the record go.
    pub fn close(&mut self) {
        self.turn += 1;
        self.seen = None;
        self.is_at_bay = false;
        self.worker.let_go();
    }

    fn opened(&self) -> Option<&OpenedRecord> {
        self.seen.as_ref()?.opened()
    }

    /// The record's job, where it is looked at.
    pub fn job(&self) -> Option<JobView<'_>> {
        let opened = self.opened().filter(|_| self.is_at_bay)?;
        let state = opened.report.job.as_ref()?.fold.state();
        Some(JobView {
            id: opened.report.making.as_ref()?.job,
            state,
            next: &opened.next,
            order: None,
            milestone: None,
            undo: None,
            read_only: Some(ReadOnly::NotHere),
            is_record: true,
            others: Vec::new(),
        })
    }
}

impl Desk {
    /// Opens a record from a file; `shop_key` is the key of the shop that it is to be of.
    pub fn open_record(&mut self, path: &Path, shop_key: Option<String>) -> Outcome {
        self.records.close();
        self.records.seen = Some(RecordView {
            path: path.to_owned(),
            read: None,
            asked: None,
            page: None,
            is_being_handed_on: false,
            printers: None,
        });
        self.ask_records(RecordAsk::Open(path.to_owned(), shop_key));
        self.screen = Screen::Record;
        Outcome::Moved
    }

    /// The programs of the system that a record is handed to.
    pub fn set_system_programs(&mut self, programs: SystemPrograms) {
        self.records.programs = programs;
    }

    fn ask_records(&mut self, ask: RecordAsk) {
        let RecordDesk {
            worker,
            turn,
            programs,
            ..
        } = &mut self.records;
        let programs = programs.clone();
        worker.ask((*turn, ask), self.wake.as_ref(), move |asked, answers| {
            while let Ok((turn, ask)) = asked.recv() {
                answers.tell((turn, answer(ask, &programs)));
            }
        });
    }

    pub(super) fn close_record(&mut self) -> Outcome {
        self.records.close();
        self.pictures.forget_job();
        if self.current.is_some() {
            self.screen = Screen::Bay;
            return Outcome::Moved;
        }
        self.go(Screen::Bays)
    }

    pub(super) fn draw_page(&mut self, index: usize, width_px: u16) -> Outcome {
        let Some(bytes) = self
            .records
            .opened()
            .map(|opened| Arc::clone(&opened.bytes))
        else {
            return Outcome::Stayed;
        };
        if let Some(seen) = &mut self.records.seen {
            seen.asked = Some((index, width_px));
        }
        self.ask_records(RecordAsk::Page(bytes, index, width_px));
        Outcome::Stayed
    }

    /// Looks at the record's job. A job that was open is left before, so that no tap can reach
    /// it from there.
    pub(super) fn see_records_bay(&mut self) -> Outcome {
        let has_job = self
            .records
            .opened()
            .is_some_and(|o| o.report.job.is_some());
        if !has_job {
            return Outcome::Stayed;
        }
        self.close_job();
        self.records.is_at_bay = true;
        self.screen = Screen::Bay;
        Outcome::Moved
    }

    /// Reads pictures of the record's job that are not at hand.
    pub(super) fn show_records_pictures(&mut self, pictures: Vec<Picture>, is_large: bool) {
        for picture in pictures {
            let name = picture.copy_sha256;
            self.pictures.is_asked(&name, is_large);
            let record = self.records.opened().and_then(|o| o.report.record.as_ref());
            let mut lines = record.into_iter().flat_map(|record| &record.pictures);
            // Only the very bytes that the event names are given as a copy.
            let copy =
                lines.find_map(|line| line.copy.clone().filter(|_| line.copy_sha256 == name));
            match copy {
                Some(copy) => self.ask_records(RecordAsk::Picture(copy, name, is_large)),
                None => self.pictures.is_shown(name, is_large, Shown::Missing),
            }
        }
    }

    /// Whether something is being handed on already; if not, it is from now on.
    fn begin_handing_on(&mut self) -> Option<Arc<[u8]>> {
        let bytes = Arc::clone(&self.records.opened()?.bytes);
        let seen = self.records.seen.as_mut()?;
        let is_busy = std::mem::replace(&mut seen.is_being_handed_on, true);
        (!is_busy).then_some(bytes)
    }

    pub(super) fn show_record(&mut self) -> Outcome {
        if let Some(bytes) = self.begin_handing_on() {
            let path = self.records.seen.as_ref().map(|seen| seen.path.clone());
            self.ask_records(RecordAsk::Show(path.unwrap_or_default(), bytes));
        }
        Outcome::Stayed
    }

    pub(super) fn write_record_to(&mut self, folder: PathBuf) -> Outcome {
        if let Some(bytes) = self.begin_handing_on() {
            let name = self.record_name();
            self.ask_records(RecordAsk::WriteTo(folder, name, bytes));
        }
        Outcome::Stayed
    }

    pub(super) fn ask_printers(&mut self) -> Outcome {
        if self.begin_handing_on().is_some() {
            self.ask_records(RecordAsk::Printers);
        }
        Outcome::Stayed
    }

    pub(super) fn print_record(&mut self, printer: String) -> Outcome {
        if let Some(bytes) = self.begin_handing_on() {
            let name = self.record_name();
            self.ask_records(RecordAsk::Print(printer, name, bytes));
        }
        Outcome::Stayed
    }

    /// The name of the record's file.
    fn record_name(&self) -> String {
        let path = self.records.seen.as_ref().map(|seen| &seen.path);
        let name = path.and_then(|path| path.file_name());
        name.map_or_else(
            || "record.pdf".to_owned(),
            |name| name.to_string_lossy().into_owned(),
        )
    }

    /// Takes in what the thread has answered. Cheap when it has not.
    pub(super) fn take_records(&mut self) {
        for (turn, answer) in self.records.worker.take() {
            if turn == self.records.turn {
                self.take_record(answer);
            }
        }
    }

    fn take_record(&mut self, answer: RecordAnswer) {
        let words = self.words();
        let Some(seen) = &mut self.records.seen else {
            return;
        };
        match answer {
            RecordAnswer::Opened(read) => seen.read = Some(read),
            // One that was asked for later is on its way.
            RecordAnswer::Page(index, width_px, _) if seen.asked != Some((index, width_px)) => {}
            RecordAnswer::Page(index, _, drawn) => {
                let page = match drawn {
                    Ok(pixels) => DrawnPage::There(Arc::new(pixels)),
                    Err(why) => DrawnPage::Not(why),
                };
                seen.page = Some((index, page));
            }
            RecordAnswer::Picture(name, is_large, shown) => {
                self.pictures.is_shown(name, is_large, shown);
            }
            RecordAnswer::Printers(found) => {
                seen.is_being_handed_on = false;
                seen.printers = Some(found.map_err(|why| words.not_handed_on(&why)));
            }
            RecordAnswer::Shown(done) => {
                self.handed_on(done.map(|()| words.shown_elsewhere.to_owned()));
            }
            RecordAnswer::Written(done) => self.handed_on(done.map(|to| written_words(words, &to))),
            RecordAnswer::Printed(printer, done) => {
                self.handed_on(done.map(|()| words.sent_to_printer(&printer)));
            }
        }
    }

    fn handed_on(&mut self, done: Result<String, NotHandedOn>) {
        if let Some(seen) = &mut self.records.seen {
            seen.is_being_handed_on = false;
        }
        let words = self.words();
        self.notice = Some(match done {
            Ok(said) => Notice::Said(said),
            Err(why) => Notice::Fault {
                what: words.not_handed_on(&why),
                way_out: words.not_handed_on_way.to_owned(),
            },
        });
    }
}

fn written_words(words: &Words, to: &HandedTo) -> String {
    let path = to.path.display().to_string();
    match (to.was_there, to.is_renamed) {
        (true, _) => words.record_was_there(&path),
        (false, true) => words.record_written_beside(&path),
        (false, false) => words.record_written_to(&path),
    }
}

/// What the thread answers. A fault of the program itself ends what was asked, and nothing
/// else.
fn answer(ask: RecordAsk, programs: &SystemPrograms) -> RecordAnswer {
    match ask {
        RecordAsk::Open(path, shop_key) => {
            let opened = guarded(|| OpenedRecord::open(&path, shop_key.as_deref()));
            let opened = opened.unwrap_or(Err(NotOpened::Failed));
            RecordAnswer::Opened(opened.map(Box::new))
        }
        RecordAsk::Page(bytes, index, width_px) => {
            let drawn = guarded(|| draw(&bytes, index, width_px));
            let failed = || Err(NotRead::Broken("the program failed over it".to_owned()));
            RecordAnswer::Page(index, width_px, drawn.unwrap_or_else(failed))
        }
        RecordAsk::Picture(copy, name, is_large) => {
            let side = if is_large { LARGE_SIDE } else { SMALL_SIDE };
            RecordAnswer::Picture(name, is_large, shown_of(&copy, side))
        }
        RecordAsk::Show(path, bytes) => RecordAnswer::Shown(programs.show(&path, &bytes)),
        RecordAsk::WriteTo(folder, name, bytes) => {
            RecordAnswer::Written(write_to(&folder, &name, &bytes))
        }
        RecordAsk::Printers => RecordAnswer::Printers(programs.printers()),
        RecordAsk::Print(printer, title, bytes) => {
            let printed = programs.print(&printer, &title, &bytes);
            RecordAnswer::Printed(printer, printed)
        }
    }
}

/// What comes of something that reads a stranger's file; `None` where it fails in the program.
fn guarded<T>(read: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(read)).ok()
}
