//! The building blocks of the screens. Each draws from plain data, takes the words of
//! the language, tells a screen reader its name and state, and shows where the
//! keyboard is. A tap counts by the rules in [`tap`].

pub mod ask_row;
pub mod bank_diagram;
pub mod bay_tile;
pub mod big_bar;
pub mod button;
pub mod cached_shapes;
pub mod caution_line;
pub mod choice_row;
pub mod code_pad;
pub mod columns;
pub mod count_row;
pub mod counters;
pub mod crank_dial;
pub mod crank_strip;
pub mod day_line;
pub mod engine_mark;
pub mod finger_note;
pub mod firing_ring;
pub mod first_card;
pub mod flight;
pub mod guard;
pub mod keyboard;
pub mod keys;
pub mod leak_bars;
pub mod list_row;
pub mod memo;
pub mod note;
pub mod paint;
pub mod phase_bars;
mod rounded;
pub mod stage_list;
pub mod stepper;
pub mod tap;
pub mod text_field;
pub mod tile_wall;
pub mod valve_mark;
pub mod valve_ring;
pub mod window_chart;

pub use bank_diagram::{DiagramTap, DiagramView, ValveView};
pub use bay_tile::BayTile;
pub use big_bar::BigBar;
pub use button::{Button, button_row};
pub use choice_row::{choice_row, tick_row};
pub use counters::{AirView, Counter, CountersView};
pub use crank_dial::{CrankDial, DialMark};
pub use crank_strip::{CrankStrip, StripStop};
pub use finger_note::FingerNote;
pub use firing_ring::FiringRing;
pub use leak_bars::{LeakPair, leak_bars};
pub use list_row::ListRow;
pub use stage_list::StageList;
pub use tap::Tapped;
pub use tile_wall::TileWall;
pub use window_chart::WindowChart;
