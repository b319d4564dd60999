//! No file over 500 lines and no function over 70, unless a comment says why: a line
//! `// Long because ...` at the top of a file for the file, in a function or right above
//! it for that one.

use super::source::{Source, sources};

const FILE_MOST: usize = 500;
const FUNCTION_MOST: usize = 70;
/// The lines at the top of a file in which its reason stands.
const TOP_LINES: usize = 12;
const MARK: &str = "// Long because ";

/// Something longer than usual.
struct Long {
    place: String,
    lines: usize,
    reason: Option<String>,
}

/// The functions of a file with their first and last lines, from 1.
fn functions(source: &Source) -> Vec<(&str, usize, usize)> {
    let tokens = &source.tokens;
    let mut all = Vec::new();
    for (at, pair) in tokens.windows(2).enumerate() {
        // Without a name it is a pointer to a function.
        if !(pair[0].is("fn") && pair[1].is_word) {
            continue;
        }
        let mut body = at;
        // The body is the first brace that no bracket of the signature holds.
        while !tokens[body].is("{") && !tokens[body].is(";") {
            let is_open = tokens[body].is("(") || tokens[body].is("[");
            body = if is_open { source.closing(body) } else { body } + 1;
        }
        let last = tokens[source.closing_or_same(body)].line;
        all.push((pair[1].text.as_str(), pair[0].line, last));
    }
    all
}

/// The reason among some lines; it goes on over the comment lines that follow.
fn reason(lines: &[&str], at_the_edge: bool) -> Option<String> {
    let is_mark = |line: &&str| {
        let line = if at_the_edge { line } else { line.trim_start() };
        line.starts_with(MARK)
    };
    let first = lines.iter().position(is_mark)?;
    let words: Vec<&str> = lines[first..]
        .iter()
        .map(|line| line.trim())
        .take_while(|line| line.starts_with("// "))
        .map(|line| &line[3..])
        .collect();
    Some(words.join(" "))
}

/// Where the comments and attributes right above a line begin, from 0.
fn head(lines: &[&str], line: usize) -> usize {
    let is_of_it = |at: &usize| lines[*at].trim_start().starts_with(['/', '#']);
    let above = (0..line - 1).rev().take_while(is_of_it);
    above.last().unwrap_or(line - 1)
}

fn long_in(source: &Source) -> Vec<Long> {
    let lines: Vec<&str> = source.text.lines().collect();
    let mut all = Vec::new();
    if lines.len() > FILE_MOST {
        all.push(Long {
            place: source.path.clone(),
            lines: lines.len(),
            reason: reason(&lines[..lines.len().min(TOP_LINES)], true),
        });
    }
    for (name, first, last) in functions(source) {
        if last - first + 1 > FUNCTION_MOST {
            all.push(Long {
                place: format!("{}:{first} {name}", source.path),
                lines: last - first + 1,
                reason: reason(&lines[head(&lines, first)..last], false),
            });
        }
    }
    all
}

#[test]
fn what_is_long_says_why() {
    let all: Vec<Long> = sources().iter().flat_map(long_in).collect();
    let mut without = Vec::new();
    for one in &all {
        let reason = one.reason.as_deref().unwrap_or("NO REASON");
        println!("{} lines  {}  {reason}", one.lines, one.place);
        if one.reason.is_none() {
            without.push(format!("{} ({} lines)", one.place, one.lines));
        }
    }
    assert!(without.is_empty(), "too long, no reason: {without:#?}");
}

fn example(body: usize, comment: &str) -> Source {
    let body = "    step('{', \"{\");\n".repeat(body);
    let text = format!("fn short() {{}}\nmod inner {{ fn long() {{\n{comment}{body}}} }}\n");
    Source::new("example.rs".to_owned(), text)
}

#[test]
fn the_measure_finds_a_long_function_and_its_reason() {
    assert!(long_in(&example(68, "")).is_empty(), "70 lines are allowed");
    let found = long_in(&example(69, ""));
    assert_eq!((found.len(), found[0].lines), (1, 71));
    assert_eq!(found[0].place, "example.rs:2 long");
    assert_eq!(found[0].reason, None);
    let found = long_in(&example(69, "    // Long because it is\n    // a table.\n"));
    assert_eq!(
        found[0].reason.as_deref(),
        Some("Long because it is a table.")
    );
    let found = long_in(&example(500, "    // Long because it is a table.\n"));
    assert_eq!(found.len(), 2);
    assert_eq!(
        found[0].reason, None,
        "a function's reason is none of the file"
    );
}
