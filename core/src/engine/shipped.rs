//! The generic layouts that come with the program.

/// One embedded layout file.
#[derive(Clone, Copy, Debug)]
pub struct ShippedLayout {
    /// File name without the ending.
    pub key: &'static str,
    /// The file's text.
    pub json: &'static str,
}

macro_rules! embed {
    ($($key:literal),* $(,)?) => {
        &[$(ShippedLayout {
            key: $key,
            json: include_str!(concat!("../../../assets/engines/", $key, ".json")),
        }),*]
    };
}

static SHIPPED: &[ShippedLayout] = embed![
    "inline-3-12v",
    "inline-4-8v",
    "inline-4-16v",
    "inline-4-16v-bucket",
    "inline-5-20v",
    "inline-6-12v",
    "inline-6-24v",
    "v6-60-24v",
    "v6-90-18v",
    "v6-90-odd-fire-12v",
    "v8-cross-plane-16v",
    "v8-cross-plane-32v",
    "v8-flat-plane-32v",
    "flat-4-16v",
    "flat-6-24v",
    "v10-72-40v",
    "v12-60-48v",
    "v16-45-64v",
];

/// Every layout that comes with the program, in the order shown.
pub fn shipped() -> &'static [ShippedLayout] {
    SHIPPED
}
