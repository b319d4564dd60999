//! This tablet's own journals to a bucket: new lines as a piece with a name that says what is
//! in it, then the head that names it.
//!
//! A tap costs two requests. Where a journal has got many pieces, the small ones at its end
//! become one; where its job is over, all of it does, and its head moves to the past, which is
//! not looked at again.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use trayzero_core::journal::{EndSeal, journal_path};
use uuid::Uuid;

use super::client::{Client, Put, at_once};
use super::fault::BucketFault;
use super::head::{HEAD_BYTES_MAX, Head, JournalHead, Past, Piece, head_name, past_name};
use super::journals;
use crate::shop::ShopFault;

/// A journal with more pieces gets the small ones at its end put together.
const PIECES_KEPT: usize = 8;
/// Larger pieces stay as they are.
const SMALL_PIECE_BYTES: u64 = 256 << 10;

/// This tablet's journals as they are in the bucket.
#[derive(Debug, Default)]
pub(super) struct OwnJournals {
    head: Head,
    /// What changes when the head in the bucket does.
    pub tag: String,
    /// The last object of the past, and its number.
    past: (u32, Past),
    /// Journals of the past: their lengths, and the object that tells of each.
    past_bytes: BTreeMap<Uuid, (u64, u32)>,
    /// The files as they were when all of them was there.
    sent: BTreeMap<Uuid, SeenJournal>,
}

/// Length and time of a journal, and the times of what lies beside it.
type SeenJournal = (u64, [Option<SystemTime>; 3]);

/// What is to be put for one journal.
struct JournalChange {
    head: JournalHead,
    new: Option<(Piece, Vec<u8>)>,
    /// Pieces that the head no longer names.
    old: Vec<Piece>,
    look: SeenJournal,
}

impl OwnJournals {
    /// The head as it was found in the bucket.
    pub fn take_head(&mut self, head: Head, tag: String) {
        self.sent.clear();
        self.head = head;
        self.tag = tag;
    }

    /// An object of the past as it was found.
    pub fn take_past(&mut self, n: u32, past: &Past) {
        for journal in &past.journals {
            self.past_bytes.insert(journal.job, (journal.bytes(), n));
        }
        if n >= self.past.0 {
            self.past = (n, past.clone());
        }
    }

    /// Bytes here that are not there.
    pub fn behind_bytes(&self, folder: &Path, tablet: Uuid, jobs: &[Uuid]) -> u64 {
        let waiting = jobs.iter().map(|job| {
            let known = journal_path(folder, *job, tablet).symlink_metadata();
            let here = known.map_or(0, |known| known.len());
            here.saturating_sub(self.bytes_there(*job))
        });
        waiting.sum()
    }

    fn open(&self, job: Uuid) -> Option<&JournalHead> {
        self.head.open.iter().find(|journal| journal.job == job)
    }

    fn bytes_there(&self, job: Uuid) -> u64 {
        let open = self.open(job).map(JournalHead::bytes);
        open.unwrap_or_else(|| self.past_bytes.get(&job).map_or(0, |(bytes, _)| *bytes))
    }

    /// Puts what is new of the journals of these jobs. Jobs that are over go to the past.
    pub fn send(
        &mut self,
        client: &Client,
        folder: &Path,
        tablet: Uuid,
        jobs: &[Uuid],
        is_over: &dyn Fn(Uuid) -> bool,
    ) -> Result<(), ShopFault> {
        let mut changes = Vec::new();
        for job in jobs {
            let path = journal_path(folder, *job, tablet);
            let change = self.change(client, folder, *job, tablet, is_over);
            changes.extend(change.map_err(ShopFault::at(&path))?);
        }
        if changes.is_empty() {
            return Ok(());
        }
        let put = at_once(
            changes.iter().collect(),
            |change: &JournalChange| match &change.new {
                Some((piece, bytes)) => put_piece(client, change.head.job, tablet, piece, bytes),
                None => Ok(()),
            },
        );
        put.into_iter()
            .collect::<Result<(), _>>()
            .map_err(|fault| client.fault(fault))?;
        let mut head = self.head.clone();
        let mut past_now = Vec::new();
        for change in &changes {
            head.open.retain(|journal| journal.job != change.head.job);
            if is_over(change.head.job) {
                past_now.push(change.head.clone());
            } else {
                head.open.push(change.head.clone());
            }
        }
        self.put_past(client, tablet, &mut head, past_now)?;
        let tag = client
            .put_over(&head_name(tablet), &head.to_bytes())
            .map_err(|fault| client.fault(fault))?;
        (self.head, self.tag) = (head, tag);
        for change in changes {
            self.sent.insert(change.head.job, change.look);
            for piece in change.old {
                // One that stays is nobody's, and costs its room alone.
                let _ = client.delete(&piece.name(change.head.job, tablet));
            }
        }
        Ok(())
    }

    /// Looks whether the pieces that the head names of jobs under way lie there as they should,
    /// and puts those again that do not.
    pub fn look_over(&self, client: &Client, folder: &Path, tablet: Uuid) -> Result<(), ShopFault> {
        let mut pieces = Vec::new();
        for journal in &self.head.open {
            // What is not here is none that can be put again.
            let Ok(bytes) = fs::read(journal_path(folder, journal.job, tablet)) else {
                continue;
            };
            let mut rest = &bytes[..];
            for piece in &journal.pieces {
                let Some((of_it, after)) = rest.split_at_checked(piece.bytes as usize) else {
                    break;
                };
                rest = after;
                if piece.is(of_it) {
                    pieces.push((journal.job, piece, of_it.to_vec()));
                }
            }
        }
        let mended = at_once(pieces, |(job, piece, bytes)| {
            mend_piece(client, job, tablet, piece, &bytes)
        });
        let mended: Result<(), BucketFault> = mended.into_iter().collect();
        mended.map_err(|fault| client.fault(fault))
    }

    /// What is to be put for a journal; `None` where the bucket has all of it.
    fn change(
        &self,
        client: &Client,
        folder: &Path,
        job: Uuid,
        tablet: Uuid,
        is_over: &dyn Fn(Uuid) -> bool,
    ) -> io::Result<Option<JournalChange>> {
        let path = journal_path(folder, job, tablet);
        let seal = EndSeal::path(folder, job, tablet);
        let twin = path.with_extension("twin");
        let Ok(known) = path.symlink_metadata() else {
            // It has not been brought to the copy yet.
            return Ok(None);
        };
        let changed = |path: &PathBuf| path.symlink_metadata().ok()?.modified().ok();
        let look = (known.len(), [&path, &seal, &twin].map(changed));
        let is_open = self.open(job).is_some();
        let is_sent = match self.sent.get(&job) {
            Some(sent) => *sent == look,
            // Of the past only the length is known; nobody but this tablet makes it longer.
            None => !is_open && self.past_bytes.get(&job).is_some_and(|(n, _)| *n == look.0),
        };
        if is_sent && !(is_open && is_over(job)) {
            return Ok(None);
        }
        let bytes = fs::read(&path)?;
        let read = |path: &PathBuf| fs::read_to_string(path).ok();
        let there = self.there(client, job, tablet);
        let pieces = there
            .as_ref()
            .map_or(&[][..], |there| there.pieces.as_slice());
        let (mut kept, same) = kept_pieces(pieces, &bytes, is_over(job));
        let new = (same < bytes.len()).then(|| {
            let lines = bytes[..same].split(|b| *b == b'\n').count() as u64;
            let rest = bytes[same..].to_vec();
            (Piece::of(lines, &rest), rest)
        });
        kept.extend(new.iter().map(|(piece, _)| piece.clone()));
        // A head that somebody has forged names what it likes.
        let stays = |old: &Piece| kept.iter().any(|piece| piece.is_named_as(old));
        let old = pieces
            .iter()
            .filter(|piece| piece.is_sound() && !stays(piece));
        let old = old.cloned().collect();
        let head = JournalHead {
            job,
            pieces: kept,
            seal: read(&seal),
            twin: read(&twin),
        };
        Ok(Some(JournalChange {
            head,
            new,
            old,
            look,
        }))
    }

    /// A journal as the bucket has it.
    fn there(&self, client: &Client, job: Uuid, tablet: Uuid) -> Option<JournalHead> {
        if let Some(open) = self.open(job) {
            return Some(open.clone());
        }
        let (_, n) = self.past_bytes.get(&job)?;
        let of_job = |past: &Past| past.journals.iter().rfind(|j| j.job == job).cloned();
        if *n == self.past.0 {
            return of_job(&self.past.1);
        }
        // A job that was over went on: a rare thing. Without the object all is put anew.
        let name = past_name(tablet, *n);
        let got = client.get(&name, HEAD_BYTES_MAX).ok()??;
        of_job(&Past::read(&got.bytes).ok()?)
    }

    /// Puts journals into objects of the past, and counts those in the head.
    fn put_past(
        &mut self,
        client: &Client,
        tablet: Uuid,
        head: &mut Head,
        journals: Vec<JournalHead>,
    ) -> Result<(), ShopFault> {
        let mut journals = journals.into_iter().peekable();
        while journals.peek().is_some() {
            let (mut n, mut past) = self.past.clone();
            if n == 0 || past.is_full() {
                (n, past) = (n + 1, Past::default());
            }
            while !past.is_full()
                && let Some(journal) = journals.next()
            {
                past.journals.push(journal);
            }
            client
                .put_over(&past_name(tablet, n), &past.to_bytes())
                .map_err(|fault| client.fault(fault))?;
            self.take_past(n, &past);
        }
        head.past = self.past.0;
        head.last = self.past.1.journals.len() as u32;
        Ok(())
    }
}

/// The pieces that stay, of those that are in the bucket, and the bytes in them: what was told
/// is still so, and there are not too many to go on from.
fn kept_pieces(there: &[Piece], bytes: &[u8], is_over: bool) -> (Vec<Piece>, usize) {
    let (mut kept, mut same) = (Vec::new(), 0_usize);
    for piece in there {
        let Some(end) = same.checked_add(piece.bytes as usize) else {
            break;
        };
        if end > bytes.len() || !piece.is(&bytes[same..end]) {
            break;
        }
        kept.push(piece.clone());
        same = end;
    }
    let is_new = same < bytes.len();
    let puts_together = if is_over {
        is_new || kept.len() > 1
    } else {
        is_new && kept.len() >= PIECES_KEPT
    };
    while puts_together
        && let Some(last) = kept.last()
        && (last.bytes < SMALL_PIECE_BYTES || is_over)
    {
        same -= last.bytes as usize;
        kept.pop();
    }
    (kept, same)
}

/// Puts a piece. Where one of its name lies that is another, somebody has put it there: it is
/// put over.
fn put_piece(
    client: &Client,
    job: Uuid,
    tablet: Uuid,
    piece: &Piece,
    bytes: &[u8],
) -> Result<(), BucketFault> {
    match client.put_new(&piece.name(job, tablet), bytes)? {
        Put::Done(_) => Ok(()),
        Put::WasThere => mend_piece(client, job, tablet, piece, bytes),
    }
}

/// Puts a piece again, unless it lies there as it should.
fn mend_piece(
    client: &Client,
    job: Uuid,
    tablet: Uuid,
    piece: &Piece,
    bytes: &[u8],
) -> Result<(), BucketFault> {
    if journals::fetch(client, job, tablet, piece)?.is_none() {
        client.put_over(&piece.name(job, tablet), bytes)?;
    }
    Ok(())
}
