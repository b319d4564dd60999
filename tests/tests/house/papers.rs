//! DEVELOPERS.md names what is really there: every dependency with what it saves, and
//! functions, types and files that exist.

use std::collections::BTreeSet;
use std::process::Command;

use super::source::{Source, Token, sources, text_of, top};

/// Every package from elsewhere that a crate of the project asks for.
fn dependencies() -> BTreeSet<String> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let out = Command::new(cargo)
        .args([
            "metadata",
            "--no-deps",
            "--offline",
            "--format-version",
            "1",
        ])
        .current_dir(top())
        .output()
        .unwrap();
    assert!(out.status.success(), "{out:?}");
    let all: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let packages = all["packages"].as_array().unwrap();
    packages
        .iter()
        .flat_map(|package| package["dependencies"].as_array().unwrap())
        .filter(|one| one["path"].is_null())
        .map(|one| one["name"].as_str().unwrap().to_owned())
        .collect()
}

/// The cells of the rows between a heading and the next one.
fn table(paper: &str, heading: &str) -> Vec<(String, String)> {
    let after = paper.split_once(heading).expect(heading).1;
    let part = after.split("\n## ").next().unwrap();
    part.lines()
        .filter(|line| line.starts_with('|'))
        .skip(2)
        .map(|line| {
            let mut cells = line.trim_matches('|').split('|').map(str::trim);
            let mut next = || cells.next().unwrap_or_default().to_owned();
            (next(), next())
        })
        .collect()
}

#[test]
fn every_dependency_is_named_with_what_it_saves() {
    let paper = text_of("DEVELOPERS.md");
    let mut named = BTreeSet::new();
    for (names, saves) in table(&paper, "## Dependencies") {
        assert!(saves.len() > 10, "what do {names} save?");
        named.extend(names.split(", ").map(str::to_owned));
    }
    let used = dependencies();
    let unnamed: Vec<_> = used.difference(&named).collect();
    let gone: Vec<_> = named.difference(&used).collect();
    assert!(unnamed.is_empty(), "without a line: {unnamed:?}");
    // A yardstick may be named that only some benchmark asks for.
    println!("named, but not asked for now: {gone:?}");
    assert!(used.len() > 20, "{used:?}");
}

/// Words before the name of something that is made.
const MAKERS: [&str; 7] = ["const", "enum", "fn", "mod", "struct", "trait", "type"];

/// Every name that a file gives to something, its own included.
fn names(source: &Source, into: &mut BTreeSet<String>) {
    into.extend(["core", "app"].map(str::to_owned));
    let stem = source.path.trim_end_matches(".rs").trim_end_matches("/mod");
    into.extend(stem.rsplit('/').next().map(str::to_owned));
    for (at, pair) in source.tokens.windows(2).enumerate() {
        if !(pair[1].is_word && MAKERS.contains(&pair[0].text.as_str())) {
            continue;
        }
        into.insert(pair[1].text.clone());
        if pair[0].is("enum") && source.tokens[at + 2].is("{") {
            let body = &source.tokens[at + 2..source.closing(at + 2)];
            let is_before = |t: &Token| ["{", ",", "]"].contains(&t.text.as_str());
            let variants = body.windows(2).filter(|w| is_before(&w[0]) && w[1].is_word);
            into.extend(variants.map(|w| w[1].text.clone()));
        }
    }
}

/// What stands between backticks outside blocks of code.
fn quoted(paper: &str) -> Vec<String> {
    let mut all = Vec::new();
    for (index, prose) in paper.split("```").enumerate() {
        if index % 2 == 0 {
            let parts = prose.split('`').enumerate();
            all.extend(parts.filter(|(i, _)| i % 2 == 1).map(|(_, p)| p.to_owned()));
        }
    }
    all
}

/// The parts of `a::b::C`, an argument list left out; `None` for anything else.
fn as_path(text: &str) -> Option<Vec<&str>> {
    let text = text.split('(').next()?;
    let is_word =
        |w: &&str| !w.is_empty() && w.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    let parts: Vec<&str> = text.split("::").collect();
    (parts.len() > 1 && parts.iter().all(is_word)).then_some(parts)
}

#[test]
fn functions_types_and_files_that_the_developers_paper_names_exist() {
    let mut known = BTreeSet::new();
    for source in sources() {
        names(source, &mut known);
    }
    let paper = text_of("DEVELOPERS.md");
    let (mut paths, mut files) = (0, 0);
    for text in quoted(&paper) {
        if let Some(parts) = as_path(&text) {
            let missing: Vec<_> = parts.iter().filter(|w| !known.contains(**w)).collect();
            let is_ours = !["cargo", "std"].contains(&parts[0]);
            assert!(
                !is_ours || missing.is_empty(),
                "{text}: no {missing:?} in the source"
            );
            paths += 1;
        } else if text.contains('/') && !text.contains([' ', '<', '*', ':', '$']) {
            // A source file or its folder may be named by the end of its path.
            let part = format!("/{text}");
            let is_of_it = |path: &str| path.ends_with(&part) || path.contains(&format!("{part}/"));
            let is_source = || sources().iter().any(|s| is_of_it(&s.path));
            // What a build makes is there only after one.
            let is_made = text.starts_with("target/");
            let is_there = is_made || top().join(&text).exists() || is_source();
            assert!(is_there, "{text} does not exist");
            files += 1;
        }
    }
    assert!(paths > 10 && files > 5, "{paths} paths, {files} files");
}
