//! Sitting down at a job and leaving it: what is signed on the way out, and whether
//! whoever comes back is shown where things stand.

use trayzero_core::job::{JobPhase, JobState, NextStep, Opening, Person};
use uuid::Uuid;

use super::said::refused;
use super::{CurrentJob, Desk, Outcome};
use crate::data::store::{ListedJob, OpenJob, StoreError};
use crate::ui::intent::Screen;
use crate::ui::view::Notice;

/// Whoever comes back to the same job within so many milliseconds still knows where it
/// stands (common practice, no source).
const SHORT_WAY_MS: i64 = 2 * 60_000;

/// A tap ends the quiet that a signature for the mirror waits for, in milliseconds.
const SEAL_QUIET_MS: i64 = 3_000;
/// The least time between two signatures for the mirror, in milliseconds. The links carry
/// each one back over all lines before it, so more of them would prove no more.
const SEAL_EVERY_MS: i64 = 60_000;

/// The job that was left last.
#[derive(Clone, Copy, Debug)]
pub(super) struct Left {
    job: Uuid,
    at_ms: i64,
    /// Its latest event then, whoever wrote it.
    last_ms: i64,
}

/// When somebody sat down at a job, tapped, and when the tablet signed last.
#[derive(Clone, Copy, Debug)]
pub(super) struct Times {
    /// Wall clock in milliseconds of the last tap here, or of session down.
    pub tapped_ms: i64,
    sealed_ms: i64,
}

impl Desk {
    /// Whether the screen must stay on: a valve is unlocked, a spring is held, or air is on
    /// in any job under way on this tablet. Whoever has gone to the list, to another screen or
    /// to another bay still has that engine in front of them, and a rest closes nothing. A job
    /// that another tablet has is that tablet's to watch over.
    pub fn must_stay_awake(&self) -> bool {
        let own = self.store.tablet().id();
        let shown = self.current.as_ref().map(|current| &current.job);
        let is_open_here = shown.is_some_and(|job| {
            let state = job.state();
            !state.phase().is_over() && !self.is_away(state) && state.stands_open()
        });
        let shown = shown.map(OpenJob::id);
        let is_here = |job: &ListedJob| job.summary.holder.map_or(job.is_own, |at| at == own);
        let mut others = self.jobs.jobs.iter().filter(|job| Some(job.job) != shown);
        is_open_here || others.any(|job| is_here(job) && job.summary.is_open_under_way())
    }

    pub(super) fn open_job(&mut self, job: Uuid, is_reader: bool) -> Outcome {
        match self.store.open_job(job) {
            Ok(job) => {
                let is_return = self.is_return(&job);
                self.sit_down(job, is_reader);
                if is_return {
                    Outcome::Returned
                } else {
                    Outcome::Moved
                }
            }
            Err(error) => self.say_error(&error),
        }
    }

    pub(super) fn new_job(&mut self, opening: Opening) -> Outcome {
        self.written.note_opening(&opening);
        match self.store.create_job(opening, self.clock.now()) {
            Ok(job) => {
                let _ = self.written.write(self.store.root());
                self.sit_down(job, false);
                self.tell_shop();
                Outcome::Moved
            }
            Err(StoreError::Refused(refusal)) => {
                let figures = self.settings.settings.figures();
                self.notice = Some(refused(self.words(), figures, &refusal));
                Outcome::Stayed
            }
            Err(error) => self.say_error(&error),
        }
    }

    /// Whether whoever opens a job has to be told where it stands: it is under way, and
    /// they have not just been there.
    fn is_return(&self, job: &OpenJob) -> bool {
        let now_ms = self.clock.now().at_ms;
        let state = job.state();
        let was_just_there = self.left.is_some_and(|left| {
            left.job == job.id()
                && left.last_ms == state.last_ms()
                && (0..SHORT_WAY_MS).contains(&(now_ms - left.at_ms))
        });
        is_under_way(state) && !was_just_there
    }

    fn sit_down(&mut self, job: OpenJob, is_reader: bool) {
        if self.current.is_some() {
            self.close_job();
            // The job that is left may stand open, and the list has to know.
            self.read_jobs();
        }
        let now_ms = self.clock.now().at_ms;
        let mut current = CurrentJob {
            job,
            order: None,
            order_key: None,
            next: NextStep::Nothing,
            milestone: None,
            is_reader,
            clock_was_told: false,
            times: Times {
                tapped_ms: now_ms,
                sealed_ms: now_ms,
            },
        };
        current.work_out();
        self.current = Some(current);
        self.screen = Screen::Bay;
        self.finished = Vec::new();
        // Whoever sits down hears it again.
        let listed = self.listed_faults();
        self.told_faults.retain(|what| listed.contains(what));
        self.say_new_faults();
        self.want_pictures();
    }

    /// Says what does not hold in the files of the jobs, each thing once: much of it comes
    /// to light only while the program runs.
    pub(super) fn say_new_faults(&mut self) {
        let mut said = self.listed_faults();
        let mut way_out = "";
        let words = self.words();
        if let Some(current) = &mut self.current {
            said.extend(current.job.faults().map(|fault| words.error(fault)));
            let notes = current.job.take_notes().into_iter();
            said.extend(notes.map(|note| words.error(&*note)));
            let clashes = current.job.clashes().len();
            if clashes > 0 {
                said.push(words.told_twice(clashes));
                way_out = words.told_twice_way;
            }
        }
        said.retain(|what| self.told_faults.insert(what.clone()));
        if !said.is_empty() {
            self.notice = Some(Notice::Fault {
                what: said.join("\n"),
                way_out: way_out.to_owned(),
            });
        }
    }

    fn listed_faults(&self) -> Vec<String> {
        let faults = self.jobs.faults.iter();
        faults.map(|fault| self.words().error(&**fault)).collect()
    }

    pub(super) fn leave(&mut self) -> Outcome {
        if self.records.is_at_bay {
            self.pictures.forget_job();
            return self.go(Screen::Record);
        }
        self.close_job();
        self.go(Screen::Bays)
    }

    /// Signs the open job and lets its files go.
    pub(super) fn close_job(&mut self) {
        self.finish_pictures();
        self.pictures.forget_job();
        let Some(current) = self.current.take() else {
            return;
        };
        let now = self.clock.now();
        let job = current.job.id();
        self.left = Some(Left {
            job,
            at_ms: now.at_ms,
            last_ms: current.job.state().last_ms(),
        });
        let who = current.technician();
        if current.is_reader {
            return;
        }
        current.job.close(now, &who);
        self.look_again_at(job);
        if let Some(shop) = &self.shop {
            shop.tapped(job);
        }
    }

    /// Signs the own lines that go to the shop folder, in a moment in which nobody taps.
    pub(super) fn seal_for_mirror(&mut self) {
        let now = self.clock.now();
        if self.seal_due_ms().is_none_or(|due| now.at_ms < due) {
            return;
        }
        if let Some(current) = &mut self.current {
            let who = current.technician();
            current.job.seal(now, &who);
            current.times.sealed_ms = now.at_ms;
            self.say_new_faults();
        }
        self.tell_shop();
    }

    /// Wall clock in milliseconds at which the own lines are to be signed for the mirror.
    pub(super) fn seal_due_ms(&self) -> Option<i64> {
        self.shop_status.folder.as_ref()?;
        let current = self.current.as_ref()?;
        let times = current.times;
        let due = (times.tapped_ms + SEAL_QUIET_MS).max(times.sealed_ms + SEAL_EVERY_MS);
        (!current.is_reader && current.job.is_unsealed()).then_some(due)
    }
}

fn is_under_way(state: &JobState) -> bool {
    let is_begun = state.event_count() > 1;
    is_begun && matches!(state.phase(), JobPhase::Open | JobPhase::Paused)
}

impl CurrentJob {
    pub(super) fn technician(&self) -> Person {
        self.job
            .state()
            .technician()
            .cloned()
            .unwrap_or_else(|| Person::new("-"))
    }
}
