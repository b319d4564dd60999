//! Isentropic flow, leak-down and free air.

use std::f64::consts::FRAC_PI_4;

use trayzero_core::bench::{
    BenchError, CRITICAL_RATIO, HeardWhere, LeakAnswer, LeakClass, LeakGauges, Orifice, can_hold,
    free_air, loss, pressure_behind, relative_flow,
};
use uom::si::f64::{Length, MassRate, Pressure};
use uom::si::length::{inch, millimeter};
use uom::si::mass_rate::kilogram_per_second;
use uom::si::pressure::{bar, psi};
use uom::si::volume_rate::cubic_meter_per_second;

use crate::random::Random;
use crate::{agree, engine};

/// NACA Report 1135 (1953), k = 1.4: Mach number, p/p0 and A/A* as printed; memory.
const NACA_1135: [(f64, f64, f64); 4] = [
    (0.3, 0.9395, 2.0351),
    (0.5, 0.8430, 1.3398),
    (0.8, 0.6560, 1.0382),
    (1.0, 0.5283, 1.0),
];

/// Pressure ratio at a Mach number, equation 44 of the report: (1 + M^2/5)^(-7/2).
fn ratio_at(mach: f64) -> f64 {
    (1.0 + mach * mach / 5.0).powf(-3.5)
}

/// A/A* at a Mach number, equation 80 of the report: 125/216 (1 + M^2/5)^3 / M.
fn area_at(mach: f64) -> f64 {
    125.0 / 216.0 * (1.0 + mach * mach / 5.0).powi(3) / mach
}

#[test]
fn flow_agrees_with_the_printed_table_to_its_digits() {
    for (mach, pressure_ratio, area_ratio) in NACA_1135 {
        let ratio = ratio_at(mach);
        assert!((ratio - pressure_ratio).abs() <= 5e-5, "p/p0 at {mach}");
        let found = 1.0 / relative_flow(ratio).unwrap();
        assert!(
            (found - area_ratio).abs() <= 5.1e-5,
            "A/A* at {mach}: {found}"
        );
    }
}

#[test]
fn flow_agrees_with_the_mach_number_relations_over_the_whole_range() {
    let mut random = Random::seeded(11_351);
    for _ in 0..1_000 {
        let mach = random.between(0.001, 1.0);
        let found = relative_flow(ratio_at(mach)).unwrap();
        agree(found, 1.0 / area_at(mach), 1e-9);
    }
}

#[test]
fn flow_is_choked_up_to_the_critical_ratio_and_nothing_at_equal_pressures() {
    agree(CRITICAL_RATIO, ratio_at(1.0), 1e-14);
    for ratio in [0.0, 0.2, CRITICAL_RATIO] {
        assert_eq!(relative_flow(ratio).unwrap(), 1.0);
    }
    assert_eq!(relative_flow(1.0).unwrap(), 0.0);
    for ratio in [-0.1, 1.1, f64::NAN, f64::INFINITY] {
        assert!(relative_flow(ratio).is_err());
    }
}

/// Choked flow of air, mdot = 0.0404 A p0 / sqrt(T0) in SI units, as printed in textbooks
/// of gas dynamics (memory), times the discharge coefficient.
#[test]
fn choked_mass_flow_agrees_with_the_textbook_constant() {
    let orifice = Orifice::new(Length::new::<millimeter>(1.0)).unwrap();
    let (five, none) = (Pressure::new::<bar>(5.0), Pressure::new::<bar>(0.0));
    let flow = orifice.mass_flow(five, none).unwrap();
    let expected = 0.8 * 0.0404 * (FRAC_PI_4 * 1e-6) * 6.013_25e5 / 293.15_f64.sqrt();
    agree(flow.get::<kilogram_per_second>(), expected, 1e-3);
}

/// ISO 8778: free air is at 100 kPa and 20 degrees C; its density by the gas law is
/// 100000 / (287.05 x 293.15) = 1.1884 kg a cubic metre.
#[test]
fn a_cubic_metre_of_free_air_weighs_1_1884_kg() {
    let volume = free_air(MassRate::new::<kilogram_per_second>(1.1884)).unwrap();
    agree(volume.get::<cubic_meter_per_second>(), 1.0, 5e-5);
    assert!(free_air(MassRate::new::<kilogram_per_second>(f64::NAN)).is_err());
}

fn answer(supply_bar: f64, cylinder_bar: f64) -> LeakAnswer {
    let reading = LeakGauges {
        supply_bar,
        cylinder_bar,
        orifice_mm: 1.0,
    };
    reading.answer().unwrap()
}

/// The hole's diameter and the free air, from Mach numbers: each flow is the choked one
/// over A/A*, with the Mach number found by bisection. None of the tested formulas is used.
#[test]
fn the_leaking_hole_passes_what_the_orifice_lets_in() {
    let mach_at = |ratio: f64| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..200 {
            let middle: f64 = f64::midpoint(low, high);
            if ratio_at(middle) > ratio {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    };
    let drive = |before: f64, behind: f64| before / area_at(mach_at(behind / before).max(1e-12));
    let mut random = Random::seeded(11_352);
    for _ in 0..500 {
        let supply = random.between(0.5, 10.0);
        let cylinder = supply * random.between(0.02, 0.98);
        let (p1, p2) = (supply + 1.013_25, cylinder + 1.013_25);
        let found = answer(supply, cylinder);
        let diameter = (drive(p1, p2) / drive(p2, 1.013_25)).sqrt();
        agree(found.leak_diameter_mm.unwrap(), diameter, 1e-9);
        // Choked: A p1 sqrt(k/(R T)) (5/6)^3, and volume by the gas law at 1 bar.
        let choked = (1.4 / (287.05 * 293.15_f64)).sqrt() * (5.0_f64 / 6.0).powi(3);
        let mass = 0.8 * FRAC_PI_4 * 1e-6 * choked * drive(p1, p2) * 1e5;
        let litres = mass * 287.05 * 293.15 / 1e5 * 60_000.0;
        agree(found.free_air_l_min, litres, 1e-9);
    }
}

#[test]
fn a_cylinder_without_leak_loses_nothing() {
    let tight = answer(6.0, 6.0);
    assert_eq!(tight.loss_percent, 0.0);
    assert_eq!(tight.class, LeakClass::Good);
    assert_eq!(tight.leak_diameter_mm, Some(0.0));
    assert_eq!(tight.free_air_l_min, 0.0);
    assert!(tight.left_out.is_empty());
}

#[test]
fn a_cylinder_without_pressure_has_no_hole_to_reckon_but_keeps_the_rest() {
    let open = answer(6.0, 0.0);
    assert_eq!(open.loss_percent, 100.0);
    assert_eq!(open.class, LeakClass::FindTheLeak);
    assert_eq!(open.leak_diameter_mm, None);
    assert_eq!(open.left_out[0].figure, "leak_diameter_mm");
    assert!(open.free_air_l_min > 0.0 && open.free_air_l_min.is_finite());
    // A pressure so small that it is lost against the atmosphere is none either.
    assert_eq!(answer(6.0, 1e-300).leak_diameter_mm, None);
    let text = serde_json::to_string(&open).unwrap();
    assert!(text.contains("\"leak_diameter_mm\":null"), "{text}");
}

#[test]
fn an_impossible_reading_is_refused_by_name_value_and_range() {
    let refused = |supply_bar: f64, cylinder_bar: f64, orifice_mm: f64| {
        let reading = LeakGauges {
            supply_bar,
            cylinder_bar,
            orifice_mm,
        };
        reading.answer().unwrap_err()
    };
    let words = |fault: BenchError| fault.to_string();
    assert_eq!(
        words(refused(5.0, 5.1, 1.0)),
        "cylinder pressure = 5.1 bar: allowed is 0 to 5 bar"
    );
    assert_eq!(
        words(refused(0.0, 0.0, 1.0)),
        "supply pressure = 0 bar: allowed is 0.01 to 50 bar"
    );
    assert_eq!(
        words(refused(5.0, -0.1, 1.0)),
        "cylinder pressure = -0.1 bar: allowed is 0 to 5 bar"
    );
    assert_eq!(
        words(refused(5.0, 4.0, 0.0)),
        "orifice diameter = 0 mm: allowed is 0.05 to 25 mm"
    );
    assert!(words(refused(f64::NAN, 4.0, 1.0)).starts_with("supply pressure = NaN"));
}

/// Limits of the classes: common practice, no source.
#[test]
fn a_loss_has_its_class_up_to_and_with_the_limit() {
    let classes = [
        (10.0, 9.0, LeakClass::Good),
        (7.0, 6.3, LeakClass::Good),
        (10.0, 8.999, LeakClass::Usable),
        (10.0, 8.0, LeakClass::Usable),
        (10.0, 7.999, LeakClass::Poor),
        (10.0, 7.0, LeakClass::Poor),
        (10.0, 6.999, LeakClass::FindTheLeak),
        (10.0, 0.0, LeakClass::FindTheLeak),
    ];
    for (supply, cylinder, class) in classes {
        assert_eq!(answer(supply, cylinder).class, class, "{supply} {cylinder}");
    }
}

/// FAA AC 43.13-1B, ch. 8; memory: with a supply of 80 psi a reading below 60 psi is a
/// cause to look further, measured through an orifice of 0.040 in.
#[test]
fn sixty_of_eighty_psi_is_a_quarter_lost_and_past_usable() {
    let (eighty, sixty) = (Pressure::new::<psi>(80.0), Pressure::new::<psi>(60.0));
    let lost = loss(eighty, sixty).unwrap();
    agree(lost, 0.25, 1e-12);
    assert!(LeakClass::of(lost) > LeakClass::Usable);
    let reading = LeakGauges {
        supply_bar: eighty.get::<bar>(),
        cylinder_bar: sixty.get::<bar>(),
        orifice_mm: Length::new::<inch>(0.040).get::<millimeter>(),
    };
    let hole = reading.answer().unwrap().leak_diameter_mm.unwrap();
    // By hand: 6.529 and 5.150 bar absolute, p/p0 0.7888, where A/A* is 1.192 (M 0.592,
    // the report's equations); the hole itself is choked, so its area is the orifice's
    // times 6.529 / (1.192 x 5.150) = 1.0635.
    agree(hole, 1.016 * 1.0635_f64.sqrt(), 3e-3);
}

/// What each place points to: common practice, no source.
#[test]
fn where_the_air_is_heard_tells_what_leaks() {
    let told = [
        (HeardWhere::Intake, "intake valve"),
        (HeardWhere::Exhaust, "exhaust valve"),
        (HeardWhere::OilFiller, "rings"),
        (HeardWhere::Coolant, "coolant"),
        (HeardWhere::NextPlugHole, "between two cylinders"),
    ];
    for (heard, word) in told {
        assert!(heard.points_to().contains(word));
    }
}

#[test]
fn the_same_hole_gives_the_same_reading_back_and_less_at_less_supply() {
    let mut random = Random::seeded(11_353);
    for _ in 0..200 {
        let supply = random.between(0.5, 10.0);
        let cylinder = supply * random.between(0.02, 0.999);
        let of = Pressure::new::<bar>;
        let same = pressure_behind(of(supply), of(cylinder), of(supply)).unwrap();
        agree(same.get::<bar>(), cylinder, 1e-9);
        let other = supply * random.between(0.2, 0.9);
        let there = pressure_behind(of(supply), of(cylinder), of(other)).unwrap();
        assert!(there.get::<bar>() < cylinder);
        // The hole reckoned from there is the hole reckoned from here.
        let here = answer(supply, cylinder).leak_diameter_mm.unwrap();
        let again = answer(other, there.get::<bar>()).leak_diameter_mm.unwrap();
        agree(again, here, 1e-6);
    }
}

#[test]
fn a_cylinder_that_leaks_too_much_cannot_hold_its_valves() {
    let reading = |cylinder_bar: f64| LeakGauges {
        supply_bar: 6.0,
        cylinder_bar,
        orifice_mm: 1.0,
    };
    let tight = can_hold(&engine(), &reading(5.9)).unwrap();
    assert_eq!(tight.holds, Some(true));
    assert!(tight.reaches_bar > 5.9 && tight.reaches_bar < 7.0);
    let leaking = can_hold(&engine(), &reading(1.0)).unwrap();
    assert_eq!(leaking.holds, Some(false));
    let empty = can_hold(&engine(), &reading(0.0)).unwrap();
    assert_eq!((empty.reaches_bar, empty.holds), (0.0, Some(false)));
    let full = can_hold(&engine(), &reading(6.0)).unwrap();
    assert_eq!((full.reaches_bar, full.holds), (7.0, Some(true)));
    let mut no_seat = engine();
    no_seat.intake_seat_mm = None;
    assert_eq!(can_hold(&no_seat, &reading(5.9)).unwrap().holds, None);
}
