//! Any bytes as a layout file.

use trayzero_core::engine::Layout;
use trayzero_core::job::{Event, JobState, Opening, Person};
use trayzero_core::plan::{OrderQuestion, working_order};

use crate::entries::Scribe;

/// The working order is looked for on engines of at most so many stops: it is exact, and
/// its time grows with two to their power.
const STOPS_MAX: usize = 12;

/// Reads bytes as a layout, and holds what must hold for whatever they are.
///
/// # Panics
/// If something does not hold.
pub fn check(bytes: &[u8]) {
    let read = read_and_check(bytes);
    assert_eq!(
        read,
        Layout::from_json("any.json", bytes).ok(),
        "read twice"
    );
    if let Some(layout) = read {
        open_a_job(layout);
    }
}

/// What holds for whatever is read: a layout has no faults and reads back as written;
/// faults have a field and a rule, and none says that serde refused what the rules took.
///
/// # Panics
/// If something does not hold.
pub fn read_and_check(bytes: &[u8]) -> Option<Layout> {
    match Layout::from_json("any.json", bytes) {
        Ok(layout) => {
            assert_eq!(layout.faults("any.json"), Vec::new());
            let text = layout.to_json_pretty().unwrap();
            let again = Layout::from_json("any.json", text.as_bytes());
            assert_eq!(again.as_ref(), Ok(&layout));
            Some(layout)
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            for fault in faults {
                let rule = fault.rule.to_string();
                assert!(!fault.field.is_empty() && !rule.is_empty(), "{fault}");
                assert!(!rule.contains("cannot be read"), "{fault}");
            }
            None
        }
    }
}

/// A layout without faults opens a job, has its first steps and its working order.
fn open_a_job(layout: Layout) {
    let stops: usize = layout
        .cylinders()
        .map(|c| layout.offsets_deg(c).len())
        .sum();
    if stops <= STOPS_MAX {
        let order = working_order(&OrderQuestion::at_start(&layout)).unwrap();
        assert_eq!(order.stops.len(), layout.cylinder_count());
        assert!(order.minutes >= 0.0, "{}", order.minutes);
    }
    assert_eq!(layout.valves().count(), layout.valve_count());
    let mut scribe = Scribe::new(1, "Ada");
    let mut job = JobState::new();
    let opening = Event::JobOpened(Box::new(Opening {
        order_number: None,
        layout,
        vehicle: "Van 12".to_owned(),
        bay: "Bay 1".to_owned(),
        technician: Person::new("Ada"),
    }));
    job.apply(&scribe.entry(opening)).unwrap();
    for _ in 0..8 {
        let step = job.next_step(None);
        let events = job.events_of(&step);
        for event in events {
            job.apply(&scribe.entry(event)).unwrap();
        }
    }
}
