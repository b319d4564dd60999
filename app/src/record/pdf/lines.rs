//! Breaking a text into lines of a given width.

use super::face::{Faces, Weight};

/// A text as a PDF may hold it: no control characters, no code points that a reader
/// cannot extract again. Line ends stay.
pub fn clean(text: &str) -> String {
    let fit = |c: char| match c {
        '\n' => '\n',
        '\t' | '\r' => ' ',
        c if c.is_control() => '\u{FFFD}',
        '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}' | '\u{E000}'..='\u{F8FF}' | '\u{F0000}'.. => {
            '\u{FFFD}'
        }
        c => c,
    };
    text.chars().map(fit).collect()
}

/// Breaks a text at its line ends and blanks, and a word that is too long for a line
/// wherever the line is full. Gives at least one line.
pub fn break_lines(
    faces: &Faces,
    text: &str,
    weight: Weight,
    size: f32,
    width: f32,
) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in clean(text).split('\n') {
        break_paragraph(faces, paragraph, weight, size, width, &mut lines);
    }
    lines
}

fn break_paragraph(
    faces: &Faces,
    text: &str,
    weight: Weight,
    size: f32,
    width: f32,
    lines: &mut Vec<String>,
) {
    let measure = |t: &str| faces.width(t, weight, size);
    let mut line = String::new();
    let mut used = 0.0;
    for word in words(text) {
        let bare = measure(word.trim_end());
        if used + bare > width && !line.is_empty() {
            lines.push(line.trim_end().to_owned());
            line.clear();
            used = 0.0;
        }
        if bare <= width {
            line.push_str(word);
            used += measure(word);
            continue;
        }
        for c in word.chars() {
            let advance = measure(c.encode_utf8(&mut [0; 4]));
            if used + advance > width && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                used = 0.0;
            }
            line.push(c);
            used += advance;
        }
    }
    lines.push(line.trim_end().to_owned());
}

/// A text in pieces that end where a line may end: after a blank, and after a hyphen or
/// a slash inside words. Dates and fractions stay whole.
fn words(text: &str) -> Vec<&str> {
    let mut words = Vec::new();
    let mut from = 0;
    let mut chars = text.char_indices().peekable();
    let mut before = ' ';
    while let Some((at, c)) = chars.next() {
        let after = chars.peek().map_or(' ', |(_, next)| *next);
        let inside = before.is_alphabetic() && after.is_alphabetic();
        if c == ' ' || (matches!(c, '-' | '/') && inside) {
            let end = at + c.len_utf8();
            words.push(&text[from..end]);
            from = end;
        }
        before = c;
    }
    words.push(&text[from..]);
    words
}

/// The text with a capital first letter.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// A text on one line, shortened with an ellipsis where it is too wide.
pub fn shorten(faces: &Faces, text: &str, weight: Weight, size: f32, width: f32) -> String {
    let text = clean(text).replace('\n', " ");
    if faces.width(&text, weight, size) <= width {
        return text;
    }
    let room = width - faces.width("…", weight, size);
    let mut used = 0.0;
    let mut short = String::new();
    for c in text.chars() {
        used += faces.width(c.encode_utf8(&mut [0; 4]), weight, size);
        if used > room {
            break;
        }
        short.push(c);
    }
    format!("{}…", short.trim_end())
}
