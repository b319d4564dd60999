//! The rules a layout must keep.
