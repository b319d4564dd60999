//! Photographs at the desk. A thread of its own looks into the camera's folder, reads and
//! keeps pictures; it is begun by the first picture that somebody asks for, and no frame waits
//! for it.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant, SystemTime};

use trayzero_core::job::{Event, Picture, PictureOf};
use uuid::Uuid;

use super::worker::{Answers, Worker};
use super::{Desk, Outcome};
use crate::data::pictures::{
    Found, KeepError, Taken, find_copy, keep, newest, read_chosen, shrunk,
};
use crate::ui::view::{Notice, PictureOffer, Pictures, Shown};

/// The longest side of a small picture, in pixels.
pub(super) const SMALL_SIDE: u32 = 320;
/// The longest side of a large one.
pub(super) const LARGE_SIDE: u32 = 1_600;
/// How often the camera's folder is looked into while somebody may be taking pictures.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// How long it is looked into after somebody has asked for it last.
const LOOK_FOR: Duration = Duration::from_mins(10);
/// How long leaving a job waits for pictures that are being kept.
const LEAVE_WAIT: Duration = Duration::from_secs(10);
/// The most small pictures that stay at hand.
const SMALL_MAX: usize = 240;

enum Ask {
    /// Look into a folder, and go on doing so for a while.
    Look(PathBuf),
    /// Read a picture of a job.
    Show {
        job: Uuid,
        picture: Picture,
        is_large: bool,
    },
    /// Keep a file with a job.
    Keep {
        job: Uuid,
        from: PathBuf,
        of: PictureOf,
        remark: String,
    },
}

enum PictureAnswer {
    Offers(PathBuf, Result<Vec<PictureOffer>, String>),
    /// The folder is not looked into any more.
    LookedLast,
    Shown {
        name: String,
        is_large: bool,
        shown: Shown,
    },
    Kept {
        job: Uuid,
        remark: String,
        kept: Result<Picture, KeepError>,
    },
}

/// What the desk holds of it.
#[derive(Default)]
pub(super) struct PictureDesk {
    /// What the screens see.
    pub seen: Pictures,
    worker: Worker<Ask, PictureAnswer>,
}

impl PictureDesk {
    /// A picture of a job was asked for.
    pub fn is_asked(&mut self, name: &str, is_large: bool) {
        let seen = &mut self.seen;
        if is_large {
            seen.large = Some((name.to_owned(), Shown::Asked));
        } else {
            if seen.small.len() >= SMALL_MAX {
                seen.small.clear();
            }
            seen.small.insert(name.to_owned(), Shown::Asked);
        }
    }

    /// What there is to be seen of a picture that was asked for.
    pub fn is_shown(&mut self, name: String, is_large: bool, shown: Shown) {
        if is_large {
            let large = &mut self.seen.large;
            if large.as_ref().is_some_and(|(asked, _)| *asked == name) {
                *large = Some((name, shown));
            }
        } else {
            self.seen.small.insert(name, shown);
        }
    }

    /// Forgets what another job has shown.
    pub fn forget_job(&mut self) {
        self.seen.small.clear();
        self.seen.large = None;
    }

    /// Pictures that were missing are looked for again.
    pub fn look_again(&mut self) {
        self.seen
            .small
            .retain(|_, shown| matches!(shown, Shown::There(_)));
        self.seen.large = None;
    }
}

impl Desk {
    /// Begins to look into the camera's folder.
    pub(super) fn watch_pictures(&mut self) -> Outcome {
        if let Some(folder) = self.settings.settings.pictures_folder.clone() {
            self.pictures.seen.is_watched = true;
            self.ask_pictures(Ask::Look(folder));
        }
        Outcome::Stayed
    }

    /// Another folder is the camera's from now on.
    pub(super) fn camera_folder_changed(&mut self) {
        let seen = &mut self.pictures.seen;
        (seen.is_watched, seen.offers, seen.folder_fault) = (false, None, None);
    }

    /// Reads pictures of the open job that are not at hand.
    pub(super) fn show_pictures(&mut self, pictures: Vec<Picture>, is_large: bool) -> Outcome {
        if self.records.is_at_bay {
            self.show_records_pictures(pictures, is_large);
            return Outcome::Stayed;
        }
        let Some(job) = self.current.as_ref().map(|current| current.job.id()) else {
            return Outcome::Stayed;
        };
        for picture in pictures {
            self.pictures.is_asked(&picture.copy_sha256, is_large);
            self.ask_pictures(Ask::Show {
                job,
                picture,
                is_large,
            });
        }
        Outcome::Stayed
    }

    /// Keeps a photograph with the open job. Its event follows once the files are on the disk.
    pub(super) fn add_picture(&mut self, from: PathBuf, of: PictureOf, remark: String) -> Outcome {
        let job = match &self.current {
            Some(current) if !current.is_reader && !self.is_away(current.job.state()) => {
                current.job.id()
            }
            _ => return Outcome::Stayed,
        };
        self.pictures.seen.being_kept += 1;
        self.ask_pictures(Ask::Keep {
            job,
            from,
            of,
            remark,
        });
        Outcome::Stayed
    }

    /// A tap, and photographs that belong to what it notes.
    pub(super) fn tap_with_pictures(&mut self, events: &[Event], from: Vec<PathBuf>) -> Outcome {
        let outcome = self.tap(events);
        if outcome != Outcome::Taken {
            return outcome;
        }
        let noted = self.state().and_then(|state| match events.last()? {
            Event::FindingNoted(_) => state
                .facts()
                .last()
                .map(|f| PictureOf::Finding { event: f.id }),
            _ => state
                .drops()
                .last()
                .map(|d| PictureOf::Drop { event: d.id }),
        });
        let of = noted.unwrap_or(PictureOf::Job {});
        for from in from {
            self.add_picture(from, of, String::new());
        }
        outcome
    }

    fn ask_pictures(&mut self, ask: Ask) {
        let data = self.store.root().to_owned();
        let worker = &mut self.pictures.worker;
        worker.ask(ask, self.wake.as_ref(), |asked, answers| {
            let thread = PictureThread {
                data,
                answers,
                looked: None,
                offers: Vec::new(),
            };
            thread.run(asked);
        });
    }

    /// Takes in what the thread has answered. Cheap when it has not.
    pub(super) fn take_pictures(&mut self) {
        for answer in self.pictures.worker.take() {
            match answer {
                PictureAnswer::Offers(folder, found) => {
                    let is_it = self.settings.settings.pictures_folder.as_ref() == Some(&folder);
                    let seen = &mut self.pictures.seen;
                    if is_it {
                        seen.folder_fault = found.as_ref().err().cloned();
                        seen.offers = Some(found.unwrap_or_default());
                    }
                }
                PictureAnswer::LookedLast => self.pictures.seen.is_watched = false,
                PictureAnswer::Shown {
                    name,
                    is_large,
                    shown,
                } => self.pictures.is_shown(name, is_large, shown),
                PictureAnswer::Kept { job, remark, kept } => self.take_kept(job, remark, kept),
            }
        }
    }

    /// The files of a picture are on the disk, or are not: now its event is written.
    fn take_kept(&mut self, job: Uuid, remark: String, kept: Result<Picture, KeepError>) {
        self.pictures.seen.being_kept = self.pictures.seen.being_kept.saturating_sub(1);
        let words = self.words();
        let picture = match kept {
            Ok(picture) => picture,
            Err(KeepError::File(error)) => {
                self.say_fault(&format!(
                    "{}: {}",
                    words.picture_not_kept,
                    words.error(&error)
                ));
                return;
            }
            Err(KeepError::Bad { path, why }) => {
                let what = format!(
                    "{} {}: {}",
                    words.picture_not_kept,
                    path.display(),
                    words.bad_picture(&why)
                );
                self.notice = Some(Notice::Fault {
                    what,
                    way_out: words.picture_way_out.to_owned(),
                });
                return;
            }
        };
        if self.current.as_ref().map(|current| current.job.id()) != Some(job) {
            self.say_fault(words.picture_not_kept);
            return;
        }
        let event = Event::PictureAdded(Box::new(Picture { remark, ..picture }));
        if self.tap(&[event]) == Outcome::Taken && self.notice.is_none() {
            self.notice = Some(Notice::Said(words.picture_added.to_owned()));
        }
    }

    /// Waits until no picture is being kept any more: before the job is left, and in tests.
    pub fn finish_pictures(&mut self) {
        let until = Instant::now() + LEAVE_WAIT;
        while self.pictures.seen.being_kept > 0 && Instant::now() < until {
            self.take_pictures();
            thread::sleep(Duration::from_millis(2));
        }
    }

    /// The shop folder is asked for pictures of the open job that are not here.
    pub(super) fn want_pictures(&self) {
        if let (Some(shop), Some(current)) = (&self.shop, &self.current) {
            let state = current.job.state();
            let wanted: Vec<Picture> = state.pictures().map(|(_, p)| p.clone()).collect();
            if !wanted.is_empty() {
                shop.want_pictures(current.job.id(), wanted);
            }
        }
    }
}

/// The thread that reads and keeps pictures.
struct PictureThread {
    data: PathBuf,
    answers: Answers<PictureAnswer>,
    /// The camera's folder, and until when it is looked into.
    looked: Option<(PathBuf, Instant)>,
    offers: Vec<PictureOffer>,
}

impl PictureThread {
    fn run(mut self, asked: &Receiver<Ask>) {
        let mut waiting: Vec<Ask> = Vec::new();
        loop {
            let has_work = !waiting.is_empty() || self.unread().is_some();
            let wait = match (has_work, &self.looked) {
                (true, _) => Duration::ZERO,
                (false, Some(_)) => LOOK_EVERY,
                (false, None) => Duration::from_hours(24),
            };
            match asked.recv_timeout(wait) {
                Ok(ask) => waiting.extend(std::iter::once(ask).chain(asked.try_iter())),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
            // What is to be kept comes before what is to be seen.
            waiting.sort_by_key(|ask| !matches!(ask, Ask::Keep { .. }));
            if waiting.is_empty() {
                self.look_or_read();
            } else {
                self.answer(waiting.remove(0));
            }
        }
    }

    fn answer(&mut self, ask: Ask) {
        match ask {
            Ask::Look(folder) => {
                self.looked = Some((folder, Instant::now() + LOOK_FOR));
                self.look(true);
            }
            Ask::Show {
                job,
                picture,
                is_large,
            } => {
                let side = if is_large { LARGE_SIDE } else { SMALL_SIDE };
                let shown = match find_copy(&self.data, job, &picture) {
                    Found::Whole(copy) => shown_of(&copy, side),
                    Found::Missing => Shown::Missing,
                    Found::Changed => Shown::Changed,
                };
                self.answers.tell(PictureAnswer::Shown {
                    name: picture.copy_sha256,
                    is_large,
                    shown,
                });
            }
            Ask::Keep {
                job,
                from,
                of,
                remark,
            } => {
                let kept = keep(&self.data, job, &from, of);
                self.answers.tell(PictureAnswer::Kept { job, remark, kept });
            }
        }
    }

    /// The first offer whose picture was not read yet.
    fn unread(&self) -> Option<usize> {
        self.offers
            .iter()
            .position(|offer| offer.shown == Shown::Asked)
    }

    fn look_or_read(&mut self) {
        let Some(at) = self.unread() else {
            self.look(false);
            return;
        };
        let path = &self.offers[at].taken.path;
        self.offers[at].shown = match read_chosen(path) {
            Ok(bytes) => shown_of(&bytes, SMALL_SIDE),
            Err(KeepError::Bad { why, .. }) => Shown::Bad(why),
            Err(KeepError::File(_)) => Shown::Missing,
        };
        self.tell_offers();
    }

    /// Looks into the camera's folder; tells of it where something is new there.
    fn look(&mut self, is_asked: bool) {
        let Some((folder, until)) = &self.looked else {
            return;
        };
        if Instant::now() > *until {
            self.looked = None;
            self.answers.tell(PictureAnswer::LookedLast);
            return;
        }
        let taken = match newest(folder, SystemTime::now()) {
            Ok(taken) => taken,
            Err(error) => {
                let why = format!("{}: {error}", folder.display());
                if is_asked || !self.offers.is_empty() {
                    let folder = folder.clone();
                    self.offers.clear();
                    self.answers.tell(PictureAnswer::Offers(folder, Err(why)));
                }
                return;
            }
        };
        let before: Vec<&Taken> = self.offers.iter().map(|offer| &offer.taken).collect();
        if !is_asked && taken.iter().collect::<Vec<_>>() == before {
            return;
        }
        let known = |taken: &Taken| self.offers.iter().find(|offer| offer.taken == *taken);
        let offers = taken.into_iter().map(|taken| {
            let shown = known(&taken).map_or(Shown::Asked, |offer| offer.shown.clone());
            PictureOffer { taken, shown }
        });
        self.offers = offers.collect();
        self.tell_offers();
    }

    fn tell_offers(&self) {
        if let Some((folder, _)) = &self.looked {
            let offers = self.offers.clone();
            self.answers
                .tell(PictureAnswer::Offers(folder.clone(), Ok(offers)));
        }
    }
}

pub(super) fn shown_of(bytes: &[u8], side: u32) -> Shown {
    match shrunk(bytes, side) {
        Ok(pixels) => Shown::There(Arc::new(pixels)),
        Err(why) => Shown::Bad(why),
    }
}
