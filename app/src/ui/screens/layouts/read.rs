//! From what is typed to a layout, with everything that is amiss named by its field.

use std::sync::Arc;

use trayzero_core::engine::{
    AdaptorRule, Bank, Guide, Handling, KitLine, Layout, LayoutRule, OrderLine, Remark, SpringData,
    WorkingPosition,
};
use trayzero_core::parts::Item;

use super::numbers::{self, Measure};
use super::text::{LayoutText, ValveText};

/// What is amiss with a field.
#[derive(Clone, Debug, PartialEq)]
pub enum FieldTroubleKind {
    /// Nothing stands there.
    Empty,
    /// A text that is no number.
    NoNumber(String),
    /// A text that is no cylinder's number.
    NoCylinder(String),
    /// A value that breaks a rule of layouts.
    Rule {
        /// The value, as the rule saw it.
        value: String,
        /// The rule.
        rule: LayoutRule,
    },
}

/// A field, and what is amiss with it.
#[derive(Clone, Debug, PartialEq)]
pub struct FieldTrouble {
    /// The field as a path, such as `banks[1].cylinders`.
    pub field: String,
    /// What is amiss.
    pub what: FieldTroubleKind,
}

/// What was read.
#[derive(Clone, Debug)]
pub struct ReadLayout {
    /// The layout as far as it could be read; good only without troubles.
    pub layout: Layout,
    /// Everything that is amiss, in the order of the fields.
    pub troubles: Vec<FieldTrouble>,
}

impl ReadLayout {
    /// What is amiss with a field or with an entry of the list that it holds.
    pub fn at(&self, field: &str) -> Option<&FieldTrouble> {
        self.troubles.iter().find(|t| is_within(&t.field, field))
    }

    /// What is amiss with a field itself.
    pub fn exactly(&self, field: &str) -> Option<&FieldTrouble> {
        self.troubles.iter().find(|t| t.field == field)
    }

    /// Whether anything of an entry of a list, such as `kit[2]`, is amiss.
    pub fn has_in(&self, entry: &str) -> bool {
        self.troubles.iter().any(|t| {
            t.field
                .strip_prefix(entry)
                .is_some_and(|r| r.starts_with('.'))
        })
    }

    /// Whether it is a layout that can be kept.
    pub fn is_good(&self) -> bool {
        self.troubles.is_empty()
    }
}

/// Whether a path is a field or an entry of the list that the field holds.
fn is_within(path: &str, field: &str) -> bool {
    path.strip_prefix(field)
        .is_some_and(|rest| rest.is_empty() || (rest.starts_with('[') && !rest.contains('.')))
}

/// Reads what is typed.
pub fn read(text: &LayoutText) -> ReadLayout {
    let mut typed = TypedLayout::default();
    let layout = typed.layout(text);
    let mut troubles = typed.troubles;
    let unread = troubles.len();
    for fault in layout.faults("") {
        // What could not be read is named already; the rules only see a stand-in there.
        let is_known = troubles[..unread]
            .iter()
            .any(|t| is_within(&fault.field, &t.field));
        if !is_known {
            troubles.push(FieldTrouble {
                field: fault.field,
                what: FieldTroubleKind::Rule {
                    value: fault.value,
                    rule: fault.rule,
                },
            });
        }
    }
    ReadLayout { layout, troubles }
}

/// What is being read, with what could not be.
#[derive(Default)]
struct TypedLayout {
    troubles: Vec<FieldTrouble>,
}

impl TypedLayout {
    fn blame(&mut self, field: &str, what: FieldTroubleKind) {
        self.troubles.push(FieldTrouble {
            field: field.to_owned(),
            what,
        });
    }

    /// A number; a text that is none gives a stand-in that breaks every rule.
    fn real(&mut self, field: &str, text: &str, measure: Measure) -> f64 {
        if text.trim().is_empty() {
            self.blame(field, FieldTroubleKind::Empty);
            return f64::NAN;
        }
        numbers::read(text, measure).unwrap_or_else(|| {
            self.blame(field, FieldTroubleKind::NoNumber(text.trim().to_owned()));
            f64::NAN
        })
    }

    fn maybe(&mut self, field: &str, text: &str, measure: Measure) -> Option<f64> {
        (!text.trim().is_empty()).then(|| self.real(field, text, measure))
    }

    fn reals(&mut self, field: &str, text: &str) -> Vec<f64> {
        let words = numbers::read_list(text);
        if words.is_empty() {
            self.blame(field, FieldTroubleKind::Empty);
        } else if let Some(Err(word)) = words.iter().find(|w| w.is_err()) {
            self.blame(field, FieldTroubleKind::NoNumber(word.clone()));
        }
        words.into_iter().map(|w| w.unwrap_or(f64::NAN)).collect()
    }

    fn cylinders(&mut self, field: &str, text: &str) -> Vec<u8> {
        let words = numbers::read_cylinders(text);
        if words.is_empty() {
            self.blame(field, FieldTroubleKind::Empty);
        } else if let Some(Err(word)) = words.iter().find(|w| w.is_err()) {
            self.blame(field, FieldTroubleKind::NoCylinder(word.clone()));
        }
        words.into_iter().map(|w| w.unwrap_or(0)).collect()
    }

    fn cylinder(&mut self, field: &str, text: &str) -> u8 {
        let text = text.trim();
        if text.is_empty() {
            self.blame(field, FieldTroubleKind::Empty);
        }
        text.parse().unwrap_or_else(|_| {
            if !text.is_empty() {
                self.blame(field, FieldTroubleKind::NoCylinder(text.to_owned()));
            }
            0
        })
    }

    fn count(&mut self, field: &str, text: &str) -> u32 {
        let text = text.trim();
        if text.is_empty() {
            self.blame(field, FieldTroubleKind::Empty);
            return 0;
        }
        text.parse().unwrap_or_else(|_| {
            self.blame(field, FieldTroubleKind::NoNumber(text.to_owned()));
            0
        })
    }

    /// A text that has to be there.
    fn line(&mut self, field: &str, text: &str) -> String {
        let text = text.trim();
        if text.is_empty() {
            self.blame(field, FieldTroubleKind::Empty);
        }
        text.to_owned()
    }

    fn layout(&mut self, t: &LayoutText) -> Layout {
        use Measure::{Length, Plain, Pressure, Torque};
        let whole = |count: u32| u8::try_from(count).unwrap_or(u8::MAX);
        Layout {
            format: 1,
            name: self.line("name", &t.name),
            note: t.note.trim().to_owned(),
            banks: self.banks(t),
            bank_angle_deg: self.real("bank_angle_deg", &t.bank_angle, Plain),
            firing_order: self.cylinders("firing_order", &t.firing_order),
            firing_intervals_deg: (!t.firing_intervals.trim().is_empty())
                .then(|| self.reals("firing_intervals_deg", &t.firing_intervals)),
            may_turn_back: t.may_turn_back,
            intake_valves: whole(t.intake_valves),
            exhaust_valves: whole(t.exhaust_valves),
            locks_per_valve: whole(t.locks),
            springs_per_valve: whole(t.springs),
            follower: t.follower,
            shims_per_valve: t.shims,
            bore_mm: self.real("bore_mm", &t.bore, Length),
            stroke_mm: self.real("stroke_mm", &t.stroke, Length),
            rod_mm: self.real("rod_mm", &t.rod, Length),
            intake_seat_mm: self.maybe("intake_seat_mm", &t.intake_seat, Length),
            exhaust_seat_mm: self.maybe("exhaust_seat_mm", &t.exhaust_seat, Length),
            breakaway_torque_nm: self.real("breakaway_torque_nm", &t.breakaway, Torque),
            breakaway_measured: t.breakaway_measured,
            pressure_rating_bar: self.real("pressure_rating_bar", &t.rating, Pressure),
            fitting_push_n: self.real("fitting_push_n", &t.push, Plain),
            spring: t.has_spring.then(|| self.spring(&t.spring)),
            rim_diameter_mm: self.maybe("rim_diameter_mm", &t.rim, Length),
            guide: t.has_guide.then(|| self.guide(&t.guide)),
            order_list: some(self.orders(t)),
            remarks: some(self.remarks(t)),
            working_positions: self.positions(t),
            tops: t.tops,
            adaptors: self.adaptors(t),
            kit: self.kit(t),
            handling_min: self.handling(t),
        }
    }

    fn banks(&mut self, t: &LayoutText) -> Vec<Bank> {
        let mut banks = Vec::new();
        for (i, bank) in t.banks.iter().enumerate() {
            banks.push(Bank {
                name: self.line(&format!("banks[{i}].name"), &bank.name),
                cylinders: self.cylinders(&format!("banks[{i}].cylinders"), &bank.cylinders),
            });
        }
        banks
    }

    fn spring(&mut self, s: &[String; 5]) -> SpringData {
        let mut real =
            |key: &str, i: usize, measure| self.real(&format!("spring.{key}"), &s[i], measure);
        SpringData {
            seated_load_n: real("seated_load_n", 0, Measure::Plain),
            rate_n_per_mm: real("rate_n_per_mm", 1, Measure::Plain),
            seated_height_mm: real("seated_height_mm", 2, Measure::Length),
            solid_height_mm: real("solid_height_mm", 3, Measure::Length),
            travel_to_locks_mm: real("travel_to_locks_mm", 4, Measure::Length),
        }
    }

    fn guide(&mut self, [length, tip]: &[String; 2]) -> Guide {
        Guide {
            length_mm: self.real("guide.length_mm", length, Measure::Length),
            tip_above_mm: self.real("guide.tip_above_mm", tip, Measure::Length),
        }
    }

    fn handling(&mut self, t: &LayoutText) -> Handling {
        let [turn, bank, adaptor] = &t.handling;
        let mut real =
            |key: &str, text: &str| self.real(&format!("handling_min.{key}"), text, Measure::Plain);
        Handling {
            turn_360: real("turn_360", turn),
            bank_change: real("bank_change", bank),
            adaptor_change: real("adaptor_change", adaptor),
            cylinder_setup: t.cylinder_setup,
        }
    }

    fn orders(&mut self, t: &LayoutText) -> Vec<OrderLine> {
        let mut lines = Vec::new();
        for (i, line) in t.order_list.iter().enumerate() {
            lines.push(OrderLine {
                item: self.line(&format!("order_list[{i}].item"), &line.item),
                count: self.count(&format!("order_list[{i}].count"), &line.count),
            });
        }
        lines
    }

    /// Cylinder, valve and text of an entry about one valve.
    fn about_valve(&mut self, path: &str, line: &ValveText, key: &str) -> (u8, String, String) {
        (
            self.cylinder(&format!("{path}.cylinder"), &line.cylinder),
            self.line(&format!("{path}.valve"), &line.valve),
            self.line(&format!("{path}.{key}"), &line.text),
        )
    }

    fn remarks(&mut self, t: &LayoutText) -> Vec<Remark> {
        let mut lines = Vec::new();
        for (i, line) in t.remarks.iter().enumerate() {
            let path = format!("remarks[{i}]");
            let (cylinder, valve, text) = self.about_valve(&path, line, "text");
            lines.push(Remark {
                cylinder,
                valve,
                text,
            });
        }
        lines
    }

    fn adaptors(&mut self, t: &LayoutText) -> Vec<AdaptorRule> {
        let mut lines = Vec::new();
        for (i, line) in t.adaptors.iter().enumerate() {
            let path = format!("adaptors[{i}]");
            let (cylinder, valve, adaptor) = self.about_valve(&path, line, "adaptor");
            lines.push(AdaptorRule {
                cylinder,
                valve,
                adaptor,
            });
        }
        lines
    }

    fn positions(&mut self, t: &LayoutText) -> Vec<WorkingPosition> {
        let mut lines = Vec::new();
        for (i, line) in t.positions.iter().enumerate() {
            let path = format!("working_positions[{i}]");
            lines.push(WorkingPosition {
                cylinder: self.cylinder(&format!("{path}.cylinder"), &line.cylinder),
                offsets_deg: self.reals(&format!("{path}.offsets_deg"), &line.offsets),
                why: line.why.trim().to_owned(),
            });
        }
        lines
    }

    fn kit(&mut self, t: &LayoutText) -> Vec<KitLine> {
        let mut lines = Vec::new();
        for (i, line) in t.kit.iter().enumerate() {
            let word = self.line(&format!("kit[{i}].item"), &line.item);
            let bank = line.bank.and_then(|b| t.banks.get(b));
            lines.push(KitLine {
                // A word that names no item stands in as it is; the rules refuse it.
                item: word
                    .parse()
                    .unwrap_or_else(|_| Item::Other(Arc::from(word.as_str()))),
                count: self.count(&format!("kit[{i}].count"), &line.count),
                bank: bank.map(|b| b.name.trim().to_owned()),
            });
        }
        lines
    }
}

fn some<T>(lines: Vec<T>) -> Option<Vec<T>> {
    (!lines.is_empty()).then_some(lines)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use trayzero_core::engine::shipped;

    fn all() -> Vec<Layout> {
        let read = |s: &trayzero_core::engine::ShippedLayout| {
            Layout::from_json(s.key, s.json.as_bytes()).unwrap()
        };
        shipped().iter().map(read).collect()
    }

    #[test]
    fn every_shipped_layout_comes_back_from_its_text_as_it_was() {
        for layout in all() {
            for decimal in [".", ","] {
                let text = LayoutText::of(&layout, decimal);
                let reading = read(&text);
                assert_eq!(reading.troubles, [], "{}", layout.name);
                assert_eq!(reading.layout, layout, "{}", layout.name);
                assert_eq!(LayoutText::of(&reading.layout, decimal), text);
            }
        }
    }

    #[test]
    fn what_is_no_number_is_named_at_its_field_and_nowhere_else() {
        let mut text = LayoutText::of(&all()[0], ".");
        text.bore = "wide".to_owned();
        text.banks[0].cylinders = "1 two 3".to_owned();
        text.rim = "1..5".to_owned();
        text.handling[1] = String::new();
        let reading = read(&text);
        let named: Vec<(&str, &FieldTroubleKind)> = reading
            .troubles
            .iter()
            .map(|t| (t.field.as_str(), &t.what))
            .collect();
        let no_number = |text: &str| FieldTroubleKind::NoNumber(text.to_owned());
        assert_eq!(
            named,
            [
                (
                    "banks[0].cylinders",
                    &FieldTroubleKind::NoCylinder("two".to_owned())
                ),
                ("bore_mm", &no_number("wide")),
                ("rim_diameter_mm", &no_number("1..5")),
                ("handling_min.bank_change", &FieldTroubleKind::Empty),
            ]
        );
        assert_eq!(text.bore, "wide", "what was typed stays");
    }

    #[test]
    fn rules_between_fields_are_named_at_the_field_that_is_typed_into() {
        let mut text = LayoutText::of(&all()[0], ".");
        text.firing_order = "1 2 2".to_owned();
        text.remarks.push(ValveText {
            cylinder: "9".to_owned(),
            valve: "intake 7".to_owned(),
            text: "tight".to_owned(),
        });
        let reading = read(&text);
        assert!(reading.at("firing_order").is_some());
        let last = text.remarks.len() - 1;
        assert!(reading.at(&format!("remarks[{last}].cylinder")).is_some());
        assert!(reading.at(&format!("remarks[{last}].valve")).is_some());
        assert!(reading.has_in(&format!("remarks[{last}]")));
        assert!(reading.at("bore_mm").is_none());
        assert!(!reading.is_good());
    }

    #[test]
    fn the_template_lacks_only_what_has_to_be_measured() {
        let text = LayoutText::template(7.0, ".");
        let missing: Vec<String> = read(&text).troubles.into_iter().map(|t| t.field).collect();
        let wanted = [
            "name",
            "bore_mm",
            "stroke_mm",
            "rod_mm",
            "breakaway_torque_nm",
        ];
        assert_eq!(missing, wanted);
    }

    #[test]
    fn the_kit_follows_a_bank_that_is_renamed_or_taken_away() {
        let two = all().into_iter().find(|l| {
            l.banks.len() == 2
                && l.kit
                    .iter()
                    .any(|k| k.bank.as_ref() == Some(&l.banks[1].name))
        });
        let mut text = LayoutText::of(&two.unwrap(), ".");
        text.banks[1].name = "rear".to_owned();
        let reading = read(&text);
        assert!(reading.is_good(), "{:?}", reading.troubles);
        assert!(
            reading
                .layout
                .kit
                .iter()
                .any(|k| k.bank.as_deref() == Some("rear"))
        );
        text.remove_bank(0);
        assert!(text.kit.iter().all(|k| k.bank.is_none_or(|b| b == 0)));
    }
}
