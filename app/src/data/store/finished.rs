//! The jobs that are over, known by name and length alone, so that a start and a list of
//! the work under way cost the same after ten years as on the first day.
//!
//! `finished.txt` in the data folder: what signatures were held against, then a line a job,
//! with the bytes of its journals when it was found to be over, and its last moment.
//! `learned.json` beside it: the hours of the latest finished jobs,
//! for forecasts. Both are short cuts and never the truth: whoever
//! finds a job longer than its line says reads its journals, and a folder without the
//! files gets them anew.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use trayzero_core::journal::{CLOCK_AHEAD_MS_MAX, JobFolder, find_job};
use trayzero_core::plan::JobHours;
use trayzero_core::shop_log::Proofs;
use uuid::Uuid;

use super::small_file::{self, Readers};
use super::summary::JobSummary;

const NAMES: &str = "finished.txt";
const TIMES: &str = "learned.json";
const FIRST_LINE: &str = "trayzero finished jobs 2";
/// The most finished jobs that forecasts lean on, the latest ones.
const LEARNED_MAX: usize = 60;

/// The jobs that are over.
#[derive(Clone, Debug, Default)]
pub struct FinishedJobs {
    /// With the bytes of their journals.
    jobs: BTreeMap<Uuid, Over>,
    judged: JudgedBy,
    learned: LearnedTimes,
    is_changed: bool,
}

/// How a job that is over was found.
#[derive(Clone, Copy, Debug)]
struct Over {
    bytes: u64,
    last_ms: i64,
}

/// What the signatures in the jobs were held against.
#[derive(Clone, Debug, Default, PartialEq)]
struct JudgedBy {
    /// The shop key; empty where there was no shop.
    shop: String,
    /// When keys and roles had ended.
    endings: BTreeSet<i64>,
}

/// The hours of the latest finished jobs, the latest last.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct LearnedTimes {
    jobs: Vec<Learned>,
}

/// The hours of one finished job.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Learned {
    job: Uuid,
    last_ms: i64,
    hours: Arc<JobHours>,
}

impl FinishedJobs {
    /// Reads both files; where one is missing or does not hold, no job counts as over.
    pub fn read(root: &Path) -> Self {
        let bytes_of = |name| small_file::read(&root.join(name)).ok().flatten();
        let names = bytes_of(NAMES).and_then(|bytes| parsed(std::str::from_utf8(&bytes).ok()?));
        let times = bytes_of(TIMES).and_then(|bytes| serde_json::from_slice(&bytes).ok());
        let (Some((judged, jobs)), Some(learned)) = (names, times) else {
            return Self::default();
        };
        Self {
            jobs,
            judged,
            learned,
            is_changed: false,
        }
    }

    /// Whether a job is over.
    pub fn contains(&self, job: Uuid) -> bool {
        self.jobs.contains_key(&job)
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.jobs.len()
    }

    /// The jobs made last, the latest first.
    pub fn latest(&self) -> impl Iterator<Item = Uuid> {
        self.jobs.keys().rev().copied()
    }

    /// What forecasts learn from them.
    pub fn into_learned(self) -> LearnedTimes {
        self.learned
    }

    /// Lets go of the jobs that may be judged otherwise now: a key or a role has ended that
    /// was not known to have ended, and they went on after that.
    pub fn judge_by(&mut self, proofs: &Proofs) {
        let now = JudgedBy {
            shop: proofs
                .shop_key()
                .map(|key| key.to_string())
                .unwrap_or_default(),
            endings: proofs.endings(),
        };
        if self.judged == now {
            return;
        }
        if self.judged.shop == now.shop {
            let mut new = now.endings.difference(&self.judged.endings);
            let first = new.next().copied().unwrap_or(i64::MAX);
            // A line's own clock may be ahead of the wall.
            let from_ms = first.saturating_sub(CLOCK_AHEAD_MS_MAX as i64);
            self.jobs.retain(|_, over| over.last_ms < from_ms);
        } else {
            self.jobs.clear();
        }
        self.judged = now;
        self.is_changed = true;
    }

    /// A job was found to be over.
    pub fn add(&mut self, folder: &JobFolder, summary: &JobSummary) {
        let over = Over {
            bytes: bytes_of(folder),
            last_ms: summary.last_ms,
        };
        self.jobs.insert(folder.job, over);
        self.learned.take([(folder.job, summary)]);
        self.is_changed = true;
    }

    /// A job may have got more lines: it is to be read again. Gives whether it was over.
    pub fn forget(&mut self, job: Uuid) -> bool {
        let was_over = self.jobs.remove(&job).is_some();
        self.is_changed |= was_over;
        was_over
    }

    /// The jobs whose journals are not as long as they were, or are gone.
    pub fn changed(&self, root: &Path) -> Vec<Uuid> {
        let is_changed = |(job, over): (&Uuid, &Over)| {
            let folder = find_job(root, *job).ok().flatten();
            (folder.map(|f| bytes_of(&f)) != Some(over.bytes)).then_some(*job)
        };
        self.jobs.iter().filter_map(is_changed).collect()
    }

    /// Keeps both files, if anything has changed. A disk that does not take them is no
    /// fault: then the jobs are read again.
    pub fn write(&self, root: &Path) {
        if !self.is_changed {
            return;
        }
        // Writing to a text cannot fail.
        let mut text = format!("{FIRST_LINE}\njudged {}", self.judged.shop);
        for ending in &self.judged.endings {
            let _ = write!(text, " {ending}");
        }
        text.push('\n');
        for (job, Over { bytes, last_ms }) in &self.jobs {
            let _ = writeln!(text, "{} {bytes} {last_ms}", job.simple());
        }
        let times = serde_json::to_vec(&self.learned).unwrap_or_default();
        for (name, bytes) in [(TIMES, times.as_slice()), (NAMES, text.as_bytes())] {
            let _ = small_file::write(&root.join(name), bytes, Readers::Usual);
        }
    }
}

fn parsed(text: &str) -> Option<(JudgedBy, BTreeMap<Uuid, Over>)> {
    let rest = text.strip_prefix(FIRST_LINE)?.strip_prefix('\n')?;
    let (judged, rest) = rest.split_once('\n')?;
    let mut judged = judged.strip_prefix("judged ")?.split(' ');
    let judged = JudgedBy {
        shop: judged.next()?.to_owned(),
        endings: judged.map(|ms| ms.parse().ok()).collect::<Option<_>>()?,
    };
    let jobs = rest.lines().map(|line| {
        let mut fields = line.split(' ');
        let job = Uuid::try_parse(fields.next()?).ok()?;
        let over = Over {
            bytes: fields.next()?.parse().ok()?,
            last_ms: fields.next()?.parse().ok()?,
        };
        fields.next().is_none().then_some((job, over))
    });
    Some((judged, jobs.collect::<Option<_>>()?))
}

fn bytes_of(folder: &JobFolder) -> u64 {
    folder.journals.iter().map(|file| file.bytes).sum()
}

impl LearnedTimes {
    /// Takes those jobs in that are over and whole; of one that is known already, what is
    /// told of it now. The latest are kept.
    pub fn take<'a>(&mut self, jobs: impl IntoIterator<Item = (Uuid, &'a JobSummary)>) {
        let told = jobs.into_iter().filter_map(|(job, summary)| {
            let learned = Learned {
                job,
                last_ms: summary.last_ms,
                hours: summary.finished_hours()?,
            };
            Some((job, learned))
        });
        let known = std::mem::take(&mut self.jobs).into_iter();
        let known = known.map(|learned| (learned.job, learned));
        let all: BTreeMap<Uuid, Learned> = known.chain(told).collect();
        self.jobs = all.into_values().collect();
        self.jobs
            .sort_by_key(|learned| (learned.last_ms, learned.job));
        let older = self.jobs.len().saturating_sub(LEARNED_MAX);
        self.jobs.drain(..older);
    }

    /// The hours by job, the latest last.
    pub fn into_hours(self) -> Vec<(Uuid, Arc<JobHours>)> {
        let each = self.jobs.into_iter();
        each.map(|learned| (learned.job, learned.hours)).collect()
    }
}
