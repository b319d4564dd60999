//! What is true of a job, from the lines of its journal alone. It knows the names of events
//! and fields, and from the trade what each of them moves; nothing else of the program.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use serde_json::Value;

use super::rfc3339;

/// A cylinder's number, the side, the place on it.
pub type Valve = (u64, String, u64);

/// One loss.
#[derive(Clone, Debug)]
pub struct Loss {
    pub id: String,
    pub item: String,
    pub count: i64,
    pub valve: Option<Valve>,
    /// When it was told, in milliseconds.
    pub at_ms: i64,
    pub is_found: bool,
}

/// A leak-down reading.
#[derive(Clone, Debug)]
pub struct Leak {
    pub supply_bar: f64,
    pub cylinder_bar: f64,
    pub heard: Vec<String>,
}

impl Leak {
    /// Loss in percent of the supply.
    pub fn loss_percent(&self) -> f64 {
        100.0 * (self.supply_bar - self.cylinder_bar) / self.supply_bar
    }
}

/// How many of an item at a place.
pub type Counted = BTreeMap<(String, String), i64>;

/// What is true.
#[derive(Clone, Debug, Default)]
pub struct Truth {
    pub bay: String,
    pub vehicle: String,
    pub number: String,
    pub layout: Value,
    pub technician: String,
    pub phase: &'static str,
    /// How many of an item lie at a place.
    pub at: BTreeMap<(String, &'static str), i64>,
    /// Stages seen of each valve.
    pub stages: BTreeMap<Valve, usize>,
    pub crank: Option<(u64, f64)>,
    pub wrench_on: bool,
    /// Cylinder, pressure and since when, in milliseconds.
    pub air: Option<(u64, f64, i64)>,
    pub hold: BTreeMap<u64, String>,
    pub hose: BTreeSet<u64>,
    pub vented: BTreeSet<u64>,
    pub plugs_out: BTreeSet<u64>,
    pub covers_off: BTreeSet<u64>,
    pub losses: Vec<Loss>,
    pub leaks: BTreeMap<(u64, String), Leak>,
    pub agreed: BTreeSet<u64>,
    /// Where, what, and what was said of it.
    pub findings: Vec<(u64, Option<Valve>, String, String)>,
    /// Who counted, and what, since something moved last.
    pub counts: Vec<(String, Counted)>,
    /// The signatures of covers and of the closing.
    pub signed: Vec<(&'static str, String)>,
    pub said: Vec<String>,
    pub steps: BTreeSet<String>,
    pub lines: usize,
    pub last_ms: i64,
    /// How far the clock of the last line is ahead of the world's, in minutes.
    pub zone_min: i64,
}

pub const STAGES: [&str; 6] = [
    "positioned",
    "spring held",
    "locks out",
    "seal fitted",
    "locks in",
    "verified",
];

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

fn number(value: &Value) -> u64 {
    value.as_u64().unwrap_or_default()
}

fn valve_of(value: &Value) -> Option<Valve> {
    value.is_object().then(|| {
        let side = text(&value["side"]);
        (number(&value["cylinder"]), side, number(&value["place"]))
    })
}

impl Truth {
    /// Reads a journal.
    pub fn of(journal: &Path) -> Self {
        let read = std::fs::read_to_string(journal).unwrap_or_default();
        let mut truth = Self::default();
        for line in read.lines() {
            let line: Value = serde_json::from_str(line).unwrap();
            let Some((name, fields)) = line["event"].as_object().and_then(|e| e.iter().next())
            else {
                continue;
            };
            truth.lines += 1;
            let stamp: rfc3339::Ms = rfc3339::of(&text(&line["at"]));
            truth.event(name, fields, &text(&line["id"]), stamp);
            if name != "sealed" {
                truth.last_ms = stamp;
            }
            truth.zone_min = rfc3339::zone_min(&text(&line["at"]));
        }
        truth
    }

    /// Hours and minutes of a moment, as the clock on the wall shows them.
    pub fn clock_of(&self, ms: i64) -> String {
        let minutes = (ms / 60_000 + self.zone_min).rem_euclid(24 * 60);
        format!("{:02}:{:02}", minutes / 60, minutes % 60)
    }

    /// How many of an item lie at a place.
    pub fn count(&self, item: &str, place: &'static str) -> i64 {
        let key = (item.to_owned(), place);
        self.at.get(&key).copied().unwrap_or_default()
    }

    /// How many things lie at a place.
    pub fn all_at(&self, place: &str) -> i64 {
        let there = self.at.iter().filter(|((_, p), _)| *p == place);
        there.map(|(_, n)| n).sum()
    }

    pub fn verified(&self) -> usize {
        self.stages.values().filter(|seen| **seen == 6).count()
    }

    /// Valves that neither spring nor locks hold: locks out, or the seal fitted.
    pub fn unlocked(&self) -> Vec<Valve> {
        let open = self.stages.iter().filter(|(_, s)| matches!(s, 3 | 4));
        open.map(|(valve, _)| valve.clone()).collect()
    }

    /// Valves whose spring is pressed: both locks in sight.
    pub fn pressed(&self) -> Vec<Valve> {
        let held = self.stages.iter().filter(|(_, s)| **s == 2);
        held.map(|(valve, _)| valve.clone()).collect()
    }

    pub fn adrift(&self) -> i64 {
        let open = self.losses.iter().filter(|l| !l.is_found);
        open.map(|l| l.count).sum()
    }

    /// Cylinders that lose more than 30 percent and that no foreman has agreed to.
    pub fn foreman_waits(&self) -> Vec<(u64, f64)> {
        let first = self.leaks.iter().filter(|((c, when), leak)| {
            when == "before" && leak.loss_percent() > 30.0 && !self.agreed.contains(c)
        });
        first.map(|((c, _), l)| (*c, l.loss_percent())).collect()
    }

    pub fn layout_number(&self, field: &str) -> i64 {
        self.layout[field].as_i64().unwrap_or_default()
    }

    fn moved(&mut self, item: &str, from: &'static str, to: &'static str, count: i64) {
        for (place, by) in [(from, -count), (to, count)] {
            if place != "outside" {
                *self.at.entry((item.to_owned(), place)).or_default() += by;
            }
        }
        if count != 0 {
            self.counts.clear();
        }
    }

    fn opened(&mut self, fields: &Value) {
        self.bay = text(&fields["bay"]);
        self.vehicle = text(&fields["vehicle"]);
        self.number = text(&fields["order_number"]);
        self.technician = text(&fields["technician"]);
        self.layout = fields["layout"].clone();
        self.phase = "open";
        let banks = self.layout["banks"].as_array().cloned().unwrap_or_default();
        for bank in &banks {
            self.moved("cover", "outside", "home", 1);
            for cylinder in bank["cylinders"].as_array().into_iter().flatten() {
                self.cylinder_is_whole(number(cylinder));
            }
        }
    }

    /// What a cylinder has fitted before anybody touches it.
    fn cylinder_is_whole(&mut self, cylinder: u64) {
        let (locks, springs) = (
            self.layout_number("locks_per_valve"),
            self.layout_number("springs_per_valve"),
        );
        self.moved("plug", "outside", "home", 1);
        for side in ["intake", "exhaust"] {
            let valves = self.layout_number(&format!("{side}_valves"));
            for place in 1..=valves {
                let valve = (cylinder, side.to_owned(), place.unsigned_abs());
                self.stages.insert(valve, 0);
                for (item, count) in [
                    ("lock", locks),
                    ("spring", springs),
                    ("retainer", 1),
                    ("follower", 1),
                    ("old seal", 1),
                ] {
                    self.moved(item, "outside", "home", count);
                }
            }
        }
    }

    #[expect(clippy::too_many_lines, reason = "a table: one arm an event")]
    fn event(&mut self, name: &str, fields: &Value, id: &str, at_ms: i64) {
        let cylinder = number(&fields["cylinder"]);
        let item = text(&fields["item"]);
        let count = fields["count"].as_i64().unwrap_or_default();
        match name {
            "job_opened" => self.opened(fields),
            "taken_over" => self.technician = text(&fields["by"]["person"]),
            "paused" => {
                self.phase = "rests";
                self.said.push(text(&fields["why"]));
            }
            "resumed" => self.phase = "open",
            "noted" => self.said.push(text(&fields["text"])),
            "job_closed" => {
                self.phase = "closed";
                self.signed.push(("job", text(&fields["by"]["person"])));
            }
            "leak_read" => self.leak(fields),
            "foreman_agreed" => {
                self.agreed.insert(cylinder);
                self.signed.push(("foreman", text(&fields["by"]["person"])));
            }
            "step_seen" => {
                let step = text(&fields["step"]);
                if step == "first_start" {
                    self.crank = None;
                }
                self.steps.insert(step);
            }
            "finding_noted" => self.finding(fields),
            "kit_counted" => self.moved(&item, "outside", "kit", count),
            "stock_issued" => self.moved(&item, "outside", "stock", count),
            "part_replaced" => {
                self.moved(&item, "tray", "scrap", count);
                self.moved(&item, "stock", "tray", count);
            }
            "put_aboard" => self.moved(&item, "kit", "aboard", count),
            "taken_off" => self.moved(&item, "aboard", "kit", count),
            "part_dropped" => {
                let loss = Loss {
                    id: id.to_owned(),
                    item,
                    count,
                    valve: valve_of(&fields["valve"]),
                    at_ms,
                    is_found: false,
                };
                self.lost(loss, place_of(&text(&fields["from"])));
            }
            "part_found" => self.found(fields),
            "blind_count" => self.counted(fields),
            "cover_off" => {
                self.moved("cover", "home", "aside", 1);
                self.covers_off.insert(number(&fields["bank"]));
            }
            "bank_closed" => {
                self.moved("cover", "aside", "home", 1);
                self.covers_off.remove(&number(&fields["bank"]));
                self.signed.push(("cover", text(&fields["by"]["person"])));
            }
            "plug_out" => {
                self.moved("plug", "home", "aside", 1);
                self.plugs_out.insert(cylinder);
            }
            "plug_in" => {
                self.moved("plug", "aside", "home", 1);
                self.plugs_out.remove(&cylinder);
            }
            "vented_cover_in" => {
                self.moved("vented cover", "kit", "aboard", 1);
                self.vented.insert(cylinder);
            }
            "vented_cover_out" => {
                self.moved("vented cover", "aboard", "kit", 1);
                self.vented.remove(&cylinder);
            }
            "hose_in" => {
                self.moved("hose", "kit", "aboard", 1);
                self.hose.insert(cylinder);
            }
            "hose_out" => {
                self.moved("hose", "aboard", "kit", 1);
                self.hose.remove(&cylinder);
            }
            "wrench_on" => {
                self.moved("wrench", "kit", "aboard", 1);
                self.wrench_on = true;
            }
            "wrench_off" => {
                self.moved("wrench", "aboard", "kit", 1);
                self.wrench_on = false;
            }
            "crank_turned" => {
                let to = &fields["to"];
                let offset = to["offset_deg"].as_f64().unwrap_or_default();
                self.crank = Some((number(&to["cylinder"]), offset));
            }
            "air_on" => {
                let bar = fields["bar"].as_f64().unwrap_or_default();
                self.air = Some((cylinder, bar, at_ms));
            }
            "air_off" => self.air = None,
            "hold_declared" => {
                self.hold.insert(cylinder, text(&fields["hold"]));
            }
            "hold_released" => {
                self.hold.remove(&cylinder);
            }
            "stage_seen" => self.stage(fields, id, at_ms),
            "sealed" | "caution_seen" | "take_in_noted" => {}
            other => panic!("the oracle does not know {other:?}"),
        }
    }

    fn leak(&mut self, fields: &Value) {
        let heard = fields["heard"].as_array().into_iter().flatten();
        let leak = Leak {
            supply_bar: fields["supply_bar"].as_f64().unwrap_or_default(),
            cylinder_bar: fields["cylinder_bar"].as_f64().unwrap_or_default(),
            heard: heard.map(text).collect(),
        };
        let key = (number(&fields["cylinder"]), text(&fields["when"]));
        self.leaks.insert(key, leak);
    }

    fn finding(&mut self, fields: &Value) {
        let kind = match &fields["kind"] {
            Value::String(kind) => kind.clone(),
            kind => kind.to_string(),
        };
        self.findings.push((
            number(&fields["cylinder"]),
            valve_of(&fields["valve"]),
            kind,
            text(&fields["text"]),
        ));
    }

    /// One more loss, from where it fell.
    fn lost(&mut self, loss: Loss, from: &'static str) {
        self.moved(&loss.item, from, "adrift", loss.count);
        self.losses.push(loss);
    }

    fn found(&mut self, fields: &Value) {
        let dropped = text(&fields["dropped"]);
        let to = place_of(&text(&fields["to"]));
        let loss = self.losses.iter_mut().find(|l| l.id == dropped).unwrap();
        loss.is_found = true;
        let (item, count) = (loss.item.clone(), loss.count);
        self.moved(&item, "adrift", to, count);
    }

    fn counted(&mut self, fields: &Value) {
        let lines = fields["lines"].as_array().into_iter().flatten();
        let figures = lines.map(|line| {
            let count = line["count"].as_i64().unwrap_or_default();
            ((text(&line["item"]), text(&line["place"])), count)
        });
        let who = text(&fields["by"]["person"]);
        self.counts.push((who, figures.collect()));
    }

    /// What a stage moves, as the trade has it.
    fn stage(&mut self, fields: &Value, id: &str, at_ms: i64) {
        let valve = valve_of(&fields["valve"]).unwrap();
        let stage = text(&fields["stage"]).replace('_', " ");
        let index = STAGES.iter().position(|s| *s == stage).unwrap();
        self.stages.insert(valve.clone(), index + 1);
        let locks = self.layout_number("locks_per_valve");
        let springs = self.layout_number("springs_per_valve");
        match index {
            0 => self.moved("follower", "home", "tray", 1),
            2 => {
                let lost = fields["strays"].as_i64().unwrap_or_default();
                self.moved("lock", "home", "tray", locks - lost);
                if lost > 0 {
                    let loss = Loss {
                        id: id.to_owned(),
                        item: "lock".to_owned(),
                        count: lost,
                        valve: Some(valve),
                        at_ms,
                        is_found: false,
                    };
                    self.lost(loss, "home");
                }
                self.moved("retainer", "home", "tray", 1);
                self.moved("spring", "home", "tray", springs);
            }
            3 => {
                self.moved("old seal", "home", "scrap", 1);
                self.moved("new seal", "stock", "home", 1);
            }
            4 => {
                self.moved("lock", "tray", "home", locks);
                self.moved("retainer", "tray", "home", 1);
                self.moved("spring", "tray", "home", springs);
            }
            5 => self.moved("follower", "tray", "home", 1),
            _ => {}
        }
    }
}

/// What a journal tells, line by line, without what names lines and without signatures.
pub fn told(journal: &Path) -> Vec<Value> {
    let read = std::fs::read_to_string(journal).unwrap_or_default();
    let lines = read
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap());
    let mut events: Vec<Value> = lines.map(|line| line["event"].clone()).collect();
    events.retain(|event| !event.is_null() && event.get("sealed").is_none());
    events.iter_mut().for_each(leave_names_out);
    events
}

fn leave_names_out(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            for own in ["entering", "proof", "dropped", "event"] {
                fields.remove(own);
            }
            fields.values_mut().for_each(leave_names_out);
        }
        Value::Array(all) => all.iter_mut().for_each(leave_names_out),
        _ => {}
    }
}

/// The places by their words in files.
pub const PLACES: [&str; 8] = [
    "home", "tray", "aside", "scrap", "stock", "kit", "aboard", "adrift",
];

/// A place by its word in files.
pub fn place_of(word: &str) -> &'static str {
    PLACES.into_iter().find(|p| *p == word).unwrap()
}
