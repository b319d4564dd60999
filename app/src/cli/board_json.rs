//! The board as JSON.

use serde_json::{Value, json};
use trayzero_core::journal::passed_min;

use super::reading::time;
use super::reply::but_null;
use crate::data::store::Stamp;
use crate::shop::{Looking, Tile};
use crate::ui::words::EN;

/// One job.
pub(super) fn job_answer(tile: &Tile, now: Stamp, looking: &Looking) -> Value {
    let card = &*tile.card;
    let summary = &card.summary;
    let air_not_known: Vec<u8> = summary.airs_asked().collect();
    let air_on = summary.air.filter(|_| air_not_known.is_empty());
    let air_on = air_on.map(|air| {
        json!({
            "cylinder": air.cylinder,
            "bar": air.bar,
            "since": time(air.since_ms, now),
            // Null where a wrong clock told it: nobody knows.
            "minutes": passed_min(air.since_ms, now.at_ms),
        })
    });
    let stage_now = card.stage_now;
    let stage_now =
        stage_now.map(|(valve, stage)| json!({ "valve": valve.to_string(), "stage": stage }));
    let reasons = tile.reasons.iter().map(|reason| {
        json!({
            "need": reason.need(),
            "since": reason.since_ms().map(|ms| time(ms, now)),
            "why": EN.reason(reason, &summary.dangers, looking, true),
        })
    });
    let blocks = card.blocks.iter();
    let end = tile.end.map(|end| {
        json!({
            "low": time(end.low_ms, now),
            "likely": time(end.likely_ms, now),
            "high": time(end.high_ms, now),
            "stands_open_overnight": end.stands_open_overnight,
        })
    });
    let answer = json!({
        "shop": card.shop.as_ref().map(|shop| &*shop.name),
        "job": card.job,
        "vehicle": summary.vehicle,
        "order_number": summary.order_number,
        "bay": summary.bay,
        "technician": summary.technician,
        "layout": summary.layout,
        "phase": summary.phase,
        "need": tile.need,
        "valves": summary.valves,
        "verified": summary.verified,
        "stage_now": stage_now,
        "last_tap": time(summary.last_ms, now),
        // Null where a wrong clock told it: nobody knows.
        "quiet_min": passed_min(summary.last_ms, now.at_ms),
        // Null also where it is not known.
        "air_on": air_on,
        // Cylinders in which air may be on or not, for two tablets disagree about it.
        "air_not_known": air_not_known,
        "unlocked": card.unlocked,
        "reasons": reasons.collect::<Value>(),
        "loose": summary.loose,
        "aboard": summary.aboard,
        "adrift": summary.adrift,
        "blocks": blocks.map(|block| EN.block(block, now.at_ms)).collect::<Value>(),
        "to_go": card.to_go,
        "end": end,
        "holder": summary.holder,
        "tablets": card.tablets,
    });
    but_null(answer, &["shop", "order_number"])
}
