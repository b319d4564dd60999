//! The embedded fonts: figures of one width, and a glyph for every character in use.

use egui::{Context, FontFamily, FontId, RawInput};
use trayzero::ui::theme::{Theme, Tone, Type};
use trayzero::ui::words::Language;

fn ready() -> (Context, Theme) {
    let ctx = Context::default();
    let theme = Theme::new(Tone::ShopLight, 1.0);
    theme.install(&ctx);
    ctx.run_ui(RawInput::default(), |_| {})
        .drop_without_applying_deltas();
    (ctx, theme)
}

fn families(theme: &Theme) -> [FontFamily; 2] {
    [Type::Body, Type::Bar].map(|step| theme.font(step).family)
}

#[test]
fn figures_are_all_of_one_width() {
    let (ctx, theme) = ready();
    for family in families(&theme) {
        let font = FontId::new(40.0, family.clone());
        let width = |text: String| {
            ctx.fonts_mut(|f| f.layout_no_wrap(text, font.clone(), egui::Color32::BLACK))
                .size()
                .x
        };
        let ones = width("1".repeat(40));
        for digit in '0'..='9' {
            let is = width(digit.to_string().repeat(40));
            assert!(
                (is - ones).abs() < 0.5,
                "{family:?}: {digit} takes {is}, 1 takes {ones}"
            );
        }
        let letters = width("i".repeat(40));
        assert!(
            (letters - ones).abs() > 100.0,
            "not every glyph is of one width"
        );
    }
}

#[test]
fn no_text_lacks_a_glyph() {
    let (ctx, theme) = ready();
    for language in Language::ALL {
        for text in crate::words::every_text(language.words()) {
            for family in families(&theme) {
                let font = FontId::new(17.0, family.clone());
                let missing: String = text
                    .chars()
                    .filter(|c| !ctx.fonts_mut(|f| f.has_glyph(&font, *c)))
                    .collect();
                assert!(
                    missing.is_empty(),
                    "{language:?} \"{text}\" lacks {missing:?} in {family:?}"
                );
            }
        }
    }
    let font = theme.font(Type::Body);
    let has = |c| ctx.fonts_mut(|f| f.has_glyph(&font, c));
    assert!(!has('\u{4E00}'), "the check can tell a missing glyph");
    assert!(
        "ŁódźŽΔЖő".chars().all(has),
        "names in other alphabets have glyphs"
    );
}

#[test]
fn fonts_stay_small_and_carry_their_licence() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../assets/fonts");
    let licence = std::fs::read_to_string(format!("{folder}/LICENSE.txt")).unwrap();
    assert!(licence.contains("SIL OPEN FONT LICENSE Version 1.1"));
    for bytes in [
        trayzero::ui::theme::MEDIUM,
        trayzero::ui::theme::BOLD,
        trayzero::ui::theme::WIDE,
    ] {
        assert!(bytes.len() < 300_000, "{} bytes", bytes.len());
    }
}
