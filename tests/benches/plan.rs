//! How long the exact working order takes, and how much memory.
//!
//! Aims: V8 with offsets at most 1 ms, V16 with offsets and adaptors at most 500 ms
//! (medians), memory at most 200 MB ("max alloc" below).

#![allow(missing_docs, clippy::unwrap_used)]

use divan::{AllocProfiler, Bencher, black_box};
use trayzero_core::engine::Layout;
use trayzero_core::plan::{
    FORECAST_SEED, Fallback, ForecastQuestion, OrderQuestion, forecast, unit_factor, working_order,
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

#[divan::bench(sample_count = 50)]
fn time_to_go_after_16_of_32_valves(bencher: Bencher<'_, '_>) {
    // Times with some scatter, without a random number.
    let times: Vec<f64> = (1..=16)
        .map(|unit| 20.0 * unit_factor(0.9, unit) * [0.9, 1.1, 1.0, 1.3, 0.8][unit % 5])
        .collect();
    bencher.bench_local(|| {
        forecast(black_box(&ForecastQuestion {
            valve_minutes: &times,
            valves_left: 16,
            handling_minutes_left: 20.0,
            fallback: Fallback::default(),
            seed: FORECAST_SEED,
        }))
    });
}
