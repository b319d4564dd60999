//! The building blocks of the screens. Each draws from plain data, takes the words of
//! the language, tells a screen reader its name and state, and shows where the
//! keyboard is. A tap counts by the rules in [`tap`].

pub mod bank_diagram;
pub mod big_bar;
pub mod button;
pub mod code_pad;
pub mod columns;
pub mod counters;
pub mod crank_dial;
pub mod crank_strip;
pub mod entry;
pub mod note;
pub mod paint;
pub mod stage_list;
pub mod stepper;
pub mod tap;
pub mod valve_mark;
pub mod window_chart;

pub use bank_diagram::{DiagramTap, DiagramView, ValveView};
pub use big_bar::BigBar;
pub use counters::{AirView, Counter, CountersView};
pub use stage_list::StageList;
pub use tap::Tapped;
