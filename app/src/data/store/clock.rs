//! The outside world as the store sees it: the wall clock, and chance.

use std::sync::atomic::{AtomicI64, Ordering};

use jiff::ZonedDateTime;
pub use trayzero_core::record::Stamp;

use super::StoreError;

/// A wall clock.
pub trait Clock: Send + Sync {
    /// What it shows now.
    fn now(&self) -> Stamp;
}

/// The system's clock in the system's time zone.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Stamp {
        let now = ZonedDateTime::now();
        Stamp {
            at_ms: now.timestamp().as_millisecond(),
            offset_min: (now.offset().seconds() / 60) as i16,
        }
    }
}

/// A clock that stands until it is set: for tests, and for the demo's past.
#[derive(Debug)]
pub struct SetClock {
    at_ms: AtomicI64,
    offset_min: i16,
}

impl SetClock {
    /// A clock that shows this.
    pub fn at(stamp: Stamp) -> Self {
        Self {
            at_ms: AtomicI64::new(stamp.at_ms),
            offset_min: stamp.offset_min,
        }
    }

    /// Sets it to milliseconds since 1970 UTC.
    pub fn set(&self, at_ms: i64) {
        self.at_ms.store(at_ms, Ordering::Relaxed);
    }

    /// Moves it on, or back by a negative number, and gives what it shows then.
    pub fn advance(&self, by_ms: i64) -> Stamp {
        self.at_ms.fetch_add(by_ms, Ordering::Relaxed);
        self.now()
    }
}

impl Clock for SetClock {
    fn now(&self) -> Stamp {
        Stamp {
            at_ms: self.at_ms.load(Ordering::Relaxed),
            offset_min: self.offset_min,
        }
    }
}

/// Draws `N` bytes from the operating system's random numbers.
///
/// # Errors
/// [`StoreError::NoChance`] if the system has none.
pub(crate) fn random<const N: usize>() -> Result<[u8; N], StoreError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|e| StoreError::NoChance {
        cause: e.to_string(),
    })?;
    Ok(bytes)
}
