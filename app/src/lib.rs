//! app
