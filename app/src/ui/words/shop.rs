//! The shop folder's troubles, what blocks a job, and the time to go, in words.

use trayzero_core::plan::{Forecast, Spoken, round_for_speech};

use super::Words;
use crate::shop::{Block, ShopFault, WhyNotConfirmed};

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
            ShopFault::Io { path, cause } => self.folder_fails(&path.display().to_string(), cause),
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

    /// What blocks a job, at a wall clock in milliseconds.
    pub fn block(&self, block: &Block, now_ms: i64) -> String {
        let minutes = |since_ms: i64| ((now_ms - since_ms) / 60_000).max(0);
        match block {
            Block::Conflicts(count) => self.block_conflicts(*count),
            Block::Adrift { count, since_ms } => self.block_adrift(*count, minutes(*since_ms)),
            Block::ForemanWanted {
                cylinder,
                loss_percent,
            } => self.block_foreman(*cylinder, *loss_percent),
            Block::CountsDiffer => self.needs[crate::shop::Need::CountsDiffer as usize].to_owned(),
            Block::Paused { since_ms } => self.block_paused(minutes(*since_ms)),
            Block::NotConfirmed(journals) => self.block_not_confirmed(*journals),
            Block::FileFault(why) => why.clone(),
        }
    }

    /// The time to go, as it may honestly be said.
    pub fn to_go(&self, to_go: &Forecast) -> String {
        match round_for_speech(to_go) {
            Spoken::Range {
                about_min,
                low_min,
                high_min,
            } => self.about_likely(about_min.into(), low_min.into(), high_min.into()),
            Spoken::About { about_min } => self.minutes(about_min.into()),
            Spoken::AtLeast { about_min } => self.at_least_min(about_min.into()),
        }
    }
}
