//! The shop folder's troubles, what blocks a job, and the time to go, in words.

use trayzero_core::journal::passed_min;
use trayzero_core::plan::{ByPhase, DropCost, JobForecast, Loss, LossKind, Score, WorkPhase};
use trayzero_core::shop_log::{NotSigned, Unproven, WhyNotSigned, WhyRefused};

use super::Words;
use crate::shop::{Block, BucketFault, ShopFault, WhyNotConfirmed};

/// So many of the latest forecasts are told of.
const SCORES_TOLD: usize = 40;

impl Words {
    /// What is wrong with the shop folder as a whole.
    pub fn shop_fault(&self, fault: &ShopFault) -> String {
        match fault {
            ShopFault::Vanished { folder } => self.folder_gone(&folder.display().to_string()),
            ShopFault::NotTheShopFolder { folder } => {
                self.folder_not_ours(&folder.display().to_string())
            }
            ShopFault::Full { path } => self.folder_full(&path.display().to_string()),
            ShopFault::ReadOnly { path, .. } => self.folder_read_only(&path.display().to_string()),
            ShopFault::Bucket { place, why } => {
                self.bucket_fault(&place.display().to_string(), why)
            }
            ShopFault::Io { path, cause } => self.folder_fails(&path.display().to_string(), cause),
        }
    }

    /// Why a bucket does not serve.
    fn bucket_fault(&self, place: &str, why: &BucketFault) -> String {
        match why {
            BucketFault::BadAddress => self.bucket_bad(place),
            BucketFault::NoEndpoint => self.bucket_no_server(place),
            BucketFault::NoKeys => self.bucket_no_keys(place),
            BucketFault::NotReached => self.bucket_silent(place),
            BucketFault::Refused => self.bucket_refused(place),
            BucketFault::ClockOff { ahead_min } => self.bucket_clock(place, *ahead_min),
            BucketFault::NoBucket => self.bucket_missing(place),
            BucketFault::Full => self.bucket_full(place),
            BucketFault::NotNow => self.bucket_not_now(place),
            BucketFault::Half => self.bucket_half(place),
            BucketFault::NotThere => self.bucket_answers(place, 404),
            BucketFault::Answered(code) => self.bucket_answers(place, *code),
        }
    }

    /// Why lines do not count.
    pub fn why_not_confirmed(&self, why: &WhyNotConfirmed) -> String {
        match why {
            WhyNotConfirmed::Stranger => self.not_admitted.to_owned(),
            WhyNotConfirmed::Unsealed { lines } => self.lines_unsealed(*lines),
            WhyNotConfirmed::Missing => self.lines_missing.to_owned(),
            WhyNotConfirmed::Changed => self.lines_changed.to_owned(),
            WhyNotConfirmed::Twice => self.identity_twice.to_owned(),
            WhyNotConfirmed::Unread => self.file_unread.to_owned(),
        }
    }

    /// An event that is not confirmed, whose signature does not count, and why.
    pub fn not_signed(&self, not_signed: &NotSigned) -> String {
        let own = self.language.record_words();
        let what = (own.event_name)(&not_signed.entry.event);
        let Unproven { person, why } = &not_signed.unproven;
        let why = match why {
            WhyNotSigned::Missing => self.sign_missing,
            WhyNotSigned::Unknown => self.sign_unknown,
            WhyNotSigned::OtherKey => self.sign_other_key,
            WhyNotSigned::NotForeman => self.sign_not_foreman,
            WhyNotSigned::NotForemanNorCounted => self.sign_not_foreman_nor_counted,
        };
        self.sign_not_confirmed(what, &person.0, why)
    }

    /// A line of the shop log that counts for nothing, and why.
    pub fn refused_line(&self, file: &str, n: u64, why: WhyRefused) -> String {
        self.log_line_refused(file, n, &self.error(&why))
    }

    /// What blocks a job, at a wall clock in milliseconds.
    pub fn block(&self, block: &Block, now_ms: i64) -> String {
        let minutes = |since_ms: i64| passed_min(since_ms, now_ms);
        match block {
            Block::Conflicts { count, .. } => self.block_conflicts(*count),
            Block::Adrift { count, since_ms } => self.block_adrift(*count, minutes(*since_ms)),
            Block::ForemanWanted {
                cylinder,
                loss_percent,
                ..
            } => self.block_foreman(*cylinder, *loss_percent),
            Block::CountsDiffer { .. } | Block::SecondCount { .. } => {
                self.need(block.need()).to_owned()
            }
            Block::Paused {
                since_ms,
                stands_open,
            } => {
                let rests = self.block_paused(minutes(*since_ms));
                if *stands_open {
                    format!("{rests}: {}", self.need(block.need()))
                } else {
                    rests
                }
            }
            Block::NotConfirmed(journals) => self.block_not_confirmed(*journals),
            Block::NotSigned(not_signed) => self.not_signed(not_signed),
            Block::FileFault(fault) => self.error(&**fault),
        }
    }

    /// The time to go, as it may honestly be said.
    pub fn to_go(&self, to_go: &JobForecast) -> String {
        let said = to_go.rounded();
        let (about, low, high) = (said.about_min, said.low_min, said.high_min);
        self.about_likely(about.into(), low.into(), high.into())
    }

    /// Minutes of each phase with its name, for a picture; phases without any left out.
    pub fn phase_lines(&self, minutes: &ByPhase) -> Vec<(String, String, f64)> {
        let lines = WorkPhase::ALL.into_iter().filter_map(|phase| {
            let minutes = minutes[phase.index()];
            let whole = minutes.round() as i64;
            let name = self.work_phase(phase).to_owned();
            (whole > 0).then(|| (name, self.lasts(whole), minutes))
        });
        lines.collect()
    }

    /// What time was lost to, and how much.
    pub fn loss_line(&self, loss: &Loss) -> String {
        let what = match &loss.kind {
            LossKind::Dropped { item, count } => self.loss_dropped(&self.items_n(item, *count)),
            LossKind::Foreman { cylinder } => self.loss_foreman(*cylinder),
            LossKind::Conflict {} => self.loss_conflict.to_owned(),
        };
        self.lost_to(&what, &self.lasts(loss.minutes.round() as i64))
    }

    /// What one kind of part cost a shop when it fell.
    pub fn drop_line(&self, drop: &DropCost) -> String {
        let lasts = self.lasts(drop.minutes.round() as i64);
        self.drop_cost(&self.item(&drop.item), drop.times, &lasts)
    }

    /// What a forecast rests on, where that is little, and how those before it turned out.
    pub fn footing_lines(&self, to_go: &JobForecast, scores: &[Score]) -> Vec<String> {
        let mut lines = Vec::new();
        if to_go.footing.is_rough() {
            lines.push(self.rough_because(to_go.footing.jobs));
        }
        let latest = &scores[scores.len().saturating_sub(SCORES_TOLD)..];
        if latest.len() == SCORES_TOLD {
            let inside = latest.iter().filter(|score| score.inside).count();
            lines.push(self.ended_inside(inside, latest.len()));
        }
        lines
    }
}
