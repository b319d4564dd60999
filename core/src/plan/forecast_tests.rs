//! The forecast from its edges; its honesty is shown on simulated jobs elsewhere.

use super::{Basis, FORECAST_SEED, Fallback, ForecastQuestion, forecast};
use crate::plan::unit_factor;

fn question(valve_minutes: &[f64], valves_left: usize) -> ForecastQuestion<'_> {
    ForecastQuestion {
        valve_minutes,
        valves_left,
        handling_minutes_left: 30.0,
        fallback: Fallback::default(),
        seed: FORECAST_SEED,
    }
}

fn times(first_min: f64, rate: f64, valves: usize) -> Vec<f64> {
    (1..=valves)
        .map(|unit| first_min * unit_factor(rate, unit))
        .collect()
}

#[test]
fn times_without_scatter_are_carried_on_without_a_range() {
    let job = times(20.0, 0.9, 24);
    let done = forecast(&question(&job[..10], 14));
    let real = 30.0 + job[10..].iter().sum::<f64>();
    assert_eq!(done.basis, Basis::OwnTimes { valves: 10 });
    assert!(
        (done.about_min - real).abs() < 1e-6,
        "{done:?}, really {real}"
    );
    let high = done.high_min.expect("own times give an upper end");
    assert!(high - done.low_min < 1e-6);
}

#[test]
fn one_valve_left_lying_for_hours_does_not_spoil_the_figure() {
    let mut job = times(20.0, 0.9, 24);
    let calm = forecast(&question(&job[..12], 12)).about_min;
    job[5] *= 10.0;
    let odd = forecast(&question(&job[..12], 12)).about_min;
    // One in twelve is then expected to take three times as long: a sixth more.
    assert!((odd / calm - 1.0).abs() < 0.25, "{calm} became {odd}");
}

#[test]
fn before_four_valves_the_finished_jobs_decide_at_the_pace_of_this_job() {
    let finished = [times(20.0, 0.9, 24), times(24.0, 0.85, 24)];
    let fallback = Fallback {
        finished_jobs: &finished,
    };
    let at_start = forecast(&ForecastQuestion {
        fallback,
        ..question(&[], 24)
    });
    assert_eq!(at_start.basis, Basis::FinishedJobs { jobs: 2, valves: 0 });
    let usual = 30.0 + finished[0].iter().sum::<f64>();
    assert!(
        (at_start.about_min / usual - 1.0).abs() < 0.2,
        "{at_start:?}"
    );

    let slow = times(40.0, 0.9, 3);
    let slower = forecast(&ForecastQuestion {
        fallback,
        ..question(&slow, 21)
    });
    let usual_rest = 30.0 + finished[0][3..].iter().sum::<f64>();
    assert!(slower.about_min > 1.3 * usual_rest, "{slower:?}");
    assert_eq!(slower.basis, Basis::FinishedJobs { jobs: 2, valves: 3 });
}

#[test]
fn the_fourth_valve_makes_the_own_times_decide() {
    let finished = [times(20.0, 0.9, 24)];
    let own = times(60.0, 0.9, 4);
    let answer = forecast(&ForecastQuestion {
        fallback: Fallback {
            finished_jobs: &finished,
        },
        ..question(&own, 20)
    });
    assert_eq!(answer.basis, Basis::OwnTimes { valves: 4 });
}

#[test]
fn first_valves_alone_give_a_wide_guess() {
    let own = [20.0, 18.0];
    let answer = forecast(&question(&own, 22));
    assert_eq!(answer.basis, Basis::FirstValves { valves: 2 });
    let high = answer.high_min.expect("a guess has an upper end");
    assert!(high > 1.3 * answer.low_min, "{answer:?}");
}

#[test]
fn with_nothing_measured_only_the_handling_is_given() {
    let answer = forecast(&question(&[], 24));
    assert_eq!(answer.basis, Basis::HandlingAlone);
    assert_eq!((answer.about_min, answer.high_min), (30.0, None));
}

#[test]
fn with_no_valve_left_the_handling_is_certain() {
    let answer = forecast(&question(&[20.0, 18.0], 0));
    assert_eq!(answer.basis, Basis::NoValveLeft);
    assert_eq!((answer.low_min, answer.high_min), (30.0, Some(30.0)));
}

#[test]
fn rubbish_in_gives_no_nan_out() {
    let rubbish = [f64::NAN, -3.0, f64::INFINITY, 1e300, 0.0, 1e-300, 5.0, 7.0];
    for count in 0..=rubbish.len() {
        for handling_minutes_left in [f64::NAN, f64::NEG_INFINITY, f64::INFINITY, -1.0] {
            let answer = forecast(&ForecastQuestion {
                handling_minutes_left,
                ..question(&rubbish[..count], 8)
            });
            let high = answer.high_min.unwrap_or(answer.about_min);
            assert!(
                answer.low_min.is_finite() && answer.low_min >= 0.0,
                "{answer:?}"
            );
            assert!(answer.low_min <= answer.about_min && answer.about_min <= high);
        }
    }
}

#[test]
fn the_same_question_gets_the_same_answer() {
    let own = [31.0, 22.5, 25.0, 19.0, 18.2];
    assert_eq!(forecast(&question(&own, 19)), forecast(&question(&own, 19)));
}
