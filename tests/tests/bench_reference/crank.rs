//! Piston drop, its derivative, the torque and the widest angle.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use trayzero_core::bench::{Crank, rim_length, tdc_by_halving};
use uom::si::angle::{degree, radian};
use uom::si::f64::{Angle, Length, Pressure, Torque};
use uom::si::length::{meter, millimeter};
use uom::si::pressure::{bar, pascal};
use uom::si::torque::newton_meter;

use crate::agree;
use crate::random::Random;

const ENGINES: usize = 10_000;

/// Throw and rod in metres, and the crank train made of them.
struct Drawn {
    throw: f64,
    rod: f64,
    bore: f64,
    crank: Crank,
}

/// Rods of 1.5 to 3 strokes' halves and more: shorter and longer than any road engine's.
fn drawn(random: &mut Random) -> Drawn {
    let throw = random.between(0.015, 0.15);
    let rod = throw * random.between(1.5, 8.0);
    let bore = random.between(0.03, 0.3);
    let of = Length::new::<meter>;
    let crank = Crank::new(of(bore), of(2.0 * throw), of(rod)).unwrap();
    Drawn {
        throw,
        rod,
        bore,
        crank,
    }
}

/// Piston drop from the triangle of throw r, rod l and the distance s from crank centre
/// to piston pin: the law of cosines l^2 = r^2 + s^2 - 2 r s cos a, with s = r + l - x,
/// solved for x by bisection. Written out with 1 - cos a = 2 sin^2(a/2), it reads
/// x (2l - x) = 4 r (r + l - x) sin^2(a/2), which does not lose digits near the top.
fn drop_by_triangle(r: f64, l: f64, a: f64) -> f64 {
    let lean = (a / 2.0).sin().powi(2);
    let (mut low, mut high) = (0.0, 2.0 * r);
    for _ in 0..1_200 {
        let x = low + (high - low) / 2.0;
        if x <= low || x >= high {
            break;
        }
        if x * (2.0 * l - x) < 4.0 * r * (r + l - x) * lean {
            low = x;
        } else {
            high = x;
        }
    }
    high
}

#[test]
fn piston_drop_equals_the_crank_triangle_solved_numerically() {
    let mut random = Random::seeded(20_261);
    let mut worst: f64 = 0.0;
    for _ in 0..ENGINES {
        let d = drawn(&mut random);
        let a = random.between(-PI, PI);
        let x = d.crank.piston_drop(Angle::new::<radian>(a)).unwrap();
        let expected = drop_by_triangle(d.throw, d.rod, a);
        worst = worst.max((x.get::<meter>() / expected - 1.0).abs());
    }
    println!("worst relative error {worst:e}");
    assert!(worst <= 1e-9, "{worst:e}");
}

/// Central differences of the eighth order over the numerically solved triangle. The step
/// of 0.02 keeps the order's remainder near 1e-11 for the shortest rod and rounding below
/// 1e-12 of the throw. Angles keep 0.01 degrees off both dead centres, where the derivative
/// is zero and no relative error can be told; there it is checked on its own below.
#[test]
fn drop_per_radian_equals_central_differences() {
    const STEP: f64 = 0.02;
    const WEIGHTS: [f64; 4] = [4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0];
    let mut random = Random::seeded(20_262);
    let mut worst: f64 = 0.0;
    for i in 0..ENGINES {
        let d = drawn(&mut random);
        let side = if i % 2 == 0 { 1.0 } else { -1.0 };
        let a = side * random.between(0.01, 179.99).to_radians();
        let x = |a: f64| drop_by_triangle(d.throw, d.rod, a);
        let expected: f64 = (1..)
            .zip(WEIGHTS)
            .map(|(n, weight)| {
                let h = f64::from(n) * STEP;
                weight * (x(a + h) - x(a - h)) / STEP
            })
            .sum();
        let rate = d.crank.drop_per_radian(Angle::new::<radian>(a)).unwrap();
        worst = worst.max((rate.get::<meter>() / expected - 1.0).abs());
    }
    println!("worst relative error {worst:e}");
    assert!(worst <= 1e-9, "{worst:e}");
}

#[test]
fn the_piston_stands_still_at_both_dead_centres() {
    let d = drawn(&mut Random::seeded(20_263));
    for deg in [-180.0, 0.0, 180.0] {
        let at = Angle::new::<degree>(deg);
        let rate = d.crank.drop_per_radian(at).unwrap().get::<meter>();
        assert!(rate.abs() < 1e-15, "{rate}");
    }
    let bottom = d.crank.piston_drop(Angle::new::<degree>(180.0)).unwrap();
    agree(bottom.get::<meter>(), 2.0 * d.throw, 1e-15);
}

/// Heywood, Internal Combustion Engine Fundamentals, ch. 2, with R = l/a = 4 at 90 degrees;
/// memory.
#[test]
fn a_rod_of_four_throws_at_90_degrees_has_dropped_0_5635_strokes() {
    let of = Length::new::<millimeter>;
    let crank = Crank::new(of(80.0), of(100.0), of(200.0)).unwrap();
    let x = crank.piston_drop(Angle::new::<degree>(90.0)).unwrap();
    assert!((x.get::<millimeter>() / 100.0 - 0.5635).abs() < 5e-5);
}

/// Nodes and weights of the five-point Gauss-Legendre rule on -1 to 1 (Abramowitz and
/// Stegun, table 25.4, to double precision from their closed form; memory).
fn gauss_legendre() -> [(f64, f64); 5] {
    let root = 2.0 * (10.0_f64 / 7.0).sqrt();
    let (inner, outer) = ((5.0 - root).sqrt() / 3.0, (5.0 + root).sqrt() / 3.0);
    let (heavy, light) = (
        (322.0 + 13.0 * 70.0_f64.sqrt()) / 900.0,
        (322.0 - 13.0 * 70.0_f64.sqrt()) / 900.0,
    );
    [
        (-outer, light),
        (-inner, heavy),
        (0.0, 128.0 / 225.0),
        (inner, heavy),
        (outer, light),
    ]
}

/// Work is conserved: the air's torque over an angle does the work of its pressure over
/// the volume swept, taken from the triangle and not from the formula under test.
#[test]
fn torque_over_an_angle_equals_pressure_times_swept_volume() {
    const PANELS: usize = 60;
    let mut random = Random::seeded(20_264);
    for _ in 0..500 {
        let d = drawn(&mut random);
        let from = random.between(0.0, 2.0);
        let to = random.between(from + 0.2, PI);
        let p = random.between(0.5, 10.0);
        let pressure = Pressure::new::<bar>(p);
        let half = (to - from) / PANELS as f64 / 2.0;
        let mut work = 0.0;
        for panel in 0..PANELS {
            let middle = from + half * (2.0 * panel as f64 + 1.0);
            for (node, weight) in gauss_legendre() {
                let at = Angle::new::<radian>(middle + half * node);
                let torque = d.crank.torque(pressure, at).unwrap();
                work += half * weight * torque.get::<newton_meter>();
            }
        }
        let dropped = drop_by_triangle(d.throw, d.rod, to) - drop_by_triangle(d.throw, d.rod, from);
        let area = FRAC_PI_4 * d.bore * d.bore;
        agree(work, p * 1e5 * area * dropped, 1e-9);
    }
}

#[test]
fn air_before_the_top_pushes_backwards_just_as_hard() {
    let mut random = Random::seeded(20_265);
    for _ in 0..100 {
        let d = drawn(&mut random);
        let a = Angle::new::<radian>(random.between(0.01, 3.0));
        let p = Pressure::new::<bar>(4.0);
        let after = d.crank.torque(p, a).unwrap();
        let before = d.crank.torque(p, -a).unwrap();
        assert!(after.get::<newton_meter>() > 0.0);
        assert_eq!(before, -after);
    }
}

#[test]
fn torque_rises_to_its_peak_and_falls_after_it() {
    let mut random = Random::seeded(20_266);
    for _ in 0..200 {
        let d = drawn(&mut random);
        let peak = d.crank.peak().get::<radian>();
        assert!(peak > 0.5 && peak < FRAC_PI_2, "{peak}");
        let rate = |a: f64| {
            let rate = d.crank.drop_per_radian(Angle::new::<radian>(a));
            rate.unwrap().get::<meter>()
        };
        for step in 0..100 {
            let (this, next) = (f64::from(step) / 100.0, f64::from(step + 1) / 100.0);
            assert!(rate(peak * next) > rate(peak * this));
            let after = |share: f64| rate(peak + (FRAC_PI_2 - peak) * share);
            assert!(after(next) < after(this));
        }
    }
}

/// Against a walk in small steps away from the top.
#[test]
fn the_widest_angle_is_where_a_walk_from_the_top_first_turns_the_crank() {
    const STEP: f64 = 1e-4;
    let mut random = Random::seeded(20_267);
    let mut turned = 0;
    for _ in 0..50 {
        let d = drawn(&mut random);
        let p = Pressure::new::<bar>(random.between(0.1, 8.0));
        let still = Torque::new::<newton_meter>(random.between(2.0, 60.0));
        let peak = d.crank.peak().get::<radian>();
        let walked = (1..=20_000)
            .map(|n| f64::from(n) * STEP)
            .take_while(|a| *a <= peak)
            .find(|a| d.crank.torque(p, Angle::new::<radian>(*a)).unwrap() > still);
        let widest = d.crank.widest_angle(p, still).unwrap();
        match (walked, widest) {
            (Some(walked), Some(widest)) => {
                let off = walked - widest.get::<radian>();
                assert!((0.0..=STEP).contains(&off), "{off}");
                turned += 1;
            }
            (None, None) => (),
            other => panic!("walked and solved differ: {other:?}"),
        }
    }
    println!("turned {turned} of 50");
    assert!(turned > 10 && turned < 50, "both kinds have to occur");
}

#[test]
fn the_turning_pressure_makes_just_the_torque_asked_for() {
    let mut random = Random::seeded(20_268);
    for _ in 0..200 {
        let d = drawn(&mut random);
        let at = Angle::new::<degree>(random.between(-170.0, 170.0));
        let still = Torque::new::<newton_meter>(random.between(2.0, 60.0));
        if let Some(p) = d.crank.turning_pressure(still, at).unwrap() {
            let torque = d.crank.torque(p, at).unwrap().get::<newton_meter>();
            agree(torque.abs(), still.get::<newton_meter>(), 1e-12);
        }
    }
}

#[test]
fn no_pressure_turns_the_crank_at_the_top() {
    let d = drawn(&mut Random::seeded(20_269));
    let still = Torque::new::<newton_meter>(9.0);
    for deg in [0.0, -0.0, 1e-300, -180.0, 180.0] {
        let at = Angle::new::<degree>(deg);
        assert_eq!(d.crank.turning_pressure(still, at).unwrap(), None, "{deg}");
    }
}

#[test]
fn figures_out_of_range_are_refused_by_name_value_and_range() {
    let of = Length::new::<millimeter>;
    let crank = Crank::new(of(86.0), of(86.0), of(143.0)).unwrap();
    let at = Angle::new::<degree>;
    let still = Torque::new::<newton_meter>(9.0);
    let faults = [
        Crank::new(of(0.0), of(86.0), of(143.0)).unwrap_err(),
        Crank::new(of(86.0), of(f64::NAN), of(143.0)).unwrap_err(),
        Crank::new(of(86.0), of(86.0), of(43.0)).unwrap_err(),
        crank.piston_drop(at(180.5)).unwrap_err(),
        crank.piston_drop(at(f64::INFINITY)).unwrap_err(),
        crank
            .torque(Pressure::new::<pascal>(-1.0), at(1.0))
            .unwrap_err(),
        crank
            .widest_angle(Pressure::new::<bar>(1.0), -still)
            .unwrap_err(),
    ];
    let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        words,
        [
            "bore = 0 mm: allowed is 1 to 2000 mm",
            "stroke = NaN mm: allowed is 1 to 4000 mm",
            "rod length = 43 mm: allowed is 43.000043 to 20000 mm",
            "angle off TDC = 180.5 deg: allowed is -180 to 180 deg",
            "angle off TDC = inf deg: allowed is -180 to 180 deg",
            "pressure = -0.00001 bar: allowed is 0 to 1000 bar",
            "breakaway torque = -9 Nm: allowed is 0.01 to 100000 Nm",
        ]
    );
}

/// A full turn is the rim's circumference, pi D.
#[test]
fn a_turn_is_once_round_the_rim() {
    let rim = Length::new::<millimeter>(160.0);
    let once = rim_length(rim, Angle::new::<degree>(360.0)).unwrap();
    agree(once.get::<millimeter>(), PI * 160.0, 1e-15);
    let back = rim_length(rim, Angle::new::<degree>(-90.0)).unwrap();
    agree(back.get::<millimeter>(), -PI * 40.0, 1e-15);
    assert!(rim_length(Length::new::<millimeter>(0.0), Angle::new::<degree>(1.0)).is_err());
}

/// Two crank angles of equal piston height are found on the triangle, not by the halving.
#[test]
fn halving_finds_the_top_between_two_equal_heights() {
    let mut random = Random::seeded(20_270);
    let at = Angle::new::<degree>;
    for _ in 0..200 {
        let d = drawn(&mut random);
        let (top, off) = (random.between(0.0, 360.0), random.between(1.0, 170.0));
        let height = |deg: f64| drop_by_triangle(d.throw, d.rod, deg.to_radians());
        agree(height(-off), height(off), 1e-12);
        let wheel = |deg: f64| deg.rem_euclid(360.0);
        let halved = tdc_by_halving(at(wheel(top - off)), at(wheel(top + off))).unwrap();
        let found = halved.tdc.get::<degree>();
        let apart = (found - top + 180.0).rem_euclid(360.0) - 180.0;
        assert!(apart.abs() < 1e-9, "{found} {top}");
        agree(halved.turn_from_first.get::<degree>(), off, 1e-9);
    }
    let across_zero = tdc_by_halving(at(350.0), at(10.0)).unwrap();
    assert_eq!(across_zero.tdc.get::<degree>(), 0.0);
    assert!(tdc_by_halving(at(10.0), at(10.0)).is_err());
    assert!(tdc_by_halving(at(f64::NAN), at(10.0)).is_err());
}
