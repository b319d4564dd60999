//! The one next step, and what stands in its way.

/// What keeps a step from being taken now.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {}

/// The one next step.
#[derive(Clone, Debug, PartialEq)]
pub enum NextStep {}
