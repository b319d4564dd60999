//! The working order equals an exhaustive search that shares no code with it.
//!
//! The search walks every order of cylinders, offsets and adaptors in the order in
//! which ties are settled: once for the least minutes, once for the first order within
//! 1e-9 of them. A branch is left only when it costs more already; no step is negative.

use serde_json::{Value, json};
use trayzero_core::engine::Layout;
use trayzero_core::plan::{OrderQuestion, WorkingOrder, working_order};

use super::drawn::{Standing, draw_standing, numbers, random_engine};
use super::random::Random;

const SEED: u64 = 720_360;
const ENGINES: usize = 2_000;
const TIE: f64 = 1e-9;

/// One stop as the search sees it.
#[derive(Clone, Debug, PartialEq)]
struct Visit {
    cylinder: u8,
    offset_deg: f64,
    adaptors: Vec<String>,
    bank: usize,
    angle_deg: f64,
}

/// What steps cost.
struct Prices {
    a_degree: f64,
    a_bank: f64,
    an_adaptor: f64,
    a_set_up: f64,
    may_turn_back: bool,
}

struct Search {
    /// Every way to work every cylinder left, smallest first.
    ways: Vec<Vec<Visit>>,
    prices: Prices,
    put_off: Vec<u8>,
    wanted_next: Option<u8>,
}

/// Where a branch has got to.
#[derive(Clone)]
struct At {
    angle_deg: f64,
    bank: Option<usize>,
    adaptor: Option<String>,
    minutes: f64,
}

impl Search {
    fn new(layout: &Value, standing: &Standing) -> Self {
        let handling = &layout["handling_min"];
        let mut numbers = numbers(layout);
        numbers.sort_unstable();
        Self {
            ways: numbers
                .iter()
                .filter(|c| !standing.done.contains(c))
                .map(|c| visits(layout, *c))
                .collect(),
            prices: Prices {
                a_degree: handling["turn_360"].as_f64().unwrap() / 360.0,
                a_bank: handling["bank_change"].as_f64().unwrap(),
                an_adaptor: handling["adaptor_change"].as_f64().unwrap(),
                a_set_up: handling["cylinder_setup"].as_f64().unwrap_or(0.0),
                may_turn_back: layout["may_turn_back"].as_bool().unwrap(),
            },
            put_off: standing.put_off.clone(),
            wanted_next: standing.wanted_next,
        }
    }

    fn may_come(&self, cylinder: u8, used: &[bool]) -> bool {
        if let Some(wanted) = self.wanted_next
            && used.iter().all(|u| !u)
        {
            return cylinder == wanted;
        }
        let on_time_left = self
            .ways
            .iter()
            .zip(used)
            .any(|(w, u)| !u && !self.put_off.contains(&w[0].cylinder));
        !on_time_left || !self.put_off.contains(&cylinder)
    }

    /// Calls `end` for every order that costs no more than `limit` says, smallest first,
    /// until it answers yes.
    fn walk(
        &self,
        at: &At,
        used: &mut Vec<bool>,
        so_far: &mut Vec<Visit>,
        limit: &mut f64,
        end: &mut dyn FnMut(&[Visit], f64, &mut f64) -> bool,
    ) -> bool {
        if at.minutes > *limit + TIE {
            return false;
        }
        if used.iter().all(|u| *u) {
            return end(so_far, at.minutes, limit);
        }
        for index in 0..self.ways.len() {
            if used[index] || !self.may_come(self.ways[index][0].cylinder, used) {
                continue;
            }
            used[index] = true;
            for visit in &self.ways[index] {
                let next = step(&self.prices, at, visit);
                so_far.push(visit.clone());
                let found = self.walk(&next, used, so_far, limit, end);
                if found {
                    return true;
                }
                so_far.pop();
            }
            used[index] = false;
        }
        false
    }

    /// The least minutes, and the first order within a tie of them.
    fn best(&self, standing: &Standing) -> (f64, Vec<Visit>) {
        let start = At {
            angle_deg: standing.from_deg,
            bank: standing.from_bank,
            adaptor: standing.from_adaptor.clone(),
            minutes: 0.0,
        };
        let mut used = vec![false; self.ways.len()];
        let mut least = f64::INFINITY;
        self.walk(
            &start,
            &mut used,
            &mut Vec::new(),
            &mut least,
            &mut |_, minutes, limit| {
                *limit = limit.min(minutes);
                false
            },
        );
        let mut first = Vec::new();
        let mut used = vec![false; self.ways.len()];
        let mut limit = least;
        let found = self.walk(
            &start,
            &mut used,
            &mut Vec::new(),
            &mut limit,
            &mut |order, _, _| {
                first = order.to_vec();
                true
            },
        );
        assert!(found);
        (least, first)
    }
}

fn step(prices: &Prices, at: &At, visit: &Visit) -> At {
    let mut changes = visit.adaptors.len() - 1;
    if at.adaptor.as_ref().is_some_and(|a| *a != visit.adaptors[0]) {
        changes += 1;
    }
    let bank = if at.bank.is_some_and(|b| b != visit.bank) {
        prices.a_bank
    } else {
        0.0
    };
    let turn = turn_deg(prices.may_turn_back, at.angle_deg, visit.angle_deg);
    At {
        angle_deg: visit.angle_deg,
        bank: Some(visit.bank),
        adaptor: visit.adaptors.last().cloned(),
        minutes: at.minutes
            + turn * prices.a_degree
            + bank
            + changes as f64 * prices.an_adaptor
            + prices.a_set_up,
    }
}

/// The turn without its sign; angles are told apart to a millionth of a degree.
fn turn_deg(may_turn_back: bool, from_deg: f64, to_deg: f64) -> f64 {
    let forward = ((to_deg - from_deg) * 1e6).round() / 1e6;
    let forward = forward - (forward / 720.0).floor() * 720.0;
    let exact = if forward == 0.0 {
        0.0
    } else {
        (to_deg - from_deg).rem_euclid(720.0)
    };
    if may_turn_back {
        exact.min(720.0 - exact)
    } else {
        exact
    }
}

/// Angle of a cylinder's top by walking the firing order from the lowest cylinder on.
fn top_deg(layout: &Value, cylinder: u8) -> f64 {
    let order = layout["firing_order"].as_array().unwrap();
    let lowest = numbers(layout).into_iter().min().unwrap();
    let place_of = |c: u8| order.iter().position(|o| *o == json!(c)).unwrap();
    let mut angle = 0.0;
    let mut place = place_of(lowest);
    while place != place_of(cylinder) {
        angle += match layout.get("firing_intervals_deg") {
            Some(intervals) => intervals[place].as_f64().unwrap(),
            None => 720.0 / order.len() as f64,
        };
        place = (place + 1) % order.len();
    }
    angle
}

/// Every way to work a cylinder: offsets rising, then adaptor orders by name.
fn visits(layout: &Value, cylinder: u8) -> Vec<Visit> {
    let entry = |list: &str| {
        let entries = layout[list].as_array().unwrap().clone();
        entries
            .into_iter()
            .filter(move |e| e["cylinder"] == json!(cylinder))
    };
    let mut offsets: Vec<f64> = entry("working_positions")
        .flat_map(|p| p["offsets_deg"].as_array().unwrap().clone())
        .map(|o| o.as_f64().unwrap())
        .collect();
    if offsets.is_empty() {
        offsets.push(0.0);
    }
    if layout["tops"] == json!("either") {
        offsets = offsets.iter().flat_map(|o| [*o, *o + 360.0]).collect();
    }
    offsets.sort_by(|a, b| a.partial_cmp(b).unwrap());
    let mut needed: Vec<String> = Vec::new();
    for (side, count) in [("intake", "intake_valves"), ("exhaust", "exhaust_valves")] {
        for place in 1..=layout[count].as_u64().unwrap() {
            let valve = format!("{side} {place}");
            let rule = entry("adaptors").find(|r| r["valve"] == json!(valve));
            let name = rule.map_or("standard".to_owned(), |r| {
                r["adaptor"].as_str().unwrap().to_owned()
            });
            if !needed.contains(&name) {
                needed.push(name);
            }
        }
    }
    needed.sort();
    let banks = layout["banks"].as_array().unwrap();
    let bank = banks
        .iter()
        .position(|b| {
            b["cylinders"]
                .as_array()
                .unwrap()
                .contains(&json!(cylinder))
        })
        .unwrap();
    let mut result = Vec::new();
    for offset_deg in offsets {
        for adaptors in permutations(&needed) {
            result.push(Visit {
                cylinder,
                offset_deg,
                adaptors,
                bank,
                angle_deg: top_deg(layout, cylinder) + offset_deg,
            });
        }
    }
    result
}

/// All orders of sorted names, smallest first.
fn permutations(names: &[String]) -> Vec<Vec<String>> {
    if names.is_empty() {
        return vec![vec![]];
    }
    let mut all = Vec::new();
    for (i, first) in names.iter().enumerate() {
        let rest = [&names[..i], &names[i + 1..]].concat();
        for mut tail in permutations(&rest) {
            tail.insert(0, first.clone());
            all.push(tail);
        }
    }
    all
}

/// Adds the order's own stops up again, from their fields alone.
fn recounted_minutes(order: &WorkingOrder, layout: &Value, standing: &Standing) -> f64 {
    let (mut bank, mut adaptor) = (
        standing
            .from_bank
            .map(|b| layout["banks"][b]["name"].as_str().unwrap().to_owned()),
        standing.from_adaptor.clone(),
    );
    let (mut turn, mut banks, mut adaptors) = (0.0, 0, 0);
    for stop in &order.stops {
        turn += stop.turn_deg.abs();
        banks += u32::from(bank.is_some_and(|b| b != stop.bank));
        for name in &stop.adaptors {
            adaptors += u32::from(adaptor.is_some_and(|a| a != *name));
            adaptor = Some(name.clone());
        }
        bank = Some(stop.bank.clone());
    }
    assert!((turn - order.turn_deg).abs() < 1e-9);
    assert_eq!(
        (banks, adaptors),
        (order.bank_changes, order.adaptor_changes)
    );
    let handling = &layout["handling_min"];
    turn / 360.0 * handling["turn_360"].as_f64().unwrap()
        + f64::from(banks) * handling["bank_change"].as_f64().unwrap()
        + f64::from(adaptors) * handling["adaptor_change"].as_f64().unwrap()
        + order.stops.len() as f64 * handling["cylinder_setup"].as_f64().unwrap_or(0.0)
}

#[test]
fn two_thousand_random_engines_are_worked_as_exhaustive_search_says() {
    println!("seed {SEED}");
    let mut random = Random::new(SEED);
    let mut ties = 0;
    for number in 0..ENGINES {
        let value = random_engine(&mut random, |layout, c| visits(layout, c).len());
        let standing = draw_standing(&mut random, &value);
        let layout: Layout = serde_json::from_value(value.clone()).unwrap();
        let order = working_order(&OrderQuestion {
            layout: &layout,
            from_deg: standing.from_deg,
            from_bank: standing.from_bank,
            from_adaptor: standing.from_adaptor.as_deref(),
            done: &standing.done,
            put_off: &standing.put_off,
            wanted_next: standing.wanted_next,
        })
        .unwrap();
        let search = Search::new(&value, &standing);
        let (least, first) = search.best(&standing);
        let say = || format!("seed {SEED}, engine {number}: {standing:?}\n{value}");
        assert!(
            (order.minutes - least).abs() <= TIE,
            "{least} {order:?} {}",
            say()
        );
        let recounted = recounted_minutes(&order, &value, &standing);
        assert!((recounted - least).abs() <= TIE, "{}", say());
        assert_eq!(order.stops.len(), first.len(), "{}", say());
        for (stop, visit) in order.stops.iter().zip(&first) {
            let same = stop.cylinder == visit.cylinder
                && stop.offset_deg == visit.offset_deg
                && stop.adaptors == visit.adaptors;
            assert!(same, "{order:?}\n{first:?}\n{}", say());
            let angle = turn_deg(true, visit.angle_deg, stop.crank_deg);
            assert!(angle < 1e-9, "{}", say());
        }
        ties += usize::from(has_a_tie(&search, &standing, least));
    }
    println!("{ENGINES} engines agree; {ties} of them have more than one cheapest order");
    assert!(ties > ENGINES / 20, "ties have to be met to be tested");
}

/// Whether more than one order takes the least minutes.
fn has_a_tie(search: &Search, standing: &Standing, least: f64) -> bool {
    let start = At {
        angle_deg: standing.from_deg,
        bank: standing.from_bank,
        adaptor: standing.from_adaptor.clone(),
        minutes: 0.0,
    };
    let mut found = 0;
    let mut limit = least;
    search.walk(
        &start,
        &mut vec![false; search.ways.len()],
        &mut Vec::new(),
        &mut limit,
        &mut |_, _, _| {
            found += 1;
            found > 1
        },
    );
    found > 1
}
