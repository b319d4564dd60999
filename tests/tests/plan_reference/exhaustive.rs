//! The working order equals an exhaustive search that shares no code with it.
//!
//! The search walks every order of cylinders, offsets and adaptors in the order in
//! which ties are settled: once for the least minutes, once for the first order within
//! 1e-9 of them. A branch is left only when it costs more already; no step is negative.

use serde_json::{Value, json};
use trayzero_core::engine::Layout;
use trayzero_core::plan::{OrderQuestion, WorkingOrder, working_order};

use super::random::Random;

const SEED: u64 = 720_360;
const ENGINES: usize = 2_000;
const TIE: f64 = 1e-9;

/// The most orders one engine may have.
const ORDERS_MAX: f64 = 200_000.0;

/// One stop as the search sees it.
#[derive(Clone, Debug, PartialEq)]
struct Visit {
    cylinder: u8,
    offset_deg: f64,
    adaptors: Vec<String>,
    bank: usize,
    angle_deg: f64,
}

/// Where the job stands, owned.
#[derive(Clone, Debug, Default)]
struct Standing {
    from_deg: f64,
    from_bank: Option<usize>,
    from_adaptor: Option<String>,
    done: Vec<u8>,
    put_off: Vec<u8>,
    wanted_next: Option<u8>,
}

/// What steps cost.
struct Prices {
    a_degree: f64,
    a_bank: f64,
    an_adaptor: f64,
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
        minutes: at.minutes + turn * prices.a_degree + bank + changes as f64 * prices.an_adaptor,
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

fn numbers(layout: &Value) -> Vec<u8> {
    let banks = layout["banks"].as_array().unwrap().iter();
    banks
        .flat_map(|b| b["cylinders"].as_array().unwrap())
        .map(|c| u8::try_from(c.as_u64().unwrap()).unwrap())
        .collect()
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

/// A random engine of 1 to 7 cylinders, drawn again until it can be searched.
fn random_engine(random: &mut Random) -> Value {
    loop {
        let layout = draw_engine(random);
        let mut orders = 1.0;
        for (i, cylinder) in numbers(&layout).into_iter().enumerate() {
            orders *= (i + 1) as f64 * visits(&layout, cylinder).len() as f64;
        }
        if orders <= ORDERS_MAX {
            return layout;
        }
    }
}

fn draw_engine(random: &mut Random) -> Value {
    let count = 1 + random.below(7);
    let mut numbers: Vec<u8> = (1..=12).collect();
    random.shuffle(&mut numbers);
    numbers.truncate(count);
    let mut firing = numbers.clone();
    random.shuffle(&mut firing);
    let bank_count = 1 + random.below(count.min(3));
    let mut banks = vec![Vec::new(); bank_count];
    for (i, number) in numbers.iter().enumerate() {
        let bank = if i < bank_count {
            i
        } else {
            random.below(bank_count)
        };
        banks[bank].push(*number);
    }
    let banks: Vec<Value> = banks
        .iter()
        .zip(["left", "right", "middle"])
        .map(|(cylinders, name)| json!({"name": name, "cylinders": cylinders}))
        .collect();
    let (intakes, exhausts) = (1 + random.below(2), 1 + random.below(2));
    let positions = draw_positions(random, &numbers);
    let rules = draw_adaptors(random, &numbers, intakes, exhausts);
    let mut layout = json!({
        "format": 1, "name": "random", "banks": banks, "bank_angle_deg": 60.0,
        "firing_order": firing, "may_turn_back": random.chance(0.4),
        "intake_valves": intakes, "exhaust_valves": exhausts, "locks_per_valve": 2,
        "springs_per_valve": 1, "follower": "finger", "bore_mm": 86.0, "stroke_mm": 86.0,
        "rod_mm": 143.0, "breakaway_torque_nm": 18.0, "pressure_rating_bar": 7.0,
        "working_positions": positions, "adaptors": rules,
        "handling_min": {
            "turn_360": random.of(&[0.0, 1.0, 4.0, 3.7]),
            "bank_change": random.of(&[0.0, 0.5, 2.0, 10.0, 1.0 / 3.0]),
            "adaptor_change": random.of(&[0.0, 0.5, 1.0, 0.1]),
        },
    });
    if random.chance(0.4) {
        layout["firing_intervals_deg"] = json!(draw_intervals(random, count));
    }
    layout
}

fn draw_positions(random: &mut Random, numbers: &[u8]) -> Vec<Value> {
    let on_grid = random.chance(0.5);
    let mut positions = Vec::new();
    for number in numbers {
        if random.chance(0.5) {
            continue;
        }
        let mut offsets: Vec<f64> = Vec::new();
        for _ in 0..=random.below(3) {
            let offset = if on_grid {
                random.of(&[-30.0, -12.0, 0.0, 12.0, 30.0, 60.0, -60.0])
            } else {
                random.between(-60.0, 60.0)
            };
            if !offsets.contains(&offset) {
                offsets.push(offset);
            }
        }
        positions.push(json!({"cylinder": number, "offsets_deg": offsets, "why": "in the way"}));
    }
    positions
}

fn draw_adaptors(
    random: &mut Random,
    numbers: &[u8],
    intakes: usize,
    exhausts: usize,
) -> Vec<Value> {
    let share = random.of(&[0.0, 0.2, 0.5]);
    let mut rules = Vec::new();
    for number in numbers {
        for (side, count) in [("intake", intakes), ("exhaust", exhausts)] {
            for place in 1..=count {
                if random.chance(share) {
                    let adaptor = random.of(&["angled", "short", "wide"]);
                    rules.push(json!({
                        "cylinder": number, "valve": format!("{side} {place}"),
                        "adaptor": adaptor,
                    }));
                }
            }
        }
    }
    rules
}

/// Whole degrees that sum to 720.
fn draw_intervals(random: &mut Random, count: usize) -> Vec<f64> {
    let mut cuts: Vec<usize> = (1..720).collect();
    random.shuffle(&mut cuts);
    cuts.truncate(count - 1);
    cuts.extend([0, 720]);
    cuts.sort_unstable();
    cuts.windows(2).map(|w| (w[1] - w[0]) as f64).collect()
}

/// Half the questions stand at the start, half somewhere in the job.
fn draw_standing(random: &mut Random, layout: &Value) -> Standing {
    if random.chance(0.5) {
        return Standing::default();
    }
    let numbers = numbers(layout);
    let mut some = || -> Vec<u8> {
        let mut picked = numbers.clone();
        picked.retain(|_| random.chance(0.25));
        picked
    };
    let (done, put_off) = (some(), some());
    let left: Vec<u8> = numbers
        .iter()
        .copied()
        .filter(|c| !done.contains(c))
        .collect();
    let wanted_next = (!left.is_empty() && random.chance(0.3)).then(|| random.of(&left));
    let bank_count = layout["banks"].as_array().unwrap().len();
    Standing {
        from_deg: random.of(&[0.0, 90.0, 240.0, 719.5, -30.0, 1000.25]),
        from_bank: random.chance(0.7).then(|| random.below(bank_count)),
        from_adaptor: random.chance(0.7).then(|| {
            random
                .of(&["standard", "angled", "short", "unknown"])
                .to_owned()
        }),
        done,
        put_off,
        wanted_next,
    }
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
}

#[test]
fn two_thousand_random_engines_are_worked_as_exhaustive_search_says() {
    println!("seed {SEED}");
    let mut random = Random::new(SEED);
    let mut ties = 0;
    for number in 0..ENGINES {
        let value = random_engine(&mut random);
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
