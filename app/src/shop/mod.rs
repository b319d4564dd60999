//! The shop: the folder that its tablets share, and the board over all of them.
//!
//! Nothing here ever holds up a tap. [`SharedShop`] is what the window holds: it asks, and it
//! looks at what has been published; two threads do the work. The *exchange* alone
//! touches the shop folder, and may hang as long as a network likes. The *board* reads
//! this tablet's own data folder, where the exchange leaves copies of the others' lines.

mod admitted;
mod board;
mod board_thread;
mod bucket;
mod card;
mod cards;
mod day;
mod exchange;
mod folder;
mod followed;
mod history;
mod layouts;
mod log;
mod look;
mod members;
mod open_place;
mod own_copy;
mod pictures;
mod pins;
mod place;
mod published;
mod pull;
mod push;
mod several;
mod shared_fault;
mod spread;
mod status;
mod tiles;
mod twin;
mod visit;

use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use jiff::tz::TimeZone;
use trayzero_core::job::Picture;
use trayzero_core::plan::ShopPace;
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use crate::data::store::{Clock, Store};

pub use admitted::{Admitted, OtherShop};
pub use board::Board;
use board_thread::{BoardAsk, BoardThread};
pub use bucket::{BucketFault, Surroundings};
pub use card::{
    Block, BoardFilter, Card, CardWork, Need, PlacedCard, QUIET_AFTER_MIN, in_order, of_shop,
};
pub use day::{BayDay, Day, Leaves};
pub use exchange::{Exchange, Round};
pub use history::{History, Lost, LostTo, Often, SEEN_AGAIN_MIN, SinceThen, Week, monday_of};
pub use look::ShopLook;
pub use members::{pinned, standing_journals};
pub use open_place::folder_of;
pub use published::News;
use published::{Published, Shared};
pub use several::{OfShop, ShopToRead};
pub use shared_fault::{FileWhy, SharedFault};
pub use status::{
    ClockAhead, KeyConflict, NotConfirmed, OUT_OF_TOUCH_MS, ShopFault, ShopStatus, WhyNotConfirmed,
};
pub use tiles::{Air, Looking, Tile, TileReason, asked};
pub use trayzero_core::journal::FileFault;
pub use visit::{Visit, visited};

/// How often the shop folder is looked at.
#[derive(Clone, Copy, Debug)]
pub struct ExchangePace {
    /// Between two good rounds.
    pub poll: Duration,
    /// After the first bad round; doubled after each further one.
    pub retry_least: Duration,
    /// At most between two bad rounds.
    pub retry_most: Duration,
}

impl Default for ExchangePace {
    fn default() -> Self {
        Self {
            poll: Duration::from_secs(3),
            retry_least: Duration::from_secs(2),
            retry_most: Duration::from_mins(1),
        }
    }
}

enum ShopAsk {
    Round,
    Folder(Option<PathBuf>),
    AcceptKey(Uuid, String),
    Pictures(Uuid, Vec<Picture>),
    Renamed(crate::data::store::ForExchange),
    Stop,
}

/// The shop as the window holds it.
pub struct SharedShop {
    asks: Sender<ShopAsk>,
    board_asks: Sender<BoardAsk>,
    shared: Arc<Shared>,
}

impl fmt::Debug for SharedShop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SharedShop({:?})", self.status())
    }
}

impl SharedShop {
    /// Starts both threads. `wake` is called from them whenever there is something new.
    pub fn start(
        store: &Store,
        folder: Option<&Path>,
        clock: Arc<dyn Clock>,
        pace: ExchangePace,
        wake: Box<dyn Fn() + Send + Sync>,
    ) -> Self {
        let (asks, asked) = mpsc::channel();
        let (board_asks, board_asked) = mpsc::channel();
        let shared = Arc::new(Shared {
            published: Mutex::default(),
            wake,
        });
        let shop = Self {
            asks,
            board_asks,
            shared: Arc::clone(&shared),
        };
        let board_thread = BoardThread {
            root: store.root().to_owned(),
            proofs: store.proofs().clone(),
            shared: Arc::clone(&shared),
        };
        thread::spawn(move || board_thread.run(&board_asked));
        let exchange = ExchangeThread {
            make: store.for_exchange(),
            exchange: None,
            clock,
            pace,
            shared,
            board: shop.board_asks.clone(),
            retry: pace.retry_least,
        };
        thread::spawn(move || exchange.run(&asked));
        shop.set_folder(folder);
        shop
    }

    /// Sets or leaves the shop folder.
    pub fn set_folder(&self, folder: Option<&Path>) {
        self.send(ShopAsk::Folder(folder.map(Path::to_owned)));
    }

    /// A job has new lines of this tablet: the board and the shop folder get them.
    pub fn tapped(&self, job: Uuid) {
        // A thread that has ended is noticed by its status; a tap goes on regardless.
        let _ = self.board_asks.send(BoardAsk::Job(job));
        self.send(ShopAsk::Round);
    }

    /// The board holds signatures against another log from now on.
    pub fn set_proofs(&self, proofs: &Proofs) {
        // A thread that has ended is noticed by its status.
        let _ = self.board_asks.send(BoardAsk::Proofs(proofs.clone()));
    }

    /// The crew has changed here: the shop folder gets its list.
    pub fn crew_changed(&self) {
        self.send(ShopAsk::Round);
    }

    /// A layout was kept here: the shop folder gets it.
    pub fn layouts_changed(&self) {
        self.send(ShopAsk::Round);
    }

    /// This tablet has another name: the shop folder gets its new card.
    pub fn tablet_renamed(&self, store: &Store) {
        self.send(ShopAsk::Renamed(store.for_exchange()));
    }

    /// A foreman has looked at a tablet's changed key; it counts from here on.
    pub fn accept_key(&self, tablet: Uuid, key: &str) {
        self.send(ShopAsk::AcceptKey(tablet, key.to_owned()));
    }

    /// The pictures that a job's events name: those that are not here are fetched.
    pub fn want_pictures(&self, job: Uuid, wanted: Vec<Picture>) {
        self.send(ShopAsk::Pictures(job, wanted));
    }

    /// How it stands with the shop folder.
    pub fn status(&self) -> ShopStatus {
        self.shared.lock().status.clone()
    }

    /// A look at it for another thread.
    pub fn look(&self) -> ShopLook {
        ShopLook(Arc::clone(&self.shared))
    }

    /// Every job's card, for [`in_order`].
    pub fn cards(&self) -> Arc<Vec<Arc<Card>>> {
        Arc::clone(&self.shared.lock().cards)
    }

    /// What the shop has learned of its hours, once the board has been read.
    pub fn pace(&self) -> Option<Arc<ShopPace>> {
        self.shared.lock().pace.clone()
    }

    /// Asks for the finished jobs by week, on the days of a time zone, looked at at a wall
    /// clock in milliseconds.
    pub fn ask_history(&self, zone: TimeZone, now_ms: i64) {
        // A thread that has ended is noticed by its status.
        let _ = self.board_asks.send(BoardAsk::History(zone, now_ms));
    }

    /// The finished jobs by week, once they were asked for and read.
    pub fn history(&self) -> Option<Arc<History>> {
        self.shared.lock().history.clone()
    }

    /// What has come from the other tablets since the last asking.
    pub fn take_news(&self) -> Vec<News> {
        std::mem::take(&mut self.shared.lock().news)
    }

    /// Asks for a round and waits until it is done, but no longer than `at_most`: at a
    /// hand-over or a clean exit. Gives whether all own lines are in the folder.
    pub fn flush(&self, at_most: Duration) -> bool {
        let mine = {
            self.send(ShopAsk::Round);
            self.shared.lock().asked
        };
        let until = Instant::now() + at_most;
        loop {
            {
                let published = self.shared.lock();
                if published.done >= mine {
                    let status = &published.status;
                    return status.fault.is_none() && status.behind_bytes == 0;
                }
            }
            if Instant::now() >= until {
                return false;
            }
            thread::sleep(Duration::from_millis(5));
        }
    }

    fn send(&self, ask: ShopAsk) {
        self.shared.lock().asked += 1;
        let _ = self.asks.send(ask);
    }
}

impl Drop for SharedShop {
    /// Tells both threads to end, and does not wait: one of them may hang on a network.
    fn drop(&mut self) {
        let _ = self.board_asks.send(BoardAsk::Stop);
        let _ = self.asks.send(ShopAsk::Stop);
    }
}

/// The thread that goes to the shop folder and back.
struct ExchangeThread {
    make: crate::data::store::ForExchange,
    exchange: Option<Exchange>,
    clock: Arc<dyn Clock>,
    pace: ExchangePace,
    shared: Arc<Shared>,
    board: Sender<BoardAsk>,
    retry: Duration,
}

/// Where no folder is set, nothing is due by itself.
const UNTIL_ASKED: Duration = Duration::from_hours(24);

impl ExchangeThread {
    fn run(mut self, asked: &Receiver<ShopAsk>) {
        let mut due = Instant::now();
        let mut is_failing = false;
        loop {
            let mut wants_round = false;
            let wait = due.saturating_duration_since(Instant::now());
            match asked.recv_timeout(wait) {
                Ok(first) => {
                    for ask in std::iter::once(first).chain(asked.try_iter()) {
                        match ask {
                            ShopAsk::Stop => return,
                            ShopAsk::Round => wants_round = true,
                            ShopAsk::AcceptKey(tablet, key) => {
                                wants_round = true;
                                if let Some(exchange) = &mut self.exchange {
                                    exchange.accept_key(tablet, &key);
                                }
                            }
                            ShopAsk::Pictures(job, wanted) => {
                                wants_round = true;
                                if let Some(exchange) = &mut self.exchange {
                                    exchange.want_pictures(job, wanted);
                                }
                            }
                            ShopAsk::Renamed(make) => {
                                self.make = make;
                                let folder = self.shared.lock().status.folder.clone();
                                self.change_folder(folder);
                                wants_round = true;
                            }
                            ShopAsk::Folder(folder) => {
                                self.change_folder(folder);
                                (wants_round, is_failing) = (true, false);
                            }
                        }
                    }
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
            let is_due = Instant::now() >= due;
            // While the folder fails, taps do not make it be tried more often.
            if is_due || (wants_round && !is_failing) {
                is_failing = !self.round(is_due);
                let next = Instant::now() + self.next_wait(is_failing);
                // A round for a tap does not put off the next look.
                due = if is_due || is_failing {
                    next
                } else {
                    next.min(due)
                };
            }
        }
    }

    fn change_folder(&mut self, folder: Option<PathBuf>) {
        self.exchange = folder
            .as_deref()
            .map(|folder| Exchange::new(&self.make, folder));
        let copy = folder
            .as_deref()
            .map(|place| folder_of(place, &self.make.root));
        self.shared.publish(|published| {
            published.status = ShopStatus {
                folder,
                copy,
                ..ShopStatus::default()
            };
        });
    }

    fn next_wait(&mut self, is_failing: bool) -> Duration {
        let Some(exchange) = &self.exchange else {
            return UNTIL_ASKED;
        };
        if !is_failing {
            self.retry = self.pace.retry_least;
            return exchange.pause(self.pace.poll);
        }
        let wait = self.retry;
        self.retry = (self.retry * 2).min(self.pace.retry_most);
        wait
    }

    /// One round; gives whether the folder served. A round for a tap alone does not ask a
    /// bucket what is new: that is asked at its own pace.
    fn round(&mut self, hears: bool) -> bool {
        let asked = self.shared.lock().asked;
        let Some(exchange) = &mut self.exchange else {
            self.shared.lock().done = asked;
            return true;
        };
        self.shared.lock().status.round_since_ms = Some(self.clock.now().at_ms);
        let round = exchange.round_of(hears);
        let now_ms = self.clock.now().at_ms;
        let is_good = round.fault.is_none();
        for job in &round.pulled {
            let _ = self.board.send(BoardAsk::Job(*job));
        }
        if round.pulled.len() > 50 {
            // Many at once are quicker read together.
            let _ = self.board.send(BoardAsk::All);
        }
        if self.shared.lock().take(round, now_ms, asked) {
            (self.shared.wake)();
        }
        is_good
    }
}

impl Published {
    /// Takes in what a round came to. Gives whether anything is there to be drawn: a round
    /// that went as the one before draws nothing.
    fn take(&mut self, round: Round, now_ms: i64, asked: u64) -> bool {
        let has_lines = !(round.pulled.is_empty() && round.sight.is_none());
        let has_news = has_lines || round.layouts || !round.pictures.is_empty();
        let before = self.status.clone();
        self.done = asked;
        let status = &mut self.status;
        status.round_since_ms = None;
        status.clocks_ahead = round.clocks_ahead(now_ms);
        status.not_confirmed = round.not_confirmed;
        status.strangers = round.strangers;
        if round.fault.is_none() {
            status.last_good_ms = Some(now_ms);
        }
        status.fault = round.fault;
        status.behind_bytes = round.behind_bytes;
        status.file_faults = round.file_faults;
        status.left_alone = round.left_alone;
        status.key_conflicts = round.key_conflicts;
        status.tablets = round.tablets;
        self.news.extend(round.pulled.into_iter().map(News::Lines));
        self.news
            .extend(round.pictures.into_iter().map(News::Pictures));
        self.news.extend(round.layouts.then_some(News::Layouts));
        let sight = round.sight.into_iter();
        self.news
            .extend(sight.map(|sight| News::Sight(Box::new(sight))));
        let as_before = ShopStatus {
            // That it has answered at all is drawn once.
            last_good_ms: before.last_good_ms.or(self.status.last_good_ms),
            round_since_ms: before.round_since_ms,
            ..self.status.clone()
        };
        has_news || as_before != before
    }
}
