//! Tray Zero: the window and the command line on top of the rules of the bay.

pub mod backup;
pub mod cli;
pub mod crew;
pub mod demo;
pub mod desk;
pub mod first_use;
pub mod intent;
pub mod job_record;
pub mod layouts;
pub mod own_layouts;
pub mod pdf;
pub mod picture;
pub mod screens;
pub mod settings;
pub mod shop;
pub mod store;
pub mod technician;
pub mod theme;
pub mod times;
pub mod units;
pub mod view;
pub mod widgets;
pub mod window;
pub mod words;
