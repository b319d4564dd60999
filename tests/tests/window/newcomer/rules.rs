//! The rules: which sentence states what, and what has to be so.

use super::facts::*;
use super::sentences::{Rule, about_clock, about_minutes, same, so, stage_of, valve};

/// The kind of what may never be said on this way.
pub const NEVER: &str = "never";

/// Every rule. Where two fit a text, one of them has to hold.
pub const RULES: &[Rule] = &[
    ("loose", "loose: {}", |f, t, now| {
        at_top(f[0], "tray", t, now)
    }),
    ("aboard", "aboard: {}", |f, t, now| {
        at_top(f[0], "aboard", t, now)
    }),
    ("adrift", "adrift: {}", |f, t, _| {
        lies_at(f[0], "adrift", t)?;
        same(t.all_at("adrift"), t.adrift())
    }),
    ("air", "air on cyl {}, {} bar", |f, t, _| {
        air_is(f[0], f[1], t)
    }),
    ("air", "air on cyl {} since {}", |f, t, _| {
        let (c, _, since) = t.air.ok_or("air is off")?;
        same(cylinder(f[0])?, c)?;
        about_clock(f[1], since, t)
    }),
    ("air", "Air on cyl {}", |f, t, _| {
        let (c, ..) = t.air.ok_or("air is off")?;
        same(cylinder(f[0])?, c)
    }),
    ("air", "air: off", |_, t, _| {
        so(t.air.is_none(), "air is off")
    }),
    ("air", "air on cyl {}: {} bar \u{b7} {} min", |f, t, now| {
        let place: Vec<&str> = f[0].split(" \u{b7} ").collect();
        air_is(place[0], f[1], t)?;
        place
            .get(1)
            .map_or(Ok(()), |bay| same((*bay).to_owned(), t.bay.clone()))?;
        about_minutes(f[2], t.air.map_or(0, |(_, _, since)| since), now)
    }),
    ("air", "{} bar, on for {} min", |f, t, now| {
        let (c, _, since) = t.air.ok_or("air is off")?;
        air_is(&c.to_string(), f[0], t)?;
        about_minutes(f[1], since, now)
    }),
    ("verified", "cylinder {}: {} of {} verified", |f, t, _| {
        cylinder_verified(f, t)
    }),
    ("verified", "{} of {} verified", |f, t, _| {
        verified(f[0], f[1], t)
    }),
    ("crank", "crank not turned yet", |_, t, _| {
        let has_run = t.steps.contains("first_start");
        so(t.crank.is_none() && !has_run, "it was not turned")
    }),
    ("crank", "crank at no known position", |_, t, _| {
        let has_run = t.steps.contains("first_start");
        so(t.crank.is_none() && has_run, "the engine has run since")
    }),
    ("crank", "crank at cyl {}", |f, t, _| {
        same(format!("crank at cyl {}", f[0]), crank_words(t))
    }),
    ("wrench", "wrench off", |_, t, _| {
        so(!t.wrench_on, "the wrench is off")
    }),
    (NEVER, "wrench on", |_, _, _| {
        Err("the wrench is only on while the crank is turned".to_owned())
    }),
    ("turn", "then cyl {}: turn {}\u{b0}", |f, t, _| {
        turn_is(f[0], f[1], t)
    }),
    ("stage", "{}, {} of 6", |f, t, _| {
        let seen = stage_of(f[0]).ok_or("")?;
        same(f[1].to_owned(), seen.to_string())?;
        so(
            t.stages.values().any(|s| *s == seen),
            "a valve is at that stage",
        )
    }),
    ("stage", "cylinder {}, {} {}: {}", |f, t, now| {
        let name = format!("cylinder {}, {} {}", f[0], f[1], f[2]);
        let (stage, more) = f[3].split_once(", ").unwrap_or((f[3], ""));
        if t.phase.is_empty() {
            return Ok(());
        }
        stage_of(stage).ok_or("")?;
        valve_is(&name, (stage, more), t, now)
    }),
    ("found", "cylinder {}, {} {}: {}", |f, t, _| {
        let name = format!("cylinder {}, {} {}", f[0], f[1], f[2]);
        so(is_found(&name, f[3], t), "this was found")
    }),
    ("locks out", "locks out: {} locks in the tray", |f, t, _| {
        locks_out(f[0], 0, t)
    }),
    (
        "locks out",
        "locks out: {} lock in the tray, {} lock flew off",
        |f, t, _| locks_out(f[0], f[1].parse().unwrap_or(-1), t),
    ),
    ("next", "then cyl {}: find its top", |_, t, _| {
        so(t.crank.is_none(), "it is unknown")
    }),
    ("number", "number {}", |f, t, _| {
        same(f[0].to_owned(), t.number.clone())
    }),
    ("phase", "rests", |_, t, _| same("rests", t.phase)),
    ("phase", "closed", |_, t, _| same("closed", t.phase)),
    (NEVER, "Rests with something open: look", |_, _, _| {
        Err("nothing was open at rest".to_owned())
    }),
    ("unlocked", "{} unlocked", |f, t, _| {
        same(f[0].to_owned(), t.unlocked().len().to_string())
    }),
    (
        "adrift",
        "{} adrift since {}: find it, or two search and sign",
        |f, t, _| {
            same(f[0].to_owned(), t.adrift().to_string())?;
            let open = t.losses.iter().filter(|l| !l.is_found);
            let since = open.map(|l| l.at_ms).min().ok_or("nothing is")?;
            about_clock(f[1], since, t)
        },
    ),
    ("loose", "{} loose", |f, t, _| {
        same(f[0].to_owned(), t.all_at("tray").to_string())
    }),
    ("adrift", "{} adrift", |f, t, _| {
        same(f[0].to_owned(), t.adrift().to_string())
    }),
    ("adrift", "Still adrift: {}", |f, t, _| {
        lies_at(f[0], "adrift", t)
    }),
    ("leak", "loss {}: {} free air {} l/min", |f, _, now| {
        loss_typed(f[0], f[1], now)?;
        same(
            f[2].to_owned(),
            format!("{:.0}", flow_of(now).ok_or("nothing flows")?.0),
        )
    }),
    ("leak", "like a hole of {} mm", |f, _, now| {
        same(
            f[0].to_owned(),
            format!("{:.2}", flow_of(now).ok_or("nothing flows")?.1),
        )
    }),
    ("leak", "It reads as before: {} bar", |f, t, _| {
        let known = t
            .leaks
            .values()
            .any(|l| format!("{:.2}", l.supply_bar) == f[0]);
        so(known, "a supply was read so")
    }),
    ("leak", "cylinder {}: before {}, after {}", |f, t, _| {
        leak_read(f[0], "before", f[1], t)?;
        leak_read(f[0], "after", f[2].trim_end_matches('.'), t)
    }),
    (
        "foreman",
        "Cylinder {} loses {}: the foreman has to look",
        |f, t, _| {
            let waits = t.foreman_waits();
            let said = waits
                .iter()
                .any(|(c, l)| c.to_string() == f[0] && format!("{l:.0} %") == f[1]);
            so(said, "the foreman has to look there")
        },
    ),
    ("foreman", "loss {}: {}", |f, t, _| {
        let read = t
            .leaks
            .values()
            .any(|l| loss_words(l) == (f[0].to_owned(), f[1]));
        so(read, "such a loss was read")
    }),
    ("foreman", "supply {} bar", |f, t, _| {
        so(
            t.leaks
                .values()
                .any(|l| format!("{:.2}", l.supply_bar) == f[0]),
            "it was read",
        )
    }),
    ("foreman", "in the cylinder {} bar", |f, t, _| {
        so(
            t.leaks
                .values()
                .any(|l| format!("{:.2}", l.cylinder_bar) == f[0]),
            "it was read",
        )
    }),
    ("heard", "Heard where: {}", |f, t, _| {
        let heard = t.leaks.values().flat_map(|l| &l.heard);
        let heard: Vec<String> = heard.map(|h| h.replace('_', " ")).collect();
        same(f[0].to_owned(), heard.join(", "))
    }),
    ("torque", "breakaway torque {} Nm, {}", |f, t, _| {
        torque_is(f, t)
    }),
    ("torque", "{} Nm, {}", |f, t, _| torque_is(f, t)),
    (
        "seats",
        "The layout has no seat diameters: {}",
        |_, t, _| no_seats(t),
    ),
    ("seats", "The layout has no seats: {}", |_, t, _| {
        no_seats(t)
    }),
    (
        NEVER,
        "Air can hold the valves of this cylinder",
        |_, _, _| Err("nobody knows the seats".to_owned()),
    ),
    (
        "spring",
        "The layout has no spring: no figures",
        |_, t, _| so(t.layout["spring"].is_null(), "the layout has none"),
    ),
    (
        "holds",
        "Only air holds this valve: leave crank and hose",
        |_, t, _| {
            so(
                t.air.is_some() && !t.unlocked().is_empty(),
                "air alone holds an unlocked valve",
            )
        },
    ),
    (
        "holds",
        "Only the hold keeps this valve up: leave the crank",
        |_, t, _| {
            so(
                t.air.is_none() && !t.hold.is_empty(),
                "a hold alone keeps it up",
            )
        },
    ),
    (
        "holds",
        "{} in sight, spring pressed and held, air holds the valve",
        |_, t, _| so(t.air.is_some(), "air is on"),
    ),
    (
        "holds",
        "{} in sight, spring pressed and held, {} holds the valve",
        |f, t, _| same(t.hold.values().next().cloned(), Some(f[1].to_owned())),
    ),
    (
        "holds",
        "The spring is held: no crank, hands clear",
        |_, t, _| so(!t.pressed().is_empty(), "a spring is pressed"),
    ),
    (NEVER, "Nothing holds this valve", |_, _, _| {
        Err("no air was lost".to_owned())
    }),
    ("holds", "{} hangs on this air", |f, t, _| {
        let valve = valve(f[0]).ok_or("no valve")?;
        let hangs = [t.unlocked(), t.pressed()].concat().contains(&valve);
        let on = t.air.is_some_and(|(c, ..)| c == valve.0);
        so(hangs && on, "it hangs on the air")
    }),
    ("holds", "No valve is unlocked", |_, t, _| {
        so(t.unlocked().is_empty(), "none is")
    }),
    ("holds", "Cylinder {}: {} Mechanical hold", |f, t, _| {
        same(t.hold.get(&cylinder(f[0])?).cloned(), Some(f[1].to_owned()))
    }),
    ("holds", "held by {}", |f, t, _| {
        let by = t.hold.values().next().cloned();
        so(
            by.as_deref() == Some(f[0]) || f[0] == "air" && t.air.is_some(),
            "it is held so",
        )
    }),
    ("unlocked", "Unlocked now: {} held by: {}", |f, t, _| {
        so(
            t.unlocked().iter().any(|v| Some(v) == valve(f[0]).as_ref()),
            "it is unlocked",
        )
    }),
    ("said", "Valve verified: {}", |f, t, _| {
        let valve = valve(f[0]).ok_or("no valve")?;
        same(t.stages.get(&valve).copied(), Some(6))
    }),
    ("said", "Cylinder {}: every valve verified", |f, t, _| {
        let c = cylinder(f[0])?;
        let mut own = t.stages.iter().filter(|((at, ..), _)| *at == c);
        so(own.all(|(_, seen)| *seen == 6), "each is verified")
    }),
    ("said", "Bank {}: every valve verified", |_, t, _| {
        same(t.verified(), t.stages.len())
    }),
    ("said", "Bank closed: {}", |_, t, _| {
        so(t.covers_off.is_empty(), "the cover is on")
    }),
    ("said", "Job closed", |_, t, _| same(t.phase, "closed")),
    ("last", "{}Last touched: {}", |f, t, now| ago(f[1], t, now)),
    ("last", "Last touched {}", |f, t, now| ago(f[0], t, now)),
    ("rest", "Work rests since {}: {}", |f, t, _| {
        same(t.phase, "rests")?;
        about_clock(f[0], t.last_ms, t)?;
        so(t.said.iter().any(|s| s == f[1]), "it was said")
    }),
    ("to go", "to go: about {}, likely {} to {}", |f, t, _| {
        to_go(f, t)
    }),
    ("to go", "about {}, likely {} to {}", |f, t, _| to_go(f, t)),
    (NEVER, "Nothing is left to do", |_, _, _| {
        Err("the record is left to write".to_owned())
    }),
    ("parts", "All is home, the tray is empty, {}", |_, t, _| {
        same(
            (t.all_at("tray"), t.adrift(), t.all_at("aboard")),
            (0, 0, 0),
        )
    }),
    ("parts", "nothing loose", |_, t, _| {
        same(t.all_at("tray"), 0)
    }),
    ("parts", "{} (stock {}): {}", |f, t, _| {
        same(f[1].to_owned(), t.count(f[0], "stock").to_string())
    }),
    ("parts", "{}: {}", |f, t, _| accounts(f[0], f[1], t)),
    ("counted", "{}: {}", |f, t, _| counted(f[0], f[1], t)),
    (
        "foreman",
        "cylinder {}: {} The foreman agrees: {}",
        |f, t, _| {
            leak_read(f[0], "before", f[1], t)?;
            let by = t.signed.iter().find(|(what, _)| *what == "foreman");
            same(by.map(|(_, who)| who.clone()), Some(f[2].to_owned()))
        },
    ),
    ("gate", "The gate is open Both counts agree", |_, t, _| {
        so(
            t.counts.len() == 2 && t.counts[0].1 == t.counts[1].1,
            "both counted the same",
        )
    }),
    ("gate", "First count: {} signed", |f, t, _| {
        same(t.counts.first().map(|c| c.0.clone()), Some(f[0].to_owned()))
    }),
    ("gate", "Second count: {} signed", |f, t, _| {
        same(t.counts.get(1).map(|c| c.0.clone()), Some(f[0].to_owned()))
    }),
    ("jobs", "No job is open", |_, t, _| same(t.phase, "")),
    (
        "jobs",
        "rough: the shop has finished no job yet",
        |_, t, _| so(t.phase != "closed", ""),
    ),
];
