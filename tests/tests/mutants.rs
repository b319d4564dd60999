//! The walk of all states against a core in which one rule at a time is broken. The
//! core is copied and patched under the target folder, with a switch that tells which
//! rule is off: the product itself holds no such switch.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// One broken rule: its name, the file, and the text that is replaced. `OFF` stands for
/// whether this rule is switched off.
struct Mutant {
    rule: &'static str,
    file: &'static str,
    sound: &'static str,
    broken: &'static str,
}

const fn mutant(
    rule: &'static str,
    file: &'static str,
    sound: &'static str,
    broken: &'static str,
) -> Mutant {
    Mutant {
        rule,
        file,
        sound,
        broken,
    }
}

const MUTANTS: &[Mutant] = &[
    mutant(
        "conserved: the retainer is forgotten when the locks come out",
        "postings.rs",
        "(Item::Retainer, Home, Tray, 1),",
        "(Item::Retainer, Home, Tray, u32::from(!OFF)),",
    ),
    mutant(
        "conserved: a found part is still told as adrift",
        "postings.rs",
        "to: DropStatus::Found(id),",
        "to: if OFF { DropStatus::Adrift } else { DropStatus::Found(id) },",
    ),
    mutant(
        "conserved: a hose taken back stays in its hole",
        "change.rs",
        "Change::Hose { cylinder, to } => Change::Hose { cylinder, to: !to },",
        "Change::Hose { cylinder, to } => Change::Hose { cylinder, to: to == OFF },",
    ),
    mutant(
        "conserved: a stray lock is not told as a drop",
        "postings.rs",
        "if locks_dropped > 0 {\n        changes.push(Change::DropOpened",
        "if locks_dropped > 0 && !OFF {\n        changes.push(Change::DropOpened",
    ),
    mutant(
        "held: a spring is pressed with nothing holding the valve",
        "check/valve.rs",
        "Stage::SpringHeld | Stage::SealFitted | Stage::LocksIn => {\n                ensure(cylinder.is_held(),",
        "Stage::SpringHeld | Stage::SealFitted | Stage::LocksIn => {\n                ensure(OFF || cylinder.is_held(),",
    ),
    mutant(
        "held: air goes off under an unlocked valve",
        "check/engine.rs",
        "        if state.hold.is_some() {\n            return Ok(());",
        "        if OFF || state.hold.is_some() {\n            return Ok(());",
    ),
    mutant(
        "held: a hold comes out under an unlocked valve",
        "check/engine.rs",
        "        if state.air_bar.is_some() {\n            return Ok(());",
        "        if OFF || state.air_bar.is_some() {\n            return Ok(());",
    ),
    mutant(
        "held: taking back asks for no rule",
        "withdraw.rs",
        "let broken = self.broken_invariant();",
        "let broken = self.broken_invariant().filter(|_| !OFF);",
    ),
    mutant(
        "held: air counts without its hose",
        "invariant.rs",
        "let real = state.air_bar.is_none() || state.hose_in;",
        "let real = OFF || state.air_bar.is_none() || state.hose_in;",
    ),
    mutant(
        "still: the crank turns with a hold in",
        "check/engine.rs",
        "c.hold.map(|hold| Refusal::HoldStillIn { cylinder, hold })",
        "c.hold.filter(|_| !OFF).map(|hold| Refusal::HoldStillIn { cylinder, hold })",
    ),
    mutant(
        "still: the crank turns without a wrench",
        "check/engine.rs",
        "ensure(self.wrench_on, || Refusal::WrenchNotOn)?;",
        "ensure(OFF || self.wrench_on, || Refusal::WrenchNotOn)?;",
    ),
    mutant(
        "still: a turn is taken back under air",
        "withdraw.rs",
        "        if turns {\n",
        "        if turns && !OFF {\n",
    ),
    mutant(
        "wrench off: air goes on with the wrench on",
        "check/engine.rs",
        "ensure(!self.wrench_on, || Refusal::WrenchStillOn)?;\n        self.check_crank_here",
        "ensure(OFF || !self.wrench_on, || Refusal::WrenchStillOn)?;\n        self.check_crank_here",
    ),
    mutant(
        "wrench off: the wrench goes on under air",
        "check.rs",
        "ensure(!self.wrench_on, || Refusal::WrenchStillOn)?;\n                self.check_no_air()",
        "ensure(!self.wrench_on, || Refusal::WrenchStillOn)?;\n                if OFF { return Ok(()); }\n                self.check_no_air()",
    ),
    mutant(
        "in turn: a stage is skipped",
        "check/valve.rs",
        "ensure(next == Some(stage), ",
        "ensure(next == Some(stage) || (OFF && next < Some(stage)), ",
    ),
    mutant(
        "gate: unverified valves do not hold it",
        "gate.rs",
        "holds.extend(self.valve_hold(bank));",
        "holds.extend(self.valve_hold(bank).filter(|_| !OFF));",
    ),
    mutant(
        "gate: loose parts do not hold it",
        "gate.rs",
        "self.items_at(Place::Tray)\n                .map(",
        "self.items_at(Place::Tray)\n                .filter(|_| !OFF)\n                .map(",
    ),
    mutant(
        "gate: parts adrift do not hold it",
        "gate.rs",
        "self.items_at(Place::Adrift)\n                .map(",
        "self.items_at(Place::Adrift)\n                .filter(|_| !OFF)\n                .map(",
    ),
    mutant(
        "gate: kit aboard does not hold it",
        "gate.rs",
        "self.aboard_bank(bank)\n                .map(",
        "self.aboard_bank(bank)\n                .filter(|_| !OFF)\n                .map(",
    ),
    mutant(
        "gate: the wrench does not hold it",
        "gate.rs",
        "if self.wrench_on {\n            holds.push(Refusal::GateWrench);",
        "if self.wrench_on && !OFF {\n            holds.push(Refusal::GateWrench);",
    ),
    mutant(
        "gate: a hold in a cylinder does not hold it",
        "gate.rs",
        "holds.extend(self.hold_in_bank(bank));",
        "holds.extend(self.hold_in_bank(bank).filter(|_| !OFF));",
    ),
    mutant(
        "gate: a plug that is out does not hold it",
        "gate.rs",
        "holds.extend(self.plug_hold(bank));\n        holds.extend(self.count_holds());",
        "holds.extend(self.plug_hold(bank).filter(|_| !OFF));\n        holds.extend(self.count_holds());",
    ),
    mutant(
        "gate: one person counts twice",
        "check/notes.rs",
        "let same = first.len() == 1 &&",
        "let same = !OFF && first.len() == 1 &&",
    ),
    mutant(
        "gate: two counts agree with each other but not with the ledger",
        "gate.rs",
        ".find(|key| first.get(key) != Some(&self.ledger.at(key.0, key.1)));",
        ".find(|key| !OFF && first.get(key) != Some(&self.ledger.at(key.0, key.1)));",
    ),
    mutant(
        "gate: one count is enough",
        "gate.rs",
        "        let [first, second] = counts[..] else {",
        "        if OFF && !counts.is_empty() {\n            return Vec::new();\n        }\n        let [first, second] = counts[..] else {",
    ),
    mutant(
        "gate: lifting a cover is taken back over open valves",
        "invariant.rs",
        "cylinders.all(|c| self.valves_of(c).all(|(_, v)| v.stages_seen == 0))",
        "cylinders.all(|c| OFF || self.valves_of(c).all(|(_, v)| v.stages_seen == 0))",
    ),
    mutant(
        "gate: something goes under a cover that is on",
        "check/parts.rs",
        "check_goes_aboard(item)?;\n        ensure(state.cover_off,",
        "check_goes_aboard(item)?;\n        ensure(OFF || state.cover_off,",
    ),
    mutant(
        "gate: the job closes with kit aboard",
        "gate.rs",
        ".map(|(item, count)| Refusal::GateKitOut { item, count }),",
        ".filter(|_| !OFF)\n                .map(|(item, count)| Refusal::GateKitOut { item, count }),",
    ),
    mutant(
        "gate: the job closes with a plug out",
        "gate.rs",
        "            if self.is_bank_closed(bank) {\n                holds.extend(self.plug_hold(bank));",
        "            if self.is_bank_closed(bank) {\n                holds.extend(self.plug_hold(bank).filter(|_| !OFF));",
    ),
    mutant(
        "gate: steps are taken back after the job is closed",
        "withdraw.rs",
        "if over && !may_be",
        "if over && !OFF && !may_be",
    ),
    mutant(
        "an end: a resting job cannot go on",
        "check.rs",
        "ensure(may_happen_paused(event), ||",
        "ensure(may_happen_paused(event) && !(OFF && *event == Event::Resumed {}), ||",
    ),
    mutant(
        "an end: a stopped job cannot be taken up again",
        "withdraw.rs",
        "            | Event::PictureAdded(_)\n    )\n}\n\nfn is_withdrawable",
        "            | Event::PictureAdded(_)\n    ) && !(OFF && matches!(event, Event::JobStopped { .. }))\n}\n\nfn is_withdrawable",
    ),
    mutant(
        "told: a loss that cannot stand is not booked",
        "told.rs",
        "told.loss = self.loss_told(&layout, entry);",
        "if !OFF { told.loss = self.loss_told(&layout, entry); }",
    ),
    mutant(
        "told: a lock that flew off in a conflict is forgotten",
        "told.rs",
        "} if *locks_dropped <= layout.locks_per_valve => {",
        "} if !OFF && *locks_dropped <= layout.locks_per_valve => {",
    ),
    mutant(
        "told: kit put aboard in a conflict is forgotten",
        "told.rs",
        "if usize::from(*bank) < self.banks.len() && goes_aboard(item) =>",
        "if !OFF && usize::from(*bank) < self.banks.len() && goes_aboard(item) =>",
    ),
    mutant(
        "told: a closed bank stays closed over what was told",
        "told.rs",
        "let Some(closing) = self.banks.get(bank).and_then(|b| b.closed_in) else {",
        "let Some(closing) = self.banks.get(bank).and_then(|b| b.closed_in).filter(|_| !OFF) else {",
    ),
    mutant(
        "told: a find that is taken back elsewhere stays found",
        "told.rs",
        "let Some(opens) = self.what_taking_back_opens(id) else {",
        "let Some(opens) = self.what_taking_back_opens(id).filter(|_| !OFF) else {",
    ),
    mutant(
        "told: a closed job stays closed over what was told",
        "told.rs",
        "if !matches!(self.phase, JobPhase::Closed | JobPhase::Stopped) {",
        "if OFF || !matches!(self.phase, JobPhase::Closed | JobPhase::Stopped) {",
    ),
    mutant(
        "told: an open conflict does not hold the gate",
        "gate.rs",
        "(conflicts > 0).then_some(Refusal::GateConflict { conflicts })",
        "(conflicts > 0 && !OFF).then_some(Refusal::GateConflict { conflicts })",
    ),
    mutant(
        "resolving: one person ends a loss",
        "resolve.rs",
        "&& self.resolution_needs_two(found)",
        "&& !OFF\n            && self.resolution_needs_two(found)",
    ),
    mutant(
        "resolving: what was seen need not be what is shown",
        "resolve.rs",
        "sights.len() == seen.len() && sights.iter().all(|sight| seen.contains(sight))",
        "OFF || (sights.len() == seen.len() && sights.iter().all(|sight| seen.contains(sight)))",
    ),
    mutant(
        "resolving: nobody waits for a look at air or an open valve",
        "check.rs",
        "if self.conflicts.is_empty() {",
        "if OFF || self.conflicts.is_empty() {",
    ),
    mutant(
        "withdrawing: a report of a loss is taken back unsigned",
        "withdraw.rs",
        "carried.max(2)",
        "if OFF { carried } else { carried.max(2) }",
    ),
    mutant(
        "withdrawing: what a gate rested on is taken back behind it",
        "withdraw.rs",
        ".filter(|bank| match opens {",
        ".filter(|bank| !OFF && match opens {",
    ),
];

/// Rules that two guards keep are broken in both places at once.
const SECOND_GUARDS: &[Mutant] = &[mutant(
    "still: a turn is taken back under air",
    "invariant.rs",
    "if fixed && !here {",
    "if fixed && !here && !OFF {",
)];

/// What the patched core is given besides: the number of the rule that is off.
const SWITCH: &str = "
/// The number of the rule that is switched off; 0 for none.
pub static BROKEN_RULE: std::sync::atomic::AtomicUsize = std::sync::atomic::AtomicUsize::new(0);

pub(crate) fn off(rule: usize) -> bool {
    BROKEN_RULE.load(std::sync::atomic::Ordering::Relaxed) == rule
}
";

/// Modules of the tests that the walker takes along.
const MODULES: [&str; 8] = [
    "auditor", "bay", "dice", "engines", "entries", "rules", "told", "walk",
];

fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap()
}

fn folder() -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR");
    let target = target.map_or_else(|| repository().join("target"), PathBuf::from);
    target.join("mutants")
}

/// Writes a file unless it stands there so already: an untouched one is not built anew.
fn write(path: &Path, text: &str) {
    if fs::read_to_string(path).ok().as_deref() != Some(text) {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
}

fn copy_tree(from: &Path, to: &Path) {
    // What the source no longer has would be built along with the rest.
    for old in fs::read_dir(to).into_iter().flatten().map(Result::unwrap) {
        if !from.join(old.file_name()).exists() {
            let gone = old.path();
            if gone.is_dir() {
                fs::remove_dir_all(gone).unwrap();
            } else {
                fs::remove_file(gone).unwrap();
            }
        }
    }
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let (path, to) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy_tree(&path, &to);
        } else if let Ok(text) = fs::read_to_string(&path) {
            write(&to, &patched(&path, text));
        }
    }
}

/// A source file with the switches of all its mutants.
fn patched(path: &Path, mut text: String) -> String {
    for mutant in MUTANTS.iter().chain(SECOND_GUARDS) {
        if !path.ends_with(Path::new("core/src/job").join(mutant.file)) {
            continue;
        }
        let (rule, file) = (mutant.rule, mutant.file);
        let found = text.matches(mutant.sound).count();
        assert_eq!(
            found, 1,
            "{rule}: its text stands {found} times in {file}: renew it"
        );
        let number = MUTANTS.iter().position(|m| m.rule == rule).unwrap() + 1;
        let off = format!("crate::off({number})");
        text = text.replace(mutant.sound, &mutant.broken.replace("OFF", &off));
    }
    if path.ends_with("core/src/lib.rs") {
        text.push_str(SWITCH);
    }
    text
}

/// A file of tests as a module of the walker, with a list of them by name.
fn as_module(tests: &str) -> String {
    let names = tests.split("#[test]\nfn ").skip(1);
    let names = names.map(|rest| rest.split('(').next().unwrap());
    let rows: Vec<_> = names.map(|n| format!("(\"{n}\", {n})")).collect();
    let list = rows.join(", ");
    assert!(list.contains("row_9"), "no rows were found: {list}");
    let text = tests.replace("trayzero_tests::", "trayzero_mutants::");
    let text = text.replace("#[test]\n", "");
    format!("{text}\n/// Each row by its name.\npub const ROWS: &[(&str, fn())] = &[{list}];\n")
}

/// The workspace of the walker: the patched core, and the walk without the app.
fn lay_out(folder: &Path) {
    let root = repository();
    copy_tree(&root.join("core"), &folder.join("core"));
    copy_tree(&root.join("assets/engines"), &folder.join("assets/engines"));
    let manifest = fs::read_to_string(root.join("Cargo.toml")).unwrap();
    let lines: String = manifest
        .lines()
        .filter(|l| !l.starts_with("default-members") && !l.starts_with("trayzero = "))
        .map(|l| match l {
            l if l.starts_with("members = ") => "members = [\"core\", \"walker\"]\n".to_owned(),
            // The walk itself has to see the fault, not an assertion inside the core.
            "[profile.dev.package.trayzero-core]" => format!("{l}\ndebug-assertions = false\n"),
            "[profile.dev.package.trayzero-tests]" => {
                "[profile.dev.package.trayzero-mutants]\n".to_owned()
            }
            l => format!("{l}\n"),
        })
        .collect();
    write(&folder.join("Cargo.toml"), &lines);
    let lock = folder.join("Cargo.lock");
    if !lock.exists() {
        fs::copy(root.join("Cargo.lock"), lock).unwrap();
    }
    let walker = folder.join("walker");
    write(&walker.join("Cargo.toml"), WALKER_MANIFEST);
    let main = fs::read_to_string(root.join("tests/mutants/walker.rs")).unwrap();
    write(&walker.join("src/main.rs"), &main);
    let rows = fs::read_to_string(root.join("tests/tests/told_rows.rs")).unwrap();
    write(&walker.join("src/rows.rs"), &as_module(&rows));
    let modules = MODULES.map(|m| format!("pub mod {m};\n")).concat();
    write(&walker.join("src/lib.rs"), &modules);
    for module in MODULES {
        let one = root.join(format!("tests/src/{module}.rs"));
        if one.exists() {
            let text = fs::read_to_string(one).unwrap();
            write(&walker.join(format!("src/{module}.rs")), &text);
        }
        let dir = format!("src/{module}");
        let parts = root.join("tests").join(&dir);
        if parts.exists() {
            copy_tree(&parts, &walker.join(&dir));
        }
    }
}

const WALKER_MANIFEST: &str = r#"[package]
name = "trayzero-mutants"
version = "0.0.0"
edition = "2024"
publish = false

[dependencies]
trayzero-core.workspace = true
serde_json.workspace = true
uuid.workspace = true
"#;

#[test]
fn every_broken_rule_is_caught_by_the_walk() {
    let folder = folder();
    lay_out(&folder);
    let run = Command::new(env!("CARGO"))
        .args([
            "run",
            "--offline",
            "--quiet",
            "-p",
            "trayzero-mutants",
            "--",
        ])
        .arg(MUTANTS.len().to_string())
        .current_dir(&folder)
        .env("CARGO_TARGET_DIR", folder.join("target"))
        .env_remove("RUSTFLAGS")
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&run.stdout);
    let errors = String::from_utf8_lossy(&run.stderr);
    assert!(run.status.success(), "the walker failed:\n{errors}");
    let mut lines = told.lines();
    assert_eq!(lines.next(), Some("0 alive"), "the sound core has no fault");
    let mut alive = Vec::new();
    let mut count = 0;
    for (mutant, line) in MUTANTS.iter().zip(lines) {
        let (_, answer) = line.split_once(' ').unwrap();
        println!("mutant {}: {answer}", mutant.rule);
        if !answer.starts_with("caught") {
            alive.push(mutant.rule);
        }
        count += 1;
    }
    assert_eq!(
        count,
        MUTANTS.len(),
        "not every mutant was walked:\n{errors}"
    );
    assert_eq!(
        alive,
        Vec::<&str>::new(),
        "broken rules that nothing caught"
    );
    trayzero_tests::figures::say("mutants caught", (count - alive.len()) as u64);
}
