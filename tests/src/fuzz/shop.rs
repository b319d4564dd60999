//! Any bytes as the files of a shop folder.
//!
//! ```text
//! = tablets/$a.json sealed
//! {"tablet":"$a","name":"Lift 1"}
//! = jobs/$1/$a.jsonl linked
//! {"format":1,"job":"$1","tablet":"$a"}
//! = jobs/notes.txt raw
//! anything
//! = jobs/$2 folder
//! ```
//! A line that begins with `= ` begins a file. Names and links are put in as `text`
//! says; a sealed file and a `$s` are sealed by the tablet that the file is named after.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use sha2::{Digest, Sha256};
use trayzero::data::crew::{CREW_PURPOSE, CodeCost, Crew};
use trayzero::data::store::{Stamp, Store};
use trayzero::record::load::gather;
use trayzero::shop::{Board, BoardFilter, Exchange, Round, in_order};
use trayzero_core::job::{Event, Opening, Person};
use trayzero_core::journal::{
    Limits, Link, Writer, check_folder, job_path, journal_path, list_jobs, read_journal, seal_over,
};

use super::journal::asked;
use super::text::{job, key, linked, tablet, with_identities};
use crate::engines::shipped_engine;
use crate::entries::{MORNING_MS, Scribe};
use trayzero_core::shop_log::Proofs;

/// Purpose of a tablet's card, as its seal has it.
const CARD_PURPOSE: &str = "trayzero tablet 1";

/// Names with more parts, or longer ones, are left out.
const PARTS_MAX: usize = 5;
const NAME_BYTES_MAX: usize = 80;

const NOW: Stamp = Stamp {
    at_ms: MORNING_MS + 3_600_000,
    offset_min: 60,
};

/// A tablet meets a shop folder with such files in it.
///
/// # Panics
/// If something does not hold.
pub fn check(bytes: &[u8]) {
    let scratch = scratch();
    let (root, shop) = (scratch.path().join("data"), scratch.path().join("shop"));
    furnish(&root);
    fs::create_dir(&shop).unwrap();
    write_files(&shop, bytes);
    let before = files_of(&shop);
    let own = journal_path(&root, job(b'0'), tablet(b'o'));
    let own_bytes = fs::read(&own).unwrap();

    let store = Store::open(&root, NOW).unwrap();
    assert_eq!(store.tablet().id(), tablet(b'o'));
    let mut exchange = Exchange::new(&store.for_exchange(), &shop);
    let round = exchange.round();
    takes_crews(&store, &round);
    let again = exchange.round();
    nothing_new(&again);
    assert_eq!(again.file_faults, round.file_faults);
    let anew = Exchange::new(&store.for_exchange(), &shop).round();
    assert!(anew.pulled.is_empty(), "nor to a program started anew");

    assert_eq!(
        fs::read(&own).unwrap(),
        own_bytes,
        "the own journal is left"
    );
    foreign_files_are_left(&shop, &before);
    own_lines_are_there_or_it_is_said(&shop, &own_bytes, &again);
    copies_hold(&root, &shop);
    everything_is_shown(&store);
    check_folder(&shop).unwrap();
}

fn nothing_new(round: &Round) {
    assert!(
        round.pulled.is_empty() && round.sight.is_none(),
        "nothing is new a second time: {round:#?}"
    );
}

fn takes_crews(store: &Store, round: &Round) {
    let mut crew = Crew::open(
        store.root(),
        Arc::clone(store.tablet()),
        CodeCost::default(),
    );
    let Some(sight) = &round.sight else { return };
    let before: Vec<_> = crew.members().collect();
    crew.take_sight(sight.clone(), NOW).unwrap();
    assert!(
        crew.offers().is_empty(),
        "no line there is signed by anybody"
    );
    assert_eq!(crew.members().collect::<Vec<_>>(), before);
}

/// A folder in memory where there is one.
fn scratch() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").unwrap_or_else(|_| tempfile::tempdir().unwrap())
}

/// The data folder of tablet `o` with a job of its own, the same every time.
fn furnish(root: &Path) {
    static FILES: OnceLock<[(&str, Vec<u8>); 2]> = OnceLock::new();
    let [card, secret] = FILES.get_or_init(|| {
        let public = seal_over(Link::BEFORE_ALL, &key(b'o')).key;
        let id = tablet(b'o');
        let card = format!(
            "{{\"format\":1,\"tablet\":\"{id}\",\"name\":\"Own\",\"public_key\":\"{public}\"}}"
        );
        let secret = format!("{:02x}", b'o').repeat(32);
        [
            ("tablet.json", card.into_bytes()),
            ("tablet.key", secret.into_bytes()),
        ]
    });
    fs::create_dir_all(job_path(root, job(b'0'))).unwrap();
    for (name, bytes) in [card, secret] {
        fs::write(root.join(name), bytes).unwrap();
    }
    fs::write(journal_path(root, job(b'0'), tablet(b'o')), own_journal()).unwrap();
}

/// The own job's journal: opened, and one note.
fn own_journal() -> &'static [u8] {
    static BYTES: OnceLock<Vec<u8>> = OnceLock::new();
    BYTES.get_or_init(|| {
        let folder = scratch();
        let mut scribe = Scribe::new(1, "Ada");
        let events = [
            Event::JobOpened(Box::new(Opening {
                order_number: None,
                layout: shipped_engine("inline-3-12v"),
                vehicle: "Van 12".to_owned(),
                bay: "Bay 1".to_owned(),
                technician: Person::new("Ada"),
            })),
            Event::Noted {
                text: "a note".to_owned(),
            },
        ];
        let mut writer = Writer::open(folder.path(), job(b'0'), tablet(b'o'))
            .unwrap()
            .writer;
        for event in events {
            let mut entry = scribe.entry(event);
            entry.tablet = tablet(b'o');
            writer.append(&[entry]).unwrap();
        }
        fs::read(writer.file()).unwrap()
    })
}

/// Writes the files that an input tells of. What cannot be made is left out.
fn write_files(shop: &Path, input: &[u8]) {
    let mut rest = input;
    while let Some(at) = start_of_file(rest) {
        let from = &rest[at + 2..];
        let (head, body) = split_at_newline(from);
        let length = start_of_file(body).unwrap_or(body.len());
        if let Some((name, kind)) = name_and_kind(head) {
            write_file(shop, name, kind, &body[..length]);
        }
        rest = &body[length..];
    }
}

/// Where a line begins with `= `.
fn start_of_file(text: &[u8]) -> Option<usize> {
    if text.starts_with(b"= ") {
        return Some(0);
    }
    let at = text.windows(3).position(|three| three == b"\n= ")?;
    Some(at + 1)
}

fn split_at_newline(text: &[u8]) -> (&[u8], &[u8]) {
    match text.iter().position(|b| *b == b'\n') {
        Some(at) => (&text[..at], &text[at + 1..]),
        None => (text, &[]),
    }
}

fn name_and_kind(head: &[u8]) -> Option<(&str, &str)> {
    str::from_utf8(head).ok()?.rsplit_once(' ')
}

fn write_file(shop: &Path, name: &str, kind: &str, body: &[u8]) {
    let Some(path) = path_of(shop, name) else {
        return;
    };
    let letter = name
        .rsplit_once('$')
        .and_then(|(_, rest)| rest.bytes().next())
        .filter(u8::is_ascii_lowercase)
        .unwrap_or(b'c');
    let body = with_identities(body);
    let bytes = match kind {
        "linked" => linked(&body, &key(letter)),
        "sealed" => sealed(name, body.trim_ascii_end(), letter),
        "folder" => {
            fs::create_dir_all(path).ok();
            return;
        }
        _ => body,
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).ok();
    }
    fs::write(path, bytes).ok();
}

/// The path of a name within the shop folder; `None` where it would lead out of it.
fn path_of(shop: &Path, name: &str) -> Option<PathBuf> {
    let name = String::from_utf8(with_identities(name.as_bytes())).ok()?;
    let parts: Vec<&str> = name.split('/').collect();
    let is_plain = |part: &&str| {
        !matches!(*part, "" | "." | "..") && part.len() <= NAME_BYTES_MAX && !part.contains('\0')
    };
    let fits = parts.len() <= PARTS_MAX && parts.iter().all(is_plain);
    fits.then(|| shop.join(&name))
}

fn sealed(name: &str, payload: &[u8], letter: u8) -> Vec<u8> {
    let purpose = if name.starts_with("crew/") {
        CREW_PURPOSE
    } else {
        CARD_PURPOSE
    };
    let digest = Sha256::new()
        .chain_update(purpose)
        .chain_update(b"\n")
        .chain_update(payload)
        .finalize();
    let seal = seal_over(Link(digest.into()), &key(letter));
    let seal = serde_json::to_string(&seal).unwrap();
    [
        b"{\"payload\":".as_slice(),
        payload,
        b",\"seal\":",
        seal.as_bytes(),
        b"}\n",
    ]
    .concat()
}

/// Every plain file below a folder.
fn files_of(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for name in fs::read_dir(folder).unwrap() {
            let path = name.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                files.insert(path.clone(), fs::read(&path).unwrap());
            }
        }
    }
    files
}

/// Only files that carry the own tablet's name may have changed.
fn foreign_files_are_left(shop: &Path, before: &BTreeMap<PathBuf, Vec<u8>>) {
    let own = tablet(b'o').to_string();
    let after = files_of(shop);
    let is_own = |path: &Path| path.to_string_lossy().contains(&own);
    for (path, bytes) in before.iter().filter(|(path, _)| !is_own(path)) {
        assert_eq!(after.get(path), Some(bytes), "{}", path.display());
    }
}

fn own_lines_are_there_or_it_is_said(shop: &Path, own: &[u8], round: &Round) {
    let there = journal_path(shop, job(b'0'), tablet(b'o'));
    let is_there = fs::read(&there).is_ok_and(|bytes| bytes == own);
    let is_said = round.fault.is_some() || round.file_faults.iter().any(|f| f.path == there);
    assert!(is_there || is_said, "{round:#?}");
}

/// A copy of a foreign journal holds to its last byte, and is how that journal begins.
fn copies_hold(root: &Path, shop: &Path) {
    for folder in list_jobs(root).unwrap().jobs {
        for file in folder.journals.iter().filter(|f| f.tablet != tablet(b'o')) {
            let read = read_journal(&file.path, folder.job, file.tablet, Limits::OWN).unwrap();
            assert_eq!((&read.torn, &read.fault), (&None, &None));
            let there = fs::read(journal_path(shop, folder.job, file.tablet)).unwrap();
            let copy = fs::read(&file.path).unwrap();
            assert!(there.starts_with(&copy), "{}", file.path.display());
        }
    }
}

/// The board, every job and its record can be shown, and say the same.
fn everything_is_shown(store: &Store) {
    let root = store.root();
    let mut board = Board::of_folder(root, Limits::OWN, Proofs::default()).unwrap();
    board.work_out_to_go();
    in_order(&board.cards(), BoardFilter::All, NOW.at_ms, 30);
    let listed = store.jobs().unwrap();
    for one in listed.jobs {
        let open = store.open_job(one.job).unwrap();
        asked(open.state());
        if let Some(state) = board.state(one.job) {
            assert_eq!(open.state(), state, "the board shows what the bay shows");
        }
        let is_opened = open.state().layout().is_some();
        assert_eq!(
            gather(root, one.job, &Proofs::default()).is_ok(),
            is_opened,
            "a record of it"
        );
    }
}
