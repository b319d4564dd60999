//! One word, one thing: no two types of the program have the same name.

use std::collections::BTreeMap;

use super::source::{Source, sources};

/// The types that a file declares outside its tests. What a trait wants an `impl` to name,
/// such as `type Value`, is not the file's to choose.
fn types(source: &Source) -> Vec<&str> {
    let tokens = &source.tokens;
    let mut names = Vec::new();
    let mut at = 0;
    while at + 1 < tokens.len() {
        let (word, next) = (&tokens[at], &tokens[at + 1]);
        let opens = |from: usize| (from..tokens.len()).find(|at| tokens[*at].is("{"));
        let is_tests = word.is("mod") && next.is("tests") && tokens[at + 2].is("{");
        if is_tests || word.is("impl") {
            let Some(open) = opens(at) else { break };
            let end = source.closing(open);
            if !is_tests {
                names.extend(named(&tokens[open..end], &["struct", "enum"]));
            }
            at = end + 1;
            continue;
        }
        names.extend(named(
            &tokens[at..at + 2],
            &["struct", "enum", "trait", "type"],
        ));
        at += 1;
    }
    names
}

fn named<'a>(tokens: &'a [super::source::Token], kinds: &[&str]) -> Vec<&'a str> {
    let pairs = tokens.windows(2);
    let declared = pairs.filter(|pair| kinds.iter().any(|kind| pair[0].is(kind)));
    declared.map(|pair| pair[1].text.as_str()).collect()
}

#[test]
fn no_two_types_have_one_name() {
    let mut declared: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for source in sources() {
        if source.path.starts_with("tests/") || source.path.ends_with("/tests.rs") {
            continue;
        }
        for name in types(source) {
            declared.entry(name).or_default().push(&source.path);
        }
    }
    println!("types: {}", declared.len());
    assert!(declared.len() > 500, "the reader has gone blind");
    declared.retain(|_, files| files.len() > 1);
    assert!(declared.is_empty(), "{declared:#?}");
}

#[test]
fn types_of_tests_and_of_traits_do_not_count() {
    let text = "pub struct A; impl T for A { type Out = u8; fn f() { struct B; } }\n\
                type C = A; mod tests { struct A; } enum D { A }";
    let source = Source::new("x.rs".to_owned(), text.to_owned());
    assert_eq!(types(&source), ["A", "B", "C", "D"]);
}
