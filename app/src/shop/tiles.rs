//! What everybody is shown of a bay: one tile, from which the window, the page in the shop
//! folder and the command line all draw.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use trayzero_core::journal::passed_ms;
use uuid::Uuid;

use super::PlacedCard;
use super::card::{Block, Card, Need};
use crate::data::shop_hours::{End, ShopHours};
use crate::data::store::AirOn;

/// From where and when a tile is looked at.
#[derive(Clone, Debug)]
pub struct Looking {
    /// Wall clock in milliseconds.
    pub now_ms: i64,
    /// The time zone of whoever looks.
    pub zone: TimeZone,
    /// After so many minutes air that is on and forgotten is pointed out.
    pub air_reminder_min: u16,
    /// When the shop works.
    pub hours: ShopHours,
    /// The tablet that looks: what it has told itself is never old.
    pub own: Option<Uuid>,
    /// Since when (wall clock in milliseconds) nothing can have come from other tablets.
    pub out_of_touch_ms: Option<i64>,
}

impl Looking {
    /// The day of a moment there.
    pub fn date(&self, ms: i64) -> Option<Date> {
        let at = Timestamp::from_millisecond(ms).ok()?;
        Some(self.zone.to_datetime(at).date())
    }
}

/// One bay.
#[derive(Clone, Debug, PartialEq)]
pub struct Tile {
    /// The facts.
    pub card: Arc<Card>,
    /// What somebody is needed for most.
    pub need: Need,
    /// What somebody is needed for, the most urgent first; empty where all is well.
    pub reasons: Vec<TileReason>,
    /// When the whole job ends; `None` once it is over, or while nobody can say: from a
    /// wrong clock's day nothing can be told of the end.
    pub end: Option<End>,
    /// Air in cylinders: where it is on, or where nobody knows.
    pub air: Vec<Air>,
    /// Since when (wall clock in milliseconds) the figures may be old.
    pub old_since_ms: Option<i64>,
}

/// Air in a cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Air {
    /// It is on.
    On(AirOn),
    /// Two tablets disagree about it, so nobody knows.
    NotKnown {
        /// The cylinder.
        cylinder: u8,
    },
}

/// Why somebody is needed at a bay.
#[derive(Clone, Debug, PartialEq)]
pub enum TileReason {
    /// Air is on and nobody is at it.
    AirForgotten(AirOn),
    /// The job does not go on or does not end.
    Block(Block),
    /// Nothing was tapped for long.
    Quiet {
        /// Wall clock in milliseconds of the last tap.
        since_ms: i64,
    },
}

impl TileReason {
    /// Where it stands among all needs.
    pub fn need(&self) -> Need {
        match self {
            TileReason::AirForgotten(_) => Need::AirForgotten,
            TileReason::Block(block) => block.need(),
            TileReason::Quiet { .. } => Need::Quiet,
        }
    }

    /// Since when (wall clock in milliseconds), where anything tells.
    pub fn since_ms(&self) -> Option<i64> {
        match self {
            TileReason::AirForgotten(air) => Some(air.since_ms),
            TileReason::Quiet { since_ms } => Some(*since_ms),
            TileReason::Block(block) => match block {
                Block::Conflicts { since_ms, .. }
                | Block::Adrift { since_ms, .. }
                | Block::ForemanWanted { since_ms, .. }
                | Block::CountsDiffer { since_ms }
                | Block::SecondCount { since_ms, .. }
                | Block::Paused { since_ms, .. } => Some(*since_ms),
                Block::NotConfirmed(_) | Block::NotSigned(_) | Block::FileFault(_) => None,
            },
        }
    }
}

impl Tile {
    /// The tile of a card.
    pub fn of(placed: &PlacedCard, looking: &Looking) -> Self {
        let card = &placed.card;
        let is_foreign = card.tablets.iter().any(|t| Some(*t) != looking.own);
        let asked = card.summary.airs_asked();
        let not_known: Vec<Air> = asked.map(|cylinder| Air::NotKnown { cylinder }).collect();
        Self {
            need: placed.need,
            reasons: reasons_of(card, placed.need),
            end: passed_ms(card.summary.last_ms, looking.now_ms)
                .and_then(|_| card.end(&looking.hours, &looking.zone, looking.now_ms)),
            air: if not_known.is_empty() {
                card.summary.air.map(Air::On).into_iter().collect()
            } else {
                not_known
            },
            old_since_ms: looking.out_of_touch_ms.filter(|_| is_foreign),
            card: Arc::clone(card),
        }
    }

    /// That work rests, where nothing more urgent is the matter.
    pub fn rest(&self) -> Option<&Block> {
        let mut blocks = self.card.blocks.iter();
        blocks
            .find(|block| matches!(block, Block::Paused { .. }))
            .filter(|block| self.need == block.need())
    }

    /// Whether somebody is needed there.
    pub fn asks(&self) -> bool {
        !self.reasons.is_empty()
    }
}

/// What somebody is needed for, the most urgent first. Work that rests waits for nobody.
fn reasons_of(card: &Card, need: Need) -> Vec<TileReason> {
    let mut reasons = Vec::new();
    if need == Need::AirForgotten {
        reasons.extend(card.summary.air.map(TileReason::AirForgotten));
    }
    let is_said = |needed| match needed {
        Need::Paused => false,
        // The air says so already.
        Need::LeftOpen => need != Need::AirForgotten,
        _ => true,
    };
    let blocks = card.blocks.iter().filter(|b| is_said(b.need()));
    reasons.extend(blocks.cloned().map(TileReason::Block));
    if need == Need::Quiet {
        let since_ms = card.summary.last_ms;
        reasons.push(TileReason::Quiet { since_ms });
    }
    reasons.sort_by_key(TileReason::need);
    reasons
}

/// What is asked of people in the whole shop, the most urgent first and what waits longest
/// before the rest: the bay's tile and the reason. What is done is gone from it.
pub fn asked(tiles: &[Tile]) -> Vec<(&Tile, &TileReason)> {
    let of = |tile| {
        let tile: &Tile = tile;
        tile.reasons.iter().map(move |reason| (tile, reason))
    };
    let mut all: Vec<_> = tiles.iter().flat_map(of).collect();
    all.sort_by_key(|(_, reason)| (reason.need(), reason.since_ms().unwrap_or(i64::MAX)));
    all
}
