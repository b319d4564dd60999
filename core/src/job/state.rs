//! The state of a job: the fold of its events.

/// How far the job as a whole is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum JobPhase {
    /// Nothing is known yet.
    Unopened,
    /// Under way.
    Open,
    /// Rests.
    Paused,
    /// Finished.
    Closed,
    /// Ended unfinished.
    Stopped,
}

/// The state of a job.
#[derive(Clone, Debug, Default)]
pub struct JobState {}
