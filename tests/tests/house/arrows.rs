//! Which module may use which. Every path that begins with `crate` or climbs to it by
//! `super` is an arrow, in `use` lines and elsewhere.

use std::collections::BTreeSet;

use super::source::{Source, sources};

/// Inside core: job -> parts -> engine, plan -> engine, bench -> engine, journal -> job;
/// the record is gathered from all of them.
const CORE: [(&str, &[&str]); 10] = [
    ("lib", &[]),
    ("engine", &[]),
    ("parts", &["engine"]),
    ("job", &["parts", "engine"]),
    ("bench", &["engine"]),
    ("plan", &["engine"]),
    ("phases", &["engine", "job", "parts", "plan"]),
    ("journal", &["job"]),
    ("shop_log", &["journal", "job"]),
    (
        "record",
        &[
            "journal", "job", "parts", "engine", "bench", "plan", "phases", "shop_log",
        ],
    ),
];

/// Inside the app: screens -> widgets -> theme and words. Screens know the plain data of
/// a view and the intents; what carries them out knows no screen.
const APP: [(&str, &[&str]); 43] = [
    ("lib", &[]),
    ("main", &[]),
    ("ui", &[]),
    ("data", &[]),
    ("record", &[]),
    ("theme", &[]),
    // The words of what ails the tablet's own folder and the shop's.
    (
        "words",
        &[
            "crew",
            "hand_on",
            "layouts",
            "own_layouts",
            "pdf_file",
            "pictures",
            "shared_layouts",
            "shop",
            "shop_hours",
            "store",
            "units",
        ],
    ),
    // When the shop works: plain data.
    ("shop_hours", &[]),
    ("times", &[]),
    ("sources", &["pictures", "store", "words"]),
    ("load", &["crew", "pictures", "shop", "sources", "store"]),
    ("pdf_file", &[]),
    ("drawn", &["pdf_file", "pictures"]),
    ("opened", &["pdf_file", "verify"]),
    ("hand_on", &["store"]),
    (
        "proof",
        &["load", "pdf", "pdf_file", "sources", "store", "words"],
    ),
    (
        "verify",
        &["pdf", "pdf_file", "proof", "sources", "store", "words"],
    ),
    ("layouts", &["store"]),
    ("store", &[]),
    ("glass", &[]),
    ("power", &[]),
    ("written", &["store"]),
    ("pictures", &["store"]),
    ("widgets", &["glass", "theme", "words"]),
    ("picture", &["theme"]),
    ("units", &[]),
    ("settings", &["shop_hours", "store", "units", "words"]),
    ("first_use", &["settings", "store", "words"]),
    ("own_layouts", &["layouts", "store"]),
    ("shared_layouts", &["layouts", "store"]),
    ("crew", &["store"]),
    (
        "shop",
        &["crew", "pictures", "shared_layouts", "shop_hours", "store"],
    ),
    (
        "backup",
        &["crew", "pictures", "settings", "shared_layouts", "store"],
    ),
    ("pdf", &["theme", "units", "widgets", "words"]),
    ("page", &["theme", "widgets", "words"]),
    ("intent", &["first_use", "settings"]),
    (
        "view",
        &[
            "crew", "intent", "layouts", "opened", "pdf_file", "pictures", "power", "settings",
            "shop", "store", "units", "words", "written",
        ],
    ),
    (
        "screens",
        &[
            "first_use",
            "glass",
            "intent",
            "layouts",
            "opened",
            "own_layouts",
            "pictures",
            "power",
            "settings",
            "shop",
            "shop_hours",
            "store",
            "theme",
            "times",
            "units",
            "verify",
            "view",
            "widgets",
            "words",
            "written",
        ],
    ),
    (
        "desk",
        &[
            "backup",
            "crew",
            "drawn",
            "first_use",
            "hand_on",
            "intent",
            "load",
            "layouts",
            "opened",
            "own_layouts",
            "page",
            "pdf",
            "pdf_file",
            "pictures",
            "power",
            "proof",
            "settings",
            "shared_layouts",
            "shop",
            "store",
            "times",
            "units",
            "view",
            "words",
            "written",
        ],
    ),
    ("demo", &["crew", "first_use", "store", "words"]),
    (
        "window",
        &[
            "desk",
            "first_use",
            "glass",
            "intent",
            "screens",
            "power",
            "settings",
            "shop",
            "store",
            "theme",
        ],
    ),
    (
        "office",
        &[
            "screens", "settings", "shop", "store", "theme", "times", "window",
        ],
    ),
    (
        "cli",
        &[
            "crew",
            "demo",
            "desk",
            "intent",
            "load",
            "layouts",
            "office",
            "opened",
            "pdf",
            "pdf_file",
            "picture",
            "pictures",
            "proof",
            "settings",
            "shop",
            "shop_hours",
            "store",
            "times",
            "verify",
            "window",
            "words",
        ],
    ),
];

/// Crates and parts of the standard library that the rules of the bay never see: a
/// window, a clock, chance, the network, other processes. Files are touched by the
/// journal alone.
const NEVER_IN_CORE: [&str; 16] = [
    "egui",
    "eframe",
    "trayzero",
    "getrandom",
    "rand",
    "std::time::SystemTime",
    "std::time::Instant",
    "SystemTime::now",
    "Instant::now",
    "Timestamp::now",
    "Zoned::now",
    "Uuid::now_v7",
    "Uuid::new_v4",
    "std::net",
    "std::process",
    "std::env",
];

/// Modules of the app that touch files.
const FILES_IN_APP: [&str; 14] = [
    "written",
    "store",
    "crew",
    "shop",
    "backup",
    "hand_on",
    "settings",
    "layouts",
    "own_layouts",
    "shared_layouts",
    "picture",
    "pictures",
    "cli",
    "desk",
];

/// A path with its parts, and how many modules of its file it stands in.
pub struct Path {
    pub parts: Vec<String>,
    pub depth: usize,
}

/// Every path of a file; groups of a `use` are spelt out.
pub fn paths(source: &Source) -> Vec<Path> {
    let tokens = &source.tokens;
    let mut all = Vec::new();
    // Where the inline modules end that a token stands in.
    let mut ends: Vec<usize> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        ends.retain(|end| *end > at);
        let is_module = tokens[at].is("mod") && tokens.get(at + 2).is_some_and(|t| t.is("{"));
        if is_module {
            ends.push(source.closing(at + 2));
        }
        if tokens[at].is_word && !is_module {
            at = path_from(source, at, &[], ends.len(), &mut all);
        } else {
            at += 1;
        }
    }
    all
}

/// One path from a word on, behind what stands before its group; gives the place after it.
fn path_from(
    source: &Source,
    mut at: usize,
    before: &[String],
    depth: usize,
    into: &mut Vec<Path>,
) -> usize {
    let tokens = &source.tokens;
    let is = |at: usize, text: &str| tokens.get(at).is_some_and(|t| t.is(text));
    let mut parts = before.to_vec();
    while tokens.get(at).is_some_and(|t| t.is_word) {
        parts.push(tokens[at].text.clone());
        at += 1;
        if !(is(at, ":") && is(at + 1, ":")) {
            break;
        }
        at += 2;
        if is(at, "{") {
            let end = source.closing(at);
            at += 1;
            while at < end {
                at = path_from(source, at, &parts, depth, into);
                // A new name after `as` is no path.
                while at < end && !is(at, ",") {
                    at += 1;
                }
                at += 1;
            }
            return end + 1;
        }
    }
    into.push(Path { parts, depth });
    at
}

/// Folders of the app whose modules have their own lines in the table.
const FOLDERS: [&str; 3] = ["ui", "data", "record"];

/// The module that stands in the table: the first one of a path, or the second one where
/// the first is one of [`FOLDERS`].
fn table_name<T: AsRef<str>>(parts: &[T], source_folder: &str) -> Option<String> {
    let first = parts.first()?.as_ref();
    let is_folder = source_folder == "app/src/" && FOLDERS.contains(&first);
    let name = if is_folder { parts.get(1) } else { None };
    Some(name.map_or(first, AsRef::as_ref).to_owned())
}

/// The module in the table that a file belongs to, and the modules on the way to the file.
fn module_of(path: &str, source_folder: &str) -> (String, Vec<String>) {
    let inner = path.strip_prefix(source_folder).unwrap();
    let inner = inner.strip_suffix(".rs").unwrap();
    let parts = inner.split('/').filter(|p| *p != "mod");
    let parts: Vec<String> = parts.map(str::to_owned).collect();
    (table_name(&parts, source_folder).unwrap(), parts)
}

/// The modules at the crate's top that a file points to.
fn arrows(source: &Source, source_folder: &str) -> BTreeSet<String> {
    let (own, at) = module_of(&source.path, source_folder);
    paths(source)
        .iter()
        .filter_map(|Path { parts, depth }| {
            let ups = parts.iter().take_while(|p| *p == "super").count();
            let whole: Vec<String> = match parts.first()?.as_str() {
                "crate" => parts[1..].to_vec(),
                "super" => {
                    let stays = (at.len() + depth).checked_sub(ups)?.min(at.len());
                    [&at[..stays], &parts[ups..]].concat()
                }
                _ => return None,
            };
            let to = table_name(&whole, source_folder)?;
            (to != own).then_some(to)
        })
        .collect()
}

/// What a table allows; arrows against it, and how many there are in all.
fn check(source_folder: &str, table: &[(&str, &[&str])]) -> usize {
    let mut wrong = Vec::new();
    let mut count = 0;
    for source in sources() {
        if !source.path.starts_with(source_folder) {
            continue;
        }
        let (own, _) = module_of(&source.path, source_folder);
        let Some((_, allowed)) = table.iter().find(|(name, _)| *name == own) else {
            panic!(
                "{}: say in this test where \"{own}\" may point",
                source.path
            );
        };
        for to in arrows(source, source_folder) {
            count += 1;
            if !allowed.contains(&to.as_str()) {
                wrong.push(format!("{} -> {to}", source.path));
            }
        }
    }
    assert!(wrong.is_empty(), "arrows against the direction: {wrong:#?}");
    count
}

#[test]
fn no_arrow_points_against_the_direction() {
    let (core, app) = (check("core/src/", &CORE), check("app/src/", &APP));
    println!("arrows: {core} in core, {app} in the app");
    assert!(core > 30 && app > 200, "the reader has gone blind");
}

#[test]
fn the_tables_hold_no_circle() {
    for table in [&CORE[..], &APP[..]] {
        let mut left: Vec<_> = table.to_vec();
        while !left.is_empty() {
            let before = left.len();
            let names: Vec<&str> = left.iter().map(|(name, _)| *name).collect();
            left.retain(|(_, allowed)| allowed.iter().any(|to| names.contains(to)));
            assert!(left.len() < before, "a circle among {names:?}");
        }
    }
}

/// Paths of a file that begin or end as forbidden.
fn forbidden(source: &Source, never: &[&str]) -> Vec<String> {
    let is_in = |path: &str, part: &str| {
        path == part
            || path.starts_with(&format!("{part}::"))
            || path.ends_with(&format!("::{part}"))
    };
    let all = paths(source).into_iter().map(|path| path.parts.join("::"));
    all.filter(|path| never.iter().any(|part| is_in(path, part)))
        .map(|path| format!("{}: {path}", source.path))
        .collect()
}

#[test]
fn core_knows_no_window_no_clock_no_chance_and_files_only_in_the_journal() {
    let mut found = Vec::new();
    for source in sources() {
        if !source.path.starts_with("core/src/") {
            continue;
        }
        found.extend(forbidden(source, &NEVER_IN_CORE));
        if !source.path.starts_with("core/src/journal/") {
            found.extend(forbidden(source, &["std::fs"]));
        }
    }
    assert_eq!(found, Vec::<String>::new());
}

#[test]
fn the_app_touches_files_in_few_modules_and_core_and_screens_in_none() {
    let mut touching = BTreeSet::new();
    for source in sources() {
        if source.path.starts_with("app/src/") && !forbidden(source, &["std::fs"]).is_empty() {
            touching.insert(module_of(&source.path, "app/src/").0);
        }
    }
    let allowed: BTreeSet<String> = FILES_IN_APP.iter().map(|m| (*m).to_owned()).collect();
    assert!(touching.is_subset(&allowed), "{touching:?}");
    assert!(touching.contains("store"), "the reader has gone blind");
}

fn example(path: &str, text: &str) -> Source {
    Source::new(path.to_owned(), text.to_owned())
}

#[test]
fn the_reader_finds_arrows_in_groups_macros_and_by_climbing() {
    let text = "use crate::{parts::Item, plan as p};\n\
                use super::super::record::Stamp;\n\
                use super::names;\n\
                fn f() { assert_eq!(crate::job::N, 1); }\n\
                mod tests { use super::super::super::bench; use super::super::node; }";
    let source = example("core/src/engine/read.rs", text);
    let found: Vec<String> = arrows(&source, "core/src/").into_iter().collect();
    assert_eq!(found, ["bench", "job", "parts", "plan", "record"]);
    let text = "use std::{fmt, fs::File}; fn f() { let t = std::time::Instant::now(); }";
    let source = example("core/src/engine/read.rs", text);
    assert_eq!(forbidden(&source, &["std::fs"]).len(), 1);
    assert_eq!(forbidden(&source, &NEVER_IN_CORE).len(), 1);
}

#[test]
fn the_reader_looks_into_the_folders_of_the_app() {
    let text = "use crate::ui::{units, words::Words};\n\
                use super::view::View;\n\
                use crate::data::store::Store;\n\
                use super::words::Language;\n\
                mod tests { use super::super::super::shop; }";
    let source = example("app/src/ui/words/mod.rs", text);
    let found: Vec<String> = arrows(&source, "app/src/").into_iter().collect();
    assert_eq!(found, ["shop", "store", "units", "view"]);
}
