//! Every figure of the record's JSON against the record made again from the journals.

use serde_json::Value;
use trayzero_core::record::Record;

use super::{About, Files, VerifyReport};
use crate::record::proof::{Making, RECORD, json};
use crate::ui::words::verified::{FigureTold, VerifySaid};

/// The longest record that is read, in bytes: some ten times that of the largest engine.
const RECORD_BYTES_MAX: usize = 4 << 20;
/// The most differences that are named.
const NAMED_MAX: usize = 20;

/// Compares them one by one.
pub(super) fn compare(files: &Files, record: &Record, making: &Making, report: &mut VerifyReport) {
    // That it is missing was said.
    let Some(text) = files.get(RECORD) else {
        return;
    };
    if text.len() > RECORD_BYTES_MAX {
        let said = VerifySaid::RecordTooLarge(RECORD_BYTES_MAX);
        return report.fails_in(About::Figures, Some(RECORD), said);
    }
    let told: Value = match serde_json::from_slice(text) {
        Ok(told) => told,
        Err(fault) => {
            let said = VerifySaid::RecordUnread(fault.to_string());
            return report.fails_in(About::Figures, Some(RECORD), said);
        }
    };
    let made = json(record)
        .ok()
        .and_then(|text| serde_json::from_slice(&text).ok());
    let made: Value = made.unwrap_or_default();
    let mut compared = Compared {
        is_same_program: making.is_of_this_program(),
        ..Compared::default()
    };
    compared.take(&told, &made, &mut Vec::new());
    let Compared {
        figures, differ, ..
    } = compared;
    if differ.is_empty() {
        let said = VerifySaid::FiguresHold(figures);
        report.holds_that(About::Figures, Some(RECORD), said);
    }
    for said in differ {
        report.fails_in(About::Figures, Some(RECORD), said);
    }
    let value = told.get("check_value").and_then(Value::as_str);
    if value == Some(record.check_value.as_str()) {
        let said = VerifySaid::ValueHolds(record.check_value.clone());
        report.holds_that(About::Value, Some(RECORD), said);
    } else {
        let said = VerifySaid::ValueDiffers {
            told: value.map(str::to_owned),
            made: record.check_value.clone(),
        };
        report.fails_in(About::Value, Some(RECORD), said);
    }
}

#[derive(Default)]
struct Compared {
    /// Another version may tell more fields, and is not blamed for it.
    is_same_program: bool,
    figures: usize,
    differ: Vec<VerifySaid>,
}

impl Compared {
    fn take(&mut self, told: &Value, made: &Value, at: &mut Vec<String>) {
        match (told, made) {
            (Value::Object(told), Value::Object(made)) => {
                for (name, told) in told {
                    at.push(name.clone());
                    match made.get(name) {
                        Some(made) => self.take(told, made, at),
                        None => self.differ(at, told, &Value::Null),
                    }
                    at.pop();
                }
                for (name, made) in made.iter().filter(|(name, _)| !told.contains_key(*name)) {
                    if self.is_same_program {
                        at.push(name.clone());
                        self.differ(at, &Value::Null, made);
                        at.pop();
                    }
                }
            }
            (Value::Array(told), Value::Array(made)) if told.len() == made.len() => {
                for (index, (told, made)) in told.iter().zip(made).enumerate() {
                    at.push(index.to_string());
                    self.take(told, made, at);
                    at.pop();
                }
            }
            (told, made) if told == made => self.figures += 1,
            (told, made) => self.differ(at, told, made),
        }
    }

    fn differ(&mut self, at: &[String], told: &Value, made: &Value) {
        if self.differ.len() < NAMED_MAX {
            self.differ.push(VerifySaid::FigureDiffers {
                at: at.join("."),
                told: short(told),
                made: short(made),
            });
        }
    }
}

/// A value that fits on a line.
fn short(value: &Value) -> FigureTold {
    match value {
        Value::Null => FigureTold::Missing,
        Value::Array(all) => FigureTold::List(all.len()),
        Value::Object(_) => FigureTold::There,
        value => {
            let text = value.to_string();
            let start: String = text.chars().take(80).collect();
            FigureTold::Text(if start.len() < text.len() {
                format!("{start}…")
            } else {
                text
            })
        }
    }
}
