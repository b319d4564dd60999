//! Oil used per distance, against scipy and numpy.

use serde_json::Value;
use trayzero_core::bench::{BenchError, Estimate, TopUp, oil_rate, student_quantile};

use crate::agree;
use crate::random::Random;

/// Values of `reference/oil_rate.py`: weighted least squares and the sandwich by plain
/// matrix algebra of numpy, and `scipy.stats.t`.
fn reference() -> Value {
    serde_json::from_str(include_str!("../../reference/oil_rate.json")).unwrap()
}

fn top_ups(set: &Value) -> Vec<TopUp> {
    let pair = |p: &Value| TopUp {
        odometer_km: p[0].as_f64().unwrap(),
        litres: p[1].as_f64().unwrap(),
    };
    set["top_ups"]
        .as_array()
        .unwrap()
        .iter()
        .map(pair)
        .collect()
}

fn compare(found: &Estimate, expected: &Value, share: f64) {
    let of = |key: &str| expected[key].as_f64().unwrap();
    agree(found.value, of("value"), share);
    agree(found.standard_error.unwrap(), of("standard_error"), share);
    let (low, high) = found.interval.unwrap();
    agree(low, of("low"), share);
    agree(high, of("high"), share);
}

#[test]
fn rate_error_and_interval_agree_with_scipy_on_three_sets() {
    let reference = reference();
    let sets = reference["sets"].as_array().unwrap();
    assert_eq!(sets.len(), 3);
    for set in sets {
        let rate = oil_rate(&top_ups(set)).unwrap();
        compare(&rate.litres_per_1000_km, &set["litres_per_1000_km"], 1e-9);
        // NIST SP 811 prints the US quart to seven digits.
        compare(&rate.quarts_per_1000_mi, &set["quarts_per_1000_mi"], 1e-7);
    }
}

#[test]
fn quantiles_of_student_s_t_agree_with_scipy() {
    let reference = reference();
    let table = reference["two_sided_95_percent_t"].as_object().unwrap();
    assert_eq!(table.len(), 12);
    for (nu, t) in table {
        let found = student_quantile(0.95, nu.parse().unwrap()).unwrap();
        agree(found, t.as_f64().unwrap(), 1e-9);
    }
}

fn at(odometer_km: f64, litres: f64) -> TopUp {
    TopUp {
        odometer_km,
        litres,
    }
}

#[test]
fn the_first_top_up_only_fixes_the_origin() {
    let steady = |first: f64| {
        let list: Vec<TopUp> = (0..5)
            .map(|n| at(f64::from(n) * 800.0, if n == 0 { first } else { 0.4 }))
            .collect();
        oil_rate(&list).unwrap()
    };
    agree(steady(0.4).litres_per_1000_km.value, 0.5, 1e-12);
    assert_eq!(steady(0.4), steady(3.0));
    // Points on a line leave no doubt.
    let error = steady(0.4).litres_per_1000_km.standard_error.unwrap();
    assert!(error < 1e-12, "{error}");
}

#[test]
fn the_order_of_the_list_does_not_matter() {
    let reference = reference();
    let mut list = top_ups(&reference["sets"][2]);
    let sorted = oil_rate(&list).unwrap();
    list.reverse();
    list.swap(3, 9);
    assert_eq!(oil_rate(&list).unwrap(), sorted);
}

#[test]
fn two_top_ups_give_a_rate_without_uncertainty() {
    let rate = oil_rate(&[at(1_000.0, 1.0), at(3_000.0, 1.0)]).unwrap();
    agree(rate.litres_per_1000_km.value, 0.5, 1e-12);
    assert_eq!(rate.litres_per_1000_km.standard_error, None);
    assert_eq!(rate.litres_per_1000_km.interval, None);
    assert_eq!(rate.top_ups, 2);
}

#[test]
fn too_few_top_ups_and_slips_are_refused() {
    let few = BenchError::TooFew {
        quantity: "oil top-ups",
        given: 1,
        needed: 2,
    };
    assert_eq!(oil_rate(&[at(1.0, 1.0)]).unwrap_err(), few);
    assert!(oil_rate(&[]).is_err());
    let quantity = |list: &[TopUp]| oil_rate(list).unwrap_err().quantity();
    assert_eq!(quantity(&[at(1.0, 1.0), at(f64::NAN, 1.0)]), "odometer");
    assert_eq!(quantity(&[at(1.0, 1.0), at(2.0, -1.0)]), "oil topped up");
    assert_eq!(
        quantity(&[at(5.0, 1.0), at(5.0, 1.0)]),
        "distance between first and last top-up"
    );
}

/// Nearly the normal distribution of mean 0 and deviation 1.
fn normal(random: &mut Random) -> f64 {
    (0..12).map(|_| random.between(-0.5, 0.5)).sum()
}

/// Kilometres and litres of an engine that uses 0.5 litres a thousand kilometres, where the
/// litres read off are wrong by `read_off` and use varies by `varies` from fill to fill.
fn fills(random: &mut Random, count: usize, read_off: f64, varies: f64) -> Vec<TopUp> {
    let mut odometer_km = 80_000.0;
    let mut list = vec![at(odometer_km, 1.0)];
    for _ in 0..count {
        let km = random.between(500.0, 1_500.0);
        let used = 0.0005 * km * (1.0 + varies * normal(random));
        let litres = used * (1.0 + read_off * normal(random));
        odometer_km += km;
        list.push(at(odometer_km, litres.max(0.01)));
    }
    list
}

#[test]
fn the_interval_holds_for_litres_read_off_wrongly_and_for_use_that_varies() {
    let mut random = Random::seeded(1_900_523);
    for (read_off, varies) in [(0.10, 0.0), (0.0, 0.15), (0.10, 0.15)] {
        for count in [3, 6, 12] {
            let mut inside = 0;
            for _ in 0..2_000 {
                let list = fills(&mut random, count, read_off, varies);
                let rate = oil_rate(&list).unwrap().litres_per_1000_km;
                let (low, high) = rate.interval.unwrap();
                inside += u32::from((low..=high).contains(&0.5));
            }
            let share = f64::from(inside) / 20.0;
            println!("read off {read_off}, varies {varies}, {count} fills: {share:.1} % inside");
            assert!((92.5..=97.0).contains(&share), "{share}");
        }
    }
}
