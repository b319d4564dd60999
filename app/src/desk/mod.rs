//! The desk behind the screens: the open job, the lists, and the one function that
//! carries an intent out.

mod files;
mod from_paper;
mod looking;
mod notices;
mod order;
pub mod page_keeper;
mod people;
mod pictures;
mod records;
mod said;
mod session;
mod shop;
mod worker;

use std::collections::BTreeSet;
use std::sync::Arc;

use trayzero_core::job::{Effects, Event, JobState, Milestone, NextStep};
use trayzero_core::plan::{ShopPace, WorkingOrder};
use uuid::Uuid;

use crate::data::crew::{CodeCost, Crew, CrewMember};
use crate::data::layouts::LayoutLibrary;
use crate::data::settings::{Settings, SettingsFile};
use crate::data::shared_layouts::library_of;
use crate::data::store::{Clock, InGerman, JobList, ListedJob, OpenJob, Stamp, Store, StoreError};
use crate::data::written::Written;
use crate::power::{PowerView, Wake};
use crate::shop::{Card, History, OUT_OF_TOUCH_MS, SharedShop, ShopStatus};
use crate::ui::intent::{Intent, Screen};
use crate::ui::view::{JobView, Looked, MembershipView, Notice, RETURN_AFTER_MIN, ReadOnly, View};
use crate::ui::words::Words;
use notices::{leaves_notice, over_rating};
use said::{notice_of, refused, said_at_the_start};

/// A clock that stands so many minutes behind the last tap was set back.
const CLOCK_BEHIND_MIN: u64 = 5;

/// So many finished jobs are shown at each asking.
const FINISHED_AT_ONCE: usize = 50;

/// How often the times on the board grow older.
const BOARD_AGES_MS: u64 = 60_000;

/// What came of an intent, for the screens that keep choices of the finger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Events were taken.
    Taken,
    /// Another screen or job is shown.
    Moved,
    /// A job under way is opened by somebody who has been away from it.
    Returned,
    /// Nothing changed.
    Stayed,
}

/// The open job with what is worked out from it.
struct CurrentJob {
    job: OpenJob,
    order: Option<WorkingOrder>,
    order_key: Option<order::OrderKey>,
    next: NextStep,
    milestone: Option<Milestone>,
    is_reader: bool,
    /// That the clock is behind was said.
    clock_was_told: bool,
    times: session::Times,
}

/// The desk.
pub struct Desk {
    store: Store,
    clock: Arc<dyn Clock>,
    settings: SettingsFile,
    crew: Crew,
    members: Vec<CrewMember>,
    membership: MembershipView,
    library: LayoutLibrary,
    tablets: Vec<(Uuid, String)>,
    tablet_key: String,
    jobs: JobList,
    current: Option<CurrentJob>,
    left: Option<session::Left>,
    screen: Screen,
    notice: Option<Notice>,
    is_locked: bool,
    shop: Option<SharedShop>,
    page: Option<page_keeper::PageKeeper>,
    shop_status: ShopStatus,
    cards: Arc<Vec<Arc<Card>>>,
    /// Finished jobs, as many as somebody has asked to see.
    finished: Vec<Arc<Card>>,
    pace: Option<Arc<ShopPace>>,
    /// The finished jobs by week, once somebody has asked for them.
    history: Option<Arc<History>>,
    power: PowerView,
    pictures: pictures::PictureDesk,
    records: records::RecordDesk,
    /// Wakes the window when a thread has news.
    wake: Option<Wake>,
    written: Written,
    looked: Option<Looked>,
    /// What was said already of journals that do not hold.
    told_faults: BTreeSet<String>,
}

impl Desk {
    /// Sits down at a data folder.
    ///
    /// # Errors
    /// [`StoreError`], which names the file.
    pub fn open(mut store: Store, clock: Arc<dyn Clock>) -> Result<Self, StoreError> {
        let settings = SettingsFile::read(store.root());
        let crew = Crew::open(
            store.root(),
            Arc::clone(store.tablet()),
            CodeCost::default(),
        );
        store.set_shop(crew.shop());
        let library = library_of(&store.layouts_folder(), store.tablet().id());
        let jobs = store.jobs()?;
        let words = settings.settings.language.words();
        let told_faults = jobs
            .faults
            .iter()
            .map(|fault| words.error(&**fault))
            .collect();
        let notice = said_at_the_start(&store, &settings, &crew, &jobs);
        let tablet_key = store.tablet().public_key();
        let mut desk = Self {
            store,
            clock,
            crew,
            members: Vec::new(),
            membership: MembershipView::default(),
            library,
            tablets: Vec::new(),
            tablet_key,
            jobs,
            current: None,
            left: None,
            screen: Screen::Bays,
            notice,
            is_locked: false,
            shop: None,
            page: None,
            shop_status: ShopStatus::default(),
            cards: Arc::default(),
            finished: Vec::new(),
            pace: None,
            history: None,
            power: PowerView::default(),
            pictures: pictures::PictureDesk::default(),
            records: records::RecordDesk::default(),
            wake: None,
            written: Written::default(),
            looked: None,
            told_faults,
            settings,
        };
        desk.read_members();
        desk.written = Written::read(desk.store.root());
        desk.written.add_jobs(&desk.jobs.jobs);
        Ok(desk)
    }

    fn read_members(&mut self) {
        self.members = self.crew.members().collect();
        self.membership = people::membership(&self.crew, self.store.tablet().id());
    }

    /// The tablet's settings.
    pub fn settings(&self) -> &Settings {
        &self.settings.settings
    }

    fn words(&self) -> &'static Words {
        self.settings.settings.language.words()
    }

    /// The state of the open job.
    pub fn state(&self) -> Option<&JobState> {
        self.current.as_ref().map(|b| b.job.state())
    }

    /// Takes note of what the system says of its power.
    pub fn set_power(&mut self, power: PowerView) {
        self.power = power;
    }

    /// What the screens see now.
    pub fn view(&self) -> View<'_> {
        let Stamp { at_ms, offset_min } = self.clock.now();
        // A record tells how its bay stood then, and nothing has passed since.
        let at_ms = match self.records.job() {
            Some(job) => job.state.last_ms(),
            None => at_ms,
        };
        View {
            words: self.words(),
            settings: &self.settings.settings,
            tablet_name: self.store.tablet().name(),
            tablet_key: &self.tablet_key,
            tablet: self.store.tablet().id(),
            units: self.settings.settings.figures(),
            now_ms: at_ms,
            offset_min,
            screen: self.screen,
            is_locked: self.is_locked,
            jobs: &self.jobs.jobs,
            finished: &self.finished,
            finished_count: self.jobs.finished,
            job: self.records.job().or_else(|| self.job_view()),
            crew: &self.members,
            membership: &self.membership,
            library: &self.library,
            cards: &self.cards,
            pace: self.pace.as_deref(),
            history: self.history.as_deref(),
            shop: &self.shop_status,
            tablets: &self.tablets,
            power: self.power,
            pictures: &self.pictures.seen,
            written: &self.written,
            looked: self.looked.as_ref(),
            data: self.store.root(),
            record: self.records.seen.as_ref(),
            notice: self.notice.as_ref(),
        }
    }

    fn job_view(&self) -> Option<JobView<'_>> {
        let current = self.current.as_ref()?;
        Some(JobView {
            id: current.job.id(),
            state: current.job.state(),
            next: &current.next,
            order: current.order.as_ref(),
            milestone: current.milestone,
            undo: current.job.state().undo_offer(),
            read_only: if current.is_reader || self.is_away(current.job.state()) {
                Some(ReadOnly::NotHere)
            } else {
                current.job.read_only().map(ReadOnly::Because)
            },
            is_record: false,
            others: current.job.others(),
        })
    }

    /// Carries an intent out. The one place where screens change anything.
    pub fn carry_out(&mut self, intent: Intent) -> Outcome {
        if !leaves_notice(&intent) {
            self.notice = None;
        }
        match intent {
            Intent::Go(screen) => self.go(screen),
            Intent::OpenJob(job) => self.open_job(job, false),
            Intent::ReadJob(job) => self.open_job(job, true),
            Intent::ShowFinished => self.show_finished(),
            Intent::ShowHistory => self.show_history(),
            Intent::NewJob(opening) => self.new_job(*opening),
            Intent::LeaveJob => self.leave(),
            Intent::Tap(events) => self.tap(&events),
            Intent::TakeBack(event) => self.tap(&[Event::taken_back(event)]),
            Intent::PedalTakesBack(event) => self.pedal_takes_back(event),
            Intent::Sign { act, codes } => self.sign(act, &codes),
            Intent::Lock => {
                self.is_locked = true;
                Outcome::Stayed
            }
            Intent::Wake => {
                self.is_locked = false;
                Outcome::Stayed
            }
            Intent::Settings(settings) => self.change_settings(*settings),
            Intent::HideCard(card) => self.hide_card(card),
            Intent::AddPerson {
                name,
                role,
                code,
                by,
            } => self.add_person(&name, role, &code, by.as_ref()),
            Intent::ChangeShop { change, by } => self.change_shop(change, &by),
            Intent::JoinShop(key) => self.join_other_shop(key),
            Intent::BecomeNewTablet => self.become_new_tablet(),
            Intent::BeginCrewAnew => self.begin_crew_anew(),
            Intent::ResetCode { person, code, by } => self.reset_code(&person, &code, &by),
            Intent::ChangeCode { person, code, old } => self.change_code(&person, &old, &code),
            Intent::AcceptKey { tablet, key, by } => self.accept_key(tablet, &key, &by),
            Intent::RenameTablet(name) => self.rename_tablet(&name),
            Intent::SaveLayout { stem, layout, by } => self.save_layout(&stem, &layout, by),
            Intent::OfferLayout(version, again) => self.offer_layout(&version, again),
            Intent::ImportLayout(path) => self.import_layout(&path),
            Intent::ExportLayout { path, layout } => self.export_layout(&path, &layout),
            Intent::OpenRecord(path) => self.open_record(&path, None),
            Intent::DrawPage(index, width_px) => self.draw_page(index, width_px),
            Intent::SeeRecordsBay => self.see_records_bay(),
            Intent::CloseRecord => self.close_record(),
            Intent::ShowRecord => self.show_record(),
            Intent::WriteRecordTo(folder) => self.write_record_to(folder),
            Intent::AskPrinters => self.ask_printers(),
            Intent::PrintRecord(printer) => self.print_record(printer),
            Intent::LookInto(folder) => self.look_into(&folder),
            Intent::WatchPictures => self.watch_pictures(),
            Intent::ShowPictures(pictures) => self.show_pictures(pictures, false),
            Intent::EnlargePicture(picture) => self.show_pictures(vec![*picture], true),
            Intent::AddPicture { from, of, remark } => self.add_picture(from, of, remark),
            Intent::TapWithPictures(events, from) => self.tap_with_pictures(&events, from),
            Intent::Backup(into) => self.back_up(&into),
            Intent::Restore(from) => self.restore(&from),
            Intent::HandOver(to_tablet) => self.hand_over(to_tablet),
            Intent::WriteRecord => self.write_record(),
            Intent::WriteWorkSheet => self.write_work_sheet(),
            Intent::Read => {
                self.notice = None;
                Outcome::Stayed
            }
        }
    }

    fn go(&mut self, screen: Screen) -> Outcome {
        if screen == Screen::Bays {
            self.read_jobs();
        }
        self.screen = screen;
        self.records.is_at_bay = false;
        self.finished = Vec::new();
        Outcome::Moved
    }

    /// Shows some more of the finished jobs.
    fn show_finished(&mut self) -> Outcome {
        let more = self.store.finished(self.finished.len(), FINISHED_AT_ONCE);
        let card =
            |listed: ListedJob| Arc::new(Card::of_summary(listed.job, listed.summary, Vec::new()));
        self.finished.extend(more.into_iter().map(card));
        Outcome::Stayed
    }

    fn read_jobs(&mut self) {
        match self.store.jobs() {
            Ok(jobs) => {
                self.written.add_jobs(&jobs.jobs);
                self.jobs = jobs;
                self.say_new_faults();
            }
            Err(error) => {
                self.say_error(&error);
            }
        }
    }

    fn change_settings(&mut self, settings: Settings) -> Outcome {
        if let Some((field, rule)) = settings.broken_rule() {
            return self.say_fault(&format!("{field}: {}", rule.said(self.words())));
        }
        let is_moved = settings.shop_folder != self.settings.settings.shop_folder;
        if let Some(shop) = self.shop.as_ref().filter(|_| is_moved) {
            shop.set_folder(settings.shop_folder.as_deref());
        }
        if let Some(page) = &self.page {
            page.change(&settings);
        }
        if settings.pictures_folder != self.settings.settings.pictures_folder {
            self.camera_folder_changed();
        }
        self.settings.settings = settings;
        if let Err(error) = self.settings.write() {
            self.say_error(&error);
        }
        Outcome::Stayed
    }

    fn say_fault(&mut self, what: &str) -> Outcome {
        self.notice = Some(Notice::Fault {
            what: what.to_owned(),
            way_out: self.words().try_again.to_owned(),
        });
        Outcome::Stayed
    }

    /// The same of an error, in the words of the screen.
    fn say_error(&mut self, error: &(impl InGerman + ?Sized)) -> Outcome {
        let what = self.words().error(error);
        self.say_fault(&what)
    }

    /// Proposes the events of one tap; what is shown afterwards is on the disk.
    fn tap(&mut self, events: &[Event]) -> Outcome {
        let now = self.clock.now();
        let is_away = self.state().is_some_and(|state| self.is_away(state));
        let Some(current) = &mut self.current else {
            return Outcome::Stayed;
        };
        let takes_over = matches!(events, [Event::TakenOver { .. }]);
        if current.is_reader || (is_away && !takes_over) {
            return Outcome::Stayed;
        }
        if let Some(refusal) = over_rating(events, &self.settings.settings) {
            let figures = self.settings.settings.figures();
            self.notice = Some(refused(self.words(), figures, &refusal));
            return Outcome::Stayed;
        }
        let who = current.technician();
        match current.job.propose(now, &who, events) {
            Ok(effects) => self.taken(now, events, &effects),
            Err(error) => {
                let words = self.words();
                let figures = self.settings.settings.figures();
                self.notice = Some(notice_of(words, figures, &error));
                Outcome::Stayed
            }
        }
    }

    /// What follows once events are on the disk.
    fn taken(&mut self, now: Stamp, events: &[Event], effects: &[Effects]) -> Outcome {
        let Some(current) = &mut self.current else {
            return Outcome::Stayed;
        };
        current.milestone = effects.iter().rev().find_map(|e| e.milestone);
        current.times.tapped_ms = now.at_ms;
        current.work_out();
        let behind_min = current.clock_is_behind(now);
        self.tell_shop();
        self.keep_written(events);
        if let Some(minutes) = behind_min {
            self.notice = Some(Notice::Said(self.words().clock_behind(minutes)));
        }
        Outcome::Taken
    }

    /// Keeps what was written into fields, to be chosen again. A disk that does not take it
    /// costs no more than that.
    fn keep_written(&mut self, events: &[Event]) {
        self.written.note_events(events);
        let _ = self.written.write(self.store.root());
    }

    /// Whether something changes by itself, and after how many milliseconds: the minutes
    /// of air that is on, the tablet's signature for the mirror, the card for whoever
    /// comes back, figures of other tablets that get old.
    pub fn wakes_in_ms(&self) -> Option<u64> {
        let now_ms = self.clock.now().at_ms;
        let ahead = |at_ms: i64| u64::try_from(at_ms - now_ms).ok().filter(|ms| *ms > 0);
        let seal = self.seal_due_ms().map(|due| (due - now_ms).max(1) as u64);
        let back = self
            .current
            .as_ref()
            .and_then(|current| ahead(current.times.tapped_ms + RETURN_AFTER_MIN * 60_000));
        let board = (self.screen == Screen::Board && self.shop_status.folder.is_some())
            .then_some(BOARD_AGES_MS);
        let touch = self
            .shop_status
            .last_good_ms
            .filter(|_| self.current.is_some());
        // One more, for only then is it longer ago.
        let touch = touch.and_then(|at_ms| ahead(at_ms + OUT_OF_TOUCH_MS + 1));
        [self.air_minute_in_ms(now_ms), seal, back, board, touch]
            .into_iter()
            .flatten()
            .min()
    }

    fn air_minute_in_ms(&self, now_ms: i64) -> Option<u64> {
        let state = self.state()?;
        let (cylinder, _) = state.air_on()?;
        let since = state.air_since_ms(cylinder)?;
        Some(60_000 - (now_ms - since).rem_euclid(60_000) as u64)
    }
}

impl CurrentJob {
    /// By how many minutes the clock stands behind the last tap, once for each time that
    /// it was set back: the taps keep their order, but the times they tell are wrong.
    fn clock_is_behind(&mut self, now: Stamp) -> Option<u64> {
        let minutes = self.job.ahead_ms(now) / 60_000;
        let is_behind = minutes >= CLOCK_BEHIND_MIN;
        let was_told = std::mem::replace(&mut self.clock_was_told, is_behind);
        (is_behind && !was_told).then_some(minutes)
    }
}
