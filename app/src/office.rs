//! The board on an office screen: the whole screen, read alone. It takes no part in the
//! shop and writes nothing into its folder.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use egui::{Context, Ui};

use crate::data::settings::{Settings, ThemeChoice};
use crate::data::store::{Clock, SystemClock};
use crate::shop::{Admitted, Board, BoardFilter, Card, Looking, Tile, in_order};
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

/// What the reading thread has found.
#[derive(Clone, Default)]
struct BoardFound {
    /// The cards; `None` until they were read.
    cards: Option<Arc<Vec<Arc<Card>>>>,
    /// When they were read last, wall clock in milliseconds.
    read_ms: i64,
    /// Why they could not be read since.
    fault: Option<String>,
}

/// Reads a folder again and again, and writes nothing.
struct FolderReader {
    folder: PathBuf,
    shop_key: Option<String>,
    /// The board, and when all of it was read.
    board: Option<(Board, Instant)>,
}

impl FolderReader {
    /// Reads what is new, and everything anew once in a while, for members come and go;
    /// gives the cards.
    fn read(&mut self) -> Result<Vec<Arc<Card>>, String> {
        // A folder that is gone has no jobs, and must not look like a shop with none.
        self.folder
            .read_dir()
            .map_err(|e| format!("{}: {e}", self.folder.display()))?;
        let known = self.board.take();
        let known = known.filter(|(_, since)| since.elapsed() < ANEW_EVERY);
        let (mut board, since) = if let Some((mut board, since)) = known {
            board.read_on().map_err(|e| e.to_string())?;
            (board, since)
        } else {
            let admitted = Admitted::of(&self.folder, self.shop_key.as_deref());
            let admitted = admitted.map_err(|e| e.to_string())?;
            let board = admitted.board(&self.folder);
            (board.map_err(|e| e.to_string())?, Instant::now())
        };
        board.work_out_to_go();
        let cards = board.cards();
        self.board = Some((board, since));
        Ok(cards)
    }

    fn run(mut self, found: &Mutex<BoardFound>, ctx: &Context) {
        loop {
            let read = self.read();
            let now_ms = SystemClock.now().at_ms;
            {
                let mut found = found.lock().unwrap_or_else(PoisonError::into_inner);
                match read {
                    Ok(cards) => {
                        found.read_ms = now_ms;
                        found.fault = None;
                        if found.cards.as_deref() != Some(&cards) {
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
            thread::sleep(EVERY);
        }
    }
}

struct Office {
    found: Arc<Mutex<BoardFound>>,
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
        let found = self
            .found
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone();
        let now = SystemClock.now();
        let looking = Looking {
            now_ms: now.at_ms,
            zone: times::zone(now.at_ms, now.offset_min),
            air_reminder_min: self.air_reminder_min,
            hours: self.settings.shop_hours.clone(),
            own: None,
            out_of_touch_ms: found.fault.as_ref().map(|_| found.read_ms),
        };
        let filter = BoardFilter::UnderWay;
        let tiles = found.cards.as_ref().map(|cards| {
            let placed = in_order(cards, filter, now.at_ms, self.air_reminder_min);
            let tiles = placed.iter().map(|one| Tile::of(one, &looking));
            tiles.collect::<Vec<_>>()
        });
        let words = self.settings.language.words();
        let trouble = found.fault.as_ref().map(|why| match found.read_ms {
            0 => why.clone(),
            read_ms => words.wall_fails(&words.when(read_ms, &looking), why),
        });
        let bays = tiles.as_ref().map_or(0, Vec::len);
        let theme = self.theme(ui.ctx(), ui.max_rect().height(), bays);
        theme.install(ui.ctx());
        lay_paper(ui, &theme);
        let wall = Wall {
            words,
            tiles: tiles.as_deref(),
            looking: &looking,
            trouble: trouble.as_deref(),
        };
        self.screen.ui(ui, &wall);
    }
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

/// Opens the board of a folder over the whole screen and stays until it is closed; the
/// Escape key closes it.
///
/// # Errors
/// A sentence that says what stood in the way.
pub fn open(
    folder: &Path,
    shop_key: Option<String>,
    settings: Settings,
    air_reminder_min: u16,
) -> Result<(), String> {
    let found = Arc::new(Mutex::new(BoardFound::default()));
    let reading = FolderReader {
        folder: folder.to_owned(),
        shop_key,
        board: None,
    };
    let ctx = Context::default();
    let seen = Arc::clone(&found);
    let waked = ctx.clone();
    // It ends with the program; a folder that hangs holds nobody up.
    thread::spawn(move || reading.run(&seen, &waked));
    let office = Office {
        found,
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
