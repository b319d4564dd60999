//! No file over 500 lines, unless a comment `// Long because ...` at its top says why. Clippy
//! counts the lines of functions.

use super::source::{Source, sources};

const FILE_MOST: usize = 500;
/// The lines at the top of a file in which its reason stands.
const TOP_LINES: usize = 12;
const MARK: &str = "// Long because ";

/// A long file's lines and its reason, if it has one; `None` for one that is not long.
fn long(source: &Source) -> Option<(usize, Option<&str>)> {
    let lines: Vec<&str> = source.text.lines().collect();
    let reason = lines.iter().take(TOP_LINES);
    let reason = reason.copied().find_map(|line| line.strip_prefix(MARK));
    (lines.len() > FILE_MOST).then_some((lines.len(), reason))
}

#[test]
fn what_is_long_says_why() {
    let mut without = Vec::new();
    for source in sources() {
        let Some((lines, reason)) = long(source) else {
            continue;
        };
        println!(
            "{lines} lines  {}  {}",
            source.path,
            reason.unwrap_or("NO REASON")
        );
        if reason.is_none() {
            without.push(format!("{} ({lines} lines)", source.path));
        }
    }
    assert!(without.is_empty(), "too long, no reason: {without:#?}");
}

#[test]
fn the_measure_finds_a_long_file_and_its_reason() {
    let of = |text: String| Source::new("example.rs".to_owned(), text);
    let line = "const A: u8 = 1;\n";
    assert_eq!(long(&of(line.repeat(500))), None);
    assert_eq!(long(&of(line.repeat(501))), Some((501, None)));
    let inside = format!("    {MARK}it is a function.\n");
    assert_eq!(long(&of(inside + &line.repeat(500))), Some((501, None)));
    let above = format!("{MARK}it is a table.\n");
    assert_eq!(
        long(&of(above + &line.repeat(500))),
        Some((501, Some("it is a table.")))
    );
}
