//! What states no fact of the job: questions, names of buttons, what a step asks to see.

use trayzero::ui::words::EN;

use super::sentences::parts;

/// Words of which a sentence about the job is made.
const OF_FACTS: [&str; 26] = [
    "hold", "held", "measured", "assumed", "loose", "adrift", "aboard", "tray", "home", "scrap",
    "stock", "verified", "unlocked", "air", "crank", "wrench", "bar", "%", "min", "close", "open",
    "rest", "loses", "found", "to go", "last",
];

/// What a tap says once it is tapped, names of settings, and headings.
const PATTERNS: &[&str] = &[
    "Cylinder {} stands at {}",
    "Air holds cylinder {}",
    "Air is off cylinder {}",
    "Hose is {} cylinder {}",
    "Hold is out of cylinder {}",
    "Read the leak of cylinder {}",
    "Leak-down, {}: cylinder {}",
    "Crank is clear, wrench is off, and then: {}",
    "{} new seals in stock, Issue from the store",
    "Cylinder {} is held: {}",
    "{} lock in the tray",
    "{} flew off",
    "{} flew off {}",
    "{} and counted, {} to count",
    "{} in the tray, retainer and spring too, tool let up",
    "Take back: {}",
    "Take back, {}",
    "Scrap one: {}",
    "{} asked for, {} in the tray. Find it, or take a new one from stock.",
    "{} flew off, {} in the tray",
    "Found it: {}",
    "number of {}",
    "{} not searched yet",
    "1 wrench",
    "{} min",
    "{} bar",
    "Tray Zero {}",
];

/// Whether a text that no rule knows sounds like one about the job.
pub fn sounds_like_a_fact(text: &str) -> bool {
    let text = text.to_lowercase();
    let has_figure = text.chars().any(|c| c.is_ascii_digit());
    has_figure && OF_FACTS.iter().any(|word| text.contains(word))
}

/// Whether it is a text that says the same whatever is true.
pub fn is_quiet(text: &str) -> bool {
    let fixed = EN.fixed();
    let is_fixed = fixed.iter().any(|(_, known)| *known == text);
    // What a pattern leaves open is one thing: never a line of several.
    let is_one = |found: Vec<&str>| {
        let several = |part: &&str| part.contains(" \u{b7} ") || part.contains(" bar, ");
        !found.iter().any(several)
    };
    is_fixed
        || PATTERNS
            .iter()
            .any(|pattern| parts(pattern, text).is_some_and(is_one))
}
