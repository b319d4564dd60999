//! Contrast of every pair of colours in use, in both themes.
//!
//! Source: WCAG 2.2, relative luminance and contrast ratio, success criteria 1.4.3
//! (text, 4.5:1) and 1.4.11 (marks, 3:1); the formula is checked against two ratios that
//! are widely quoted for it (#767676 on white 4.54:1, #777777 on white 4.48:1).

use egui::Color32;
use trayzero::ui::theme::{Colours, NIGHT, PAIRS_IN_USE, PairKind, SHOP_LIGHT};

fn luminance(colour: Color32) -> f64 {
    let linear = |part: u8| {
        let c = f64::from(part) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
}

pub fn ratio(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn the_formula_gives_the_quoted_ratios() {
    let on_white = |grey: u8| ratio(Color32::from_gray(grey), Color32::WHITE);
    assert!((on_white(0x76) - 4.54).abs() < 0.005, "{}", on_white(0x76));
    assert!((on_white(0x77) - 4.48).abs() < 0.005, "{}", on_white(0x77));
    assert!((ratio(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
}

fn faults(theme: &str, colours: &Colours) -> Vec<String> {
    PAIRS_IN_USE
        .iter()
        .filter_map(|(name, mark, ground, kind)| {
            let least = match kind {
                PairKind::Text => 4.5,
                PairKind::Mark => 3.0,
            };
            let is = ratio(mark(colours), ground(colours));
            (is < least).then(|| format!("{theme}: {name} has {is:.2}, needs {least}"))
        })
        .collect()
}

#[test]
fn every_pair_in_use_has_enough_contrast_in_both_themes() {
    let mut all = faults("shop light", &SHOP_LIGHT);
    all.extend(faults("night", &NIGHT));
    assert!(all.is_empty(), "{}", all.join("\n"));
}
