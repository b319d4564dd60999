//! What a hand waits for, each figure beside a yardstick measured in the same run:
//! `tests/benches/run`. Machines differ, so only the ratios count.
//!
//! `cargo bench -p trayzero-tests --features yardsticks --bench speed -- NAME...` runs the
//! groups whose name has one of the words; see [`GROUPS`].

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod bays;
mod board;
mod bucket;
#[cfg(feature = "yardsticks")]
mod display;
mod frame;
mod jobs;
mod memory;
mod order;
mod record;
mod replay;
mod shop;
#[cfg(feature = "yardsticks")]
mod sqlite;
mod store;
mod table;
mod tap;
mod ten_years;
#[cfg(feature = "yardsticks")]
mod window;

/// A group of figures and its name.
type Group = (&'static str, fn() -> Vec<table::Row>);

const GROUPS: &[Group] = &[
    #[cfg(feature = "yardsticks")]
    ("window", window::rows),
    ("frame", frame::rows),
    ("tap", tap::rows),
    ("shop", shop::rows),
    ("replay", replay::rows),
    ("store", store::rows),
    ("board", board::rows),
    ("bays", bays::rows),
    ("bucket", bucket::rows),
    ("order", order::rows),
    ("record", record::rows),
];

fn main() {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .collect();
    let mut rows = Vec::new();
    for (name, group) in GROUPS {
        if wanted.is_empty() || wanted.iter().any(|word| name.contains(word.as_str())) {
            println!("measuring: {name}");
            rows.extend(group());
        }
    }
    if cfg!(not(feature = "yardsticks")) {
        println!("built without yardsticks: the rows of the window and of SQLite are left out");
    }
    table::print(&rows);
}
