//! The jobs that are over, known by name and length alone, so that a start and a list of
//! the work under way cost the same after ten years as on the first day.
//!
//! `finished.txt` in the data folder: a line a job, with the bytes of its journals when it
//! was found to be over. `learned.json` beside it: the hours of the latest finished jobs,
//! for forecasts. Both are short cuts and never the truth: whoever
//! finds a job longer than its line says reads its journals, and a folder without the
//! files gets them anew.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use trayzero_core::journal::{JobFolder, find_job};
use trayzero_core::plan::JobHours;
use uuid::Uuid;

use super::small_file::{self, Readers};
use super::summary::JobSummary;

const NAMES: &str = "finished.txt";
const TIMES: &str = "learned.json";
const FIRST_LINE: &str = "trayzero finished jobs 1";
/// The most finished jobs that forecasts lean on, the latest ones.
const LEARNED_MAX: usize = 60;

/// The jobs that are over.
#[derive(Clone, Debug, Default)]
pub struct FinishedJobs {
    /// With the bytes of their journals.
    jobs: BTreeMap<Uuid, u64>,
    learned: LearnedTimes,
    is_changed: bool,
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
        let (Some(jobs), Some(learned)) = (names, times) else {
            return Self::default();
        };
        Self {
            jobs,
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

    /// A job was found to be over.
    pub fn add(&mut self, folder: &JobFolder, summary: &JobSummary) {
        self.jobs.insert(folder.job, bytes_of(folder));
        self.learned.take(folder.job, summary);
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
        let is_changed = |(job, bytes): (&Uuid, &u64)| {
            let folder = find_job(root, *job).ok().flatten();
            (folder.map(|f| bytes_of(&f)) != Some(*bytes)).then_some(*job)
        };
        self.jobs.iter().filter_map(is_changed).collect()
    }

    /// Keeps both files, if anything has changed. A disk that does not take them is no
    /// fault: then the jobs are read again.
    pub fn write(&self, root: &Path) {
        if !self.is_changed {
            return;
        }
        let mut text = format!("{FIRST_LINE}\n");
        for (job, bytes) in &self.jobs {
            // Writing to a text cannot fail.
            let _ = writeln!(text, "{} {bytes}", job.simple());
        }
        let times = serde_json::to_vec(&self.learned).unwrap_or_default();
        for (name, bytes) in [(TIMES, times.as_slice()), (NAMES, text.as_bytes())] {
            let _ = small_file::write(&root.join(name), bytes, Readers::Usual);
        }
    }
}

fn parsed(text: &str) -> Option<BTreeMap<Uuid, u64>> {
    let rest = text.strip_prefix(FIRST_LINE)?.strip_prefix('\n')?;
    rest.lines()
        .map(|line| {
            let (job, bytes) = line.split_once(' ')?;
            Some((Uuid::try_parse(job).ok()?, bytes.parse().ok()?))
        })
        .collect()
}

fn bytes_of(folder: &JobFolder) -> u64 {
    folder.journals.iter().map(|file| file.bytes).sum()
}

impl LearnedTimes {
    /// Takes a job in, if it is over and whole.
    pub fn take(&mut self, job: Uuid, summary: &JobSummary) {
        let Some(hours) = summary.finished_hours() else {
            return;
        };
        self.jobs.retain(|learned| learned.job != job);
        self.jobs.push(Learned {
            job,
            last_ms: summary.last_ms,
            hours,
        });
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
