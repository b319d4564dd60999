//! What the board shows of one job.

use std::sync::Arc;

use jiff::tz::TimeZone;
use serde::Serialize;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{JobPhase, JobState, Reading, Refusal, Stage};
use trayzero_core::journal::{JournalFault, passed_ms};
use trayzero_core::phases::{JobClock, work_left};
use trayzero_core::plan::{JobForecast, JobHours, ShopPace, WorkLeft};
use trayzero_core::shop_log::NotSigned;
use uuid::Uuid;

use super::OfShop;
use crate::data::shop_hours::{End, ShopHours};
use crate::data::store::JobSummary;

/// What keeps a job from going on or from ending, besides work that is left.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Conflicts between tablets that nobody has resolved.
    Conflicts {
        /// How many.
        count: usize,
        /// Since when (wall clock in milliseconds) the first of them.
        since_ms: i64,
    },
    /// Parts adrift, and since when (wall clock in milliseconds) the longest.
    Adrift {
        /// How many.
        count: u32,
        /// Since when the first of them.
        since_ms: i64,
    },
    /// A cylinder leaks past the limit and the foreman has to look.
    ForemanWanted {
        /// The cylinder.
        cylinder: u8,
        /// Its loss in percent.
        loss_percent: f64,
        /// Wall clock in milliseconds of the reading.
        since_ms: i64,
    },
    /// Two blind counts differ from each other or from the ledger.
    CountsDiffer {
        /// Wall clock in milliseconds of the second count.
        since_ms: i64,
    },
    /// One person has counted, and another one has to.
    SecondCount {
        /// Wall clock in milliseconds of the first count.
        since_ms: i64,
        /// Who has counted.
        by: String,
    },
    /// Work rests.
    Paused {
        /// Wall clock in milliseconds since when.
        since_ms: i64,
        /// Whether a valve, a spring or air stands open meanwhile.
        stands_open: bool,
    },
    /// Journals of the job have lines that nobody vouches for.
    NotConfirmed(usize),
    /// An event is not confirmed: a signature on it does not count.
    NotSigned(Box<NotSigned>),
    /// A journal of the job does not hold.
    FileFault(Box<JournalFault>),
}

/// What the foreman is needed for, the most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Need {
    /// Air is on and nothing has been tapped for a while.
    AirForgotten,
    /// Work rests although something is open.
    LeftOpen,
    /// Two tablets have said what cannot both be true.
    Conflict,
    /// A journal does not hold.
    FileFault,
    /// A part is adrift.
    Adrift,
    /// A cylinder past the limit waits for the foreman.
    ForemanWanted,
    /// Blind counts differ.
    CountsDiffer,
    /// A second person has to count.
    SecondCount,
    /// Nothing has been tapped for a long time.
    Quiet,
    /// Work rests.
    Paused,
    /// Nothing: the work goes on.
    Working,
    /// Nothing: the job is over.
    Over,
}

/// After so many minutes without a tap a job that is not paused counts as quiet (common
/// practice, no source).
pub const QUIET_AFTER_MIN: i64 = 45;

/// One job on the board. It holds facts alone; what depends on the time of looking
/// ([`Card::need`]) is worked out then.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// The job.
    pub job: Uuid,
    /// A few figures of it.
    pub summary: JobSummary,
    /// Stages seen of each valve (0 to 6), in the layout's order.
    pub stages: Vec<(ValveName, u8)>,
    /// Valves that nothing but air or a mechanical hold keeps up.
    pub unlocked: usize,
    /// The valve touched last and not verified, with its last stage.
    pub stage_now: Option<(ValveName, Stage)>,
    /// What blocks it, the most urgent first.
    pub blocks: Vec<Block>,
    /// What is done and what is left; `None` for a job that is over.
    pub work: Option<Arc<CardWork>>,
    /// Time to go; `None` until it is worked out, and for a job that is over.
    pub to_go: Option<JobForecast>,
    /// The tablets that have lines in it.
    pub tablets: Vec<Uuid>,
    /// Its shop, where several are looked at.
    pub shop: Option<OfShop>,
}

/// What the end of a job under way is worked out from.
#[derive(Clone, Debug, PartialEq)]
pub struct CardWork {
    /// The hours so far.
    pub hours: JobHours,
    /// The work left.
    pub left: WorkLeft,
    /// Wall clock in milliseconds up to which the hours reach.
    pub until_ms: i64,
    /// Why work rests, while it does.
    pub rests: Option<String>,
    /// A cover is off.
    pub is_open: bool,
}

impl CardWork {
    /// From when on the work left is counted, looked at at a wall clock in milliseconds.
    pub(super) fn goes_on_from(&self, now_ms: i64) -> i64 {
        match self.rests {
            Some(_) => now_ms,
            None => self.until_ms,
        }
    }

    fn of(state: &JobState) -> Self {
        let clock = JobClock::of(state);
        let left = work_left(state, &clock, &[]);
        let rests = clock.rests.iter().find(|rest| rest.until_ms.is_none());
        Self {
            left,
            until_ms: clock.until_ms,
            rests: rests.map(|rest| rest.why.clone().unwrap_or_default()),
            is_open: (0..state.bank_count())
                .any(|bank| state.bank(bank).is_some_and(|b| b.cover_off)),
            hours: clock.hours,
        }
    }
}

impl Card {
    /// The card of a state. Its time to go is not worked out yet.
    pub fn of(job: Uuid, state: &JobState, tablets: Vec<Uuid>) -> Self {
        let summary = JobSummary::of(state);
        let is_over = summary.phase.is_over();
        let blocks = if is_over {
            Vec::new()
        } else {
            blocks_of(state)
        };
        Self {
            job,
            summary,
            stages: state.valves().map(|(v, s)| (v, s.stages_seen)).collect(),
            unlocked: state.unlocked().count(),
            stage_now: stage_now(state),
            blocks,
            work: (!is_over).then(|| Arc::new(CardWork::of(state))),
            to_go: None,
            tablets,
            shop: None,
        }
    }

    /// The card of a finished job that is known by its checked summary.
    pub fn of_summary(job: Uuid, summary: JobSummary, tablets: Vec<Uuid>) -> Self {
        Self {
            job,
            summary,
            stages: Vec::new(),
            unlocked: 0,
            stage_now: None,
            blocks: Vec::new(),
            work: None,
            to_go: None,
            tablets,
            shop: None,
        }
    }

    /// The bay, behind its shop where several are looked at.
    pub fn bay(&self) -> String {
        match &self.shop {
            Some(shop) => format!("{} · {}", shop.name, self.summary.bay),
            None => self.summary.bay.clone(),
        }
    }

    /// What the foreman is needed for at a wall clock in milliseconds.
    pub fn need(&self, now_ms: i64, air_reminder_min: u16) -> Need {
        if self.summary.phase.is_over() {
            return Need::Over;
        }
        let passed_ms = |at_ms| passed_ms(at_ms, now_ms).unwrap_or(i64::MAX);
        let quiet_ms = passed_ms(self.summary.last_ms);
        let forgotten = i64::from(air_reminder_min) * 60_000;
        // Where two tablets disagree about air, whether it was forgotten is not known.
        let known = self
            .summary
            .air
            .filter(|_| self.summary.air_asked().is_none());
        if known.is_some_and(|air| {
            // Nobody is at a bay that rests: air that is on there is not waited for.
            let is_left = self.summary.phase == JobPhase::Paused;
            is_left || (passed_ms(air.since_ms) >= forgotten && quiet_ms >= forgotten)
        }) {
            return Need::AirForgotten;
        }
        match self.blocks.iter().map(Block::need).min() {
            Some(need) => need,
            None if quiet_ms >= QUIET_AFTER_MIN * 60_000 => Need::Quiet,
            None => Need::Working,
        }
    }

    /// Works out the time to go, from what the shop has learned of its hours.
    pub fn work_out_to_go(&mut self, shop: &ShopPace) {
        if let Some(work) = &self.work {
            self.to_go = Some(shop.forecast(&work.hours, &work.left));
        }
    }

    /// When the whole job is over on the shop's calendar, looked at at a wall clock in
    /// milliseconds. While work rests it is taken to go on at once.
    pub fn end(&self, hours: &ShopHours, zone: &TimeZone, now_ms: i64) -> Option<End> {
        let (work, to_go) = (self.work.as_ref()?, self.to_go.as_ref()?);
        let from_ms = work.goes_on_from(now_ms);
        let minutes = [to_go.low_min, to_go.about_min, to_go.high_min];
        let ends = hours.after_each(from_ms, minutes, zone);
        let [low_ms, likely_ms, high_ms] = ends.map(|end| end.max(now_ms));
        let day = |ms: i64| {
            let at = jiff::Timestamp::from_millisecond(ms).ok()?;
            Some(zone.to_datetime(at).date())
        };
        Some(End {
            low_ms,
            likely_ms,
            high_ms,
            stands_open_overnight: work.is_open && day(likely_ms) != day(now_ms),
        })
    }
}

impl Block {
    /// What it needs the foreman for.
    pub fn need(&self) -> Need {
        match self {
            Block::Conflicts { .. } | Block::NotConfirmed(_) | Block::NotSigned(_) => {
                Need::Conflict
            }
            Block::Adrift { .. } => Need::Adrift,
            Block::ForemanWanted { .. } => Need::ForemanWanted,
            Block::CountsDiffer { .. } => Need::CountsDiffer,
            Block::SecondCount { .. } => Need::SecondCount,
            Block::Paused { stands_open, .. } if *stands_open => Need::LeftOpen,
            Block::Paused { .. } => Need::Paused,
            Block::FileFault(_) => Need::FileFault,
        }
    }
}

fn stage_now(state: &JobState) -> Option<(ValveName, Stage)> {
    state
        .valves()
        .filter(|(_, valve)| valve.is_open())
        .filter_map(|(name, valve)| {
            let stage = valve.stage()?;
            Some((valve.stage_at_ms[stage.index()], name, stage))
        })
        .max_by_key(|(at_ms, ..)| *at_ms)
        .map(|(_, name, stage)| (name, stage))
}

fn blocks_of(state: &JobState) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(since_ms) = state.open_conflicts().map(|c| c.entry.at_ms).min() {
        let count = state.open_conflicts().count();
        blocks.push(Block::Conflicts { count, since_ms });
    }
    if let Some(since_ms) = state.drops_adrift().map(|drop| drop.at_ms).min() {
        let count = state.adrift();
        blocks.push(Block::Adrift { count, since_ms });
    }
    blocks.extend(
        state
            .foreman_waited_for()
            .filter_map(|(cylinder, loss_percent)| {
                let reading = state.leak(cylinder, Reading::Before)?;
                Some(Block::ForemanWanted {
                    cylinder,
                    loss_percent,
                    since_ms: reading.fact.at_ms,
                })
            }),
    );
    match state.round_counts()[..] {
        [first] => blocks.push(Block::SecondCount {
            since_ms: first.at_ms,
            by: first.by.to_string(),
        }),
        [_, second] if counts_differ(state) => blocks.push(Block::CountsDiffer {
            since_ms: second.at_ms,
        }),
        _ => {}
    }
    if let Some(since_ms) = state.paused_since_ms() {
        let stands_open = state.stands_open();
        blocks.push(Block::Paused {
            since_ms,
            stands_open,
        });
    }
    blocks
}

/// Whether the two counts that stand do not agree, with each other or with the ledger.
fn counts_differ(state: &JobState) -> bool {
    let is_off = |hold: &Refusal| {
        matches!(
            hold,
            Refusal::GateCountsDiffer { .. } | Refusal::GateCountOff { .. }
        )
    };
    (0..state.bank_count())
        .filter(|bank| !state.is_bank_closed(*bank))
        .any(|bank| state.gate(bank).iter().any(is_off))
}

/// Which cards are looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum BoardFilter {
    /// Jobs that are not over.
    #[default]
    UnderWay,
    /// Jobs with air on.
    AirOn,
    /// Jobs that are over.
    Over,
    /// Every job.
    All,
}

impl BoardFilter {
    /// Every filter, in the order shown.
    pub const ALL: [BoardFilter; 4] = [
        BoardFilter::UnderWay,
        BoardFilter::AirOn,
        BoardFilter::Over,
        BoardFilter::All,
    ];

    /// Whether a card is shown.
    pub fn shows(self, card: &Card) -> bool {
        let is_over = card.summary.phase.is_over();
        match self {
            Self::UnderWay => !is_over,
            Self::AirOn => card.summary.air.is_some(),
            Self::Over => is_over,
            Self::All => true,
        }
    }
}

/// Whether a job is worth a card at all: one that was never opened is a file without its
/// first line.
pub(super) fn is_shown(summary: &JobSummary) -> bool {
    summary.phase != JobPhase::Unopened
}

/// The cards of a shop's board, each with the shop that it is of, where that is one of several.
pub fn of_shop(shop: Option<&OfShop>, mut cards: Vec<Arc<Card>>) -> Vec<Arc<Card>> {
    if shop.is_some() {
        for card in &mut cards {
            Arc::make_mut(card).shop = shop.cloned();
        }
    }
    cards
}

/// A card with what the foreman is needed for at the time of looking.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedCard {
    /// The card.
    pub card: Arc<Card>,
    /// The need.
    pub need: Need,
}

/// Cards in the order in which the foreman is needed: by need, then by how long nothing
/// was tapped, then by shop and job. `now_ms` is the wall clock in milliseconds.
pub fn in_order(
    cards: &[Arc<Card>],
    filter: BoardFilter,
    now_ms: i64,
    air_reminder_min: u16,
) -> Vec<PlacedCard> {
    let mut placed: Vec<PlacedCard> = cards
        .iter()
        .map(|card| PlacedCard {
            need: card.need(now_ms, air_reminder_min),
            card: Arc::clone(card),
        })
        .filter(|placed| filter.shows(&placed.card))
        .collect();
    let place = |p: &PlacedCard| (p.need, p.card.summary.last_ms);
    let which = |p: &PlacedCard| (p.card.shop.clone(), p.card.job);
    placed.sort_by(|a, b| {
        place(a)
            .cmp(&place(b))
            .then_with(|| which(a).cmp(&which(b)))
    });
    placed
}
