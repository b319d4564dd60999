//! The jobs that are over, week by week: the program's own JSON against the SQL of the README,
//! which reads the same journals and records by itself, on the demo shop and on a shop of a
//! thousand jobs; and what a wrong clock makes of it.
//!
//! The SQL is run by `DuckDB` (MIT, the Python package index), fetched by
//! `tests/duckdb` and used here alone.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod shop;
mod undated;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use serde_json::{Value, json};
use trayzero::cli::{board, history};
use trayzero::data::store::{Stamp, Store};
use trayzero::demo::create_demo_data;

/// The exit of `tests/duckdb` where the index is not reached.
const NOT_REACHED: i32 = 75;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The engine; none, and it is said, on a machine that does not reach it.
fn duckdb() -> Option<PathBuf> {
    let fetched = Command::new("bash")
        .arg("tests/duckdb")
        .current_dir(root())
        .output()
        .unwrap();
    let fault = String::from_utf8_lossy(&fetched.stderr);
    if fetched.status.code() == Some(NOT_REACHED) {
        println!("NOT RUN: the SQL engine cannot be fetched: {fault}");
        return None;
    }
    assert!(fetched.status.success(), "{fault}");
    let path = String::from_utf8(fetched.stdout).unwrap();
    Some(root().join(path.trim()).canonicalize().unwrap())
}

/// The recipes of the README by their names, which stand in their first lines.
fn recipes() -> BTreeMap<String, String> {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let blocks = readme.split("```sql\n").skip(1);
    let recipe = |block: &str| {
        let sql = block.split("```").next().unwrap();
        let name = sql.lines().next().unwrap().strip_prefix("-- ").unwrap();
        (name.to_owned(), sql.to_owned())
    };
    blocks.map(recipe).collect()
}

/// A shop that both are asked about.
struct Asked<'a> {
    folder: &'a Path,
    now: Stamp,
    duckdb: PathBuf,
    recipes: BTreeMap<String, String>,
}

impl Asked<'_> {
    /// The rows of a recipe.
    fn rows(&self, name: &str) -> Vec<Value> {
        let views = &self.recipes["views"];
        let output = Command::new(&self.duckdb)
            .args(["-json", "-c", views, "-c", &self.recipes[name]])
            .current_dir(self.folder)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && said.is_empty(), "{name}: {said}");
        let rows = String::from_utf8(output.stdout).unwrap();
        let rows: Value = serde_json::from_str(&rows).unwrap_or_else(|e| panic!("{e}: {rows}"));
        rows.as_array().unwrap().clone()
    }

    fn history(&self) -> Value {
        let args = history::HistoryArgs {
            folder: self.folder.to_owned(),
            shop_key: None,
            json: true,
        };
        let mut out = Vec::new();
        history::run_at(&args, self.now, &mut out).unwrap();
        serde_json::from_slice(&out).unwrap()
    }

    fn board(&self) -> Value {
        let args = board::BoardArgs {
            json: true,
            ..board::BoardArgs::of(self.folder)
        };
        let mut out = Vec::new();
        board::run_at(&args, self.now, &mut out).unwrap();
        serde_json::from_slice(&out).unwrap()
    }

    /// Writes the record of every job, as the README has it.
    fn write_records(&self) {
        let records = self.folder.join("records");
        fs::create_dir(&records).unwrap();
        for job in fs::read_dir(self.folder.join("jobs")).unwrap() {
            let job = job.unwrap().file_name().into_string().unwrap();
            let out = records.join(format!("{job}.json"));
            let args = [
                "trayzero",
                "record",
                self.folder.to_str().unwrap(),
                "--job",
                &job,
            ];
            let args = args.into_iter().chain(["--out", out.to_str().unwrap()]);
            let (mut said, mut faults) = (Vec::new(), Vec::new());
            let code = trayzero::cli::run(args, &mut said, &mut faults);
            let faults = String::from_utf8_lossy(&faults);
            assert_eq!(code, 0, "{job}: {faults}");
        }
    }

    /// Runs every recipe and holds it against what the program says.
    fn compare(&self) -> usize {
        self.write_records();
        let (history, board) = (self.history(), self.board());
        assert_eq!(history["undated"], 0);
        assert_eq!(history["faults"], json!([]));
        let mut rows = 0;
        for name in self.recipes.keys().filter(|name| *name != "views") {
            let own = match name.as_str() {
                "jobs by week" => by_week(&history, &["closed", "stopped"]),
                "what fell, and where it was found" => lines(&history, "dropped"),
                "hours lost, and to what" => lines(&history, "lost"),
                "hours a valve by week" => closed(&history),
                "bays under way" => bays(&board),
                _ => panic!("nothing of the program's is held against {name:?}"),
            };
            let told = self.rows(name);
            rows += told.len();
            assert_alike(name, own, told);
        }
        rows
    }
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

/// Some figures of every week.
fn by_week(history: &Value, figures: &[&str]) -> Vec<Value> {
    let row = |week: &Value| {
        let named = figures
            .iter()
            .map(|name| ((*name).to_owned(), week[*name].clone()));
        let named = named.chain([("week".to_owned(), week["week"].clone())]);
        Value::Object(named.collect())
    };
    list(&history["weeks"]).iter().map(row).collect()
}

fn closed(history: &Value) -> Vec<Value> {
    let rows = by_week(history, &["hours", "valves", "hours_a_valve"]);
    rows.into_iter().filter(|row| row["valves"] != 0).collect()
}

/// The lines of one list of every week, each with its week.
fn lines(history: &Value, name: &str) -> Vec<Value> {
    let of_week = |week: &Value| {
        let with_week = |line: &Value| {
            let mut line = line.clone();
            line["week"] = week["week"].clone();
            line
        };
        list(&week[name]).iter().map(with_week).collect::<Vec<_>>()
    };
    list(&history["weeks"]).iter().flat_map(of_week).collect()
}

fn bays(board: &Value) -> Vec<Value> {
    let row = |job: &Value| {
        json!({"job": job["job"], "bay": job["bay"], "verified": job["verified"],
            "adrift": job["adrift"]})
    };
    list(&board["jobs"]).iter().map(row).collect()
}

/// Whether both say the same in any order, figures to a billionth; a field that one lacks is
/// none in the other.
fn assert_alike(name: &str, own: Vec<Value>, told: Vec<Value>) {
    let plain = |row: Value| -> Vec<(String, String)> {
        let Value::Object(fields) = row else {
            panic!("{name}: {row} is no row");
        };
        let fields = fields.into_iter().filter(|(_, value)| !value.is_null());
        let text = |value: Value| match value.as_f64() {
            Some(figure) => format!("{figure:.6}"),
            None => value.as_str().unwrap().to_owned(),
        };
        let mut fields: Vec<_> = fields.map(|(name, value)| (name, text(value))).collect();
        fields.sort();
        fields
    };
    let sorted = |rows: Vec<Value>| {
        let mut rows: Vec<_> = rows.into_iter().map(plain).collect();
        rows.sort();
        rows
    };
    let (own, told) = (sorted(own), sorted(told));
    assert!(!own.is_empty(), "{name}: there is something to tell");
    for (own, told) in own.iter().zip(&told) {
        assert_eq!(own, told, "{name}");
    }
    assert_eq!(own.len(), told.len(), "{name}");
}

#[test]
fn the_recipes_say_of_the_demo_shop_what_the_program_says() {
    let Some(duckdb) = duckdb() else { return };
    let folder = tempfile::tempdir().unwrap();
    let now = shop::NOW;
    let store = Store::open(folder.path(), now).unwrap();
    create_demo_data(&store, now).unwrap();
    let asked = Asked {
        folder: folder.path(),
        now,
        duckdb,
        recipes: recipes(),
    };
    assert_eq!(asked.recipes.len(), 6, "{:?}", asked.recipes.keys());
    let rows = asked.compare();
    println!("demo shop: {rows} rows alike");
}

#[test]
fn the_recipes_say_of_a_thousand_jobs_what_the_program_says() {
    let Some(duckdb) = duckdb() else { return };
    let folder = tempfile::tempdir().unwrap();
    let started = Instant::now();
    shop::fill(folder.path(), 1_000);
    let made = started.elapsed();
    let asked = Asked {
        folder: folder.path(),
        now: shop::NOW,
        duckdb,
        recipes: recipes(),
    };
    let rows = asked.compare();
    let all = started.elapsed();
    println!("1,000 jobs: made in {made:.1?}, {rows} rows alike, all in {all:.1?}");
    let history = asked.history();
    let weeks = list(&history["weeks"]);
    let sum = |name: &str| {
        weeks
            .iter()
            .map(|week| week[name].as_u64().unwrap())
            .sum::<u64>()
    };
    // Of twelve turns one is stopped and one under way.
    let counts = (0..1_000).map(|number| number % 12);
    assert_eq!(
        sum("stopped"),
        counts.clone().filter(|turn| *turn == 9).count() as u64
    );
    assert_eq!(
        sum("closed"),
        counts.filter(|turn| *turn < 9 || *turn == 10).count() as u64
    );
}
