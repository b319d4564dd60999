//! Random engines and places in a job.

use serde_json::{Value, json};

use super::random::Random;

/// The most orders one engine may have.
const ORDERS_MAX: f64 = 200_000.0;

/// Where the job stands, owned.
#[derive(Clone, Debug, Default)]
pub struct Standing {
    pub from_deg: f64,
    pub from_bank: Option<usize>,
    pub from_adaptor: Option<String>,
    pub done: Vec<u8>,
    pub put_off: Vec<u8>,
    pub wanted_next: Option<u8>,
}

/// A random engine of 1 to 7 cylinders, drawn again until it can be searched. `ways`
/// says in how many ways a cylinder can be worked.
pub fn random_engine(random: &mut Random, ways: impl Fn(&Value, u8) -> usize) -> Value {
    loop {
        let layout = draw_engine(random);
        let mut orders = 1.0;
        for (i, cylinder) in numbers(&layout).into_iter().enumerate() {
            orders *= (i + 1) as f64 * ways(&layout, cylinder) as f64;
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
        layout["tops"] = json!("either");
    }
    if random.chance(0.5) {
        layout["handling_min"]["cylinder_setup"] = json!(random.of(&[1.0, 3.0, 0.7]));
    }
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
pub fn draw_standing(random: &mut Random, layout: &Value) -> Standing {
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

/// Cylinder numbers, bank by bank.
pub fn numbers(layout: &Value) -> Vec<u8> {
    let banks = layout["banks"].as_array().unwrap().iter();
    banks
        .flat_map(|b| b["cylinders"].as_array().unwrap())
        .map(|c| u8::try_from(c.as_u64().unwrap()).unwrap())
        .collect()
}
