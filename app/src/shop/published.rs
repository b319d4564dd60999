//! What the threads of the shop publish, and the window looks at.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use trayzero_core::plan::ShopPace;
use uuid::Uuid;

use super::{Card, History, ShopStatus};
use crate::data::crew::LogSight;

/// What has come from the other tablets.
#[derive(Clone, Debug, PartialEq)]
pub enum News {
    /// A job has new lines: an open one takes them in
    /// ([`OpenJob::take_foreign`](crate::data::store::OpenJob::take_foreign)).
    Lines(Uuid),
    /// Pictures of a job have come.
    Pictures(Uuid),
    /// Layouts that were made on other tablets have come.
    Layouts,
    /// What lies in the shop folder about the shop itself
    /// ([`Crew::take_sight`](crate::data::crew::Crew::take_sight)).
    Sight(Box<LogSight>),
}

#[derive(Default)]
pub(super) struct Published {
    pub status: ShopStatus,
    pub cards: Arc<Vec<Arc<Card>>>,
    /// What the shop has learned of its hours.
    pub pace: Option<Arc<ShopPace>>,
    /// The finished jobs by week, as somebody last asked for them.
    pub history: Option<Arc<History>>,
    pub news: Vec<News>,
    /// Rounds asked for and rounds done, so that one may wait for its own.
    pub asked: u64,
    pub done: u64,
}

/// What both threads and the window share.
pub(super) struct Shared {
    pub published: Mutex<Published>,
    /// Tells the window that there is something new to draw.
    pub wake: Box<dyn Fn() + Send + Sync>,
}

impl Shared {
    pub fn lock(&self) -> MutexGuard<'_, Published> {
        // Each holder leaves it whole, so one that ended badly harms nothing.
        self.published
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }

    pub fn publish(&self, change: impl FnOnce(&mut Published)) {
        change(&mut self.lock());
        (self.wake)();
    }
}
