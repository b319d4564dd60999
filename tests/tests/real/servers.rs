//! Servers of buckets by others, which judge our signatures and keep our objects: moto, and a
//! cluster of three Garage nodes of which up to two are killed.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

use tempfile::TempDir;
use trayzero::shop::Surroundings;

use super::programs::{Program, free_port, is_long, output, said, wait_for_port};
use super::shift::Shift;

const PATIENCE: Duration = Duration::from_secs(100);
const TAP: Duration = Duration::from_millis(250);
const PLACE: &str = "s3://bays/shop";
/// The exit of `tests/real/moto` where the index is not reached.
const NOT_REACHED: i32 = 75;
const NODES: usize = 3;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// What leads a tablet to a bucket on this machine.
fn surroundings(port: u16, region: &str, key: &str, secret: &str) -> Surroundings {
    let endpoint = format!("http://127.0.0.1:{port}");
    let variables = [
        ("AWS_ENDPOINT_URL", endpoint.as_str()),
        ("AWS_REGION", region),
        ("AWS_ACCESS_KEY_ID", key),
        ("AWS_SECRET_ACCESS_KEY", secret),
    ];
    let variables = variables.map(|(name, value)| (name.to_owned(), value.to_owned()));
    Surroundings::new(BTreeMap::from(variables), None)
}

/// What a tablet with these keys is told.
fn told(scratch: &Path, around: Surroundings) -> String {
    let places = [(PathBuf::from(PLACE), around)];
    let mut shift = Shift::begin(scratch, &places, PATIENCE);
    shift.wait_for_fault(PATIENCE)
}

/// moto with a bucket, and its keys; none, and it is said, where it cannot be fetched.
fn moto(scratch: &Path) -> Option<(Program, u16, [String; 2])> {
    let port = free_port();
    let keys = scratch.join("keys.txt");
    let script = root().join("tests/real/moto");
    let mut command = Command::new("bash");
    command.arg(script).arg(port.to_string()).arg(&keys);
    let log = scratch.join("moto.log");
    let mut program = Program::start(&mut command, &log);
    let until = Instant::now() + PATIENCE;
    loop {
        let text = fs::read_to_string(&keys).unwrap_or_default();
        let words: Vec<&str> = text.lines().collect();
        if let [key, secret] = words[..]
            && text.ends_with('\n')
        {
            return Some((program, port, [key.to_owned(), secret.to_owned()]));
        }
        let said = || fs::read_to_string(&log).unwrap_or_default();
        if let Some(code) = program.ended() {
            assert_eq!(code, NOT_REACHED, "{}", said());
            println!("NOT RUN: moto cannot be fetched: {}", said());
            return None;
        }
        assert!(Instant::now() < until, "{}", said());
        thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn a_server_that_judges_signatures_by_another_reckoning() {
    let scratch = TempDir::new().unwrap();
    let Some((server, port, [key, secret])) = moto(scratch.path()) else {
        return;
    };
    let region = "eu-central-1";
    for (name, key, secret) in [
        ("wrong-secret", key.as_str(), "wrong"),
        ("wrong-key", "nobody", secret.as_str()),
    ] {
        let around = surroundings(port, region, key, secret);
        let fault = told(&scratch.path().join(name), around);
        println!("{name}: {fault}");
        let refused = "its server says no to the keys of this system";
        assert_eq!(fault, format!("{PLACE}: {refused}"));
    }
    let around = surroundings(port, region, &key, &secret);
    let places = [1, 2, 3].map(|_| (PathBuf::from(PLACE), around.clone()));
    let mut shift = Shift::begin(&scratch.path().join("tablets"), &places, PATIENCE);
    shift.tap(12, TAP);
    // It stands still for a moment; whoever asks, waits.
    server.signal("STOP");
    shift.tap(12, TAP);
    server.signal("CONT");
    shift.tap(12, TAP);
    let outcome = shift.end(PATIENCE);
    let done = "wrong keys refused, every signature held against botocore's, stopped for 3 s";
    outcome.say("moto 5.2.5", done);
    assert!(outcome.met.iter().all(|met| met.faults.is_empty()));
}

/// One node of the cluster.
struct Node {
    folder: PathBuf,
    rpc: u16,
    api: u16,
    program: Option<Program>,
}

impl Node {
    fn new(scratch: &Path, at: usize) -> Self {
        let folder = scratch.join(format!("node-{at}"));
        fs::create_dir_all(&folder).unwrap();
        let (rpc, api) = (free_port(), free_port());
        let name = folder.display();
        let secret = "5a".repeat(32);
        let settings = format!(
            "metadata_dir = \"{name}/meta\"\ndata_dir = \"{name}/data\"\n\
             db_engine = \"sqlite\"\nreplication_factor = {NODES}\n\
             rpc_bind_addr = \"127.0.0.1:{rpc}\"\nrpc_public_addr = \"127.0.0.1:{rpc}\"\n\
             rpc_secret = \"{secret}\"\n\
             [s3_api]\ns3_region = \"garage\"\napi_bind_addr = \"127.0.0.1:{api}\"\n"
        );
        fs::write(folder.join("garage.toml"), settings).unwrap();
        Self {
            folder,
            rpc,
            api,
            program: None,
        }
    }

    fn command(&self) -> Command {
        let mut command = Command::new(garage());
        command.arg("-c").arg(self.folder.join("garage.toml"));
        command.env("RUST_LOG", "garage=warn");
        command
    }

    fn ask(&self, words: &[&str]) -> String {
        said(self.command().args(words))
    }

    fn start(&mut self) {
        let mut command = self.command();
        let log = self.folder.join("log.txt");
        self.program = Some(Program::start(command.arg("server"), &log));
        wait_for_port(self.rpc);
        wait_for_port(self.api);
    }

    fn kill(&mut self) {
        self.program.as_mut().unwrap().kill();
    }
}

/// Where `tests/real/garage` puts it.
fn garage() -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR").map_or(root().join("target"), PathBuf::from);
    target.join("garage/bin/garage")
}

/// Three nodes that know each other and keep everything three times, with a bucket and a key.
fn cluster(scratch: &Path) -> (Vec<Node>, [String; 2]) {
    let mut nodes: Vec<Node> = (0..NODES).map(|at| Node::new(scratch, at)).collect();
    for node in &mut nodes {
        node.start();
    }
    let names: Vec<String> = nodes.iter().map(|n| n.ask(&["node", "id", "-q"])).collect();
    for other in &names[1..] {
        nodes[0].ask(&["node", "connect", other]);
    }
    for name in &names {
        let id = name.split('@').next().unwrap();
        nodes[0].ask(&["layout", "assign", "-z", "shop", "-c", "1G", id]);
    }
    nodes[0].ask(&["layout", "apply", "--version", "1"]);
    let made = nodes[0].ask(&["key", "create", "tablet"]);
    let field = |name: &str| {
        let line = made.lines().find(|line| line.starts_with(name));
        line.unwrap()
            .split_whitespace()
            .next_back()
            .unwrap()
            .to_owned()
    };
    let keys = [field("Key ID"), field("Secret key")];
    nodes[0].ask(&["bucket", "create", "bays"]);
    nodes[0].ask(&[
        "bucket", "allow", "--read", "--write", "bays", "--key", &keys[0],
    ]);
    (nodes, keys)
}

#[test]
fn three_nodes_of_which_one_is_killed_and_then_two() {
    if !is_long() {
        return;
    }
    if !garage().is_file() {
        println!("NOT RUN: there is no Garage here; `bash tests/real/garage` builds it");
        return;
    }
    let scratch = TempDir::new().unwrap();
    let (mut nodes, [key, secret]) = cluster(scratch.path());
    let places: Vec<_> = nodes
        .iter()
        .map(|node| {
            let around = surroundings(node.api, "garage", &key, &secret);
            (PathBuf::from(PLACE), around)
        })
        .collect();
    let mut shift = Shift::begin(&scratch.path().join("tablets"), &places, PATIENCE);
    shift.tap(16, TAP);
    // Two of three are a majority; with one alone its own tablet is told, too.
    for (killed, told) in [(2, 1), (1, 3)] {
        nodes[killed].kill();
        shift.tap(16, TAP);
        let faults = |shift: &Shift| -> Vec<String> {
            let all = shift.workers.iter();
            all.filter_map(|worker| worker.met().fault).collect()
        };
        shift.wait("who is told", PATIENCE, |shift| faults(shift).len() == told);
        println!("  {killed} nodes left: {:?}", faults(&shift));
        let is_known = |fault: &String| {
            fault.ends_with("does not answer") || fault.ends_with("answers that it cannot now")
        };
        assert!(faults(&shift).iter().all(is_known));
    }
    shift.tap(16, TAP);
    for node in &mut nodes[1..] {
        node.start();
    }
    shift.tap(16, TAP);
    let outcome = shift.end(PATIENCE);
    let version = String::from_utf8(output(Command::new(garage()).arg("--version")).stdout);
    let name = format!("{}, three nodes", version.unwrap().trim());
    outcome.say(&name, "one killed, then two, then all back");
}
