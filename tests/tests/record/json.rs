//! The record as JSON against its published schema (JSON Schema 2020-12), with a
//! general-purpose validator.

use jsonschema::Validator;
use serde_json::{Value, json};
use trayzero::ui::words::EN;
use trayzero_core::engine::shipped;
use trayzero_core::record::Record;
use trayzero_tests::engines::shipped_engine;

use crate::play::{
    LINK, eventful_job, eventful_job_closed, job_in_conflict, job_mid_valve, job_resolved, open,
    plain_job, record_of, stopped_job,
};

const SCHEMA: &str = include_str!("../../../assets/schema/record.schema.json");

pub fn validator() -> Validator {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    jsonschema::meta::validate(&schema).unwrap();
    jsonschema::draft202012::new(&schema).unwrap()
}

pub fn faults(validator: &Validator, value: &Value) -> Vec<String> {
    let errors = validator.iter_errors(value);
    errors
        .map(|e| format!("{}: {e}", e.instance_path()))
        .collect()
}

pub fn json_of(record: &Record) -> Value {
    serde_json::to_value(record).unwrap()
}

#[test]
fn every_shipped_layouts_whole_job_and_its_first_half_are_valid() {
    let validator = validator();
    for one in shipped() {
        let play = plain_job(one.key);
        let record = record_of(&play);
        assert!(record.finished, "{}", one.key);
        let value = json_of(&record);
        assert_eq!(
            faults(&validator, &value),
            Vec::<String>::new(),
            "{}",
            one.key
        );
        // The same job broken off half way is unfinished, and valid as well.
        let mut half = open(shipped_engine(one.key), "sweeper 07");
        let all = shipped_engine(one.key).valve_count();
        half.work_until(|state, _| 2 * state.verified_count() >= all);
        let unfinished = record_of(&half);
        assert!(!unfinished.finished, "{}", one.key);
        let told = faults(&validator, &json_of(&unfinished));
        assert_eq!(told, Vec::<String>::new(), "{}", one.key);
        let valves = shipped_engine(one.key).valve_count();
        assert_eq!(value["valves"].as_array().unwrap().len(), valves);
    }
}

#[test]
fn unfinished_and_eventful_jobs_are_valid() {
    let validator = validator();
    let opened = open(shipped_engine("inline-3-12v"), "pump 2");
    let jobs = [
        opened,
        eventful_job(),
        eventful_job_closed(),
        job_mid_valve(),
        job_in_conflict(),
        job_resolved(),
        stopped_job(),
    ];
    for play in jobs {
        let value = json_of(&record_of(&play));
        assert_eq!(faults(&validator, &value), Vec::<String>::new());
    }
}

#[test]
fn the_schema_refuses_what_is_no_record() {
    let validator = validator();
    let good = json_of(&record_of(&plain_job("inline-3-12v")));
    let mut unknown = good.clone();
    unknown["colour"] = json!("blue");
    let mut missing = good.clone();
    missing.as_object_mut().unwrap().remove("valves");
    let mut bad_time = good.clone();
    bad_time["opened"] = json!("yesterday");
    let mut deep = good;
    deep["valves"][0]["stages"][0]["stage"] = json!("done");
    for bad in [unknown, missing, bad_time, deep] {
        assert!(!validator.is_valid(&bad));
    }
}

#[test]
fn a_job_that_was_never_opened_has_no_record() {
    let state = trayzero_core::job::JobState::new();
    assert_eq!(
        Record::of(&state, &[], LINK, |why| EN.refusal_why(why)),
        None
    );
}
