//! app
pub mod layouts;
