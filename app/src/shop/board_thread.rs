//! The thread that keeps the board.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::Receiver;

use jiff::tz::TimeZone;
use trayzero_core::journal::Limits;
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::published::{News, Shared};
use super::{Board, FileWhy, History, SharedFault};
use crate::data::store::FinishedJobs;

/// What the thread is asked for.
pub(super) enum BoardAsk {
    Job(Uuid),
    All,
    Proofs(Proofs),
    /// The finished jobs by week: on whose days, and when.
    History(TimeZone, i64),
    Stop,
}

/// The thread.
pub(super) struct BoardThread {
    pub root: PathBuf,
    pub proofs: Proofs,
    pub shared: Arc<Shared>,
}

impl BoardThread {
    pub fn run(self, asked: &Receiver<BoardAsk>) {
        let mut proofs = self.proofs.clone();
        let mut board = match Board::of_unfinished(&self.root, Limits::OWN, proofs.clone()) {
            Ok(board) => board,
            Err(error) => {
                self.shared.publish(|published| {
                    let fault = SharedFault::new(&self.root, FileWhy::told(error));
                    published.status.file_faults.push(fault);
                });
                Board::default()
            }
        };
        self.publish(&mut board);
        self.look_at_finished(&mut board);
        while let Ok(first) = asked.recv() {
            let mut has_changed = false;
            // What has piled up is answered in one go.
            for ask in std::iter::once(first).chain(asked.try_iter()) {
                let read = match ask {
                    BoardAsk::Stop => return,
                    BoardAsk::Job(job) => board.read_job(job),
                    BoardAsk::All => board.read_on().map(|changed| !changed.is_empty()),
                    BoardAsk::Proofs(others) => {
                        proofs = others;
                        board.set_proofs(proofs.clone());
                        board.read_on().map(|_| true)
                    }
                    BoardAsk::History(zone, now_ms) => {
                        let of = (&*self.root, &proofs);
                        let history = History::of_tablet(of, &board.cards(), &zone, now_ms);
                        self.shared
                            .publish(|published| published.history = Some(Arc::new(history)));
                        Ok(false)
                    }
                };
                // A folder that cannot be read now is read at the next asking.
                has_changed |= read.unwrap_or(false);
            }
            if has_changed {
                self.publish(&mut board);
            }
        }
    }

    /// Lines may have come to a job that was over while nobody looked.
    fn look_at_finished(&self, board: &mut Board) {
        let changed = FinishedJobs::read(&self.root).changed(&self.root);
        for job in &changed {
            // What cannot be read now is said when the job is listed.
            let _ = board.read_job(*job);
        }
        if !changed.is_empty() {
            self.publish(board);
            let news = changed.into_iter().map(News::Lines);
            self.shared.publish(|published| published.news.extend(news));
        }
    }

    /// The cards first; the times to go follow, for they take longer.
    fn publish(&self, board: &mut Board) {
        let show = |board: &Board| {
            let cards = Arc::new(board.cards());
            let pace = board.pace().cloned();
            self.shared.publish(|published| {
                published.cards = cards;
                published.pace = pace;
            });
        };
        show(board);
        board.work_out_to_go();
        show(board);
    }
}
