//! The embedded fonts: two weights with figures of equal width.

use std::sync::Arc;

use egui::{FontData, FontDefinitions, FontFamily};

/// Bytes of the ordinary weight.
pub const MEDIUM: &[u8] = include_bytes!("../../../../assets/fonts/BaySans-Medium.ttf");
/// Bytes of the strong weight.
pub const BOLD: &[u8] = include_bytes!("../../../../assets/fonts/BaySans-Bold.ttf");
/// Bytes of the fallback for names in other alphabets.
pub const WIDE: &[u8] = include_bytes!("../../../../assets/fonts/BaySans-Wide.ttf");

/// The family of the strong weight.
pub fn strong_family() -> FontFamily {
    FontFamily::Name("strong".into())
}

/// Both weights, each with the fallback behind it.
pub fn definitions() -> FontDefinitions {
    let mut fonts = FontDefinitions::empty();
    for (name, bytes) in [("medium", MEDIUM), ("bold", BOLD), ("wide", WIDE)] {
        let data = Arc::new(FontData::from_static(bytes));
        fonts.font_data.insert(name.to_owned(), data);
    }
    let chain = |first: &str| vec![first.to_owned(), "wide".to_owned()];
    fonts
        .families
        .insert(FontFamily::Proportional, chain("medium"));
    fonts
        .families
        .insert(FontFamily::Monospace, chain("medium"));
    fonts.families.insert(strong_family(), chain("bold"));
    fonts
}
