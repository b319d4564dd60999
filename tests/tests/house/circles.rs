//! No files lean on each other in a ring: each can be read after those that it names. A
//! name that a folder hands on counts as an arrow to the file that declares it. The face of
//! a folder may ask its rooms, and tests inside a file may name what they like.

use std::collections::{BTreeMap, BTreeSet};

use super::arrows::{Path, paths};
use super::source::{Source, Token, sources};

/// A file as the names of the modules that lead to it.
type At = Vec<String>;

/// The files of one crate, and the paths that stand in each.
struct Crate {
    /// Paths that are handed on (`pub use`), and all the others.
    files: BTreeMap<At, (Vec<At>, Vec<At>)>,
}

impl Crate {
    fn of<'a>(folder: &str, sources: impl Iterator<Item = &'a Source>) -> Self {
        let mut files = BTreeMap::new();
        for source in sources {
            let Some(inner) = source.path.strip_prefix(folder) else {
                continue;
            };
            let names = inner.strip_suffix(".rs").unwrap().split('/');
            let at = names.filter(|name| !["mod", "lib"].contains(name));
            let (handed_on, named) = cut(source);
            files.insert(at.map(str::to_owned).collect(), (handed_on, named));
        }
        Self { files }
    }

    /// The file that declares what a path in another one names.
    fn target(&self, from: &[String], path: &[String], steps_left: u8) -> Option<At> {
        let ups = path.iter().take_while(|part| *part == "super").count();
        let (mut at, mut rest) = match path.first()?.as_str() {
            "crate" => (At::new(), &path[1..]),
            _ if ups > 0 => (from[..from.len().checked_sub(ups)?].to_vec(), &path[ups..]),
            child if self.files.contains_key(&below(from, child)) => (from.to_vec(), path),
            _ => return None,
        };
        while let Some((child, after)) = rest.split_first()
            && self.files.contains_key(&below(&at, child))
        {
            (at, rest) = (below(&at, child), after);
        }
        let (handed_on, named) = self.files.get(&at)?;
        let through = rest.first().and_then(|name| {
            let mut known = handed_on.iter().chain(named).filter(|p| p.len() > 1);
            known.find(|p| p.last() == Some(name))
        });
        match through {
            Some(path) if steps_left > 0 => self.target(&at, path, steps_left - 1).or(Some(at)),
            _ => Some(at),
        }
    }

    /// Which files each one leans on.
    fn arrows(&self) -> BTreeMap<At, BTreeSet<At>> {
        let of = |(at, (_, named)): (&At, &(Vec<At>, Vec<At>))| {
            let targets = named.iter().filter_map(|path| self.target(at, path, 4));
            (
                at.clone(),
                targets.filter(|to| !to.starts_with(at)).collect(),
            )
        };
        self.files.iter().map(of).collect()
    }
}

fn below(at: &[String], child: &str) -> At {
    let names = at.iter().map(String::as_str).chain([child]);
    names.map(str::to_owned).collect()
}

/// What a file hands on, and what else it names outside its tests.
fn cut(source: &Source) -> (Vec<At>, Vec<At>) {
    let tokens = &source.tokens;
    let is = |at: usize, text: &str| tokens.get(at).is_some_and(|t: &Token| t.is(text));
    let (mut handed_on, mut others) = (Vec::new(), Vec::new());
    let mut at = 0;
    while at < tokens.len() {
        let after = if is(at, "pub") && is(at + 1, "(") {
            source.closing(at + 1) + 1
        } else {
            at + 1
        };
        let end = if is(at, "pub") && is(after, "use") {
            (after..tokens.len()).find(|at| is(*at, ";")).unwrap() + 1
        } else {
            at
        };
        handed_on.extend_from_slice(&tokens[at..end]);
        if end == at {
            others.push(tokens[at].clone());
        }
        at = end.max(at + 1);
    }
    let paths_of = |tokens: Vec<Token>| {
        let part = Source {
            path: source.path.clone(),
            text: String::new(),
            tokens,
        };
        // A word alone is a name of this file, or one that it declares a module by.
        let is_arrow = |path: &Path| path.depth == 0 && path.parts.len() > 1;
        let outside_tests = paths(&part).into_iter().filter(is_arrow);
        outside_tests.map(|path| path.parts).collect()
    };
    (paths_of(handed_on), paths_of(others))
}

/// What is left when every file is taken away that leans on none of the others, or on which
/// none of them leans.
fn ring(mut arrows: BTreeMap<At, BTreeSet<At>>) -> Vec<String> {
    loop {
        let left: BTreeSet<At> = arrows.keys().cloned().collect();
        let leant_on: BTreeSet<At> = arrows.values().flatten().cloned().collect();
        arrows.retain(|at, to| leant_on.contains(at) && to.iter().any(|to| left.contains(to)));
        if arrows.len() == left.len() {
            return left.iter().map(|at| at.join("/")).collect();
        }
    }
}

#[test]
fn no_files_lean_on_each_other_in_a_ring() {
    for (folder, arrows_least) in [("core/src/", 300), ("app/src/", 1_000)] {
        let arrows = Crate::of(folder, sources().iter()).arrows();
        let count: usize = arrows.values().map(BTreeSet::len).sum();
        println!(
            "{folder}: {} files, {count} arrows between them",
            arrows.len()
        );
        assert!(count > arrows_least, "the reader has gone blind");
        assert_eq!(ring(arrows), Vec::<String>::new(), "in {folder}");
    }
}

#[test]
fn a_ring_is_found_through_names_that_are_handed_on() {
    let example = |path: &str, text: &str| Source::new(path.to_owned(), text.to_owned());
    let folder = example("x/a/mod.rs", "mod b; mod c; pub use b::B; pub use c::C;");
    let b = example("x/a/b.rs", "use super::C; pub struct B;");
    let leans_back = example("x/a/c.rs", "use super::B; pub struct C;");
    let only_tests = example(
        "x/a/c.rs",
        "pub struct C; mod tests { use super::super::B; }",
    );
    let ring_of = |c: &Source| ring(Crate::of("x/", [&folder, &b, c].into_iter()).arrows());
    assert_eq!(ring_of(&leans_back), ["a/b", "a/c"]);
    assert_eq!(ring_of(&only_tests), Vec::<String>::new());
}
