//! What has to be so for a sentence to hold.

use super::oracle::{Leak, PLACES, Truth, Valve};
use super::sentences::{Now, same, so, stage_of, valve};

pub fn figure(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| format!("{text:?} is no figure"))
}

pub fn cylinder(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("{text:?} is no cylinder"))
}

/// A figure at the top: the number, a dash while somebody counts blind, or what lies there.
pub fn at_top(said: &str, place: &'static str, t: &Truth, now: &Now) -> Result<(), String> {
    let is_open = match t.counts.as_slice() {
        [_] => true,
        [first, second] => first.1 != second.1,
        _ => false,
    };
    let is_blind = now.counts || is_open;
    if said == "\u{2013}" || is_blind {
        return so(said == "\u{2013}" && is_blind, "somebody counts");
    }
    lies_at(said, place, t)
}

/// A figure at a place: the number, or what lies there.
pub fn lies_at(said: &str, place: &'static str, t: &Truth) -> Result<(), String> {
    let is = t.all_at(place);
    if said == is.to_string() {
        return Ok(());
    }
    let mut listed: Vec<(String, i64)> = said.split(", ").filter_map(several).collect();
    listed.sort();
    let there = t.at.iter().filter(|((_, p), n)| *p == place && **n > 0);
    let mut there: Vec<(String, i64)> = there.map(|((i, _), n)| (i.clone(), *n)).collect();
    there.sort();
    same(listed, there)
}

/// `2 followers` as an item and how many.
pub fn several(text: &str) -> Option<(String, i64)> {
    let (n, name) = text.split_once(' ')?;
    let n: i64 = n.parse().ok()?;
    let one = match name {
        "wrenches" => "wrench",
        _ if n != 1 => name.strip_suffix('s')?,
        _ => name,
    };
    Some((one.to_owned(), n))
}

pub fn air_is(c: &str, p: &str, t: &Truth) -> Result<(), String> {
    let (on, bar, _) = t.air.ok_or("air is off")?;
    same(cylinder(c)?, on)?;
    let decimals = p.split_once('.').map_or(0, |(_, after)| after.len());
    same(p.to_owned(), format!("{bar:.decimals$}"))
}

/// What a person reads of a crank.
pub fn crank_words(t: &Truth) -> String {
    match t.crank {
        None => "crank not turned yet".to_owned(),
        Some((c, 0.0)) => format!("crank at cyl {c}, top"),
        Some((c, deg)) => format!("crank at cyl {c}, {deg}"),
    }
}

/// The angle at which a cylinder fires, from the layout's order; even intervals.
pub fn fires_at(t: &Truth, c: u64) -> Option<f64> {
    let order = t.layout["firing_order"].as_array()?;
    let place = order.iter().position(|o| o.as_u64() == Some(c))?;
    Some(720.0 / order.len() as f64 * place as f64)
}

pub fn turn_is(c: &str, deg: &str, t: &Truth) -> Result<(), String> {
    let to = fires_at(t, cylinder(c)?).ok_or("no such cylinder")?;
    let from = t
        .crank
        .map_or(Some(0.0), |(at, off)| Some(fires_at(t, at)? + off));
    let is = (to - from.ok_or("the crank is nowhere")?).rem_euclid(720.0);
    let said = figure(deg)?;
    same(said.rem_euclid(720.0), is)
}

pub fn loss_words(leak: &Leak) -> (String, &'static str) {
    let loss = leak.loss_percent();
    // To 10 percent good, to 20 usable, to 30 poor (common practice).
    let class = match loss {
        l if l <= 10.0 => "good",
        l if l <= 20.0 => "usable",
        l if l <= 30.0 => "poor",
        _ => "find the leak",
    };
    (format!("{loss:.0} %"), class)
}

pub fn loss_typed(loss: &str, class: &str, now: &Now) -> Result<(), String> {
    let (supply_bar, cylinder_bar) = now.typed.ok_or("nothing was typed")?;
    let leak = Leak {
        supply_bar,
        cylinder_bar,
        heard: Vec::new(),
    };
    let (is, of) = loss_words(&leak);
    same((loss.to_owned(), class.to_owned()), (is, of.to_owned()))
}

pub fn leak_read(c: &str, when: &str, said: &str, t: &Truth) -> Result<(), String> {
    let leak = t.leaks.get(&(cylinder(c)?, when.to_owned()));
    let is = leak.map_or_else(|| "not known".to_owned(), |l| loss_words(l).0);
    same(said.to_owned(), is)
}

/// A valve's stage, and on the engine itself whether a part of it is adrift or was found bad.
pub fn valve_is(
    name: &str,
    (stage, more): (&str, &str),
    t: &Truth,
    now: &Now,
) -> Result<(), String> {
    let valve = valve(name).ok_or("no valve")?;
    let seen = t.stages.get(&valve).copied();
    same(stage_of(stage), seen)?;
    if now.is_of_line {
        return Ok(());
    }
    let is_adrift = t
        .losses
        .iter()
        .any(|l| !l.is_found && l.valve.as_ref() == Some(&valve));
    let is_found = t
        .findings
        .iter()
        .any(|(_, at, ..)| at.as_ref() == Some(&valve));
    same(more.contains("adrift"), is_adrift)?;
    same(more.contains("Finding"), is_found)
}

pub fn verified(n: &str, m: &str, t: &Truth) -> Result<(), String> {
    let is = (t.verified().to_string(), t.stages.len().to_string());
    same((n.to_owned(), m.to_owned()), is)
}

/// How many of a cylinder's valves are verified.
pub fn cylinder_verified(f: &[&str], t: &Truth) -> Result<(), String> {
    let number = cylinder(f[0])?;
    if t.phase.is_empty() {
        return Ok(());
    }
    let own = || t.stages.iter().filter(|((c, ..), _)| *c == number);
    let done = own().filter(|(_, seen)| **seen == 6).count();
    let said = (f[1].to_owned(), f[2].to_owned());
    same(said, (done.to_string(), own().count().to_string()))
}

/// What somebody has counted, read once more before it is signed.
pub fn counted(place: &str, said: &str, t: &Truth) -> Result<(), String> {
    let place = place.strip_suffix(" box").unwrap_or(place);
    let place = PLACES.into_iter().find(|p| *p == place).ok_or("")?;
    let (item, n) = several(said).ok_or("")?;
    same(n, t.count(&item, place))
}

/// There is a valve whose locks came out like that.
pub fn locks_out(kept: &str, lost: i64, t: &Truth) -> Result<(), String> {
    let lost_of = |valve: &Valve| -> i64 {
        let own = t.losses.iter().filter(|l| l.valve.as_ref() == Some(valve));
        own.map(|l| l.count).sum()
    };
    let mut out = t.stages.iter().filter(|(_, seen)| **seen > 2);
    let known = out.any(|(valve, _)| lost_of(valve) == lost);
    so(known, "the locks of a valve came out so")?;
    same(
        kept.to_owned(),
        (t.layout_number("locks_per_valve") - lost).to_string(),
    )
}

/// The torque that just turns this engine, and whether it was read or taken for granted.
pub fn torque_is(f: &[&str], t: &Truth) -> Result<(), String> {
    f[0].parse::<f64>().map_err(|_| "")?;
    let said = t.layout["breakaway_torque_nm"].as_f64().unwrap_or_default();
    same(f[0].to_owned(), format!("{said:.1}"))?;
    let is_measured = t.layout["breakaway_measured"] == true;
    same(f[1], if is_measured { "measured" } else { "assumed" })
}

pub fn no_seats(t: &Truth) -> Result<(), String> {
    so(
        t.layout["intake_seat_mm"].is_null(),
        "the layout has no seats",
    )
}

/// Whether what stands behind a valve's name was found on it.
pub fn is_found(name: &str, said: &str, t: &Truth) -> bool {
    t.findings.iter().any(|(_, at, kind, text)| {
        at.as_ref() == valve(name).as_ref() && said == format!("{}: {text}", kind.replace('_', " "))
    })
}

/// How long ago something was tapped last.
pub fn ago(said: &str, t: &Truth, now: &Now) -> Result<(), String> {
    let minutes = (now.ms - t.last_ms) / 60_000;
    let hours = parts_of(said, " h ago").map(|h| h * 60);
    let said_min = match said {
        "just now" => 0,
        _ => hours.or(parts_of(said, " min ago")).ok_or("no time")?,
    };
    let apart = if hours.is_some() { 60 } else { 1 };
    so(
        (said_min - minutes).abs() <= apart,
        &format!("{said}, but {minutes} min"),
    )
}

pub fn parts_of(said: &str, unit: &str) -> Option<i64> {
    said.strip_suffix(unit)?.parse().ok()
}

/// Minutes of `3 h 05`, `3 h` or `40 min`.
pub fn minutes(said: &str) -> Option<i64> {
    if let Some(minutes) = parts_of(said, " min") {
        return Some(minutes);
    }
    let (hours, rest) = said.split_once(" h")?;
    let rest = rest.trim();
    let rest: i64 = if rest.is_empty() {
        0
    } else {
        rest.parse().ok()?
    };
    Some(hours.parse::<i64>().ok()? * 60 + rest)
}

/// A forecast is no shorter than hands can be: two minutes a valve that is left (no hand is
/// quicker; common practice, no source), and its range holds it.
pub fn to_go(f: &[&str], t: &Truth) -> Result<(), String> {
    let [about, low, high] = [0, 1, 2].map(|i| minutes(f[i]).unwrap_or(-1));
    so(
        0 <= low && low <= about && about <= high,
        "the range holds it",
    )?;
    let left = (t.stages.len() - t.verified()) as i64;
    so(about >= 2 * left, "so much can be done in that time")
}

/// What a line of the ledger says of one item.
pub fn accounts(item: &str, said: &str, t: &Truth) -> Result<(), String> {
    let is_known = t.at.keys().any(|(known, _)| known == item);
    for one in said.split(", ") {
        let (n, place) = one.split_once(' ').ok_or("")?;
        let place = PLACES
            .into_iter()
            .find(|p| *p == place.strip_suffix(" box").unwrap_or(place));
        let place = place.filter(|_| is_known).ok_or("")?;
        same(n.to_owned(), t.count(item, place).to_string())?;
    }
    Ok(())
}

/// Free air in litres a minute through an orifice of 1 mm from the supply into the cylinder,
/// and the hole that lets as much out again: isentropic flow of air, choked where it is
/// (NACA Report 1135, from memory), discharge 0.8 for both, 293.15 K, free air at 100 kPa.
pub fn flow_of(now: &Now) -> Option<(f64, f64)> {
    let (supply_bar, cylinder_bar) = now.typed?;
    let [supply, cylinder] = [supply_bar, cylinder_bar].map(|bar| (bar + 1.013_25) * 1e5);
    let (k, gas, kelvin): (f64, f64, f64) = (1.4, 287.05, 293.15);
    let flux = |from: f64, to: f64| {
        let ratio = (to / from).max((2.0 / (k + 1.0)).powf(k / (k - 1.0)));
        let term = ratio.powf(2.0 / k) - ratio.powf((k + 1.0) / k);
        0.8 * from * (2.0 * k / ((k - 1.0) * gas * kelvin) * term).sqrt()
    };
    let area = std::f64::consts::PI / 4.0 * 1e-6;
    let mass = flux(supply, cylinder) * area;
    let litres = mass * gas * kelvin / 1e5 * 60_000.0;
    let hole = mass / flux(cylinder, 101_325.0);
    Some((litres, (hole * 4.0 / std::f64::consts::PI).sqrt() * 1_000.0))
}
