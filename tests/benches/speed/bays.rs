//! The board over 300 bays of 20 tablets: the first one, one tap on another tablet until it
//! stands on its tile, and the memory that a week of work takes.

use std::path::Path;
use std::time::Instant;

use jiff::tz::TimeZone;
use trayzero::data::shop_hours::ShopHours;
use trayzero::shop::{Board, BoardFilter, Looking, Tile, in_order};
use trayzero::ui::words::EN;
use trayzero_core::job::{Entry, Event};
use trayzero_core::journal::{Limits, Writer};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::jobs::{NOW, one_job, stamped};
use super::memory::memory_mb;
use super::table::{Row, least, median};

const BAYS: u16 = 300;
const TABLETS: u16 = 20;
const ROUNDS: usize = 5;
const TAPS: usize = 25;
const DAYS: usize = 7;
/// So many lines a bay and day; a job lasts about three of them.
const LINES_A_DAY: usize = 150;
/// So many lines come at a time.
const AT_ONCE: usize = 10;

/// A bay: which job is in it and how many of its events are told.
struct Bay {
    job: u16,
    told: usize,
}

/// The yard, and the data folder of the tablet that looks.
struct Yard<'a> {
    root: &'a Path,
    events: &'a [Event],
    bays: Vec<Bay>,
    jobs: u16,
}

impl<'a> Yard<'a> {
    /// Every bay somewhere in its job.
    fn new(root: &'a Path, events: &'a [Event]) -> Self {
        let mut yard = Self {
            root,
            events,
            bays: (0..BAYS).map(|job| Bay { job, told: 0 }).collect(),
            jobs: BAYS,
        };
        for bay in 0..BAYS {
            let most = events.len() - 40;
            let lines = 40 + usize::from(bay) * (most - 40) / usize::from(BAYS);
            yard.tell(bay, lines);
        }
        yard
    }

    fn tablet(job: u16) -> Uuid {
        Uuid::from_u128((1 << 100) + u128::from(job % TABLETS))
    }

    /// So many more lines of a bay's job, as its tablet writes them; a new job comes into
    /// the bay where one is over. Gives the job.
    fn tell(&mut self, bay: u16, lines: usize) -> Uuid {
        let bay = &mut self.bays[usize::from(bay)];
        if bay.told == self.events.len() {
            *bay = Bay {
                job: self.jobs,
                told: 0,
            };
            self.jobs += 1;
        }
        let until = (bay.told + lines).min(self.events.len());
        let tablet = Self::tablet(bay.job);
        let of_tablet = |entry: Entry| Entry { tablet, ..entry };
        let entries = stamped(&self.events[bay.told..until], bay.told, bay.job);
        let entries: Vec<Entry> = entries.into_iter().map(of_tablet).collect();
        bay.told = until;
        let job = Uuid::from_u128(u128::from(bay.job) + 1);
        let mut writer = Writer::open(self.root, job, tablet).unwrap().writer;
        writer.append(&entries).unwrap();
        job
    }
}

/// The tiles of a board in words, as its screen has them.
fn seen(board: &mut Board) -> usize {
    board.work_out_to_go();
    let looking = Looking {
        now_ms: NOW.at_ms,
        zone: TimeZone::UTC,
        air_reminder_min: 10,
        hours: ShopHours::default(),
        own: None,
        out_of_touch_ms: None,
    };
    let placed = in_order(&board.cards(), BoardFilter::UnderWay, NOW.at_ms, 10);
    let tiles = placed.iter().map(|one| Tile::of(one, &looking));
    let faces = tiles.map(|tile| EN.tile(&tile, &looking, true));
    faces.filter(|face| !face.bay.is_empty()).count()
}

pub fn rows() -> Vec<Row> {
    let events = one_job("v8-cross-plane-32v");
    let data = tempfile::tempdir().unwrap();
    let mut yard = Yard::new(data.path(), &events);
    let mut firsts = Vec::new();
    let mut board = Board::default();
    for _ in 0..ROUNDS {
        let start = Instant::now();
        board = Board::of_folder(data.path(), Limits::FOREIGN, Proofs::default()).unwrap();
        assert_eq!(seen(&mut board), usize::from(BAYS));
        firsts.push(start.elapsed().as_secs_f64() * 1e3);
    }
    let mut updates = Vec::new();
    for tap in 0..TAPS {
        let job = yard.tell((tap * 11 + 3) as u16 % BAYS, 1);
        let start = Instant::now();
        // The exchange says which job has got lines.
        assert!(board.read_job(job).unwrap());
        assert_eq!(seen(&mut board), usize::from(BAYS));
        updates.push(start.elapsed().as_secs_f64() * 1e3);
    }
    let first = least(&firsts);
    let (day, week) = memory_of_a_week(&mut yard, &mut board);
    vec![
        Row::at_most(
            "first board: 300 bays of 20 tablets, with its tiles",
            first,
            "ms",
            1000.0,
        ),
        Row::ratio(
            "one tap of another tablet on its tile / first board",
            median(&mut updates),
            first,
            "ms",
            0.02,
        ),
        Row::ratio(
            "memory after a week of 300 bays / after a day",
            week,
            day,
            "MB",
            1.05,
        ),
    ]
}

/// Resident memory after a day and after a week of work, in megabytes.
fn memory_of_a_week(yard: &mut Yard<'_>, board: &mut Board) -> (f64, f64) {
    let mut after = Vec::new();
    for _ in 0..DAYS {
        for _ in 0..LINES_A_DAY / AT_ONCE {
            for bay in 0..BAYS {
                let job = yard.tell(bay, AT_ONCE);
                board.read_job(job).unwrap();
            }
            seen(board);
        }
        after.push(memory_mb("self", "VmRSS:"));
    }
    println!("300 bays, resident memory day by day in MB: {after:.1?}");
    println!("{} jobs were over in that week", yard.jobs - BAYS);
    (after[0], after[DAYS - 1])
}
