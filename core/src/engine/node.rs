//! A JSON text as a tree that keeps what serde's own value drops: fields written
//! twice.

use std::fmt;

use serde::de::{self, DeserializeSeed, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::Value;

/// How deep a layout may be nested. The format itself needs five levels.
pub(super) const DEPTH_MAX: usize = 16;

/// Longest excerpt of a value in a fault, in characters.
const EXCERPT_CHARS_MAX: usize = 60;

/// One value of a JSON text.
#[derive(Clone, Debug)]
pub(super) enum Node {
    /// Null, true, false, a number or a text.
    Leaf(Value),
    /// A list.
    List(Vec<Node>),
    /// An object, its fields in the order written, double ones included.
    Object(Vec<(String, Node)>),
}

impl Node {
    /// Reads one JSON text.
    ///
    /// # Errors
    /// Text that is no JSON, is followed by more, or is nested deeper than [`DEPTH_MAX`].
    pub(super) fn parse(bytes: &[u8]) -> Result<Self, serde_json::Error> {
        let mut reader = serde_json::Deserializer::from_slice(bytes);
        let node = Level(0).deserialize(&mut reader)?;
        reader.end()?;
        Ok(node)
    }

    /// A field of an object; the last one if it is written twice, as serde reads it.
    pub(super) fn get(&self, key: &str) -> Option<&Node> {
        match self {
            Node::Object(fields) => fields.iter().rev().find(|(k, _)| k == key).map(|(_, v)| v),
            _ => None,
        }
    }

    /// The entries of a list; none for anything else.
    pub(super) fn entries(&self) -> &[Node] {
        match self {
            Node::List(entries) => entries,
            _ => &[],
        }
    }

    /// The text, if it is one.
    pub(super) fn text(&self) -> Option<&str> {
        match self {
            Node::Leaf(Value::String(text)) => Some(text),
            _ => None,
        }
    }

    /// The whole number from 0 on, if it is one.
    pub(super) fn whole(&self) -> Option<u64> {
        match self {
            Node::Leaf(value) => value.as_u64(),
            _ => None,
        }
    }

    /// The number, if it is one.
    pub(super) fn real(&self) -> Option<f64> {
        match self {
            Node::Leaf(Value::Number(number)) => number.as_f64().filter(|n| n.is_finite()),
            _ => None,
        }
    }

    /// The value as it is shown in a fault, shortened.
    pub(super) fn excerpt(&self) -> String {
        match self {
            Node::Leaf(value) => shorten(&value.to_string()),
            Node::List(entries) => format!("a list of {}", entries.len()),
            Node::Object(fields) => format!("an object of {}", fields.len()),
        }
    }
}

/// The beginning of a text, with a mark where it was cut.
pub(super) fn shorten(text: &str) -> String {
    let mut short: String = text.chars().take(EXCERPT_CHARS_MAX).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

/// How many lists and objects are around the value that is read next.
#[derive(Clone, Copy)]
struct Level(usize);

impl Level {
    fn below<E: de::Error>(self) -> Result<Level, E> {
        if self.0 >= DEPTH_MAX {
            return Err(E::custom(format_args!(
                "nested deeper than {DEPTH_MAX} levels"
            )));
        }
        Ok(Level(self.0 + 1))
    }
}

impl<'de> DeserializeSeed<'de> for Level {
    type Value = Node;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Node, D::Error> {
        reader.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Level {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Leaf(Value::Null))
    }

    fn visit_bool<E>(self, flag: bool) -> Result<Node, E> {
        Ok(Node::Leaf(flag.into()))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Node, E> {
        Ok(Node::Leaf(number.into()))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Node, E> {
        Ok(Node::Leaf(number.into()))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Node, E> {
        Ok(Node::Leaf(number.into()))
    }

    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(Node::Leaf(text.into()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Node, A::Error> {
        let level = self.below()?;
        let mut entries = Vec::new();
        while let Some(entry) = list.next_element_seed(level)? {
            entries.push(entry);
        }
        Ok(Node::List(entries))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut object: A) -> Result<Node, A::Error> {
        let level = self.below()?;
        let mut fields = Vec::new();
        while let Some(key) = object.next_key::<String>()? {
            fields.push((key, object.next_value_seed(level)?));
        }
        Ok(Node::Object(fields))
    }
}
