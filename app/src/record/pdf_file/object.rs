//! What a PDF is made of, read from its bytes (ISO 32000-1, 7.2 and 7.3), with bounds.

use std::collections::BTreeMap;

/// How deep arrays and dictionaries may lie in one another.
const DEPTH_MAX: usize = 40;

/// An object of a PDF.
#[derive(Clone, Debug, PartialEq)]
pub enum Object<'a> {
    /// Nothing, a truth value or a number, as it is spelled.
    Plain(&'a [u8]),
    /// A text in brackets or in hex digits, its bytes.
    Text(Vec<u8>),
    /// A name without its slash.
    Name(Vec<u8>),
    /// Several objects.
    Array(Vec<Object<'a>>),
    /// Objects by name.
    Dict(Dict<'a>),
    /// An object elsewhere, by its number.
    Reference(u32),
}

/// Objects by name.
pub type Dict<'a> = BTreeMap<Vec<u8>, Object<'a>>;

impl<'a> Object<'a> {
    /// Objects by name.
    pub fn dict(&self) -> Option<&Dict<'a>> {
        match self {
            Object::Dict(dict) => Some(dict),
            _ => None,
        }
    }

    /// Several objects.
    pub fn array(&self) -> Option<&[Object<'a>]> {
        match self {
            Object::Array(all) => Some(all),
            _ => None,
        }
    }

    /// The bytes of a text.
    pub fn text(&self) -> Option<&[u8]> {
        match self {
            Object::Text(text) => Some(text),
            _ => None,
        }
    }

    /// A number.
    pub fn number(&self) -> Option<f32> {
        match self {
            Object::Plain(text) => {
                let is_figure = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+');
                let text = text.iter().all(is_figure).then_some(*text)?;
                str::from_utf8(text).ok()?.parse().ok()
            }
            _ => None,
        }
    }

    /// A whole number, not below nothing.
    pub fn whole(&self) -> Option<usize> {
        match self {
            Object::Plain(text) => str::from_utf8(text).ok()?.parse().ok(),
            _ => None,
        }
    }
}

/// Reads objects from bytes, one after the other.
#[derive(Clone, Copy)]
pub struct Lexer<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Lexer<'a> {
    /// Reads from a place on.
    pub fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at }
    }

    /// The place that is read next.
    pub fn at(&self) -> usize {
        self.at
    }

    fn rest(&self) -> &'a [u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }

    fn peek(&self) -> Option<u8> {
        self.rest().first().copied()
    }

    /// Passes white space and comments.
    pub fn skip_blank(&mut self) {
        while let Some(byte) = self.peek() {
            if byte == b'%' {
                let line = self
                    .rest()
                    .iter()
                    .take_while(|b| !matches!(b, b'\r' | b'\n'));
                self.at += line.count();
            } else if is_white(byte) {
                self.at += 1;
            } else {
                return;
            }
        }
    }

    /// Passes this text, if it is what comes next.
    pub fn pass(&mut self, text: &[u8]) -> Option<()> {
        self.rest().strip_prefix(text)?;
        self.at += text.len();
        Some(())
    }

    /// Passes the end of a line.
    pub fn pass_line_end(&mut self) -> Option<()> {
        self.pass(b"\r\n").or_else(|| self.pass(b"\n"))
    }

    /// A whole number after blanks.
    pub fn whole(&mut self) -> Option<usize> {
        self.skip_blank();
        let digits = self
            .rest()
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count();
        let text = self.rest().get(..digits).filter(|text| !text.is_empty())?;
        self.at += digits;
        str::from_utf8(text).ok()?.parse().ok()
    }

    /// A word of regular characters after blanks.
    pub fn word(&mut self) -> &'a [u8] {
        self.skip_blank();
        let regular = self.rest().iter().take_while(|b| is_regular(**b)).count();
        let text = &self.rest()[..regular];
        self.at += regular;
        text
    }

    /// The next object.
    pub fn object(&mut self) -> Option<Object<'a>> {
        self.object_at(0)
    }

    fn object_at(&mut self, depth: usize) -> Option<Object<'a>> {
        if depth > DEPTH_MAX {
            return None;
        }
        self.skip_blank();
        match self.peek()? {
            b'/' => self.name().map(Object::Name),
            b'(' => self.literal().map(Object::Text),
            b'[' => {
                self.at += 1;
                self.array(depth)
            }
            b'<' if self.pass(b"<<").is_some() => self.dict(depth),
            b'<' => self.hex().map(Object::Text),
            _ => self.reference_or_plain(),
        }
    }

    fn array(&mut self, depth: usize) -> Option<Object<'a>> {
        let mut all = Vec::new();
        loop {
            self.skip_blank();
            if self.pass(b"]").is_some() {
                return Some(Object::Array(all));
            }
            all.push(self.object_at(depth + 1)?);
        }
    }

    fn dict(&mut self, depth: usize) -> Option<Object<'a>> {
        let mut dict = Dict::new();
        loop {
            self.skip_blank();
            if self.pass(b">>").is_some() {
                return Some(Object::Dict(dict));
            }
            let name = self.name()?;
            let value = self.object_at(depth + 1)?;
            // Two values of one name: readers differ in which one they take.
            if dict.insert(name, value).is_some() {
                return None;
            }
        }
    }

    fn name(&mut self) -> Option<Vec<u8>> {
        self.pass(b"/")?;
        let mut name = Vec::new();
        while let Some(byte) = self.peek().filter(|b| is_regular(*b)) {
            self.at += 1;
            if byte == b'#' {
                let pair = self.rest().get(..2)?;
                name.push(hex_digit(pair[0])? << 4 | hex_digit(pair[1])?);
                self.at += 2;
            } else {
                name.push(byte);
            }
        }
        Some(name)
    }

    fn literal(&mut self) -> Option<Vec<u8>> {
        self.pass(b"(")?;
        let (mut text, mut open) = (Vec::new(), 1_usize);
        loop {
            let byte = self.peek()?;
            self.at += 1;
            match byte {
                b'(' => open += 1,
                b')' if open == 1 => return Some(text),
                b')' => open -= 1,
                b'\\' => {
                    self.escaped(&mut text)?;
                    continue;
                }
                _ => {}
            }
            text.push(byte);
        }
    }

    /// What follows a backslash in a text; nothing for a line that goes on.
    fn escaped(&mut self, into: &mut Vec<u8>) -> Option<()> {
        let byte = self.peek()?;
        self.at += 1;
        into.push(match byte {
            b'n' => b'\n',
            b'r' => b'\r',
            b't' => b'\t',
            b'b' => 8,
            b'f' => 12,
            b'\r' => {
                let _ = self.pass(b"\n");
                return Some(());
            }
            b'\n' => return Some(()),
            b'0'..=b'7' => {
                let mut value = u32::from(byte - b'0');
                for _ in 0..2 {
                    let Some(digit) = self.peek().filter(|b| matches!(b, b'0'..=b'7')) else {
                        break;
                    };
                    value = value * 8 + u32::from(digit - b'0');
                    self.at += 1;
                }
                u8::try_from(value).ok()?
            }
            other => other,
        });
        Some(())
    }

    fn hex(&mut self) -> Option<Vec<u8>> {
        self.pass(b"<")?;
        let mut digits = Vec::new();
        loop {
            self.skip_blank();
            let byte = self.peek()?;
            self.at += 1;
            if byte == b'>' {
                break;
            }
            digits.push(hex_digit(byte)?);
        }
        let pair = |pair: &[u8]| pair[0] << 4 | pair.get(1).copied().unwrap_or(0);
        Some(digits.chunks(2).map(pair).collect())
    }

    /// `12 0 R`, or a word such as `12`, `0.5`, `true` and `null`.
    fn reference_or_plain(&mut self) -> Option<Object<'a>> {
        let mut ahead = *self;
        let number = ahead.whole();
        let of_first = ahead.whole().filter(|generation| *generation == 0);
        if let (Some(number), Some(_)) = (number, of_first)
            && ahead.word() == b"R"
        {
            *self = ahead;
            return Some(Object::Reference(u32::try_from(number).ok()?));
        }
        let word = self.word();
        (!word.is_empty()).then_some(Object::Plain(word))
    }
}

fn is_white(byte: u8) -> bool {
    matches!(byte, 0 | 9 | 10 | 12 | 13 | 32)
}

fn is_regular(byte: u8) -> bool {
    !is_white(byte)
        && !matches!(
            byte,
            b'(' | b')' | b'<' | b'>' | b'[' | b']' | b'{' | b'}' | b'/' | b'%'
        )
}

fn hex_digit(byte: u8) -> Option<u8> {
    char::from(byte).to_digit(16).map(|digit| digit as u8)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn read(text: &str) -> Option<Object<'_>> {
        Lexer::new(text.as_bytes(), 0).object()
    }

    /// The examples of ISO 32000-1, 7.3.4 and 7.3.5 (from memory).
    #[test]
    fn texts_and_names_are_read_as_the_standard_prints_them() {
        let text = |text: &str| Some(Object::Text(text.as_bytes().to_vec()));
        assert_eq!(read("(a(b)c)"), text("a(b)c"));
        assert_eq!(read("(two \\\nlines)"), text("two lines"));
        assert_eq!(read("(\\053\\0533)"), text("++3"));
        assert_eq!(read("<48 656C6c6F>"), text("Hello"));
        assert_eq!(read("<7>"), text("p"));
        assert_eq!(read("/A#20B"), Some(Object::Name(b"A B".to_vec())));
        assert_eq!(read("%note\n12 0 R"), Some(Object::Reference(12)));
        assert_eq!(read("12 0"), Some(Object::Plain(b"12")));
    }

    #[test]
    fn what_lies_too_deep_ends_early_or_is_there_twice_is_refused() {
        assert_eq!(read(&"[".repeat(100_000)), None);
        assert_eq!(read(&format!("{}{}", "[".repeat(60), "]".repeat(60))), None);
        for text in [
            "(a",
            "<4",
            "[1",
            "<</A 1",
            "<</A>>",
            "/A#4",
            "<</A 1/A 2>>",
            "",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
