//! The pressure window on a layout.

use trayzero_core::bench::{
    AirAnswer, AirQuestion, Crank, Verdict, air_window_curve, hold_force, least_pressure,
    suggested_between,
};
use trayzero_core::engine::Layout;
use uom::si::f64::{Force, Length, Pressure};
use uom::si::force::{newton, pound_force};
use uom::si::length::{inch, millimeter};
use uom::si::pressure::{bar, psi};

use crate::random::Random;
use crate::{agree, engine};

fn ask(layout: &Layout, off_tdc_deg: f64, pressure_bar: Option<f64>) -> AirAnswer {
    let question = AirQuestion {
        off_tdc_deg,
        pressure_bar,
        breakaway_nm: None,
    };
    question.answer(layout).unwrap()
}

/// Figures of the test engine, worked out apart from this program: drop and its slope by
/// solving the crank triangle and differencing it numerically, forces from p pi/4 D^2,
/// the widest angle by walking in steps of 0.0001 degrees.
#[test]
fn the_figures_of_one_engine_agree_with_a_separate_reckoning() {
    let at_12 = ask(&engine(), 12.0, Some(3.0));
    agree(at_12.piston_drop_mm, 1.219_392_603_975, 1e-9);
    agree(at_12.torque_nm.unwrap(), 20.170_941_268, 1e-8);
    agree(at_12.hold_intake_n.unwrap(), 226.430_290_507, 1e-9);
    agree(at_12.hold_exhaust_n.unwrap(), 171.766_578_335, 1e-9);
    agree(at_12.lowest_bar.unwrap(), 2.095_867_563_350, 1e-9);
    agree(at_12.highest_bar, 1.338_559_249_177, 1e-8);
    assert_eq!(at_12.suggested_bar, None);
    assert!((at_12.widest_off_tdc_deg.unwrap() - 5.303_0).abs() <= 2e-4);
    let at_5 = ask(&engine(), 5.0, None);
    agree(at_5.highest_bar, 3.180_989_132_653, 1e-8);
    agree(at_5.suggested_bar.unwrap(), 2.582_040_267_406, 1e-8);
    assert!((at_5.widest_off_tdc_deg.unwrap() - 7.609_4).abs() <= 2e-4);
    assert_eq!(at_5.verdict, Some(Verdict::Window));
}

/// 60 psi on a seat of 1 in: 60 x pi/4 lbf, by the meaning of pounds per square inch.
#[test]
fn holding_force_in_inches_and_pounds_is_pressure_times_area() {
    let (p, d) = (Pressure::new::<psi>(60.0), Length::new::<inch>(1.0));
    let held = hold_force(p, d).unwrap().get::<pound_force>();
    agree(held, 60.0 * std::f64::consts::FRAC_PI_4, 1e-6);
}

#[test]
fn the_least_pressure_holds_twice_the_push() {
    let (push, seat) = (Force::new::<newton>(60.0), Length::new::<millimeter>(27.0));
    let least = least_pressure(push, seat).unwrap();
    agree(
        hold_force(least, seat).unwrap().get::<newton>(),
        120.0,
        1e-12,
    );
    assert!(least_pressure(push, Length::new::<millimeter>(0.0)).is_err());
    assert!(least_pressure(-push, seat).is_err());
}

#[test]
fn the_suggestion_is_as_many_times_the_lowest_as_the_highest_is_times_it() {
    let of = Pressure::new::<bar>;
    let middle = suggested_between(of(2.0), of(8.0)).unwrap();
    agree(middle.get::<bar>(), 4.0, 1e-12);
    assert_eq!(suggested_between(of(2.1), of(2.0)), None);
    assert_eq!(suggested_between(of(f64::NAN), of(2.0)), None);
}

#[test]
fn the_ends_of_the_window_hold_and_anything_outside_does_not() {
    let open = ask(&engine(), 5.0, None);
    let (lowest, highest) = (open.lowest_bar.unwrap(), open.highest_bar);
    let verdict = |p: f64| ask(&engine(), 5.0, Some(p)).verdict.unwrap();
    assert_eq!(verdict(lowest), Verdict::Hold);
    assert_eq!(verdict(open.suggested_bar.unwrap()), Verdict::Hold);
    assert_eq!(verdict(highest), Verdict::Hold);
    assert_eq!(verdict(lowest * 0.999_999), Verdict::TooLow);
    assert_eq!(verdict(highest * 1.000_001), Verdict::MayTurn);
    assert_eq!(verdict(7.000_001), Verdict::OverRating);
}

#[test]
fn before_and_after_the_top_differ_by_the_sign_of_the_torque_alone() {
    let after = ask(&engine(), 12.0, Some(3.0));
    let mut before = ask(&engine(), -12.0, Some(3.0));
    assert!(before.torque_nm.unwrap() < 0.0);
    before.torque_nm = before.torque_nm.map(|t| -t);
    assert_eq!(before, after);
}

#[test]
fn a_measured_breakaway_torque_takes_the_place_of_the_assumed_one() {
    let assumed = ask(&engine(), 12.0, None);
    assert!(!assumed.breakaway.measured);
    let question = AirQuestion {
        off_tdc_deg: 12.0,
        pressure_bar: None,
        breakaway_nm: Some(36.0),
    };
    let measured = question.answer(&engine()).unwrap();
    assert!(measured.breakaway.measured);
    agree(measured.highest_bar, 2.0 * assumed.highest_bar, 1e-12);
    assert_eq!(assumed.verdict, Some(Verdict::NoWindow));
    assert_eq!(measured.verdict, Some(Verdict::Window));
    let slip = AirQuestion {
        breakaway_nm: Some(0.0),
        ..question
    };
    let fault = slip.answer(&engine()).unwrap_err();
    assert_eq!(fault.quantity(), "breakaway torque");
}

#[test]
fn without_a_seat_what_needs_it_is_left_out_with_the_reason_and_the_rest_stands() {
    let whole = ask(&engine(), 5.0, Some(3.0));
    assert!(whole.left_out.is_empty(), "{:?}", whole.left_out);
    let mut layout = engine();
    layout.exhaust_seat_mm = None;
    let part = ask(&layout, 5.0, Some(3.0));
    assert_eq!(part.hold_exhaust_n, None);
    assert_eq!(part.lowest_bar, None);
    assert_eq!(part.suggested_bar, None);
    assert_eq!(part.verdict, None);
    let figures: Vec<_> = part.left_out.iter().map(|l| l.figure).collect();
    assert_eq!(
        figures,
        ["hold_exhaust_n", "lowest_bar", "suggested_bar", "verdict"]
    );
    for left_out in &part.left_out {
        assert_eq!(left_out.reason, "the layout gives no exhaust_seat_mm");
    }
    assert_eq!(part.piston_drop_mm, whole.piston_drop_mm);
    assert_eq!(part.torque_nm, whole.torque_nm);
    assert_eq!(part.hold_intake_n, whole.hold_intake_n);
    assert_eq!(part.highest_bar, whole.highest_bar);
    assert_eq!(part.widest_off_tdc_deg, whole.widest_off_tdc_deg);
    // What does not need the seat is still judged.
    assert_eq!(
        ask(&layout, 5.0, Some(7.5)).verdict,
        Some(Verdict::OverRating)
    );
    assert_eq!(
        ask(&layout, 90.0, Some(3.0)).verdict,
        Some(Verdict::MayTurn)
    );
    assert_eq!(ask(&layout, 5.0, None).widest_off_tdc_deg, None);
}

#[test]
fn where_nothing_turns_the_crank_there_is_no_widest_angle() {
    let weak = ask(&engine(), 5.0, Some(0.3));
    assert_eq!(weak.widest_off_tdc_deg, None);
    assert_eq!(weak.verdict, Some(Verdict::TooLow));
    // That is an answer and nothing left out.
    assert_eq!(weak.left_out, []);
    assert_eq!(ask(&engine(), 5.0, Some(0.0)).widest_off_tdc_deg, None);
}

#[test]
fn the_curve_is_the_answer_at_every_angle() {
    let offsets: Vec<f64> = (-180..=180).map(f64::from).collect();
    let curve = air_window_curve(&engine(), None, &offsets).unwrap();
    assert_eq!(curve.len(), 361);
    for point in &curve {
        let answer = ask(&engine(), point.off_tdc_deg, None);
        assert_eq!(point.lowest_bar, answer.lowest_bar);
        assert_eq!(point.highest_bar, answer.highest_bar);
    }
    // The rating caps it at the top; off the top it falls until the torque's peak.
    assert_eq!(curve[180].highest_bar, 7.0);
    let peak = Crank::of(&engine()).unwrap().peak();
    let peak_deg = peak.get::<uom::si::angle::degree>();
    for pair in curve[183..].windows(2) {
        if pair[1].off_tdc_deg <= peak_deg {
            assert!(pair[1].highest_bar < pair[0].highest_bar);
        }
    }
    assert!(air_window_curve(&engine(), None, &[0.0, 181.0]).is_err());
    assert!(air_window_curve(&engine(), None, &vec![0.0; 10_001]).is_err());
}

/// No layout whose figures pass and no question gives a figure that is not a number.
#[test]
fn no_answer_is_ever_infinite_or_not_a_number() {
    let mut random = Random::seeded(606);
    for i in 0..2_000 {
        let mut layout = engine();
        layout.bore_mm = random.between(20.0, 300.0);
        layout.stroke_mm = random.between(20.0, 300.0);
        layout.rod_mm = layout.stroke_mm * random.between(0.501, 4.0);
        layout.breakaway_torque_nm = random.between(1.0, 500.0);
        layout.fitting_push_n = random.between(1.0, 1_000.0);
        let off = match i % 4 {
            0 => 0.0,
            1 => random.between(-1e-9, 1e-9),
            2 => [180.0, -180.0, 90.0, -90.0][i / 4 % 4],
            _ => random.between(-180.0, 180.0),
        };
        let pressure = (i % 3 != 0).then(|| random.between(0.0, 40.0));
        let answer = ask(&layout, off, pressure);
        let figures = [
            Some(answer.piston_drop_mm),
            answer.torque_nm,
            answer.hold_intake_n,
            answer.hold_exhaust_n,
            answer.lowest_bar,
            Some(answer.highest_bar),
            answer.suggested_bar,
            answer.widest_off_tdc_deg,
        ];
        assert!(
            figures.iter().flatten().all(|f| f.is_finite()),
            "{answer:?}"
        );
        assert!(answer.verdict.is_some());
    }
}
