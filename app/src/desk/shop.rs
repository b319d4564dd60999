//! The desk and the shop: what comes from the other tablets, and the record on paper.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use trayzero_core::job::{Event, JobState, Milestone, Person};
use trayzero_core::journal::Limits;
use uuid::Uuid;

use super::page_keeper::PageKeeper;
use super::said::{no_pdf, not_gathered};
use super::{Desk, Outcome};
use crate::data::crew::Code;
use crate::data::store::small_file::{self, Readers};
use crate::power::Wake;
use crate::record::load::gather;
use crate::record::pdf::{Paper, Print, SheetError, render_sheet};
use crate::record::proof::issue;
use crate::shop::{Board, Card, ExchangePace, History, News, SharedShop, standing_journals};
use crate::ui::intent::TypedCode;
use crate::ui::times;
use crate::ui::view::Notice;

/// How long a clean exit waits for the shop folder at most.
const EXIT_WAIT: Duration = Duration::from_secs(2);

impl Desk {
    /// Joins the shop folder, looks at it at a pace and keeps the board; `wake` is called
    /// when there is news.
    pub fn join_shop(&mut self, pace: ExchangePace, wake: Box<dyn Fn() + Send + Sync>) {
        let folder = self.settings.settings.shop_folder.clone();
        let clock = Arc::clone(&self.clock);
        let (store, page_clock) = (&self.store, Arc::clone(&self.clock));
        let wake: Wake = Arc::from(wake);
        self.wake = Some(Arc::clone(&wake));
        let shop = SharedShop::start(
            store,
            folder.as_deref(),
            clock,
            pace,
            Box::new(move || wake()),
        );
        let (settings, own) = (self.settings.settings.clone(), store.tablet().id());
        self.page = Some(PageKeeper::start(shop.look(), settings, page_clock, own));
        self.shop = Some(shop);
        self.want_pictures();
    }

    /// Whether a shop was joined, be its folder set or not.
    pub fn has_shop(&self) -> bool {
        self.shop.is_some()
    }

    /// Signs and lets the open job go, and waits a little for its lines to reach the shop
    /// folder: at a clean exit.
    pub fn end(&mut self) {
        self.close_job();
        if let Some(shop) = self.shop.take() {
            // A folder that fails gets the lines at the next start; nobody waits for it.
            if shop.status().fault.is_none() {
                shop.flush(EXIT_WAIT);
            }
        }
    }

    /// Reads the board of this tablet's own folder once, for a picture, where no shop was
    /// joined. What does not hold is shown on the cards themselves.
    pub fn read_board(&mut self) {
        let proofs = self.store.proofs().clone();
        if let Ok(mut board) = Board::of_folder(self.store.root(), Limits::OWN, proofs) {
            board.work_out_to_go();
            self.pace = board.pace().cloned();
            self.cards = Arc::new(board.cards());
        }
    }

    /// Asks for the finished jobs by week; they come with the news.
    pub(super) fn show_history(&mut self) -> Outcome {
        let now = self.clock.now();
        let zone = times::zone(now.at_ms, now.offset_min);
        if let Some(shop) = &self.shop {
            shop.ask_history(zone, now.at_ms);
        } else {
            let of = (self.store.root(), self.store.proofs());
            let history = History::of_tablet(of, &self.cards, &zone, now.at_ms);
            self.history = Some(Arc::new(history));
        }
        Outcome::Stayed
    }

    /// Takes in what has come from the other tablets since. Cheap when nothing has.
    pub fn take_news(&mut self) {
        self.take_pictures();
        self.take_records();
        self.seal_for_mirror();
        let Some(shop) = &self.shop else {
            return;
        };
        let cards = shop.cards();
        if let Some(pace) = shop.pace() {
            self.pace = Some(pace);
        }
        if let Some(history) = shop.history() {
            self.history = Some(history);
        }
        self.shop_status = shop.status();
        let own = self.store.tablet().id();
        self.tablets = self
            .shop_status
            .tablets
            .iter()
            .filter(|(id, _)| *id != own)
            .cloned()
            .collect();
        let all_news = shop.take_news();
        if let Some(current) = &mut self.current {
            let journals = self.shop_status.unconfirmed_in(current.job.id());
            if current.job.set_unconfirmed(journals) {
                current.work_out();
            }
        }
        let (mut has_new, mut has_lines, mut has_pictures) = (false, false, false);
        self.take_cards(cards);
        for news in all_news {
            match news {
                News::Lines(job) => {
                    has_lines = true;
                    has_new |= self.look_again_at(job);
                    let Some(current) = self.current.as_mut().filter(|b| b.job.id() == job) else {
                        continue;
                    };
                    let taken = current.job.take_foreign();
                    if matches!(taken, Ok(true)) {
                        current.milestone = None::<Milestone>;
                        current.work_out();
                        has_pictures = true;
                    }
                    if let Err(error) = taken {
                        self.say_error(&error);
                    }
                }
                News::Pictures(_) => self.pictures.look_again(),
                News::Layouts => self.read_library(),
                News::Sight(sight) => {
                    if let Err(error) = self.crew.take_sight(*sight, self.clock.now()) {
                        self.say_fault(&self.words().error(&error));
                    }
                    self.read_members();
                    has_new |= self.hold_against_shop();
                }
            }
        }
        if has_pictures {
            self.want_pictures();
        }
        if has_new {
            self.read_jobs();
        } else if has_lines {
            self.say_new_faults();
        }
    }

    /// Holds signatures against the shop's log as it is now, here and on the board. Gives
    /// whether the list of jobs may be another.
    pub(super) fn hold_against_shop(&mut self) -> bool {
        let before = self.store.proofs().clone();
        self.store.set_shop(self.crew.shop());
        let proofs = self.store.proofs();
        if *proofs == before {
            return false;
        }
        if let Some(shop) = &self.shop {
            shop.set_proofs(proofs);
        }
        if let Some(current) = &mut self.current
            && current.job.set_shop(self.crew.shop())
        {
            current.work_out();
        }
        true
    }

    /// A job that is not listed may have been over, and have got more lines. Gives whether
    /// it was.
    pub(super) fn look_again_at(&self, job: Uuid) -> bool {
        let is_listed = self.jobs.jobs.iter().any(|listed| listed.job == job);
        !is_listed && self.store.forget_finished(job)
    }

    /// Takes in what the board has read, and brings the list of jobs up to it.
    fn take_cards(&mut self, cards: Arc<Vec<Arc<Card>>>) {
        if Arc::ptr_eq(&cards, &self.cards) {
            return;
        }
        let jobs = &mut self.jobs.jobs;
        let mut has_new = false;
        for card in cards.iter() {
            match jobs.binary_search_by_key(&card.job, |listed| listed.job) {
                Ok(at) => {
                    let summary = &mut jobs[at].summary;
                    // The board may not have come to the latest lines yet.
                    let is_behind = summary.last_ms > card.summary.last_ms;
                    if !is_behind && *summary != card.summary {
                        summary.clone_from(&card.summary);
                    }
                }
                Err(_) if card.summary.phase.is_over() => {}
                Err(_) => has_new |= !self.cards.iter().any(|known| known.job == card.job),
            }
        }
        let come = self.handed_here(&cards);
        self.cards = cards;
        if let Some(bay) = come {
            self.notice = Some(Notice::Said(self.words().handed_here_now(&bay)));
        }
        if has_new {
            self.read_jobs();
        }
    }

    /// The bay of a job that has just been handed to this tablet.
    fn handed_here(&self, cards: &[Arc<Card>]) -> Option<String> {
        let own = Some(self.store.tablet().id());
        let is_here =
            |card: &&Arc<Card>| card.summary.holder == own && !card.summary.phase.is_over();
        let was_here = |job: Uuid| {
            let known = self.cards.iter().find(|known| known.job == job);
            known.is_some_and(|known| known.summary.holder == own)
        };
        // What the board shows when it is read for the first time is no news.
        let is_first = self.cards.is_empty();
        let come = cards
            .iter()
            .filter(is_here)
            .find(|card| !was_here(card.job));
        come.filter(|_| !is_first)
            .map(|card| card.summary.bay.clone())
    }

    /// Tells the shop that the open job has new lines.
    pub(super) fn tell_shop(&self) {
        if let (Some(shop), Some(current)) = (&self.shop, &self.current) {
            shop.tapped(current.job.id());
        }
    }

    /// Hands the open job to another tablet: one event, which the shop folder carries. Here
    /// the job is left.
    pub(super) fn hand_over(&mut self, to_tablet: Uuid) -> Outcome {
        let outcome = self.tap(&[Event::HandedOver { to_tablet }]);
        if outcome != Outcome::Taken {
            return outcome;
        }
        let outcome = self.leave();
        let named = self.tablets.iter().find(|(id, _)| *id == to_tablet);
        if let Some((_, name)) = named {
            self.notice = Some(Notice::Said(self.words().handed_to(name)));
        }
        outcome
    }

    /// Whether a job under way was handed to another tablet and is not taken over here.
    pub(super) fn is_away(&self, state: &JobState) -> bool {
        let own = self.store.tablet().id();
        !state.phase().is_over() && state.holder().is_some_and(|holder| holder != own)
    }

    /// Takes a tablet's changed key for its own, with a foreman's code.
    pub(super) fn accept_key(
        &mut self,
        tablet: Uuid,
        key: &str,
        (foreman, code): &(Person, TypedCode),
    ) -> Outcome {
        let code = Code::from(code.0.as_str());
        let now = self.clock.now();
        let agreed = match self.crew.approve(foreman, &code, now) {
            Ok(agreed) => agreed,
            Err(error) => return self.say_code(&error),
        };
        let asking = self.crew.asking().into_iter();
        let mut shown = asking.filter(|(card, _)| card.tablet == tablet && card.key == key);
        if let Some((card, _)) = shown.next()
            && let Err(error) = self.crew.admit(
                card,
                standing_journals(self.store.root(), tablet),
                agreed,
                now,
            )
        {
            return self.say_code(&error);
        }
        self.read_members();
        if let Some(shop) = &self.shop {
            shop.accept_key(tablet, key);
        }
        self.notice = Some(Notice::Said(self.words().key_accepted.to_owned()));
        Outcome::Taken
    }

    /// Writes the record of the open job into the data folder.
    pub(super) fn write_record(&mut self) -> Outcome {
        let Some(current) = &self.current else {
            return Outcome::Stayed;
        };
        let state = current.job.state();
        let named = format!("{} {}", state.bay(), state.vehicle());
        let settings = &self.settings.settings;
        let (language, system) = (settings.language, settings.units.system());
        let words = self.words();
        let made = gather(self.store.root(), current.job.id(), self.store.proofs())
            .map_err(|error| not_gathered(words, &error))
            .and_then(|gathered| {
                let print = Print {
                    language,
                    paper: Paper::usual(system),
                    system,
                };
                let made = issue(&gathered, Some(self.store.tablet()), print);
                made.map_err(|error| no_pdf(words, &error))
            });
        let written = self.write_pdf(&named, made, self.words().record_written);
        let Some(path) = written else {
            return Outcome::Stayed;
        };
        // It is shown as anybody else will see it, from its file.
        let said = self.notice.take();
        let outcome = self.open_record(&path, None);
        self.notice = said;
        outcome
    }

    /// Writes the work sheet of the open job's engine beside the records.
    pub(super) fn write_work_sheet(&mut self) -> Outcome {
        let layout = self
            .current
            .as_ref()
            .and_then(|c| c.job.state().layout_arc());
        let Some(layout) = layout else {
            return Outcome::Stayed;
        };
        let settings = &self.settings.settings;
        let (language, system) = (settings.language, settings.units.system());
        let made = render_sheet(&layout, language, Paper::usual(system), system);
        let named = format!("{} {}", self.words().sheet_title, layout.name);
        let said = self.words().sheet_written;
        let words = self.words();
        let made = made.map_err(|error| match error {
            SheetError::Order(fault) => words.error(&fault),
            SheetError::Bench(fault) => words.error(&fault),
            SheetError::Pdf(error) => no_pdf(words, &error),
        });
        let _ = self.write_pdf(&named, made, said);
        Outcome::Stayed
    }

    /// Writes a PDF into the folder of records and says where it lies. Gives that, if it does.
    fn write_pdf(
        &mut self,
        named: &str,
        made: Result<Vec<u8>, String>,
        said: &str,
    ) -> Option<PathBuf> {
        let named: String = named
            .chars()
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .collect();
        let now = self.clock.now();
        let date = times::date(now.at_ms, now.offset_min);
        let folder = self.store.root().join("records");
        let path = folder.join(format!("{named}-{date}.pdf"));
        let written = made.and_then(|pdf| {
            std::fs::create_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
            small_file::write(&path, &pdf, Readers::Usual).map_err(|e| self.words().error(&e))
        });
        match written {
            Ok(()) => {
                self.notice = Some(Notice::Said(format!("{said}: {}", path.display())));
                Some(path)
            }
            Err(what) => {
                self.say_fault(&what);
                None
            }
        }
    }
}
