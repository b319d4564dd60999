//! How long the exact working order takes, and how much memory.
//!
//! Aims: V8 with offsets at most 1 ms, V16 with offsets and adaptors at most 500 ms
//! (medians), memory at most 200 MB ("max alloc" below).

#![allow(missing_docs, clippy::unwrap_used)]

use divan::{AllocProfiler, Bencher, black_box};
use trayzero_core::engine::{AdaptorRule, Layout, WorkingPosition, shipped};
use trayzero_core::plan::{
    FORECAST_SEED, Fallback, ForecastQuestion, OrderQuestion, forecast, unit_factor, working_order,
};

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

/// A shipped engine in which every cylinder has so many working offsets, and every
/// second valve pair another adaptor if asked.
fn engine(key: &str, offsets: usize, adaptors: bool) -> Layout {
    let one = shipped().iter().find(|s| s.key == key).unwrap();
    let mut layout = Layout::from_json(key, one.json.as_bytes()).unwrap();
    let cylinders: Vec<u8> = layout.cylinders().collect();
    layout.working_positions = cylinders
        .iter()
        .map(|c| WorkingPosition {
            cylinder: *c,
            offsets_deg: (0..offsets)
                .map(|i| f64::from(*c) + 12.0 * i as f64 - 12.0)
                .collect(),
            why: "something is in the way".to_owned(),
        })
        .collect();
    layout.adaptors.clear();
    if adaptors {
        for cylinder in cylinders {
            for (valve, adaptor) in [("intake 1", "short"), ("exhaust 2", "angled")] {
                layout.adaptors.push(AdaptorRule {
                    cylinder,
                    valve: valve.to_owned(),
                    adaptor: adaptor.to_owned(),
                });
            }
        }
    }
    layout
}

fn plan(bencher: Bencher<'_, '_>, layout: &Layout) {
    bencher.bench_local(|| working_order(black_box(&OrderQuestion::at_start(layout))).unwrap());
}

#[divan::bench(sample_count = 200)]
fn v8_with_three_offsets(bencher: Bencher<'_, '_>) {
    plan(bencher, &engine("v8-cross-plane-32v", 3, false));
}

#[divan::bench(sample_count = 50)]
fn v12_with_three_offsets_and_three_adaptors(bencher: Bencher<'_, '_>) {
    plan(bencher, &engine("v12-60-48v", 3, true));
}

#[divan::bench(sample_count = 15)]
fn v16_with_three_offsets_and_three_adaptors(bencher: Bencher<'_, '_>) {
    plan(bencher, &engine("v16-45-64v", 3, true));
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
