//! The shop as another thread than the window's looks at it.

use std::sync::Arc;

use super::published::Shared;
use super::{Card, ShopStatus};

/// Looks at the shop for as long as somebody wants to.
pub struct ShopLook(pub(super) Arc<Shared>);

impl ShopLook {
    /// How it stands with the shop folder.
    pub fn status(&self) -> ShopStatus {
        self.0.lock().status.clone()
    }

    /// Every job's card; the same list as long as no card has changed.
    pub fn cards(&self) -> Arc<Vec<Arc<Card>>> {
        Arc::clone(&self.0.lock().cards)
    }
}
