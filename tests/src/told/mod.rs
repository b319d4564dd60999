//! What was told lost, over several tablets: random work on two to four of them that see
//! each other now and then, and an independent model that reads their JSON lines alone.

mod hand;
mod model;
mod shop;

pub use model::{Told, read};
pub use shop::{Shop, Tablet, Tally, finish, run};
