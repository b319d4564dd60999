//! What a shop of ten years and what large files of others cost: what a start reads, and the
//! memory that a process of its own takes for them.

use std::fs::{self, File};
use std::path::Path;
use std::process::Command;

use trayzero::cli;
use trayzero::shop::{Admitted, Board, WhyNotConfirmed};
use trayzero_core::job::{Event, SignOff};
use trayzero_core::journal::{Limits, journal_path, list_jobs};
use uuid::Uuid;

use super::parts::{Tablet, scratch};

const FINISHED: usize = 500;

fn stop(tablet: &mut Tablet) {
    let by = SignOff::new(tablet.person.clone(), Uuid::now_v7());
    let stopped = Event::JobStopped {
        by,
        why: "no parts".into(),
    };
    let now = tablet.clock.advance(1_000);
    let open = tablet.open.as_mut().unwrap();
    open.propose(now, &tablet.person, &[stopped]).unwrap();
}

/// Every journal of 500 finished jobs is replaced by as many empty lines: whoever read one of them, to
/// verify a link, a seal or a signature, would find a fault. A start finds none.
#[test]
fn a_start_reads_and_verifies_no_line_of_a_job_that_is_over() {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    fs::create_dir(&shop).unwrap();
    let mut other = Tablet::new(&scratch.path().join("other"), &shop, "Ben");
    for _ in 0..FINISHED {
        other.create("inline-3-12v", "Bay 1");
        stop(&mut other);
        other.open = None;
    }
    other.meet();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    one.meet();
    let under_way = one.create("inline-3-12v", "Bay 2");
    one.note("under way");
    one.open = None;
    let (list, proofs) = (one.store.jobs().unwrap(), one.store.proofs().clone());
    assert_eq!((list.finished, list.jobs.len()), (FINISHED, 1));
    let mut spoiled = 0;
    for job in list_jobs(&one.root).unwrap().jobs {
        for file in job.journals.iter().filter(|_| job.job != under_way) {
            fs::write(&file.path, vec![b'\n'; file.bytes as usize]).unwrap();
            spoiled += 1;
        }
    }
    let root = one.root.clone();
    drop(one);
    let one = Tablet::new(&root, &shop, "Ada");
    let list = one.store.jobs().unwrap();
    assert_eq!((list.finished, list.jobs.len()), (FINISHED, 1));
    assert!(list.faults.is_empty(), "{:?}", list.faults);
    let board = Board::of_unfinished(&root, Limits::OWN, proofs.clone()).unwrap();
    assert_eq!((board.faults().count(), board.cards().len()), (0, 1));
    println!("journals of finished jobs: {spoiled}, read and verified at a start: 0");
    // Whoever asks for them all the same finds them spoiled.
    let board = Board::of_journals(&root, Limits::OWN, proofs).unwrap();
    assert_eq!(board.faults().count(), FINISHED);
}

/// Names what a process of its own does, and where.
const DOES: &str = "TRAYZERO_TEST_BOUND";
const AT: &str = "TRAYZERO_TEST_BOUND_AT";
/// What large files of others may cost beyond what the same work costs without them.
const FOREIGN_BYTES_MAX: u64 = 64 << 20;

/// The most memory that this process has taken, in bytes.
fn most_bytes() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let kib = line.and_then(|line| line.split_whitespace().nth(1));
    kib.unwrap().parse::<u64>().unwrap() << 10
}

/// Run by the test below alone, in a process of its own.
#[test]
fn one_work_in_a_process_of_its_own() {
    let (Ok(does), Ok(at)) = (std::env::var(DOES), std::env::var(AT)) else {
        return;
    };
    let scratch = Path::new(&at);
    let shop = scratch.join("shop");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let folder = shop.to_str().unwrap();
    match &*does {
        "round" => {
            let mut one = Tablet::new(&scratch.join("one"), &shop, "Ada");
            let round = one.meet();
            let proofs = one.store.proofs().clone();
            let board = Board::of_unfinished(&one.root, Limits::OWN, proofs).unwrap();
            println!("SEEN {} {}", round.not_confirmed.len(), board.cards().len());
        }
        "board" => {
            let board = Admitted::of(&shop, None).unwrap().board(&shop).unwrap();
            println!("SEEN 0 {}", board.cards().len());
        }
        "check" => {
            let code = cli::run(["trayzero", "check", folder], &mut out, &mut err);
            println!("SEEN {code} 0");
        }
        other => panic!("{other}"),
    }
    println!("MOST {}", most_bytes());
}

/// What a work has seen, and the memory it took.
fn measured(does: &str, at: &Path) -> (Vec<u64>, u64) {
    let ran = Command::new(std::env::current_exe().unwrap())
        .args([
            "bounds::one_work_in_a_process_of_its_own",
            "--exact",
            "--nocapture",
        ])
        .env(DOES, does)
        .env(AT, at)
        .output()
        .unwrap();
    let said = String::from_utf8(ran.stdout).unwrap();
    assert!(ran.status.success(), "{does}: {said}");
    let figures = |name: &str| {
        let line = said.lines().find_map(|line| line.strip_prefix(name));
        let figures = line.unwrap_or_else(|| panic!("{does}: {said}")).split(' ');
        figures.map(|f| f.parse().unwrap()).collect::<Vec<u64>>()
    };
    (figures("SEEN "), figures("MOST ")[0])
}

/// Five journals of 50 MB in the folder, in a stranger's name and in a member's.
#[test]
fn five_journals_of_50_mb_cost_no_more_memory_than_is_stated() {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    fs::create_dir(&shop).unwrap();
    let mut other = Tablet::new(&scratch.path().join("other"), &shop, "Ben");
    let jobs: Vec<Uuid> = (0..5)
        .map(|n| other.create("inline-3-12v", &format!("Bay {n}")))
        .collect();
    other.meet();
    let works = ["round", "board", "check"];
    let before = works.map(|does| measured(does, scratch.path()));
    assert_eq!(before[0].0, [0, 5], "five jobs, and all counts");
    // Lines that read, so that whoever begins to read goes on.
    let line = "{\"format\":1}\n";
    let stranger = Uuid::from_u128(0xE0E);
    for (name, tablet, bytes) in [
        ("a stranger", stranger, 50 << 20),
        ("a member", other.id(), 50 << 20),
        // As large as is looked at.
        ("a stranger", stranger, 16 << 20),
        ("a member", other.id(), 15 << 20),
    ] {
        let mut spoiled = Vec::new();
        for job in &jobs {
            let path = journal_path(&shop, *job, tablet);
            spoiled.push((path.clone(), fs::read(&path).ok()));
            let mut text = fs::read(&path).unwrap_or_default();
            text.extend(line.repeat(bytes / line.len()).into_bytes());
            fs::write(&path, text).unwrap();
        }
        for (does, (_, before)) in works.iter().zip(&before) {
            let (seen, most) = measured(does, scratch.path());
            let more = most.saturating_sub(*before);
            println!(
                "{name}, {does}: {} MiB, {} more for five journals of {} MiB",
                most >> 20,
                more >> 20,
                bytes >> 20
            );
            assert!(more <= FOREIGN_BYTES_MAX, "{name}, {does}: {more} bytes");
            let expected: &[u64] = match *does {
                "round" => &[5, 5],
                "board" => &[0, 5],
                _ => &[1, 0],
            };
            assert!(
                seen == expected || name == "a member",
                "{name}, {does}: {seen:?}"
            );
        }
        for (path, text) in spoiled {
            match text {
                Some(text) => fs::write(path, text).unwrap(),
                None => fs::remove_file(path).unwrap(),
            }
        }
    }
    // A file that is a hole of a terabyte costs nothing either, and is told.
    let hole = journal_path(&shop, jobs[0], Uuid::from_u128(0xE0F));
    File::create(&hole).unwrap().set_len(1 << 40).unwrap();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    let round = one.meet();
    let told = round.not_confirmed.iter().map(|one| one.why.clone());
    assert_eq!(told.collect::<Vec<_>>(), [WhyNotConfirmed::Stranger]);
    assert_eq!(
        round.strangers,
        [],
        "too large to be dismissed: it has to go"
    );
}
