//! The page of the board in the shop folder: kept by whichever tablet is there, in a thread
//! of its own, for the folder may hang.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::thread;
use std::time::{Duration, Instant, SystemTime};

use uuid::Uuid;

use crate::data::settings::Settings;
use crate::data::store::small_file::{self, FileError};
use crate::data::store::{Clock, Stamp};
use crate::shop::{BoardFilter, Card, Looking, ShopLook, Tile, in_order};
use crate::ui::page::{OLD_AFTER_MIN, Page};
use crate::ui::times;

/// Its name in the shop folder.
pub const PAGE_FILE: &str = "board.html";

/// At most so often the page is made, by all tablets together.
pub const EVERY: Duration = Duration::from_secs(20);
/// Where nothing has changed it is made anew no more often, for it tells when it was made.
const EVERY_UNCHANGED: Duration = Duration::from_mins(1);
/// How often the keeper looks whether it is due.
const LOOKS: Duration = Duration::from_secs(2);

/// Keeps the page until it is dropped.
#[derive(Debug)]
pub struct PageKeeper {
    settings: Sender<Settings>,
}

/// What is known of the page as it lies there.
#[derive(Default)]
struct PageSeen {
    /// When the system says that it was written, and when this was noticed: the folder's
    /// clock may be another than this tablet's.
    written: Option<(Option<SystemTime>, Instant)>,
    /// The board as it was on the page that this tablet has made last.
    cards: Option<Arc<Vec<Arc<Card>>>>,
}

impl PageKeeper {
    /// Begins to keep it, as the settings have it.
    pub fn start(shop: ShopLook, settings: Settings, clock: Arc<dyn Clock>, own: Uuid) -> Self {
        let (sender, changed) = mpsc::channel();
        thread::spawn(move || {
            let (mut settings, mut seen) = (settings, PageSeen::default());
            loop {
                match changed.recv_timeout(LOOKS) {
                    Ok(new) => settings = new,
                    Err(RecvTimeoutError::Timeout) => {}
                    Err(RecvTimeoutError::Disconnected) => return,
                }
                if settings.board_page {
                    // What cannot be written now is tried again; the screen says what ails
                    // the folder.
                    let _ = seen.keep(&shop, &settings, clock.now(), own);
                }
            }
        });
        Self { settings: sender }
    }

    /// The settings are others now.
    pub fn change(&self, settings: &Settings) {
        // A thread that has ended keeps nothing any more.
        let _ = self.settings.send(settings.clone());
    }
}

impl PageSeen {
    /// Makes the page anew if it is due.
    fn keep(
        &mut self,
        shop: &ShopLook,
        settings: &Settings,
        now: Stamp,
        own: Uuid,
    ) -> Result<(), FileError> {
        let status = shop.status();
        let Some(folder) = status.copy.as_ref().filter(|_| status.fault.is_none()) else {
            return Ok(());
        };
        // A board that may be old makes no page that looks new.
        if status.last_good_ms.is_none() || status.out_of_touch_since_ms(now.at_ms).is_some() {
            return Ok(());
        }
        let path = folder.join(PAGE_FILE);
        let cards = shop.cards();
        let is_same = self.cards.as_ref().is_some_and(|c| Arc::ptr_eq(c, &cards));
        // Not all tablets in the same moment.
        let apart = Duration::from_millis((own.as_u128() % 4_000) as u64);
        let every = apart + if is_same { EVERY_UNCHANGED } else { EVERY };
        if !self.is_due(&path, every) {
            return Ok(());
        }
        let text = page_of(&cards, settings.into(), now, Some(own));
        small_file::write_by(&path, text.as_bytes(), own)?;
        self.written = Some((written_at(&path), Instant::now()));
        self.cards = Some(cards);
        Ok(())
    }

    /// Whether nobody has written it for so long.
    fn is_due(&mut self, path: &Path, every: Duration) -> bool {
        let lies = written_at(path);
        match self.written {
            Some((known, since)) if known == lies => since.elapsed() >= every,
            // Another tablet has just made it, or this one looks for the first time.
            _ => {
                self.written = Some((lies, Instant::now()));
                lies.is_none()
            }
        }
    }
}

fn written_at(path: &Path) -> Option<SystemTime> {
    fs::symlink_metadata(path).ok()?.modified().ok()
}

/// What a page is made by.
#[derive(Clone, Copy, Debug)]
pub struct PageSettings<'a> {
    /// Names of people stand in it.
    pub with_names: bool,
    /// After so many minutes air that is on and forgotten is pointed out.
    pub air_reminder_min: u16,
    /// Language and hours.
    pub settings: &'a Settings,
}

impl<'a> From<&'a Settings> for PageSettings<'a> {
    fn from(settings: &'a Settings) -> Self {
        Self {
            with_names: settings.board_page_names,
            air_reminder_min: settings.air_reminder_min,
            settings,
        }
    }
}

/// The page of these cards at a moment.
pub fn page_of(cards: &[Arc<Card>], by: PageSettings<'_>, now: Stamp, own: Option<Uuid>) -> String {
    page_of_shops(&[], cards, by, now, own)
}

/// The page of the cards of several shops at a moment: each shop's name, with why it could not
/// be read where that is so.
pub fn page_of_shops(
    shops: &[(String, Option<String>)],
    cards: &[Arc<Card>],
    by: PageSettings<'_>,
    now: Stamp,
    own: Option<Uuid>,
) -> String {
    let (settings, with_names) = (by.settings, by.with_names);
    let looking = Looking {
        now_ms: now.at_ms,
        zone: times::zone(now.at_ms, now.offset_min),
        air_reminder_min: by.air_reminder_min,
        hours: settings.shop_hours.clone(),
        own,
        out_of_touch_ms: None,
    };
    let filter = BoardFilter::UnderWay;
    let placed = in_order(cards, filter, now.at_ms, by.air_reminder_min);
    let tiles: Vec<Tile> = placed.iter().map(|one| Tile::of(one, &looking)).collect();
    let words = settings.language.words();
    let faces: Vec<_> = tiles
        .iter()
        .map(|tile| words.tile(tile, &looking, with_names))
        .collect();
    let old_ms = now.at_ms + i64::from(OLD_AFTER_MIN) * 60_000;
    let page = Page {
        words,
        shops,
        tiles: &faces,
        asks: &words.asks(&tiles, &looking, with_names),
        made: &times::clock(now.at_ms, now.offset_min),
        old_from: &times::clock(old_ms, now.offset_min),
    };
    page.to_html()
}
