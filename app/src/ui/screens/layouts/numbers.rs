//! Numbers as they are typed: a point or a comma, and a unit where one is written.

use crate::ui::units::{self, LENGTH, METRIC, PRESSURE, TORQUE};

/// What a field measures; a figure without a unit is in the file's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A plain number.
    Plain,
    /// A length in millimetres.
    Length,
    /// A gauge pressure in bar.
    Pressure,
    /// A torque in newton metres.
    Torque,
}

/// A number as it stands in a field, with the language's decimal sign.
pub fn shown(value: f64, decimal: &str) -> String {
    value.to_string().replace('.', decimal)
}

/// Several numbers in one field.
pub fn shown_list(values: &[f64], decimal: &str) -> String {
    let words: Vec<String> = values.iter().map(|v| shown(*v, decimal)).collect();
    words.join(" ")
}

/// Reads one number.
pub fn read(text: &str, measure: Measure) -> Option<f64> {
    plain(text).or_else(|| with_unit(text, measure))
}

fn plain(text: &str) -> Option<f64> {
    let text = text.trim().replace(',', ".");
    let value: f64 = text.parse().ok()?;
    value.is_finite().then_some(value)
}

fn with_unit(text: &str, measure: Measure) -> Option<f64> {
    let value = match measure {
        Measure::Plain => return None,
        Measure::Length => units::read(&LENGTH, text, METRIC),
        Measure::Pressure => units::read(&PRESSURE, text, METRIC),
        Measure::Torque => units::read(&TORQUE, text, METRIC),
    };
    value.ok().filter(|v| v.is_finite())
}

/// Reads numbers that blanks or semicolons part. A word that is none is given back.
pub fn read_list(text: &str) -> Vec<Result<f64, String>> {
    text.split(|c: char| c.is_whitespace() || c == ';')
        .map(|word| word.trim_end_matches(','))
        .filter(|word| !word.is_empty())
        .map(|word| plain(word).ok_or_else(|| word.to_owned()))
        .collect()
}

/// Reads cylinder numbers that blanks, commas, semicolons or hyphens part.
pub fn read_cylinders(text: &str) -> Vec<Result<u8, String>> {
    text.split(|c: char| c.is_whitespace() || ",;-\u{2013}".contains(c))
        .filter(|word| !word.is_empty())
        .map(|word| word.parse().map_err(|_| word.to_owned()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_takes_a_comma_a_point_and_a_unit() {
        assert_eq!(read(" 86,5 ", Measure::Length), Some(86.5));
        assert_eq!(read("86.5", Measure::Plain), Some(86.5));
        // 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
        let inches = read("2 in", Measure::Length);
        assert!(
            inches.is_some_and(|mm| (mm - 50.8).abs() < 1e-9),
            "{inches:?}"
        );
        for bad in ["", "abc", "1,2,3", "inf", "NaN", "12 in"] {
            assert_eq!(read(bad, Measure::Plain), None, "{bad:?}");
        }
    }

    #[test]
    fn lists_are_read_word_by_word() {
        let all = |text| read_list(text);
        assert_eq!(all("120; 90,5 -12"), [Ok(120.0), Ok(90.5), Ok(-12.0)]);
        assert_eq!(all("120, x"), [Ok(120.0), Err("x".to_owned())]);
        let order = [Ok(1), Ok(3), Ok(4), Ok(2)];
        for text in ["1 3 4 2", "1-3-4-2", "1, 3, 4, 2", "1,3,4,2", " 1 3  4\t2 "] {
            assert_eq!(read_cylinders(text), order, "{text:?}");
        }
        assert_eq!(read_cylinders("300"), [Err("300".to_owned())]);
        assert_eq!(read_cylinders(""), []);
    }
}
