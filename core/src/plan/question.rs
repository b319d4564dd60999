//! What the working order is asked, and the bounds of an exact answer.

use crate::engine::Layout;

/// The most cylinders for which the exact order is computed.
pub const PLANNED_CYLINDERS_MAX: usize = 16;

/// Minutes that differ by no more than this are the same.
pub(super) const MINUTES_TIE: f64 = 1e-9;

/// Room for the table, in numbers of eight bytes: 160 MiB.
const TABLE_CELLS_MAX: usize = 20 << 20;

/// The most ways to leave a cylinder that are looked at, however few the cylinders.
const WAYS_MAX: usize = 2048;

/// The most ways to leave a cylinder (place and adaptor, over all cylinders) for
/// which the table fits.
pub(super) fn ways_max(cylinders: usize) -> usize {
    (TABLE_CELLS_MAX >> cylinders.saturating_sub(1)).min(WAYS_MAX)
}

/// Where the job stands, and what the technician wants.
#[derive(Clone, Copy, Debug)]
pub struct OrderQuestion<'a> {
    /// The engine.
    pub layout: &'a Layout,
    /// Crank angle now, in degrees; any finite angle, 0 is the top of cylinder 1.
    pub from_deg: f64,
    /// Index of the bank at which the technician stands; the first stop in another
    /// bank then counts as a bank change. `None` before the first stop of a job.
    pub from_bank: Option<usize>,
    /// The adaptor on the tool; the first fitting of another one then counts as a
    /// change. `None` while none is fitted: the first fitting is free.
    pub from_adaptor: Option<&'a str>,
    /// Cylinders that need no more work.
    pub done: &'a [u8],
    /// Cylinders that the technician has put off: worked after all others.
    pub put_off: &'a [u8],
    /// A cylinder that must come first, even if it was put off.
    pub wanted_next: Option<u8>,
}

impl<'a> OrderQuestion<'a> {
    /// The question at the start of a job: nothing done, the crank at 0.
    pub fn at_start(layout: &'a Layout) -> Self {
        Self {
            layout,
            from_deg: 0.0,
            from_bank: None,
            from_adaptor: None,
            done: &[],
            put_off: &[],
            wanted_next: None,
        }
    }
}
