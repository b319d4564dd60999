//! Hostile files, replayed: the seeds and every input that the fuzzer has kept, without
//! the fuzzer. `tests/fuzz/run` makes the long runs.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod desk;

use std::fs;
use std::path::{Path, PathBuf};

use trayzero_tests::fuzz::{TARGETS, seeds::seeds};

/// Inputs kept of a target, those that once broke something first.
fn kept(target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let all = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz");
    let mut kept = Vec::new();
    for folder in ["broke", "corpus"] {
        let Ok(names) = fs::read_dir(all.join(folder).join(target)) else {
            continue;
        };
        for name in names {
            let path = name.unwrap().path();
            let bytes = fs::read(&path).unwrap();
            kept.push((path, bytes));
        }
    }
    kept.sort();
    kept
}

fn replay(target: &str) {
    let (_, check) = TARGETS.iter().find(|(name, _)| *name == target).unwrap();
    let mut inputs = 0_u64;
    for (name, bytes) in seeds(target) {
        println!("seed {name}");
        check(&bytes);
        inputs += 1;
    }
    let kept = kept(target);
    for (path, bytes) in kept {
        assert!(bytes.len() < 1 << 20, "{} is small", path.display());
        println!("{}", path.display());
        check(&bytes);
        inputs += 1;
    }
    println!("{target}: {inputs} inputs replayed");
}

#[test]
fn layouts_kept_by_the_fuzzer_are_read_without_panic() {
    replay("layout");
}

#[test]
fn journals_kept_by_the_fuzzer_are_read_without_panic() {
    replay("journal");
}

#[test]
fn shop_folders_kept_by_the_fuzzer_are_read_without_panic() {
    replay("shop");
}

/// Writes the seeds where the long run wants them.
#[test]
#[ignore = "run by tests/fuzz/run"]
fn seeds_are_written() {
    let into = std::env::var_os("TRAYZERO_SEEDS").unwrap();
    for (target, _) in TARGETS {
        let folder = Path::new(&into).join(target);
        fs::create_dir_all(&folder).unwrap();
        for (name, bytes) in seeds(target) {
            fs::write(folder.join(name), bytes).unwrap();
        }
    }
}
