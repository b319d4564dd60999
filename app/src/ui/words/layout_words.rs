//! Fields and rules of engine layouts, in the words of the language.

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
            "follower" => self.follower_kind,
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

    /// A rule of layouts in the language. One that is not known here stays as it is.
    pub fn layout_rule(&self, rule: &str) -> String {
        for (pattern, german) in RULES {
            if let Some(holes) = holes(pattern, rule) {
                let said = match self.language {
                    Language::English => numbered(pattern),
                    Language::German => german.to_owned(),
                };
                return self.filled(said, &holes);
            }
        }
        rule.to_owned()
    }

    fn filled(&self, mut said: String, holes: &[&str]) -> String {
        for (i, hole) in holes.iter().enumerate() {
            let is_path = hole.ends_with(']') && !hole.contains('"');
            let hole = if is_path {
                self.layout_field(hole)
            } else {
                (*hole).to_owned()
            };
            said = said.replace(&format!("{{{i}}}"), &hole);
        }
        said
    }
}

/// `{}` holes numbered from 0.
fn numbered(pattern: &str) -> String {
    let mut text = pattern.to_owned();
    for i in 0..pattern.matches("{}").count() {
        text = text.replacen("{}", &format!("{{{i}}}"), 1);
    }
    text
}

/// What stands in the holes of a pattern, if the text has its form.
fn holes<'a>(pattern: &str, text: &'a str) -> Option<Vec<&'a str>> {
    let mut parts = pattern.split("{}").peekable();
    let mut rest = text.strip_prefix(parts.next()?)?;
    let mut found = Vec::new();
    while let Some(part) = parts.next() {
        if parts.peek().is_none() {
            found.push(rest.strip_suffix(part)?);
            return Some(found);
        }
        let at = rest.find(part)?;
        found.push(&rest[..at]);
        rest = &rest[at + part.len()..];
    }
    rest.is_empty().then_some(found)
}

/// Every rule of layouts, and how German says it.
const RULES: [(&str, &str); 34] = [
    ("wants the number {}", "muss die Zahl {0} sein"),
    (
        "wants a whole number from {} to {}",
        "muss eine ganze Zahl von {0} bis {1} sein",
    ),
    (
        "wants a number from {} to {}",
        "muss eine Zahl von {0} bis {1} sein",
    ),
    (
        "wants a number above 0, up to {}",
        "muss eine Zahl über 0 sein, höchstens {0}",
    ),
    (
        "wants a text of {} to {} characters on one line, without blanks at its ends",
        "muss ein Text von {0} bis {1} Zeichen in einer Zeile sein, ohne Leerzeichen am Rand",
    ),
    (
        "wants a text of up to {} characters, without control characters",
        "muss ein Text von höchstens {0} Zeichen sein, ohne Steuerzeichen",
    ),
    (
        "wants a list of up to {} entries",
        "muss eine Liste von höchstens {0} Einträgen sein",
    ),
    (
        "wants a list of {} to {} entries",
        "muss eine Liste von {0} bis {1} Einträgen sein",
    ),
    (
        "wants a piece of the tool kit, not a part of the engine: one of {}, or a name of the shop's own of 1 to {} characters",
        "muss ein Stück aus dem Satz sein, kein Teil des Motors, oder ein eigener Name von 1 bis {1} Zeichen",
    ),
    (
        "wants a side and a place, such as \"intake 1\" or \"exhaust 2\"",
        "braucht Seite und Stelle, etwa Einlass 1 oder Auslass 2",
    ),
    ("wants one of {}", "muss eines von {0} sein"),
    ("wants true or false", "muss ja oder nein sein"),
    (
        "wants an object with the fields {}",
        "braucht die Felder {0}",
    ),
    ("is missing; it {}", "fehlt"),
    (
        "is written twice: keep one",
        "steht zweimal da: einmal genügt",
    ),
    (
        "is the name of {} already; each bank has its own",
        "heißt schon {0}; jede Bank hat ihren eigenen Namen",
    ),
    (
        "stands at {} already; each cylinder stands once",
        "steht schon bei {0}; jeder Zylinder steht einmal da",
    ),
    (
        "an engine has 1 to {} cylinders in all",
        "ein Motor hat insgesamt 1 bis {0} Zylinder",
    ),
    (
        "is a cylinder of no bank",
        "ist in keiner Bank ein Zylinder",
    ),
    (
        "fires twice; the order names each cylinder once",
        "zündet zweimal; die Zündfolge nennt jeden Zylinder einmal",
    ),
    (
        "leaves out cylinder {}; the order names each cylinder once",
        "lässt Zylinder {0} aus; die Zündfolge nennt jeden Zylinder einmal",
    ),
    (
        "wants one angle for each of the {} firings",
        "braucht einen Winkel für jede der {0} Zündungen",
    ),
    (
        "sums to {} degrees; the firings of one cycle sum to 720",
        "ergibt {0} Grad; die Zündungen eines Spiels ergeben 720",
    ),
    (
        "wants more than half the stroke, {}",
        "muss mehr als der halbe Hub sein, {0}",
    ),
    (
        "wants less than the bore, {}",
        "muss kleiner als die Bohrung sein, {0}",
    ),
    (
        "wants less than the seated height, {}",
        "muss kleiner als die eingebaute Höhe sein, {0}",
    ),
    (
        "does not fit: the spring is solid after {} mm",
        "passt nicht: die Feder liegt nach {0} mm auf Block",
    ),
    (
        "has an entry already; write all its offsets into one",
        "hat schon einen Eintrag; alle Winkel gehören in einen",
    ),
    ("stands in this list already", "steht schon in dieser Liste"),
    (
        "a cylinder has {} intake valves",
        "ein Zylinder hat so viele Einlassventile: {0}",
    ),
    (
        "a cylinder has {} exhaust valves",
        "ein Zylinder hat so viele Auslassventile: {0}",
    ),
    (
        "has an entry for cylinder {} already",
        "hat für Zylinder {0} schon einen Eintrag",
    ),
    (
        "is no bank; the banks are {}",
        "ist keine Bank; es gibt {0}",
    ),
    (
        "stands in the kit already; add the counts up in one line",
        "steht schon im Satz; die Anzahl in einer Zeile zusammenzählen",
    ),
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::{DE, EN};
    use serde_json::{Value, json};
    use trayzero_core::engine::{Layout, LayoutFault, shipped};

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
            assert_ne!(german, fault.rule, "{fault} is not said in German");
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
        assert_eq!(
            EN.layout_rule("stands at banks[0].cylinders[2] already; each cylinder stands once"),
            "stands at bank no. 1 · cylinders no. 3 already; each cylinder stands once"
        );
        assert_eq!(
            DE.layout_rule("sums to 700 degrees; the firings of one cycle sum to 720"),
            "ergibt 700 Grad; die Zündungen eines Spiels ergeben 720"
        );
        assert_eq!(
            EN.layout_rule("a rule of a later day"),
            "a rule of a later day"
        );
    }
}
