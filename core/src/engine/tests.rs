#![allow(clippy::unwrap_used)]

use super::{Fault, Layout, shipped};

#[test]
fn every_shipped_layout_is_without_fault_and_comes_back_as_written() {
    assert!(shipped().len() >= 14, "{} layouts", shipped().len());
    for s in shipped() {
        let layout = Layout::from_json(s.key, s.json.as_bytes()).unwrap_or_else(|faults| {
            let lines: Vec<String> = faults.iter().map(Fault::to_string).collect();
            panic!("{}", lines.join("\n"))
        });
        assert_eq!(layout.faults(s.key), Vec::new());
        let text = layout.to_json_pretty().unwrap();
        assert_eq!(Layout::from_json(s.key, text.as_bytes()), Ok(layout));
    }
}
