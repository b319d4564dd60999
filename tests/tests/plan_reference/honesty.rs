//! The range of the time to go holds what it says, on simulated jobs.
//!
//! The simulator is the test's own and knows nothing of the forecast: learning of 75
//! to 95 %, lognormal noise, pauses that are noted (and left out of the valve's time,
//! though finding the place again costs a little) and some that are not.

use trayzero_core::plan::{
    Basis, FORECAST_SEED, Fallback, Forecast, ForecastQuestion, forecast, quantile,
};

use super::random::Random;

const SEED: u64 = 500_080;
const JOBS: usize = 500;

/// How the jobs of one shop come about.
struct Shop {
    /// Valves of a job are drawn from these.
    valves: &'static [usize],
    /// Deviation of the logarithm of a valve's minutes, drawn between these.
    noise: (f64, f64),
    /// Share of valves in which the technician is called away and does not note it.
    unnoted: f64,
}

const USUAL: Shop = Shop {
    valves: &[16, 24, 32],
    noise: (0.10, 0.25),
    unnoted: 0.02,
};

/// The same with one engine in all jobs.
const ONE_ENGINE: Shop = Shop {
    valves: &[24],
    ..USUAL
};

/// Minutes of the valves of one job as the tablet would have them.
fn simulated_job(random: &mut Random, shop: &Shop) -> Vec<f64> {
    let valves = random.of(shop.valves);
    let rate = random.between(0.75, 0.95);
    let noise = random.between(shop.noise.0, shop.noise.1);
    let first = 22.0 * (0.2 * random.normal()).exp();
    (1..=valves)
        .map(|unit| {
            let learned = first * f64::from(unit as u32).powf(rate.ln() / 2.0_f64.ln());
            let mut minutes = learned * (noise * random.normal()).exp();
            if random.chance(0.10) {
                minutes += random.between(0.5, 2.0);
            }
            if random.chance(shop.unnoted) {
                minutes += random.between(3.0, 12.0);
            }
            minutes
        })
        .collect()
}

/// What came of forecasts.
struct Tally {
    coverage: f64,
    below: f64,
    above: f64,
    median_error: f64,
}

impl Tally {
    /// Of pairs of a forecast and the minutes that it really took.
    fn of(outcomes: &[(Forecast, f64)]) -> Self {
        let share = |hit: &dyn Fn(&Forecast, f64) -> bool| {
            outcomes.iter().filter(|(f, real)| hit(f, *real)).count() as f64 / outcomes.len() as f64
        };
        let below = share(&|f, real| real < f.low_min);
        let above = share(&|f, real| real > f.high_min.unwrap());
        let errors: Vec<f64> = outcomes
            .iter()
            .map(|(f, real)| (f.about_min - real).abs() / real)
            .collect();
        Self {
            coverage: 1.0 - below - above,
            below,
            above,
            median_error: quantile(&errors, 0.5).unwrap(),
        }
    }

    fn print(&self, what: &str) {
        println!(
            "{what}: range covers {:.1} % (over sooner {:.1} %, later {:.1} %), median error of \
             the time to go {:.1} %",
            100.0 * self.coverage,
            100.0 * self.below,
            100.0 * self.above,
            100.0 * self.median_error
        );
    }
}

fn ask(job: &[f64], done: usize, finished_jobs: &[Vec<f64>]) -> (Forecast, f64) {
    let answer = forecast(&ForecastQuestion {
        valve_minutes: &job[..done],
        valves_left: job.len() - done,
        handling_minutes_left: 0.0,
        fallback: Fallback { finished_jobs },
        seed: FORECAST_SEED,
    });
    (answer, job[done..].iter().sum())
}

/// The first valve after which half of the job's time is gone.
fn half_time(job: &[f64]) -> usize {
    let whole: f64 = job.iter().sum();
    let mut gone = 0.0;
    job.iter()
        .position(|minutes| {
            gone += minutes;
            gone >= whole / 2.0
        })
        .map_or(0, |valve| valve + 1)
}

#[test]
fn the_range_covers_four_of_five_ends_at_half_time_and_the_figure_is_near() {
    println!("seed {SEED}");
    let mut random = Random::new(SEED);
    let jobs: Vec<Vec<f64>> = (0..JOBS)
        .map(|_| simulated_job(&mut random, &USUAL))
        .collect();
    let by_valves: Vec<_> = jobs
        .iter()
        .map(|job| ask(job, job.len() / 2, &[]))
        .collect();
    let by_time: Vec<_> = jobs
        .iter()
        .map(|job| ask(job, half_time(job), &[]))
        .collect();
    for (what, outcomes) in [
        ("half of the valves", by_valves),
        ("half of the time", by_time),
    ] {
        assert!(
            outcomes
                .iter()
                .all(|(f, _)| matches!(f.basis, Basis::OwnTimes { .. }))
        );
        let tally = Tally::of(&outcomes);
        tally.print(what);
        assert!((0.74..=0.86).contains(&tally.coverage), "{what}");
        assert!(tally.median_error <= 0.10, "{what}");
    }
}

#[test]
fn the_range_stays_honest_in_shops_that_scatter_little_or_much() {
    println!("seed {SEED}");
    let shops = [
        (
            "calm",
            Shop {
                valves: &[16, 24, 32],
                noise: (0.10, 0.15),
                unnoted: 0.0,
            },
        ),
        (
            "rough",
            Shop {
                valves: &[16, 24, 32],
                noise: (0.25, 0.40),
                unnoted: 0.02,
            },
        ),
        (
            "small engines",
            Shop {
                valves: &[8, 12],
                noise: (0.10, 0.30),
                unnoted: 0.02,
            },
        ),
        (
            "called away often",
            Shop {
                valves: &[16, 24, 32],
                noise: (0.10, 0.25),
                unnoted: 0.06,
            },
        ),
    ];
    for (what, shop) in shops {
        let mut random = Random::new(SEED);
        let outcomes: Vec<_> = (0..JOBS)
            .map(|_| {
                let job = simulated_job(&mut random, &shop);
                ask(&job, job.len() / 2, &[])
            })
            .collect();
        let tally = Tally::of(&outcomes);
        tally.print(what);
        assert!((0.70..=0.90).contains(&tally.coverage), "{what}");
    }
}

#[test]
fn the_range_is_honest_before_the_fourth_valve_when_the_shop_has_finished_jobs() {
    println!("seed {SEED}");
    let mut random = Random::new(SEED);
    for done in [0, 2] {
        let outcomes: Vec<_> = (0..JOBS)
            .map(|_| {
                let finished: Vec<_> = (0..6)
                    .map(|_| simulated_job(&mut random, &ONE_ENGINE))
                    .collect();
                let job = simulated_job(&mut random, &ONE_ENGINE);
                ask(&job, done, &finished)
            })
            .collect();
        let tally = Tally::of(&outcomes);
        tally.print(&format!("{done} valves done, 6 finished jobs"));
        assert!(
            (0.70..=0.90).contains(&tally.coverage),
            "{done} valves done"
        );
    }
}
