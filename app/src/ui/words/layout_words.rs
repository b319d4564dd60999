//! Fields and rules of engine layouts, in the words of the language.

use trayzero_core::engine::{LayoutRule, Side};

use super::{Language, Words};

impl Words {
    /// A field of a layout, given as a path such as `banks[1].cylinders[0]`, in plain
    /// words. A part that is no field of a layout stays as it is.
    pub fn layout_field(&self, path: &str) -> String {
        let parts: Vec<String> = path.split('.').map(|p| self.field_part(p)).collect();
        parts.join(" · ")
    }

    fn field_part(&self, part: &str) -> String {
        let (key, index) = match part.split_once('[') {
            Some((key, rest)) => (key, rest.trim_end_matches(']').parse::<usize>().ok()),
            None => (part, None),
        };
        let word = match (key, index) {
            ("banks", Some(_)) => self.bank_word,
            _ => self.field_word(key).unwrap_or(key),
        };
        match index {
            Some(index) => format!("{word} {}", self.nth(index + 1)),
            None => word.to_owned(),
        }
    }

    fn field_word(&self, key: &str) -> Option<&'static str> {
        let engine = match key {
            "name" => self.name_word,
            "note" => self.note,
            "banks" => self.banks,
            "cylinders" => self.cylinders_word,
            "bank_angle_deg" => self.bank_angle_deg,
            "firing_order" => self.firing_order,
            "firing_intervals_deg" => self.firing_intervals,
            "may_turn_back" => self.may_turn_back,
            "tops" => self.tops_either,
            "intake_valves" => self.intake_valves,
            "exhaust_valves" => self.exhaust_valves,
            "locks_per_valve" => self.locks_per_valve,
            "springs_per_valve" => self.springs_per_valve,
            "follower" | "shims_per_valve" => self.follower_kind,
            _ => return self.field_word_of_figure(key),
        };
        Some(engine)
    }

    fn field_word_of_figure(&self, key: &str) -> Option<&'static str> {
        let figure = match key {
            "bore_mm" => self.bore_mm,
            "stroke_mm" => self.stroke_mm,
            "rod_mm" => self.rod_mm,
            "intake_seat_mm" => self.seat_intake_mm,
            "exhaust_seat_mm" => self.seat_exhaust_mm,
            "breakaway_torque_nm" => self.breakaway_nm,
            "breakaway_measured" => self.measured,
            "pressure_rating_bar" => self.rating_bar,
            "fitting_push_n" => self.push_n,
            "spring" => self.spring_word,
            "seated_load_n" => self.seated_load_n,
            "rate_n_per_mm" => self.spring_rate,
            "seated_height_mm" => self.seated_height_mm,
            "solid_height_mm" => self.solid_height_mm,
            "travel_to_locks_mm" => self.travel_to_locks_mm,
            "rim_diameter_mm" => self.rim_mm,
            "guide" => self.guide_word,
            "length_mm" => self.length_mm,
            "tip_above_mm" => self.tip_above_mm,
            "handling_min" => self.handling_times,
            "turn_360" => self.turn_360,
            "bank_change" => self.bank_change,
            "adaptor_change" => self.adaptor_change,
            _ => return self.field_word_of_list(key),
        };
        Some(figure)
    }

    fn field_word_of_list(&self, key: &str) -> Option<&'static str> {
        Some(match key {
            "order_list" => self.order_list,
            "remarks" | "text" => self.remark,
            "working_positions" => self.working_position,
            "offsets_deg" => self.offsets_deg,
            "why" => self.why_word,
            "adaptors" | "adaptor" => self.adaptor_word,
            "kit" => self.kit,
            "item" => self.item_word,
            "count" => self.count_word,
            "bank" => self.bank_word,
            "cylinder" => self.cylinder_word,
            "valve" => self.valve_word,
            _ => return None,
        })
    }

    /// A rule of layouts in the language.
    pub fn layout_rule(&self, rule: &LayoutRule) -> String {
        match self.language {
            Language::English => self.with_field_in_words(rule).to_string(),
            Language::German => german_rule(&self.with_field_in_words(rule)),
        }
    }

    /// A field that a rule names is said in plain words too.
    fn with_field_in_words(&self, rule: &LayoutRule) -> LayoutRule {
        let mut rule = rule.clone();
        if let LayoutRule::BankNameAgain { field } | LayoutRule::CylinderAgain { field } = &mut rule
        {
            *field = self.layout_field(field);
        }
        rule
    }
}

#[expect(
    clippy::too_many_lines,
    reason = "a table: every rule, and how German says it"
)]
fn german_rule(rule: &LayoutRule) -> String {
    use LayoutRule as R;
    match rule {
        R::TheNumber(number) => format!("muss die Zahl {number} sein"),
        R::WholeNumber { least, most } => {
            format!("muss eine ganze Zahl von {least} bis {most} sein")
        }
        R::Number { least, most } => {
            format!("muss eine Zahl von {} bis {} sein", of(*least), of(*most))
        }
        R::NumberAbove0(most) => format!("muss eine Zahl über 0 sein, höchstens {}", of(*most)),
        R::Line { least, most } => format!(
            "muss ein Text von {least} bis {most} Zeichen in einer Zeile sein, ohne Leerzeichen \
             am Rand"
        ),
        R::Text(most) => {
            format!("muss ein Text von höchstens {most} Zeichen sein, ohne Steuerzeichen")
        }
        R::TrueOrFalse => "muss ja oder nein sein".into(),
        R::OneOf(words) => format!("muss eines von „{}“ sein", words.join("“, „")),
        R::KitItem { most, .. } => format!(
            "muss ein Stück aus dem Satz sein, kein Teil des Motors, oder ein eigener Name von 1 \
             bis {most} Zeichen"
        ),
        R::Valve => "braucht Seite und Stelle, etwa Einlass 1 oder Auslass 2".into(),
        R::ListUpTo(most) => format!("muss eine Liste von höchstens {most} Einträgen sein"),
        R::List { least, most } => {
            format!("muss eine Liste von {least} bis {most} Einträgen sein")
        }
        R::Object(keys) => format!("braucht die Felder {keys}"),
        R::Missing(_) => "fehlt".into(),
        R::NoField(keys) => format!("ist kein Feld einer Motorbeschreibung; hier gibt es: {keys}"),
        R::WrittenTwice => "steht zweimal da: einmal genügt".into(),
        R::BankNameAgain { field } => {
            format!("heißt schon {field}; jede Bank hat ihren eigenen Namen")
        }
        R::CylinderAgain { field } => {
            format!("steht schon bei {field}; jeder Zylinder steht einmal da")
        }
        R::TooManyCylinders(most) => format!("ein Motor hat insgesamt 1 bis {most} Zylinder"),
        R::CylinderOfNoBank => "ist in keiner Bank ein Zylinder".into(),
        R::FiresTwice => "zündet zweimal; die Zündfolge nennt jeden Zylinder einmal".into(),
        R::LeavesOut(cylinders) => {
            format!("lässt Zylinder {cylinders} aus; die Zündfolge nennt jeden Zylinder einmal")
        }
        R::AngleForEach(firings) => {
            format!("braucht einen Winkel für jede der {firings} Zündungen")
        }
        R::SumIsNot720(sum) => format!(
            "ergibt {} Grad; die Zündungen eines Spiels ergeben 720",
            of(*sum)
        ),
        R::MoreThanHalfStroke(half) => format!("muss mehr als der halbe Hub sein, {}", of(*half)),
        R::LessThanBore(bore) => format!("muss kleiner als die Bohrung sein, {}", of(*bore)),
        R::LessThanSeatedHeight(height) => {
            format!("muss kleiner als die eingebaute Höhe sein, {}", of(*height))
        }
        R::SolidBefore(mm) => {
            format!("passt nicht: die Feder liegt nach {} mm auf Block", of(*mm))
        }
        R::PositionAgain => "hat schon einen Eintrag; alle Winkel gehören in einen".into(),
        R::InListAgain => "steht schon in dieser Liste".into(),
        R::NoSuchValve { most, side } => {
            let side = if *side == Side::Intake.word() {
                "Einlassventile"
            } else {
                "Auslassventile"
            };
            format!("ein Zylinder hat so viele {side}: {most}")
        }
        R::ValveAgain(cylinder) => format!("hat für Zylinder {cylinder} schon einen Eintrag"),
        R::NoBank(names) => format!("ist keine Bank; es gibt „{}“", names.join("“, „")),
        R::KitAgain => "steht schon im Satz; die Anzahl in einer Zeile zusammenzählen".into(),
        R::BucketAlone => "gehört nur zu Tassenstößeln".into(),
        R::MoreFaults(more) => format!("hat {more} weitere Fehler"),
        R::TooLarge(most) => {
            format!("ist größer, als eine Motorbeschreibung sein darf: {most} Byte")
        }
        R::Empty => "ist leer; eine Motorbeschreibung ist ein JSON-Objekt".into(),
        R::NoObject => "ist kein JSON-Objekt; eine Motorbeschreibung ist eines, mit den Feldern \
                        format, name, banks und so weiter"
            .into(),
        R::Newer(format) => format!(
            "wurde von einem neueren Programm geschrieben; dieses liest Format {format}. An der \
             Datei wird nichts geändert"
        ),
        R::EndsEarly(why) => format!("endet zu früh: {why}"),
        R::TooDeep { why, deepest } => {
            format!("ist keine Motorbeschreibung: {why}; sie braucht nicht mehr als {deepest}")
        }
        R::NoJson(why) => format!("ist kein JSON: {why}"),
        R::Unreadable(why) => format!("lässt sich nicht lesen: {why}"),
        R::Unwritable(why) => format!("lässt sich nicht schreiben: {why}"),
    }
}

/// A figure with the comma that German uses.
fn of(figure: f64) -> String {
    figure.to_string().replace('.', ",")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::{DE, EN};
    use serde_json::{Value, json};
    use trayzero_core::engine::{Layout, LayoutFault, LayoutRule, shipped};

    fn faults_with(changes: &[(&str, Value)]) -> Vec<LayoutFault> {
        let mut tree: Value = serde_json::from_str(shipped()[0].json).unwrap();
        for (pointer, value) in changes {
            *tree.pointer_mut(pointer).unwrap() = value.clone();
        }
        let bytes = serde_json::to_vec(&tree).unwrap();
        Layout::from_json("", &bytes).err().unwrap_or_default()
    }

    /// Breaks the first shipped layout in the ways that an editor lets a person break it.
    fn faults() -> Vec<LayoutFault> {
        let kit = |item: &str, bank: &str| json!({"item": item, "count": 1, "bank": bank});
        let about = |cylinder: u8, valve: &str| json!({"cylinder": cylinder, "valve": valve, "adaptor": "x"});
        let sets = [
            vec![
                ("/name", json!("")),
                ("/note", json!("\u{7}")),
                ("/bore_mm", json!(1)),
                ("/intake_valves", json!(9)),
                ("/firing_order", json!([1, 1, 9])),
                ("/kit", json!([kit("lock", "nowhere")])),
                ("/adaptors", json!([about(1, "top")])),
            ],
            vec![
                (
                    "/banks",
                    json!([{"name": "A", "cylinders": [1, 2]}, {"name": "A", "cylinders": [2, 3]}]),
                ),
                ("/rod_mm", json!(21)),
                ("/intake_seat_mm", json!(150)),
                ("/spring/solid_height_mm", json!(200)),
                (
                    "/adaptors",
                    json!([
                        about(1, "intake 3"),
                        about(1, "exhaust 3"),
                        about(2, "intake 1"),
                        about(2, "intake 1")
                    ]),
                ),
                (
                    "/kit",
                    json!([kit("rag", "A"), kit("rag", "A"), kit("rag", "B")]),
                ),
                (
                    "/working_positions",
                    json!([{"cylinder": 2, "offsets_deg": [1, 1], "why": ""}, {"cylinder": 2, "offsets_deg": [], "why": ""}]),
                ),
            ],
            vec![
                ("/spring/travel_to_locks_mm", json!(100)),
                ("/firing_order", json!([1, 2])),
            ],
            vec![("/spring/travel_to_locks_mm", json!(-1))],
            vec![(
                "/banks",
                json!([{"name": "A", "cylinders": [1, 2, 3, 4, 5, 6, 7, 8, 9]}, {"name": "B", "cylinders": [10, 11, 12, 13, 14, 15, 16, 17]}]),
            )],
        ];
        let mut all: Vec<LayoutFault> = sets.iter().flat_map(|s| faults_with(s)).collect();
        let mut uneven: Value = serde_json::from_str(shipped()[0].json).unwrap();
        uneven["firing_intervals_deg"] = json!([100.0, 200.0]);
        let bytes = serde_json::to_vec(&uneven).unwrap();
        all.extend(Layout::from_json("", &bytes).unwrap_err());
        all
    }

    #[test]
    fn every_fault_of_a_layout_is_said_in_both_languages() {
        let faults = faults();
        assert!(faults.len() > 24, "{}", faults.len());
        for fault in faults {
            let (english, german) = (EN.layout_rule(&fault.rule), DE.layout_rule(&fault.rule));
            assert_ne!(german, english, "{fault} is not said in German");
            assert!(!english.contains("banks["), "{english}");
            assert!(!german.contains(['{', '[']), "{german}");
            for words in [&EN, &DE] {
                let field = words.layout_field(&fault.field);
                assert!(!field.contains(['_', '[']), "{field} of {fault}");
            }
        }
    }

    #[test]
    fn a_path_is_said_in_plain_words() {
        assert_eq!(
            EN.layout_field("banks[1].cylinders[0]"),
            "bank no. 2 · cylinders no. 1"
        );
        let field = "banks[0].cylinders[2]".to_owned();
        assert_eq!(
            EN.layout_rule(&LayoutRule::CylinderAgain { field }),
            "stands at bank no. 1 · cylinders no. 3 already; each cylinder stands once"
        );
        assert_eq!(
            DE.layout_rule(&LayoutRule::SumIsNot720(700.5)),
            "ergibt 700,5 Grad; die Zündungen eines Spiels ergeben 720"
        );
    }
}
