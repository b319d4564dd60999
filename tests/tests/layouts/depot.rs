//! The invented depot that the program is tried out with: its figures fit the layouts
//! and the entries they are played as.

use std::path::Path;

use serde_json::{Value, json};
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, LOSS_LIMIT_PERCENT, Stage, TakeIn};

use crate::load;

fn depot() -> Value {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../assets/demo/depot.json");
    serde_json::from_slice(&std::fs::read(file).unwrap()).unwrap()
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value.get(key).map_or(&[], |v| v.as_array().unwrap())
}

fn event(name: &str, fields: &Value) -> Event {
    serde_json::from_value(json!({ name: fields })).unwrap_or_else(|e| panic!("{fields}: {e}"))
}

#[test]
fn the_crew_has_one_foreman_and_a_code_each() {
    let depot = depot();
    let crew = list(&depot, "crew");
    let column = |key: &str| -> Vec<&str> {
        let mut all: Vec<&str> = crew.iter().map(|c| c[key].as_str().unwrap()).collect();
        all.sort_unstable();
        all
    };
    for key in ["name", "code"] {
        let mut once = column(key);
        once.dedup();
        assert_eq!(once.len(), crew.len(), "{key}");
    }
    assert!((5..=6).contains(&crew.len()));
    assert_eq!(
        column("role").iter().filter(|r| **r == "foreman").count(),
        1
    );
    for bay in list(&depot, "bays") {
        assert!(
            column("name").contains(&bay["technician"].as_str().unwrap()),
            "{bay}"
        );
    }
}

#[test]
fn four_bays_stand_in_four_states_and_one_job_is_closed() {
    let depot = depot();
    let mut kinds: Vec<&str> = list(&depot, "bays")
        .iter()
        .map(|b| b["state"]["kind"].as_str().unwrap())
        .collect();
    kinds.sort_unstable();
    let expected = [
        "closed",
        "lock_adrift",
        "mid_valve_air_on",
        "ready_for_counts",
        "take_in_only",
    ];
    assert_eq!(kinds, expected);
    let sweeper = list(&depot, "bays")
        .iter()
        .find(|b| b["vehicle"] == "sweeper 07")
        .unwrap();
    assert_eq!(sweeper["bay"], "Bay 3");
    assert_eq!(load(sweeper["layout"].as_str().unwrap()).valve_count(), 24);
}

#[test]
fn what_is_taken_in_reads_as_entries_and_fits_the_engine() {
    let mut past_the_limit = Vec::new();
    for bay in list(&depot(), "bays") {
        let layout = load(bay["layout"].as_str().unwrap());
        let take_in: TakeIn = serde_json::from_value(bay["take_in"].clone()).unwrap();
        let mut last_km = 0.0;
        for top_up in list(bay, "top_ups") {
            let Event::OilToppedUp {
                odometer_km,
                litres,
                ..
            } = event("oil_topped_up", top_up)
            else {
                panic!("{top_up}");
            };
            assert!(odometer_km > last_km && litres > 0.0, "{top_up}");
            last_km = odometer_km;
        }
        assert!(take_in.odometer_km.unwrap() >= last_km, "{bay}");
        let mut read = Vec::new();
        for leak in list(bay, "leaks") {
            let Event::LeakRead {
                cylinder,
                supply_bar,
                cylinder_bar,
                ..
            } = event("leak_read", leak)
            else {
                panic!("{leak}");
            };
            let loss = (supply_bar - cylinder_bar) / supply_bar * 100.0;
            assert!((0.0..100.0).contains(&loss), "{leak}");
            if loss > LOSS_LIMIT_PERCENT {
                past_the_limit.push((bay["vehicle"].as_str().unwrap().to_owned(), cylinder));
            }
            if leak["when"] == "before" {
                read.push(cylinder);
            }
        }
        let mut cylinders: Vec<u8> = layout.cylinders().collect();
        cylinders.sort_unstable();
        assert_eq!(
            read, cylinders,
            "one reading of each cylinder: {}",
            bay["vehicle"]
        );
        for finding in list(bay, "findings") {
            let Event::FindingNoted(noted) = event("finding_noted", finding) else {
                panic!("{finding}");
            };
            assert!(
                layout.valve_index(noted.valve.unwrap()).is_some(),
                "{finding}"
            );
        }
    }
    // One cylinder waits for the foreman, one has been seen by her.
    let waiting = ("fire pump 2".to_owned(), 5);
    let agreed = ("snow blower 11".to_owned(), 6);
    assert_eq!(past_the_limit, [waiting, agreed]);
}

#[test]
fn the_state_of_each_bay_names_valves_and_stages_that_there_are() {
    for bay in list(&depot(), "bays") {
        let layout = load(bay["layout"].as_str().unwrap());
        let state = &bay["state"];
        let done: Vec<u8> = list(state, "cylinders_done")
            .iter()
            .map(|c| u8::try_from(c.as_u64().unwrap()).unwrap())
            .collect();
        assert!(done.iter().all(|c| layout.cylinder_index(*c).is_some()));
        for valve in list(state, "valves") {
            let cylinder = u8::try_from(state["cylinder"].as_u64().unwrap()).unwrap();
            assert!(!done.contains(&cylinder));
            let name = ValveName::parse(cylinder, valve["valve"].as_str().unwrap()).unwrap();
            assert!(layout.valve_index(name).is_some(), "{valve}");
            let stage: Stage = serde_json::from_value(valve["stage"].clone()).unwrap();
            assert!(stage < Stage::Verified, "{valve}");
        }
        let adrift = list(state, "valves")
            .iter()
            .any(|v| v.get("strays").is_some());
        assert_eq!(adrift, state["kind"] == "lock_adrift");
    }
}
