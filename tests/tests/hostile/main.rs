//! Hostile files, replayed: the seeds and every input that the fuzzer has kept, without
//! the fuzzer. `tests/fuzz/run` makes the long runs.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod desk;
mod killed;
mod pictures;
mod pictures_read;
mod said;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use trayzero_tests::dice::Dice;
use trayzero_tests::figures::say;
use trayzero_tests::fuzz::{TARGETS, record, seeds::seeds};

/// Inputs kept of a target: those that once broke something, then those that together
/// reach all that the fuzzer has reached.
fn kept(target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let all = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz");
    let unpacked = tempfile::tempdir().unwrap();
    let packed = all.join(format!("corpus/{target}.tar.gz"));
    let bytes = fs::metadata(&packed).unwrap().len();
    assert!(bytes < 1 << 20, "{} has {bytes} bytes", packed.display());
    let done = Command::new("tar")
        .arg("-xzf")
        .arg(&packed)
        .arg("-C")
        .arg(unpacked.path())
        .status();
    assert!(done.unwrap().success(), "{}", packed.display());
    let mut kept = files(&all.join("broke").join(target));
    kept.extend(files(unpacked.path()));
    kept
}

/// The files of a folder in order; none where there is no such folder.
fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let Ok(names) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut files: Vec<(PathBuf, Vec<u8>)> = names
        .map(|name| name.unwrap().path())
        .map(|path| (path.clone(), fs::read(path).unwrap()))
        .collect();
    files.sort();
    files
}

fn replay(target: &str) {
    let (_, check) = TARGETS.iter().find(|(name, _)| *name == target).unwrap();
    let mut inputs = 0_u64;
    for (name, bytes) in seeds(target) {
        println!("{target}: seed {name}");
        check(&bytes);
        inputs += 1;
    }
    let kept = kept(target);
    assert!(kept.len() > 100, "{target}: {} inputs are kept", kept.len());
    for (path, bytes) in kept {
        let name = path.file_name().unwrap_or_default().display();
        println!("{target}: {name}");
        check(&bytes);
        inputs += 1;
    }
    say("fuzz inputs replayed", inputs);
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

#[test]
fn records_kept_by_the_fuzzer_are_checked_without_panic() {
    replay("record");
}

#[test]
fn pictures_kept_by_the_fuzzer_are_read_without_panic() {
    replay("picture");
}

/// The short form of a long run: seeds with bytes of them changed, doubled and left out.
#[test]
fn records_of_any_bytes_are_checked_without_panic() {
    let mut inputs = 0;
    for (name, bytes) in seeds("record") {
        record::check(&bytes);
        let long = std::env::var_os("TRAYZERO_LONG").is_some();
        for seed in 0..if long { 20_000 } else { 40 } {
            let mut dice = Dice::new(seed);
            let mut bytes = bytes.clone();
            for _ in 0..=dice.below(4) {
                let at = dice.below(bytes.len());
                let to = at + dice.below((bytes.len() - at).min(60));
                match dice.below(4) {
                    0 => bytes[at] ^= 1 << dice.below(8),
                    1 => bytes[at] = dice.one_of(b"0159{}[]()<>/\\\"-,: \n"),
                    2 => drop(bytes.drain(at..to)),
                    _ => {
                        let piece = bytes[at..to].to_vec();
                        bytes.splice(at..at, piece);
                    }
                }
                if bytes.is_empty() {
                    break;
                }
            }
            println!("record: {name}, seed {seed}");
            record::check(&bytes);
            inputs += 1;
        }
    }
    say("fuzz inputs replayed", inputs);
}

/// Figures of the long runs: target, minutes, executions, edges reached, inputs kept.
#[test]
fn every_target_had_its_half_hour() {
    let figures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/figures.tsv");
    let text = fs::read_to_string(figures).unwrap();
    for (target, _) in TARGETS {
        let line = text.lines().find(|l| l.split('\t').next() == Some(target));
        let numbers: Vec<u64> = line
            .unwrap_or_else(|| panic!("no long run of {target}"))
            .split('\t')
            .skip(1)
            .map(|number| number.parse().unwrap())
            .collect();
        assert!(numbers[0] >= 30, "{target}: {} minutes", numbers[0]);
        say("fuzz executions of the long runs", numbers[1]);
    }
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
