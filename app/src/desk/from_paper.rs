//! What was done on paper is entered: core says which events lead there, a person signs.

use trayzero_core::job::{Event, PaperBatch, PaperRefusal, PaperWalk, SignOff, paper_hash};
use uuid::Uuid;

use super::notices::over_rating;
use super::said::{notice_of, refused};
use super::{Desk, Outcome};
use crate::data::store::{OpenJob, StoreError};
use crate::ui::intent::PaperEntry;
use crate::ui::view::{Notice, order_on_paper};

impl Desk {
    /// Enters a sheet of paper, signed by `by`.
    pub(super) fn enter_paper(&mut self, paper: PaperEntry, by: SignOff) -> Outcome {
        let now = self.clock.now();
        let is_away = self.state().is_some_and(|state| self.is_away(state));
        let Some(current) = self.current.as_ref().filter(|c| !c.is_reader && !is_away) else {
            return Outcome::Stayed;
        };
        let job = current.job.id();
        let walk = match walk(&current.job, &paper, now) {
            Ok(Ok(walk)) => walk,
            Ok(Err(refusal)) => {
                let figures = self.settings.settings.figures();
                let what = self.words().paper_refusal(&refusal, figures);
                return self.say_fault(&what);
            }
            Err(error) => return self.say_error(&error),
        };
        let events: Vec<Event> = walk.lines.iter().map(|(_, event)| event.clone()).collect();
        if let Some(refusal) = over_rating(&events, &self.settings.settings) {
            let figures = self.settings.settings.figures();
            self.notice = Some(refused(self.words(), figures, &refusal));
            return Outcome::Stayed;
        }
        let who = by.person.clone();
        let sha256 = match paper_hash(&events) {
            Ok(sha256) => sha256,
            Err(why) => return self.say_fault(&why),
        };
        let batch = Event::EnteredFromPaper(Box::new(PaperBatch {
            lines: walk.lines.len() as u32,
            sha256,
            done_by: paper.done_by,
            done_ms: paper.done_ms,
            done_offset_min: paper.done_offset_min,
            by,
        }));
        let opener = match self.crew.sign(job, batch) {
            Ok(opener) => opener,
            Err(error) => return self.say_code(&error),
        };
        let Some(current) = &mut self.current else {
            return Outcome::Stayed;
        };
        match current
            .job
            .propose_from_paper(now, &who, opener, walk.lines)
        {
            Ok(effects) => {
                let outcome = self.taken(now, &events, &effects);
                if let Some(wait) = walk.waits {
                    self.notice = Some(Notice::Said(self.words().paper_wait(wait)));
                }
                outcome
            }
            Err(error) => {
                let figures = self.settings.settings.figures();
                self.notice = Some(notice_of(self.words(), figures, &error));
                Outcome::Stayed
            }
        }
    }
}

/// The events that a sheet comes to, with identities for this tablet's journal.
///
/// # Errors
/// Why there are no identities; what of the sheet is not taken is told within.
fn walk(
    job: &OpenJob,
    paper: &PaperEntry,
    now: crate::data::store::Stamp,
) -> Result<Result<PaperWalk, PaperRefusal>, StoreError> {
    let order = job.state().layout().map(order_on_paper).unwrap_or_default();
    let mut fault = None;
    let new_id = || {
        let id = OpenJob::new_id(now);
        id.unwrap_or_else(|error| {
            fault = Some(error);
            Uuid::nil()
        })
    };
    let walk = job.state().walk_paper(&paper.sheet, &order, new_id);
    match fault {
        Some(error) => Err(error),
        None => Ok(walk),
    }
}
