//! Where the hours of a job go: its working time cut into phases by its events alone.
//!
//! Each stretch between two events belongs to the event that ends it, for that is what
//! was worked towards. One fold serves the record, the board and the forecast.

mod clock;
mod label;
mod left;

pub use clock::{JobClock, Rest};
pub use left::{quote, work_left, work_of};
