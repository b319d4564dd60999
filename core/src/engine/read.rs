//! Reading a layout from JSON, with all its faults in one go.

use std::cell::RefCell;
use std::collections::VecDeque;

use serde_json::error::Category;

use super::Layout;
use super::fault::{LayoutFault, WHOLE_FILE};
use super::node::{DEPTH_MAX, Node, shorten};
use super::rule::LayoutRule;
use super::rules::hold_against_rules;
use super::table::{FORMAT, LAYOUT};
use super::walk::{Faults, walk};

/// The largest layout file that is read, in bytes.
pub const LAYOUT_BYTES_MAX: usize = 1 << 20;

impl Layout {
    /// Reads and checks a layout. `file` is only named in faults.
    ///
    /// # Errors
    /// Every fault of the text, not only the first. A text that is no JSON at all, is
    /// larger than [`LAYOUT_BYTES_MAX`] or has a newer format gives that one fault.
    /// # Examples
    /// ```
    /// use trayzero_core::engine::{Layout, shipped};
    ///
    /// let one = shipped().iter().find(|s| s.key == "inline-4-16v").unwrap();
    /// let layout = Layout::from_json(one.key, one.json.as_bytes()).unwrap();
    /// assert_eq!((layout.cylinder_count(), layout.valve_count()), (4, 16));
    ///
    /// let bad = one.json.replacen("\"bore_mm\"", "\"bore_inch\"", 1);
    /// let faults = Layout::from_json("mine.json", bad.as_bytes()).unwrap_err();
    /// let fields: Vec<&str> = faults.iter().map(|f| f.field.as_str()).collect();
    /// assert!(fields.contains(&"bore_mm") && fields.contains(&"bore_inch"));
    /// ```
    pub fn from_json(file: &str, bytes: &[u8]) -> Result<Self, Vec<LayoutFault>> {
        let faults = faults_of_text(file, bytes);
        if !faults.is_empty() {
            return Err(faults);
        }
        serde_json::from_slice(without_mark(bytes))
            .map_err(|e| vec![whole_file(file, "", LayoutRule::Unreadable(e.to_string()))])
    }

    /// Every fault of a layout that was built or changed in memory, or stands in a
    /// journal; none means that [`Layout::from_json`] takes it as it is written out.
    pub fn faults(&self, file: &str) -> Vec<LayoutFault> {
        let bytes = match serde_json::to_vec(self) {
            Ok(bytes) => bytes,
            Err(e) => return vec![whole_file(file, "", LayoutRule::Unwritable(e.to_string()))],
        };
        if is_known_good(&bytes) {
            return Vec::new();
        }
        let faults = faults_of_text(file, &bytes);
        if faults.is_empty() {
            note_good(bytes);
        }
        faults
    }

    /// The text of a layout file, one field a line.
    ///
    /// # Errors
    /// None that is known of: a layout holds nothing that JSON cannot. A figure that is
    /// not finite would be written as `null`, and [`Layout::faults`] reports it.
    pub fn to_json_pretty(&self) -> serde_json::Result<String> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }
}

fn whole_file(file: &str, value: impl Into<String>, rule: LayoutRule) -> LayoutFault {
    LayoutFault {
        file: file.to_owned(),
        field: WHOLE_FILE.to_owned(),
        value: value.into(),
        rule,
    }
}

/// How many faultless texts are remembered.
const GOOD_MAX: usize = 32;

thread_local! {
    // A shop has few engines and many jobs on each of them: the same text need not be
    // gone through again for every job that is read.
    static GOOD: RefCell<VecDeque<Vec<u8>>> = const { RefCell::new(VecDeque::new()) };
}

fn is_known_good(bytes: &[u8]) -> bool {
    GOOD.with_borrow(|good| good.iter().any(|known| known == bytes))
}

fn note_good(bytes: Vec<u8>) {
    GOOD.with_borrow_mut(|good| {
        if good.len() == GOOD_MAX {
            good.pop_front();
        }
        good.push_back(bytes);
    });
}

/// The text without the byte order mark that some editors put at the front.
fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)
}

fn faults_of_text(file: &str, bytes: &[u8]) -> Vec<LayoutFault> {
    if bytes.len() > LAYOUT_BYTES_MAX {
        let size = format!("{} bytes", bytes.len());
        let rule = LayoutRule::TooLarge(LAYOUT_BYTES_MAX);
        return vec![whole_file(file, size, rule)];
    }
    let text = without_mark(bytes);
    if text.iter().all(u8::is_ascii_whitespace) {
        return vec![whole_file(file, "", LayoutRule::Empty)];
    }
    let root = match Node::parse(text) {
        Ok(root) => root,
        Err(e) => return vec![no_json(file, text, &e)],
    };
    if !matches!(root, Node::Object(_)) {
        return vec![whole_file(file, root.excerpt(), LayoutRule::NoObject)];
    }
    if let Some(newer) = root.get("format").filter(|f| f.whole() > Some(FORMAT)) {
        return vec![LayoutFault {
            field: "format".to_owned(),
            ..whole_file(file, newer.excerpt(), LayoutRule::Newer(FORMAT))
        }];
    }
    let mut faults = Faults::new(file);
    walk(&LAYOUT, &root, "", &mut faults);
    hold_against_rules(&root, &mut faults);
    faults.into_list()
}

/// The fault of a text that is no JSON, with the place where reading ended.
fn no_json(file: &str, text: &[u8], error: &serde_json::Error) -> LayoutFault {
    let (line, column) = (error.line(), error.column());
    let value = text
        .split(|b| *b == b'\n')
        .nth(line.saturating_sub(1))
        .map(|l| shorten(String::from_utf8_lossy(l).trim()))
        .unwrap_or_default();
    let why = error.to_string();
    // The line and the column that serde appends are named by the field already.
    let why = why.split(" at line ").next().unwrap_or_default();
    let why = why.to_owned();
    let rule = match error.classify() {
        Category::Eof => LayoutRule::EndsEarly(why),
        Category::Data => LayoutRule::TooDeep {
            why,
            deepest: DEPTH_MAX,
        },
        _ => LayoutRule::NoJson(why),
    };
    LayoutFault {
        field: format!("line {line}, column {column}"),
        ..whole_file(file, value, rule)
    }
}
