//! Any bytes as the lines of a journal.

use std::cell::RefCell;
use std::io;
use std::path::Path;
use std::rc::Rc;

use trayzero::data::store::{JobFold, JobSummary};
use trayzero::ui::words::{EN, Language};
use trayzero_core::job::{Entry, Event, JobState};
use trayzero_core::journal::{Disk, FileState, Limits, Mark, ReadEnd, Reader, Writer, order};
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::text::{FILE, job, key, linked, tablet, with_identities};
use crate::rules;

/// Reads bytes as a journal twice: as they are, and with their lines linked. What comes
/// out is written and read again, read in two parts, and folded.
///
/// # Panics
/// If something does not hold.
pub fn check(bytes: &[u8]) {
    let text = with_identities(bytes);
    read(&text, Mark::START);
    let journal = linked(&text, &key(b'a'));
    let (entries, end) = read(&journal, Mark::START);
    let rest = &journal[end.mark.bytes as usize..];
    assert_eq!(
        end.fault.is_some() || end.torn.is_some(),
        !rest.is_empty(),
        "what is not read is told"
    );
    if let Some(torn) = &end.torn {
        assert_eq!(torn.bytes, rest);
    }
    read_in_two_parts(&journal, &entries, &end);
    written_again(&entries);
    folded(&entries);
}

fn read(bytes: &[u8], from: Mark) -> (Vec<Entry>, ReadEnd) {
    let reader = Reader::new(
        bytes,
        Path::new(FILE),
        job(b'1'),
        tablet(b'a'),
        Limits::FOREIGN,
        from,
    );
    let mut entries = Vec::new();
    let mut end = reader.for_each(|entry, _, _| entries.push(entry));
    assert!(end.mark.bytes - from.bytes <= bytes.len() as u64);
    assert_eq!(end.mark.n - from.n, entries.len() as u64 + end.unknown);
    if let Some(fault) = &mut end.fault {
        assert!(!fault.why.to_string().is_empty());
        assert_eq!(fault.line, end.mark.lines + 1);
    }
    (entries, end)
}

/// A journal read up to any line, and on from there, is the journal read at once.
fn read_in_two_parts(journal: &[u8], entries: &[Entry], end: &ReadEnd) {
    let newlines = journal.iter().enumerate().filter(|(_, b)| **b == b'\n');
    let Some((at, _)) = newlines
        .take_while(|(at, _)| (*at as u64) < end.mark.bytes)
        .nth(end.mark.lines as usize / 2)
    else {
        return;
    };
    let (first, middle) = read(&journal[..=at], Mark::START);
    assert_eq!((middle.fault, middle.torn), (None, None));
    let (second, last) = read(&journal[at + 1..], middle.mark);
    assert_eq!([first, second].concat(), entries);
    assert_eq!(last.mark, end.mark);
    assert_eq!(last.fault, end.fault);
}

/// What was read can be written, and reads back as it was.
fn written_again(entries: &[Entry]) {
    let disk = Memory::default();
    let file = Path::new(FILE);
    let mut writer = Writer::on(disk.clone(), file, job(b'1'), tablet(b'a'), Mark::START).unwrap();
    for entry in entries {
        writer.append(std::slice::from_ref(entry)).unwrap();
    }
    let (again, end) = read(&disk.bytes(), Mark::START);
    assert_eq!((end.torn, end.fault, end.unknown), (None, None, 0));
    assert_eq!(again, entries);
}

/// Whatever the events say, a refused one leaves no trace, a taken one breaks no rule, and
/// every question that a screen asks has an answer.
fn folded(entries: &[Entry]) {
    let mut job = JobState::new();
    for entry in entries {
        let before = job.clone();
        match job.apply(entry) {
            Ok(effects) if effects.repeated => assert_eq!(job, before),
            Ok(_) => {
                let broken = match &entry.event {
                    Event::Withdrawn { .. } => rules::broken_state(&job),
                    event => rules::broken(&before, event, &job),
                };
                assert_eq!(broken, None, "{:?}", entry.event);
            }
            Err(refusal) => {
                assert_eq!(job, before, "a refusal leaves no trace");
                for words in Language::ALL.map(Language::words) {
                    assert!(!words.refusal_why(&refusal).is_empty());
                    assert!(!words.refusal_way_out(&refusal).is_empty());
                }
            }
        }
    }
    let whole = JobFold::of(Uuid::nil(), &Proofs::default(), [entries.to_vec()]);
    let mut part = JobFold::default();
    let (first, second) = entries.split_at(entries.len() / 2);
    let in_order = part.take_on(&mut first.to_vec()) && part.take_on(&mut second.to_vec());
    if in_order && entries.is_sorted_by(|a, b| order(a, b).is_lt()) {
        assert_eq!(part.state(), whole.state(), "folded in two parts");
    }
    asked(whole.state());
}

/// Asks a state all that the screens ask.
///
/// # Panics
/// If an answer does not hold together.
pub fn asked(state: &JobState) {
    let step = state.next_step(None);
    state.events_of(&step);
    state.undo_offer();
    for bank in 0..state.bank_count() {
        state.gate(bank);
    }
    state.job_gate();
    state.count_list();
    state.kit_missing();
    state.seals_short();
    JobSummary::of(state);
    for conflict in state.conflicts() {
        assert!(!EN.refusal_why(&conflict.refusal).is_empty());
    }
}

/// A disk that is a piece of memory.
#[derive(Clone, Debug, Default)]
pub struct Memory(Rc<RefCell<Vec<u8>>>);

impl Memory {
    /// What is on it.
    pub fn bytes(&self) -> Vec<u8> {
        self.0.borrow().clone()
    }
}

impl Disk for Memory {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        self.0.borrow_mut().truncate(bytes as usize);
        Ok(())
    }

    fn state(&mut self) -> io::Result<FileState> {
        Ok(FileState {
            bytes: self.0.borrow().len() as u64,
            is_linked: true,
        })
    }
}
