//! What lies at the top of the project, and how large what is kept may be.

use super::source::{top, tracked};

/// Everything that may lie at the top. `target` and `.git` are nobody's files.
const TOP: [&str; 14] = [
    ".ci",
    ".clippy.toml",
    ".git",
    ".gitignore",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "app",
    "assets",
    "core",
    "target",
    "tests",
];

/// The largest file that is kept, in bytes.
const FILE_MOST: u64 = 1_000_000;

#[test]
fn the_top_holds_only_what_belongs_there() {
    let mut found: Vec<String> = match tracked() {
        Some(all) => all
            .iter()
            .map(|path| path.split('/').next().unwrap_or_default().to_owned())
            .collect(),
        None => std::fs::read_dir(top())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect(),
    };
    found.sort();
    found.dedup();
    assert!(found.len() > 8, "{found:?}");
    found.retain(|name| !TOP.contains(&name.as_str()));
    assert!(found.is_empty(), "does not belong at the top: {found:?}");
}

#[test]
fn nothing_large_is_kept() {
    let Some(all) = tracked() else {
        println!("there is no history here, so that nothing is kept in one");
        return;
    };
    let size = |path: &str| std::fs::metadata(top().join(path)).map_or(0, |m| m.len());
    let mut sizes: Vec<(u64, &String)> = all.iter().map(|path| (size(path), path)).collect();
    sizes.sort_unstable();
    let (most, largest) = sizes.last().unwrap();
    println!(
        "{} files are kept; the largest is {largest} with {most} bytes",
        all.len()
    );
    assert!(*most > 0 && *most <= FILE_MOST, "{largest}: {most} bytes");
}
