//! What the journal costs, each figure beside a yardstick measured in the same run:
//! `cargo bench -p trayzero-tests --bench journal --features sqlite`. Machines differ, so
//! only the ratios count.
//!
//! A word after `--` runs the groups whose name has it: `replay`, `tap`, `store`.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod jobs;
mod replay;
#[cfg(feature = "sqlite")]
mod sqlite;
mod store;
mod table;
mod tap;

/// A group of figures and its name.
type Group = (&'static str, fn() -> Vec<table::Row>);

fn main() {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .collect();
    let groups: [Group; 3] = [
        ("replay", replay::rows),
        ("tap", tap::rows),
        ("store", store::rows),
    ];
    let mut rows = Vec::new();
    for (name, group) in groups {
        if wanted.is_empty() || wanted.iter().any(|word| name.contains(word.as_str())) {
            rows.extend(group());
        }
    }
    table::print(&rows);
}
