//! The generic layouts that come with the program.

/// One embedded layout file.
#[derive(Clone, Copy, Debug)]
pub struct ShippedLayout {
    /// File name without the ending.
    pub key: &'static str,
    /// The file's text.
    pub json: &'static str,
}

/// Every layout that comes with the program, in the order shown.
pub fn shipped() -> &'static [ShippedLayout] {
    &[]
}
