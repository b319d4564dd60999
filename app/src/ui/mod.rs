//! What a person sees: screens made of widgets, their colours and their words. A screen
//! reads a [`view::View`] and asks by [`intent::Intent`]; it changes nothing itself.

pub mod first_use;
pub mod glass;
pub mod intent;
pub mod page;
pub mod picture;
pub mod screens;
pub mod theme;
pub mod times;
pub mod units;
pub mod view;
pub mod widgets;
pub mod words;
