//! This tablet's own folder: the jobs, the crew, the engine layouts, the settings, and
//! backups of all of it.

pub mod backup;
pub mod crew;
pub mod hand_on;
pub mod layouts;
pub mod own_layouts;
pub mod pictures;
pub mod settings;
pub mod shared_layouts;
pub mod shop_hours;
pub mod store;
pub mod written;
