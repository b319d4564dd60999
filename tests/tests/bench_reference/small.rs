//! Spring, guide, and what a layout may leave out.

use trayzero_core::bench::{Spring, guide_clearance, rim_length, spring_answer};
use trayzero_core::engine::SpringData;
use uom::si::angle::degree;
use uom::si::f64::{Angle, Length};
use uom::si::force::newton;
use uom::si::length::millimeter;

use crate::{agree, engine};

fn data() -> SpringData {
    SpringData {
        seated_load_n: 220.0,
        rate_n_per_mm: 32.0,
        seated_height_mm: 36.0,
        solid_height_mm: 22.5,
        travel_to_locks_mm: 11.0,
    }
}

/// 220 N and 32 N/mm over 11 mm: 572 N at the locks, the mean of both forces over the way,
/// 396 N x 11 mm = 4.356 J, and 36 - 11 - 22.5 = 2.5 mm left. By hand.
#[test]
fn spring_figures_agree_with_a_reckoning_by_hand() {
    let mut layout = engine();
    assert_eq!(spring_answer(&layout).unwrap(), None);
    layout.spring = Some(data());
    let found = spring_answer(&layout).unwrap().unwrap();
    agree(found.force_at_locks_n, 572.0, 1e-12);
    agree(found.energy_j, 4.356, 1e-12);
    agree(found.margin_mm, 2.5, 1e-12);
}

/// Energy is force over the way, here by the midpoint rule, which is exact for a line.
#[test]
fn spring_energy_is_the_sum_of_force_over_the_way() {
    let spring = Spring::of(&data()).unwrap();
    let steps = 100;
    let step = 11.0 / f64::from(steps);
    let sum: f64 = (0..steps)
        .map(|n| Length::new::<millimeter>((f64::from(n) + 0.5) * step))
        .map(|s| spring.force_at(s).unwrap().get::<newton>() * step / 1_000.0)
        .sum();
    let energy = spring.energy_at(Length::new::<millimeter>(11.0)).unwrap();
    agree(energy.get::<uom::si::energy::joule>(), sum, 1e-12);
}

#[test]
fn a_spring_is_not_pressed_beyond_solid_height() {
    let spring = Spring::of(&data()).unwrap();
    let solid = Length::new::<millimeter>(13.5);
    assert!(spring.margin_at(solid).unwrap().get::<millimeter>().abs() < 1e-9);
    let fault = spring
        .force_at(Length::new::<millimeter>(13.6))
        .unwrap_err();
    assert_eq!(
        fault.to_string(),
        "spring travel = 13.6 mm: allowed is 0 to 13.5 mm"
    );
    let upside_down = SpringData {
        solid_height_mm: 40.0,
        ..data()
    };
    assert!(Spring::of(&upside_down).is_err());
}

/// A stem that leans in its guide touches opposite edges at both ends. Turn it about the
/// middle of the guide: each end of the guide gives way by half the clearance, and the tip,
/// L/2 + h above the middle, moves by half the rock. So rock / clearance = (L/2 + h)/(L/2),
/// reckoned here by coordinates.
#[test]
fn guide_clearance_is_found_by_the_geometry_of_a_leaning_stem() {
    let (length, tip, clearance) = (38.0, 15.0, 0.09);
    let lean: f64 = (clearance / 2.0) / (length / 2.0);
    let rock = 2.0 * lean * (length / 2.0 + tip);
    let of = Length::new::<millimeter>;
    let found = guide_clearance(of(rock), of(length), of(tip)).unwrap();
    agree(found.get::<millimeter>(), clearance, 1e-12);
    let at_the_guide = guide_clearance(of(0.2), of(38.0), of(0.0)).unwrap();
    agree(at_the_guide.get::<millimeter>(), 0.2, 1e-12);
    assert!(guide_clearance(of(-0.1), of(38.0), of(15.0)).is_err());
    assert!(guide_clearance(of(0.1), of(0.0), of(15.0)).is_err());
}

#[test]
fn a_layout_without_spring_rim_or_guide_still_answers_the_rest() {
    let mut layout = engine();
    layout.rim_diameter_mm = None;
    layout.guide = None;
    layout.spring = None;
    let rim = layout.rim_diameter_mm.map(Length::new::<millimeter>);
    let arc = rim.map(|d| rim_length(d, Angle::new::<degree>(90.0)).unwrap());
    assert_eq!(arc, None);
    assert_eq!(spring_answer(&layout).unwrap(), None);
    let air = trayzero_core::bench::AirQuestion::default();
    assert!(air.answer(&layout).unwrap().lowest_bar.is_some());
}
