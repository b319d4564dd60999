//! The board on an office screen, of one shop or of several: the whole screen, read alone. It
//! takes no part in a shop and writes nothing into its folder. Each shop has a thread of its
//! own, so that one that does not answer holds up none of the others.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use egui::{Context, Ui};
use trayzero_core::journal::JournalError;

use crate::data::settings::{Settings, ThemeChoice};
use crate::data::store::{Clock, SystemClock};
use crate::shop::{
    Admitted, Board, BoardFilter, Card, Looking, ShopFault, ShopToRead, Tile, Visit, in_order,
    of_shop,
};
use crate::ui::screens::lay_paper;
use crate::ui::screens::wall::{self, Wall, WallScreen};
use crate::ui::theme::{Theme, Tone};
use crate::ui::times;

/// How often the folder is read.
const EVERY: Duration = Duration::from_secs(3);
/// How often all of it is read anew.
const ANEW_EVERY: Duration = Duration::from_mins(1);
/// How often the clock on the wall is drawn anew.
const CLOCK_EVERY: Duration = Duration::from_secs(10);

/// A reading that takes longer is said to have no answer, in milliseconds.
const SILENT_AFTER_MS: i64 = 20_000;

/// What the thread of a shop has found.
#[derive(Clone, Default)]
struct BoardFound {
    /// The cards; `None` until they were read.
    cards: Option<Arc<Vec<Arc<Card>>>>,
    /// When they were asked for first, wall clock in milliseconds.
    asked_ms: i64,
    /// When they were read last, wall clock in milliseconds.
    read_ms: Option<i64>,
    /// Since when they are being read, wall clock in milliseconds.
    reading_ms: Option<i64>,
    /// Why they could not be read since.
    fault: Option<WhyUnread>,
}

/// Why a shop could not be read.
#[derive(Clone, Debug)]
enum WhyUnread {
    /// It does not answer.
    Silent,
    /// Its place does not serve.
    Place(ShopFault),
    /// The key says that it is another one.
    Other,
    /// What lies there cannot be read.
    Jobs(String),
}

impl BoardFound {
    /// Why the shop is not read, where it is not.
    fn unread(&self, now_ms: i64) -> Option<WhyUnread> {
        let is_silent = |since_ms| now_ms - since_ms > SILENT_AFTER_MS;
        if self.reading_ms.is_some_and(is_silent) {
            return Some(WhyUnread::Silent);
        }
        self.fault.clone()
    }

    /// Since when it is not read, where that is so.
    fn since_ms(&self) -> i64 {
        self.read_ms.unwrap_or(self.asked_ms)
    }
}

/// Reads a shop again and again, and writes nothing.
struct FolderReader {
    shop: ShopToRead,
    visit: Visit,
    /// The board, and when all of it was read.
    board: Option<(Board, Instant)>,
    found: Arc<Mutex<BoardFound>>,
}

impl FolderReader {
    fn of(shop: ShopToRead) -> Self {
        Self {
            visit: Visit::of(&shop.place, shop.shop_key.as_deref()),
            shop,
            board: None,
            found: Arc::default(),
        }
    }

    /// Reads what is new, and everything anew once in a while, for members come and go;
    /// gives the cards.
    fn read(&mut self) -> Result<Vec<Arc<Card>>, WhyUnread> {
        // A folder that is gone has no jobs, and must not look like a shop with none.
        self.visit.look().map_err(WhyUnread::Place)?;
        let folder = self.visit.folder();
        let jobs = |fault: JournalError| WhyUnread::Jobs(fault.to_string());
        let known = self.board.take();
        let known = known.filter(|(_, since)| since.elapsed() < ANEW_EVERY);
        let (mut board, since) = if let Some((mut board, since)) = known {
            self.visit.read_on(&mut board).map_err(jobs)?;
            (board, since)
        } else {
            let admitted = Admitted::of(folder, self.shop.shop_key.as_deref());
            let admitted = admitted.map_err(|_| WhyUnread::Other)?;
            (admitted.board(folder).map_err(jobs)?, Instant::now())
        };
        board.work_out_to_go();
        let cards = of_shop(self.shop.of.as_ref(), board.cards());
        self.board = Some((board, since));
        Ok(cards)
    }

    fn found(&self) -> MutexGuard<'_, BoardFound> {
        self.found.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn run(mut self, ctx: &Context) {
        loop {
            let begun_ms = SystemClock.now().at_ms;
            {
                let mut found = self.found();
                found.reading_ms = Some(begun_ms);
                if found.asked_ms == 0 {
                    found.asked_ms = begun_ms;
                }
            }
            let read = self.read();
            let now_ms = SystemClock.now().at_ms;
            {
                let mut found = self.found();
                found.reading_ms = None;
                match read {
                    Ok(cards) => {
                        let had_fault = found.fault.take().is_some();
                        found.read_ms = Some(now_ms);
                        if had_fault || found.cards.as_deref() != Some(&cards) {
                            found.cards = Some(Arc::new(cards));
                            ctx.request_repaint();
                        }
                    }
                    Err(fault) => {
                        ctx.request_repaint();
                        found.fault = Some(fault);
                    }
                }
            }
            thread::sleep(self.visit.pause(EVERY));
        }
    }
}

/// A shop with what its thread has found.
type ReadShop = (ShopToRead, Arc<Mutex<BoardFound>>);

struct Office {
    shops: Vec<ReadShop>,
    settings: Settings,
    air_reminder_min: u16,
    screen: WallScreen,
}

impl Office {
    fn theme(&self, ctx: &Context, height: f32, bays: usize) -> Theme {
        let tone = match (self.settings.theme, ctx.system_theme()) {
            (ThemeChoice::Night, _) | (ThemeChoice::Auto, Some(egui::Theme::Dark)) => Tone::Night,
            _ => Tone::ShopLight,
        };
        wall::theme(tone, height, bays)
    }

    /// Draws what was found.
    fn draw(&mut self, ui: &mut Ui) {
        let now = SystemClock.now();
        let looking = Looking {
            now_ms: now.at_ms,
            zone: times::zone(now.at_ms, now.offset_min),
            air_reminder_min: self.air_reminder_min,
            hours: self.settings.shop_hours.clone(),
            own: None,
            out_of_touch_ms: None,
        };
        let found = self.shops.iter().map(|(shop, found)| {
            let found = found.lock().unwrap_or_else(PoisonError::into_inner);
            (shop, found.clone())
        });
        let found: Vec<(&ShopToRead, BoardFound)> = found.collect();
        let troubles: Vec<String> = found
            .iter()
            .filter_map(|(shop, found)| self.trouble(shop, found, &looking))
            .collect();
        let tiles = tiles_of(&found, &looking);
        let words = self.settings.language.words();
        let bays = tiles.as_ref().map_or(0, Vec::len);
        let theme = self.theme(ui.ctx(), ui.max_rect().height(), bays);
        theme.install(ui.ctx());
        lay_paper(ui, &theme);
        let is_read = |(_, found): &&(&ShopToRead, BoardFound)| {
            found.read_ms.is_some() && found.unread(now.at_ms).is_none()
        };
        let read = found.iter().filter(is_read).count();
        let is_one = found.iter().all(|(shop, _)| shop.of.is_none());
        let wall = Wall {
            words,
            tiles: tiles.as_deref(),
            looking: &looking,
            troubles: &troubles,
            shops: (!is_one).then_some((read, found.len())),
        };
        self.screen.ui(ui, &wall);
    }

    /// Why a shop's bays may be old or are not there, where that is so.
    fn trouble(&self, shop: &ShopToRead, found: &BoardFound, looking: &Looking) -> Option<String> {
        let words = self.settings.language.words();
        let why = match found.unread(looking.now_ms)? {
            WhyUnread::Silent => words.shop_silent.to_owned(),
            WhyUnread::Place(fault) => words.shop_fault(&fault),
            WhyUnread::Other => words.shop_other.to_owned(),
            WhyUnread::Jobs(why) => why,
        };
        let since = words.when(found.since_ms(), looking);
        Some(match &shop.of {
            Some(of) => words.shop_fails(&of.name, &since, &why),
            None => words.wall_fails(&since, &why),
        })
    }
}

/// The bays of all shops that were read, the one that needs somebody most first; `None` as
/// long as none was.
fn tiles_of(found: &[(&ShopToRead, BoardFound)], looking: &Looking) -> Option<Vec<Tile>> {
    let read = found.iter().filter_map(|(_, found)| found.cards.as_ref());
    let cards: Vec<Arc<Card>> = read.flat_map(|cards| cards.iter().cloned()).collect();
    if found.iter().all(|(_, found)| found.cards.is_none()) {
        return None;
    }
    let mut its_look = looking.clone();
    let (now_ms, air_min) = (looking.now_ms, looking.air_reminder_min);
    let placed = in_order(&cards, BoardFilter::UnderWay, now_ms, air_min);
    let tiles = placed.iter().map(|one| {
        let at = one.card.shop.as_ref().map_or(0, |shop| shop.at);
        let found = found.get(at).map(|(_, found)| found);
        let is_old = found.filter(|found| found.unread(now_ms).is_some());
        its_look.out_of_touch_ms = is_old.map(BoardFound::since_ms);
        Tile::of(one, &its_look)
    });
    Some(tiles.collect())
}

impl eframe::App for Office {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        if ui.input(|i| i.key_pressed(egui::Key::Escape)) {
            ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
        }
        self.draw(ui);
        ui.ctx().request_repaint_after(CLOCK_EVERY);
    }
}

/// Opens the board of shops over the whole screen and stays until it is closed; the Escape
/// key closes it.
///
/// # Errors
/// A sentence that says what stood in the way.
pub fn open(
    shops: Vec<ShopToRead>,
    settings: Settings,
    air_reminder_min: u16,
) -> Result<(), String> {
    let ctx = Context::default();
    let read = |shop: ShopToRead| {
        let reading = FolderReader::of(shop.clone());
        let found = Arc::clone(&reading.found);
        let waked = ctx.clone();
        // It ends with the program; a folder that hangs holds nobody up.
        thread::spawn(move || reading.run(&waked));
        (shop, found)
    };
    let office = Office {
        shops: shops.into_iter().map(read).collect(),
        settings,
        air_reminder_min,
        screen: WallScreen::default(),
    };
    eframe::run_native_ext(
        "Tray Zero",
        crate::window::options(true),
        Some(ctx),
        Box::new(|_| Ok(Box::new(office))),
    )
    .map_err(|fault| fault.to_string())
}
