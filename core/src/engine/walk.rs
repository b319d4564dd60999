//! Holds a JSON tree against the table of fields and writes down every difference.

use std::collections::BTreeSet;

use super::fault::{LayoutFault, WHOLE_FILE};
use super::names::ValveName;
use super::node::Node;
use super::rule::LayoutRule;
use super::table::{FieldKind, LayoutField};
use super::{ITEM_NAME_MAX, Item};

/// The most faults that are written out one by one: nobody reads more, and a file made
/// of nothing else must not fill the memory.
pub(super) const FAULTS_MAX: usize = 1_000;

/// The faults found so far in one file.
#[derive(Debug)]
pub(super) struct Faults<'a> {
    file: &'a str,
    list: Vec<LayoutFault>,
    more: usize,
}

impl<'a> Faults<'a> {
    pub(super) fn new(file: &'a str) -> Self {
        Self {
            file,
            list: Vec::new(),
            more: 0,
        }
    }

    /// Writes down one fault.
    pub(super) fn add(
        &mut self,
        field: impl Into<String>,
        value: impl Into<String>,
        rule: LayoutRule,
    ) {
        if self.list.len() < FAULTS_MAX {
            self.list.push(LayoutFault {
                file: self.file.to_owned(),
                field: field.into(),
                value: value.into(),
                rule,
            });
        } else {
            self.more += 1;
        }
    }

    /// Whether a fault of that very field is written down already.
    pub(super) fn has(&self, field: &str) -> bool {
        self.list.iter().any(|f| f.field == field)
    }

    pub(super) fn into_list(mut self) -> Vec<LayoutFault> {
        if self.more > 0 {
            self.list.push(LayoutFault {
                file: self.file.to_owned(),
                field: WHOLE_FILE.to_owned(),
                value: String::new(),
                rule: LayoutRule::MoreFaults(self.more),
            });
        }
        self.list
    }
}

/// The path of an object's field.
fn join(path: &str, key: &str) -> String {
    // A key without a character would be a fault that names no field.
    let key = if key.is_empty() { "\"\"" } else { key };
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

/// Holds a value and all within it against what it has to be.
pub(super) fn walk(kind: &FieldKind, node: &Node, path: &str, faults: &mut Faults) {
    match (kind, node) {
        (FieldKind::Object(fields), Node::Object(written)) => {
            walk_object(fields, written, path, faults);
        }
        (FieldKind::List(of, min, max), Node::List(entries)) => {
            if entries.len() < *min || entries.len() > *max {
                faults.add(path, node.excerpt(), wants(kind));
            }
            for (i, entry) in entries.iter().take(*max).enumerate() {
                walk(of, entry, &format!("{path}[{i}]"), faults);
            }
        }
        _ if fits(kind, node) => {}
        _ => faults.add(path, node.excerpt(), wants(kind)),
    }
}

fn walk_object(
    fields: &[LayoutField],
    written: &[(String, Node)],
    path: &str,
    faults: &mut Faults,
) {
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for (key, node) in written {
        let here = join(path, &super::node::shorten(key));
        match fields.iter().find(|f| f.key == key) {
            _ if !seen.insert(key) => {
                faults.add(here, node.excerpt(), LayoutRule::WrittenTwice);
            }
            Some(field) => walk(&field.kind, node, &here, faults),
            None => {
                let keys: Vec<&str> = fields.iter().map(|f| f.key).collect();
                let rule = LayoutRule::NoField(keys.join(", "));
                faults.add(here, node.excerpt(), rule);
            }
        }
    }
    for field in fields.iter().filter(|f| !f.optional) {
        if !seen.contains(field.key) {
            let rule = LayoutRule::Missing(Box::new(wants(&field.kind)));
            faults.add(join(path, field.key), "", rule);
        }
    }
}

/// Whether a value that holds no others is what it has to be.
fn fits(kind: &FieldKind, node: &Node) -> bool {
    let within = |min: f64, max: f64| node.real().is_some_and(|n| n >= min && n <= max);
    match kind {
        FieldKind::Whole(min, max) => node.whole().is_some_and(|n| n >= *min && n <= *max),
        FieldKind::Real(min, max) => within(*min, *max),
        FieldKind::Above0(max) => within(f64::MIN_POSITIVE, *max),
        FieldKind::Line(min, max) => node.text().is_some_and(|t| {
            let chars = t.chars().count();
            chars >= *min && chars <= *max && t.trim() == t && !t.chars().any(char::is_control)
        }),
        FieldKind::Lines(max) => node.text().is_some_and(|t| {
            t.chars().count() <= *max && !t.chars().any(|c| c.is_control() && c != '\n')
        }),
        FieldKind::Flag => matches!(node, Node::Leaf(value) if value.is_boolean()),
        FieldKind::Word(words) => node.text().is_some_and(|t| words.contains(&t)),
        FieldKind::KitItem => node
            .text()
            .is_some_and(|t| t.parse::<Item>().is_ok_and(|item| item.is_kit())),
        FieldKind::Valve => node.text().is_some_and(|t| valve(1, t).is_some()),
        FieldKind::List(..) | FieldKind::Object(_) => false,
    }
}

/// The valve of that name, if it is written the one way that names are written.
pub(super) fn valve(cylinder: u8, within: &str) -> Option<ValveName> {
    ValveName::parse(cylinder, within)
        .ok()
        .filter(|v| v.within_cylinder() == within)
}

/// What a value has to be.
fn wants(kind: &FieldKind) -> LayoutRule {
    match *kind {
        FieldKind::Whole(least, most) if least == most => LayoutRule::TheNumber(least),
        FieldKind::Whole(least, most) => LayoutRule::WholeNumber { least, most },
        FieldKind::Real(least, most) => LayoutRule::Number { least, most },
        FieldKind::Above0(most) => LayoutRule::NumberAbove0(most),
        FieldKind::Line(least, most) => LayoutRule::Line { least, most },
        FieldKind::Lines(most) => LayoutRule::Text(most),
        FieldKind::Flag => LayoutRule::TrueOrFalse,
        FieldKind::Word(words) => LayoutRule::OneOf(words),
        FieldKind::KitItem => kit_item_wanted(),
        FieldKind::Valve => LayoutRule::Valve,
        FieldKind::List(_, 0, most) => LayoutRule::ListUpTo(most),
        FieldKind::List(_, least, most) => LayoutRule::List { least, most },
        FieldKind::Object(fields) => {
            let keys: Vec<&str> = fields.iter().map(|f| f.key).collect();
            LayoutRule::Object(keys.join(", "))
        }
    }
}

fn kit_item_wanted() -> LayoutRule {
    let words: Vec<String> = Item::FIXED
        .iter()
        .filter(|i| i.is_kit())
        .map(|i| format!("\"{i}\""))
        .collect();
    LayoutRule::KitItem {
        words: words.join(", "),
        most: ITEM_NAME_MAX,
    }
}
