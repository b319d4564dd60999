//! Engine layouts: what is shipped, what is refused and how, and files that are no
//! layouts at all.
#![allow(clippy::unwrap_used)]

mod anything;
mod depot;
mod faults;
mod files;
mod no_layout;
mod shipped_engines;

use serde_json::Value;
use trayzero_core::engine::{Layout, LayoutFault, shipped};

fn load(key: &str) -> Layout {
    let one = shipped().iter().find(|s| s.key == key).unwrap();
    Layout::from_json(one.key, one.json.as_bytes()).unwrap()
}

/// A layout with every optional field, as a value to be spoilt.
fn good() -> Value {
    let key = "v6-60-24v";
    let one = shipped().iter().find(|s| s.key == key).unwrap();
    serde_json::from_str(one.json).unwrap()
}

fn faults_of(value: &Value) -> Vec<LayoutFault> {
    match Layout::from_json("shop.json", value.to_string().as_bytes()) {
        Ok(_) => Vec::new(),
        Err(faults) => faults,
    }
}

fn lines(faults: &[LayoutFault]) -> String {
    let lines: Vec<String> = faults.iter().map(LayoutFault::to_string).collect();
    lines.join("\n")
}
