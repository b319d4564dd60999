//! How long the exact working order takes, and how much memory.
//!
//! Aims: V8 with offsets at most 1 ms, V16 with offsets and adaptors at most 500 ms
//! (medians), memory at most 200 MB ("max alloc" below).

#![allow(missing_docs, clippy::unwrap_used)]

use divan::{AllocProfiler, Bencher, black_box};
use trayzero_core::engine::Layout;
use trayzero_core::plan::{
    JobHours, OrderQuestion, ShopPace, ValveHours, ValveKind, ValveToDo, WorkLeft, working_order,
};
use trayzero_tests::engines::with_offsets;

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

fn plan(bencher: Bencher<'_, '_>, layout: &Layout) {
    bencher.bench_local(|| working_order(black_box(&OrderQuestion::at_start(layout))).unwrap());
}

#[divan::bench(sample_count = 200)]
fn v8_with_three_offsets(bencher: Bencher<'_, '_>) {
    plan(bencher, &with_offsets("v8-cross-plane-32v", 3, false));
}

#[divan::bench(sample_count = 50)]
fn v12_with_three_offsets_and_three_adaptors(bencher: Bencher<'_, '_>) {
    plan(bencher, &with_offsets("v12-60-48v", 3, true));
}

#[divan::bench(sample_count = 15)]
fn v16_with_three_offsets_and_three_adaptors(bencher: Bencher<'_, '_>) {
    plan(bencher, &with_offsets("v16-45-64v", 3, true));
}

/// Hours of a job with some scatter, without a random number.
fn hours(engine: usize, valves: usize, done: usize) -> JobHours {
    let valve = |at: usize| ValveHours {
        minutes: 16.0 * ((at + 1) as f64).powf(-0.2) * [0.9, 1.1, 1.0, 1.3, 0.8][(at + engine) % 5],
        kind: ValveKind {
            exhaust: Some(at % 4 > 1),
            opens_cylinder: at.is_multiple_of(4),
            day: (at / 20) as u16,
            hand: 0,
        },
    };
    let share = done as f64 / valves as f64;
    JobHours {
        engine: format!("engine {}", engine % 5),
        hands: vec![format!("hand {}", engine % 4)],
        minutes: [40.0, 60.0, 40.0 * share, 150.0 * share, 0.0, 0.0, 0.0, 5.0],
        steps: [
            11.0,
            17.0,
            16.0,
            valves as f64,
            14.0,
            17.0,
            7.0,
            valves as f64,
        ],
        stage_minutes: [[10.0; 6]; 2],
        valves: (0..done).map(valve).collect(),
        losses: Vec::new(),
    }
}

fn two_hundred_jobs() -> Vec<JobHours> {
    (0..200)
        .map(|job| hours(job, 16 + 8 * (job % 7), 16 + 8 * (job % 7)))
        .collect()
}

/// Half of a job of 64 valves, and what is left of it.
fn half_of_64() -> (JobHours, WorkLeft) {
    let job = hours(3, 64, 32);
    let to_do = |valve: &ValveHours| ValveToDo {
        kind: valve.kind,
        stages_seen: 0,
    };
    let left = WorkLeft {
        valves: hours(3, 64, 64).valves[32..].iter().map(to_do).collect(),
        steps: [0.0, 0.0, 8.0, 32.0, 14.0, 17.0, 7.0, 32.0],
    };
    (job, left)
}

/// Aim: one forecast for 64 valves with 200 finished jobs, everything learned anew, at
/// most 5 ms.
#[divan::bench(sample_count = 50)]
fn learning_from_200_jobs_and_forecasting_64_valves(bencher: Bencher<'_, '_>) {
    let past = two_hundred_jobs();
    let past: Vec<&JobHours> = past.iter().collect();
    let (job, left) = half_of_64();
    bencher.bench_local(|| ShopPace::learn(black_box(&past), &[]).forecast(&job, &left));
}

#[divan::bench(sample_count = 50)]
fn forecasting_64_valves(bencher: Bencher<'_, '_>) {
    let past = two_hundred_jobs();
    let past: Vec<&JobHours> = past.iter().collect();
    let pace = ShopPace::learn(&past, &[]);
    let (job, left) = half_of_64();
    bencher.bench_local(|| pace.forecast(black_box(&job), &left));
}
