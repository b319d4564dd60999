//! The board as JSON.

use std::path::PathBuf;

use serde::Serialize;
use trayzero_core::job::Stage;
use trayzero_core::journal::passed_min;
use trayzero_core::plan::JobForecast;
use uuid::Uuid;

use super::reading::time;
use crate::data::store::{Phase, Stamp};
use crate::shop::{Looking, Tile};
use crate::ui::words::EN;

#[derive(Serialize)]
pub(super) struct BoardAnswer {
    pub at: String,
    pub jobs: Vec<JobAnswer>,
    pub faults: Vec<String>,
    pub left_alone: Vec<String>,
    /// Where several are looked at.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shops: Vec<ShopAnswer>,
}

#[derive(Serialize)]
pub(super) struct ShopAnswer {
    pub name: String,
    pub r#where: PathBuf,
    /// Whether this very shop was read; without it none of its jobs is among the jobs.
    pub reached: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
    /// From when on it is known not to be reached.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub since: Option<String>,
}

#[derive(Serialize)]
pub(super) struct JobAnswer {
    #[serde(skip_serializing_if = "Option::is_none")]
    shop: Option<String>,
    job: Uuid,
    vehicle: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    order_number: Option<String>,
    bay: String,
    technician: String,
    layout: String,
    phase: Phase,
    need: &'static str,
    valves: usize,
    verified: usize,
    stage_now: Option<StageAnswer>,
    last_tap: String,
    /// Null where a wrong clock told it: nobody knows.
    quiet_min: Option<i64>,
    /// Null also where it is not known: see [`JobAnswer::air_not_known`].
    air_on: Option<BoardAir>,
    /// Cylinders in which air may be on or not, for two tablets disagree about it.
    air_not_known: Vec<u8>,
    unlocked: usize,
    reasons: Vec<ReasonAnswer>,
    loose: u32,
    aboard: u32,
    adrift: u32,
    blocks: Vec<String>,
    to_go: Option<JobForecast>,
    end: Option<EndAnswer>,
    holder: Option<Uuid>,
    tablets: Vec<Uuid>,
}

#[derive(Serialize)]
struct StageAnswer {
    valve: String,
    stage: Stage,
}

#[derive(Serialize)]
struct ReasonAnswer {
    need: &'static str,
    since: Option<String>,
    why: String,
}

#[derive(Serialize)]
struct EndAnswer {
    low: String,
    likely: String,
    high: String,
    stands_open_overnight: bool,
}

#[derive(Serialize)]
struct BoardAir {
    cylinder: u8,
    bar: f64,
    since: String,
    /// Null where a wrong clock told it: nobody knows.
    minutes: Option<i64>,
}

// Long because it is a table: every field of the answer.
pub(super) fn job_answer(tile: &Tile, now: Stamp, looking: &Looking) -> JobAnswer {
    let card = &*tile.card;
    let summary = &card.summary;
    let air_not_known: Vec<u8> = summary.airs_asked().collect();
    let air_told = summary.air.filter(|_| air_not_known.is_empty());
    JobAnswer {
        shop: card.shop.as_ref().map(|shop| shop.name.to_string()),
        job: card.job,
        vehicle: summary.vehicle.clone(),
        order_number: summary.order_number.clone(),
        bay: summary.bay.clone(),
        technician: summary.technician.clone(),
        layout: summary.layout.clone(),
        phase: summary.phase,
        need: tile.need.word(),
        valves: summary.valves,
        verified: summary.verified,
        stage_now: card.stage_now.map(|(valve, stage)| StageAnswer {
            valve: valve.to_string(),
            stage,
        }),
        last_tap: time(summary.last_ms, now),
        quiet_min: passed_min(summary.last_ms, now.at_ms),
        air_on: air_told.map(|air| BoardAir {
            cylinder: air.cylinder,
            bar: air.bar,
            since: time(air.since_ms, now),
            minutes: passed_min(air.since_ms, now.at_ms),
        }),
        air_not_known,
        unlocked: card.unlocked,
        reasons: tile
            .reasons
            .iter()
            .map(|reason| ReasonAnswer {
                need: reason.need().word(),
                since: reason.since_ms().map(|ms| time(ms, now)),
                why: EN.reason(reason, &summary.dangers, looking, true),
            })
            .collect(),
        loose: summary.loose,
        aboard: summary.aboard,
        adrift: summary.adrift,
        blocks: card
            .blocks
            .iter()
            .map(|block| EN.block(block, now.at_ms))
            .collect(),
        to_go: card.to_go,
        end: tile.end.map(|end| EndAnswer {
            low: time(end.low_ms, now),
            likely: time(end.likely_ms, now),
            high: time(end.high_ms, now),
            stands_open_overnight: end.stands_open_overnight,
        }),
        holder: summary.holder,
        tablets: card.tablets.clone(),
    }
}
