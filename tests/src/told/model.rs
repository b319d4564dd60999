//! The model: what has been told and not been ended, read from JSON lines. It knows the
//! names of events and fields and nothing else of the program.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

/// What has been told and not been ended.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// Reports of a loss, by the identity of their line, with the place in the order.
    pub adrift: BTreeMap<String, usize>,
    /// Pieces aboard by bank and item.
    pub aboard: BTreeMap<(u64, String), u64>,
    /// What is on or in at the engine: air, hold, hose, vented cover, each of a cylinder.
    pub in_cylinder: BTreeSet<(u64, &'static str)>,
    /// Valves unlocked or pressed, as cylinder and name.
    pub open_valves: BTreeSet<(u64, String)>,
    /// The wrench is on the crank.
    pub wrench_on: bool,
    /// Where each closing of a bank stands in the order, the last one of each bank.
    pub closed: BTreeMap<u64, usize>,
}

impl Told {
    /// Why the cover of a bank must not go on; `cylinders` are the bank's.
    pub fn keeps_open(&self, bank: u64, cylinders: &[u8]) -> Option<String> {
        let of_bank = |cylinder: u64| cylinders.iter().any(|c| u64::from(*c) == cylinder);
        if let Some(id) = self.adrift.keys().next() {
            return Some(format!("{id} is adrift"));
        }
        if let Some(((_, item), count)) = self.aboard.iter().find(|((b, _), _)| *b == bank) {
            return Some(format!("{count} {item} aboard"));
        }
        if let Some((_, what)) = self.in_cylinder.iter().find(|(c, _)| of_bank(*c)) {
            return Some(format!("{what} in a cylinder of the bank"));
        }
        if let Some((_, valve)) = self.open_valves.iter().find(|(c, _)| of_bank(*c)) {
            return Some(format!("{valve} is open"));
        }
        self.wrench_on.then(|| "the wrench is on".to_owned())
    }

    /// Why nobody may put the wrench on or turn the crank.
    pub fn keeps_still(&self) -> Option<String> {
        let air = self.in_cylinder.iter().find(|(_, what)| *what == "air");
        air.map(|(cylinder, _)| format!("air on cylinder {cylinder}"))
    }

    /// Why the job must not be closed.
    pub fn keeps_job_open(&self) -> Option<String> {
        let named = |what: String| Some(what);
        if let Some(id) = self.adrift.keys().next() {
            return named(format!("{id} is adrift"));
        }
        if let Some(((bank, item), _)) = self.aboard.iter().next() {
            return named(format!("{item} aboard bank {bank}"));
        }
        if let Some((cylinder, what)) = self.in_cylinder.iter().next() {
            return named(format!("{what} in cylinder {cylinder}"));
        }
        if let Some((_, valve)) = self.open_valves.iter().next() {
            return named(format!("{valve} is open"));
        }
        self.wrench_on.then(|| "the wrench is on".to_owned())
    }
}

struct Line {
    order: (u64, u64, String, String),
    id: String,
    name: String,
    fields: Value,
}

fn line_of(text: &str) -> Line {
    let line: Value = serde_json::from_str(text).unwrap_or_default();
    let text = |field: &str| line[field].as_str().unwrap_or_default().to_owned();
    let event = line["event"].as_object().cloned().unwrap_or_default();
    let (name, fields) = event.into_iter().next().unwrap_or_default();
    let clock = |at: usize| line["clock"][at].as_u64().unwrap_or_default();
    Line {
        order: (clock(0), clock(1), text("tablet"), text("id")),
        id: text("id"),
        name,
        fields,
    }
}

/// How many different people have signed a taking back.
fn signers(fields: &Value) -> usize {
    let people = fields["by"].as_array().into_iter().flatten();
    let names: BTreeSet<&str> = people.filter_map(|s| s["person"].as_str()).collect();
    names.len()
}

fn differ(one: &Value, other: &Value) -> bool {
    let (one, other) = (one["person"].as_str(), other["person"].as_str());
    one.is_some() && other.is_some() && one != other
}

/// Reads lines, in whatever order they come.
pub fn read(lines: &[String]) -> Told {
    let mut lines: Vec<Line> = lines.iter().map(|text| line_of(text)).collect();
    lines.sort_by(|a, b| a.order.cmp(&b.order));
    let by_id: BTreeMap<&str, &Line> = lines.iter().map(|l| (l.id.as_str(), l)).collect();
    let mut model = Model::default();
    for (place, line) in lines.iter().enumerate() {
        model.line(place, line, &by_id);
    }
    model.told()
}

#[derive(Default)]
struct Model {
    /// Reports with their place, and what has ended each.
    losses: BTreeMap<String, (usize, BTreeSet<String>)>,
    told: Told,
}

impl Model {
    fn told(mut self) -> Told {
        let open = self
            .losses
            .into_iter()
            .filter(|(_, (_, ends))| ends.is_empty());
        self.told.adrift = open.map(|(id, (place, _))| (id, place)).collect();
        self.told.aboard.retain(|_, count| *count > 0);
        self.told
    }

    fn end(&mut self, loss: &str, by: &str) {
        if let Some((_, ends)) = self.losses.get_mut(loss) {
            ends.insert(by.to_owned());
        }
    }

    fn line(&mut self, place: usize, line: &Line, by_id: &BTreeMap<&str, &Line>) {
        let fields = &line.fields;
        match line.name.as_str() {
            "withdrawn" => self.withdrawn(place, line, by_id),
            "conflict_resolved" => self.resolved(line),
            "part_found" => self.end(fields["dropped"].as_str().unwrap_or_default(), &line.id),
            "search_signed" => {
                if differ(&fields["first"], &fields["second"]) {
                    self.end(fields["dropped"].as_str().unwrap_or_default(), &line.id);
                }
            }
            "bank_closed" => {
                let bank = fields["bank"].as_u64().unwrap_or_default();
                self.told.closed.insert(bank, place);
            }
            _ => self.forwards(place, line),
        }
    }

    /// What an event tells that adds or ends something at the engine.
    fn forwards(&mut self, place: usize, line: &Line) {
        let fields = &line.fields;
        if is_loss(line) {
            self.losses
                .insert(line.id.clone(), (place, BTreeSet::new()));
        }
        match line.name.as_str() {
            "put_aboard" => self.aboard(fields, true),
            "taken_off" => self.aboard(fields, false),
            "part_dropped" if fields["from"] == "aboard" => self.aboard(fields, false),
            "wrench_on" => self.told.wrench_on = true,
            "wrench_off" => self.told.wrench_on = false,
            "stage_seen" => {
                let stage = fields["stage"].as_str().unwrap_or_default();
                self.valve(&fields["valve"], Some(stage));
            }
            name => {
                if let Some((what, is_in)) = in_and_out(name) {
                    self.cylinder(&fields["cylinder"], what, is_in);
                }
            }
        }
    }

    fn withdrawn(&mut self, place: usize, line: &Line, by_id: &BTreeMap<&str, &Line>) {
        let of = line.fields["event"].as_str().unwrap_or_default();
        let Some(taken) = by_id.get(of) else {
            return;
        };
        let fields = &taken.fields;
        match taken.name.as_str() {
            "part_found" | "search_signed" => {
                let loss = fields["dropped"].as_str().unwrap_or_default();
                if let Some((_, ends)) = self.losses.get_mut(loss) {
                    ends.remove(of);
                }
            }
            "put_aboard" => self.aboard(fields, false),
            "taken_off" => self.aboard(fields, true),
            "wrench_on" => self.told.wrench_on = false,
            "wrench_off" => self.told.wrench_on = true,
            "stage_seen" => {
                let stage = fields["stage"].as_str().unwrap_or_default();
                let before = match stage {
                    "positioned" => None,
                    "spring_held" => Some("positioned"),
                    "locks_out" => Some("spring_held"),
                    "seal_fitted" => Some("locks_out"),
                    "locks_in" => Some("seal_fitted"),
                    _ => Some("locks_in"),
                };
                self.valve(&fields["valve"], before);
            }
            name => {
                if let Some((what, is_in)) = in_and_out(name) {
                    self.cylinder(&fields["cylinder"], what, !is_in);
                }
            }
        }
        if is_loss(taken) && signers(&line.fields) >= 2 {
            self.losses
                .entry(of.to_owned())
                .or_insert((place, BTreeSet::new()));
            self.end(of, &line.id);
        }
    }

    /// A look ends what it says is not there. A loss takes two people.
    fn resolved(&mut self, line: &Line) {
        let two = differ(&line.fields["by"], &line.fields["second"]);
        for seen in line.fields["seen"].as_array().into_iter().flatten() {
            let Some((name, fields)) = seen.as_object().and_then(|s| s.iter().next()) else {
                continue;
            };
            match name.as_str() {
                "missing" if fields["count"] == 0 && two => {
                    self.end(fields["dropped"].as_str().unwrap_or_default(), &line.id);
                }
                "aboard" => {
                    let key = bank_and_item(fields);
                    let count = fields["count"].as_u64().unwrap_or_default();
                    self.told.aboard.insert(key, count);
                }
                "wrench" => self.told.wrench_on = fields["on"] == true,
                "air" => self.cylinder(&fields["cylinder"], "air", !fields["bar"].is_null()),
                "hold" => self.cylinder(&fields["cylinder"], "hold", !fields["hold"].is_null()),
                "plug_hole" => {
                    let with = fields["with"].as_str().unwrap_or_default();
                    self.cylinder(&fields["cylinder"], "hose", with == "hose");
                    self.cylinder(&fields["cylinder"], "vented cover", with == "vented_cover");
                }
                "valve" => self.valve(&fields["valve"], fields["stage"].as_str()),
                _ => {}
            }
        }
    }

    fn aboard(&mut self, fields: &Value, more: bool) {
        let count = fields["count"].as_u64().unwrap_or_default();
        let there = self.told.aboard.entry(bank_and_item(fields)).or_default();
        *there = if more {
            *there + count
        } else {
            there.saturating_sub(count)
        };
    }

    fn cylinder(&mut self, cylinder: &Value, what: &'static str, is_in: bool) {
        let key = (cylinder.as_u64().unwrap_or_default(), what);
        if is_in {
            self.told.in_cylinder.insert(key);
        } else {
            self.told.in_cylinder.remove(&key);
        }
    }

    fn valve(&mut self, valve: &Value, stage: Option<&str>) {
        let key = (
            valve["cylinder"].as_u64().unwrap_or_default(),
            valve.to_string(),
        );
        if matches!(stage, Some("spring_held" | "locks_out" | "seal_fitted")) {
            self.told.open_valves.insert(key);
        } else {
            self.told.open_valves.remove(&key);
        }
    }
}

fn bank_and_item(fields: &Value) -> (u64, String) {
    let bank = fields["bank"].as_u64().unwrap_or_default();
    (bank, fields["item"].to_string())
}

/// Whether a line reports a loss.
fn is_loss(line: &Line) -> bool {
    let fields = &line.fields;
    match line.name.as_str() {
        "part_dropped" => true,
        "stage_seen" => fields["strays"].as_u64().unwrap_or_default() > 0,
        "finding_noted" => fields["kind"]["seal_torn"]["missing"].as_u64() > Some(0),
        _ => false,
    }
}

/// What goes into a cylinder or its plug hole, and whether the event puts it in.
fn in_and_out(name: &str) -> Option<(&'static str, bool)> {
    Some(match name {
        "air_on" => ("air", true),
        "air_off" => ("air", false),
        "hold_declared" => ("hold", true),
        "hold_released" => ("hold", false),
        "hose_in" => ("hose", true),
        "hose_out" => ("hose", false),
        "vented_cover_in" => ("vented cover", true),
        "vented_cover_out" => ("vented cover", false),
        _ => return None,
    })
}
