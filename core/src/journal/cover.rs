//! How far a journal counts: up to where a seal of a member, or the shop's log, vouches.
//!
//! Links alone prove that a journal was not damaged; whoever can write to a folder can
//! make a chain of his own. So of another tablet's journal only those lines count that
//! something of a member comes after: a seal within it, the seal beside it
//! ([`EndSeal`]), or a place that the shop's log names ([`Members::stands`]). A seal is
//! itself a line, and signs the lines before it alone: its own time and name wait for what
//! comes after like those of any other line.

use std::io::Read;
use std::ops::ControlFlow;

use uuid::Uuid;

use super::reader::{Mark, ReadEnd, Reader};
use super::seal_holds;
use super::{Complaint, EndSeal, FOREIGN_CLOCK_MS_MAX, JournalFault, JournalWhy, Link, Members};
use crate::job::{Entry, Event};

/// What vouches for the lines of one journal.
#[derive(Clone, Debug)]
pub struct Cover<'a> {
    job: Uuid,
    tablet: Uuid,
    members: &'a Members,
    /// The seal beside the journal, where it holds and is a member's.
    beside: Option<(&'a EndSeal, Link)>,
    /// What is wrong with it, where it does not.
    wrong: Option<WrongSeal>,
}

/// A seal that vouches for nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrongSeal {
    /// Its line, counted from 1; `None` for the seal beside the journal.
    pub line: Option<u64>,
    /// The key, where the signature itself holds: nobody has admitted it for this tablet.
    pub stranger: Option<String>,
    /// What is wrong.
    pub why: JournalWhy,
}

/// How far a journal counts, and how the reading of it ended.
#[derive(Clone, Debug, Default)]
pub struct Covered {
    /// The end of the last line that counts.
    pub mark: Mark,
    /// The seal that says so; `None` where nothing new counts, or the shop's log says it.
    pub proof: Option<EndSeal>,
    /// How far the file could be read at all.
    pub end: ReadEnd,
    /// Events after `mark` that nothing vouches for. A seal at the very end, of a member
    /// and over the line before, is none of them: it claims nothing.
    pub waiting: u64,
    /// Bytes that the seal beside the journal signs and that are not there.
    pub missing: u64,
    /// Seals that vouch for nothing.
    pub wrong: Vec<WrongSeal>,
}

impl<'a> Cover<'a> {
    /// What vouches for a tablet's journal of a job, with the seal beside it if there is
    /// one.
    pub fn new(job: Uuid, tablet: Uuid, members: &'a Members, beside: Option<&'a EndSeal>) -> Self {
        let mut cover = Self {
            job,
            tablet,
            members,
            beside: None,
            wrong: None,
        };
        let Some(seal) = beside else {
            return cover;
        };
        match seal.link(job, tablet) {
            Ok(link) if members.covers(tablet, seal.key()) => cover.beside = Some((seal, link)),
            Ok(_) => cover.wrong = Some(stranger(None, seal.key())),
            Err(why) => {
                cover.wrong = Some(WrongSeal {
                    line: None,
                    stranger: None,
                    why,
                });
            }
        }
        cover
    }

    /// Where the seal beside the journal says that it goes to, where that counts.
    pub fn sealed_to(&self) -> Option<(u64, Link)> {
        self.beside.map(|(seal, link)| (seal.bytes, link))
    }

    /// Reads a journal to its end. `take` gets each entry that counts, with its line.
    pub fn read<R: Read>(
        &self,
        mut reader: Reader<R>,
        mut take: impl FnMut(Entry, u64),
    ) -> Covered {
        let mut covered = Covered {
            mark: *reader.mark(),
            wrong: self.wrong.iter().cloned().collect(),
            ..Covered::default()
        };
        let mut waiting: Vec<(Entry, u64)> = Vec::new();
        let mut before = *reader.mark();
        while let ControlFlow::Continue(entry) = reader.step(&mut covered.end) {
            if let Some(entry) = entry {
                let line = reader.mark().lines;
                if entry.clock.0 > FOREIGN_CLOCK_MS_MAX {
                    covered.end.fault = Some(reader.no_room());
                    break;
                }
                match self.weigh(&entry, line, &before) {
                    Some(Ok(proof)) => {
                        covered.vouched(before, &mut waiting, &mut take);
                        covered.proof = Some(proof);
                    }
                    Some(Err(wrong)) => covered.wrong.push(wrong),
                    None => {}
                }
                waiting.push((entry, line));
            }
            before = *reader.mark();
            let Mark { bytes, link, .. } = before;
            let by_seal = self
                .beside
                .filter(|(seal, end)| (seal.bytes, *end) == (bytes, link));
            if by_seal.is_some() || self.members.stands(self.job, self.tablet, bytes, link) {
                covered.vouched(before, &mut waiting, &mut take);
                covered.proof = by_seal.map(|(seal, _)| seal.clone());
            }
        }
        covered.end.mark = *reader.mark();
        covered.waiting = claims(&waiting, &covered);
        covered.missing = match self.sealed_to() {
            Some((bytes, _)) => bytes.saturating_sub(covered.end.mark.bytes),
            None => 0,
        };
        covered
    }

    /// What a seal within the journal is worth; `None` for any other entry.
    fn weigh(&self, entry: &Entry, line: u64, over: &Mark) -> Option<Result<EndSeal, WrongSeal>> {
        let Event::Sealed(seal) = &entry.event else {
            return None;
        };
        if let Err(why) = seal_holds(seal, over.link) {
            return Some(Err(WrongSeal {
                line: Some(line),
                stranger: None,
                why,
            }));
        }
        if !self.members.covers(self.tablet, &seal.key) {
            return Some(Err(stranger(Some(line), &seal.key)));
        }
        let seal = EndSeal::of(self.job, self.tablet, over.bytes, over.link, seal);
        Some(Ok(seal))
    }
}

impl Covered {
    /// Whether anything in the file does not count, or is missing from it.
    pub fn leaves_something(&self) -> bool {
        self.waiting > 0 || self.missing > 0 || self.end.fault.is_some()
    }

    fn vouched(
        &mut self,
        to: Mark,
        waiting: &mut Vec<(Entry, u64)>,
        take: &mut impl FnMut(Entry, u64),
    ) {
        self.mark = to;
        for (entry, line) in waiting.drain(..) {
            take(entry, line);
        }
    }

    /// The first thing that does not hold: a fault of the file, or a seal.
    pub fn complaint(&self) -> Option<Complaint> {
        let of_fault = |fault: &JournalFault| Complaint {
            line: Some(fault.line),
            field: fault.field.clone(),
            why: fault.why.clone(),
        };
        let of_seal = |wrong: &WrongSeal| Complaint {
            line: wrong.line,
            field: String::new(),
            why: wrong.why.clone(),
        };
        let seals = self.wrong.first().map(of_seal);
        seals.or_else(|| self.end.fault.as_ref().map(of_fault))
    }
}

/// Events that wait for a seal; a good seal at the very end is none.
fn claims(waiting: &[(Entry, u64)], covered: &Covered) -> u64 {
    let all = covered.end.mark.n - covered.mark.n;
    let ends_sealed = match waiting {
        [(entry, line)] => {
            matches!(entry.event, Event::Sealed(_))
                && covered.wrong.iter().all(|wrong| wrong.line != Some(*line))
        }
        _ => false,
    };
    if ends_sealed { all - 1 } else { all }
}

fn stranger(line: Option<u64>, key: &str) -> WrongSeal {
    WrongSeal {
        line,
        stranger: Some(key.to_owned()),
        why: JournalWhy::KeyNotAdmitted,
    }
}
