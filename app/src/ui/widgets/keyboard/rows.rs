//! Which keys there are, row by row, as plain data: for letters in each language's own
//! order, for figures and signs, accents, dates and fault codes.

use crate::ui::theme::TARGET;
use crate::ui::words::Language;

/// Least side of a key that writes a digit, in points.
pub const DIGIT: f32 = 64.0;
/// Least room between two keys, in points. They are struck one after the other, so that
/// little of it is dead.
pub const BETWEEN: f32 = 2.0;

/// What a field takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Keys {
    /// Words.
    #[default]
    Words,
    /// A whole number, such as that of an odometer.
    Whole,
    /// A figure with a decimal sign.
    Figure,
    /// A date, year first.
    Date,
    /// Fault codes: a letter and four digits, of which some are letters too (SAE J2012,
    /// from memory).
    Codes,
}

/// Which of the keys for words are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum KeyPage {
    /// Letters.
    #[default]
    Letters,
    /// Figures and signs.
    Signs,
    /// Letters of other languages.
    Accents,
}

/// What one key does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Key {
    /// Writes a character.
    Sign(char),
    /// Small or capital letters.
    Shift,
    /// Takes the last character away, again and again while it is held.
    Delete,
    /// Takes all away.
    EraseAll,
    /// Shows other keys.
    Page(KeyPage),
    /// A new line.
    NewLine,
    /// Puts the keys away.
    Close,
}

/// Keys beside each other, each with its share of the width, and their height.
#[derive(Clone, Debug, PartialEq)]
pub struct KeyRow {
    /// Keys from the left, with their share.
    pub keys: Vec<(Key, f32)>,
    /// Height in points.
    pub height: f32,
}

impl KeyRow {
    fn of(signs: &str, height: f32) -> Self {
        Self {
            keys: signs.chars().map(|c| (Key::Sign(c), 1.0)).collect(),
            height,
        }
    }
}

/// The letters of a language in their order on its keyboards, and those of its neighbours.
pub fn letters(language: Language) -> [&'static str; 3] {
    match language {
        Language::English => ["qwertyuiop", "asdfghjkl", "zxcvbnm"],
        Language::German => ["qwertzuiopü", "asdfghjklöä", "yxcvbnmß"],
    }
}

const ACCENTS: [&str; 4] = ["àáâãäåæçčé", "èêëęěíìîïł", "ñńòóôõöøœš", "ùúûüýÿžßðþ"];
const SIGNS: [&str; 3] = ["1234567890", "-/:;()&@#%", ".,?!'\"+*=_"];

/// What the keys are asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// What the field takes.
    pub keys: Keys,
    /// Which of the keys for words.
    pub page: KeyPage,
    /// The language.
    pub language: Language,
    /// Whether a field of several lines.
    pub has_lines: bool,
    /// The decimal sign.
    pub decimal: char,
    /// Width that is there, in points.
    pub width: f32,
    /// Height that is there, in points.
    pub height: f32,
}

/// The rows from the top down.
pub fn rows(wanted: Wanted) -> Vec<KeyRow> {
    match wanted.keys {
        Keys::Words => words(wanted),
        Keys::Whole => figures(&[]),
        Keys::Figure => figures(&[wanted.decimal, '-']),
        Keys::Date => figures(&['-']),
        Keys::Codes => codes(),
    }
}

/// Height of some rows with the room between them.
pub fn height(rows: &[KeyRow]) -> f32 {
    rows.iter().map(|row| row.height + BETWEEN).sum::<f32>() - BETWEEN
}

fn figures(signs: &[char]) -> Vec<KeyRow> {
    let mut last = KeyRow {
        keys: signs.iter().map(|c| (Key::Sign(*c), 1.0)).collect(),
        height: DIGIT,
    };
    last.keys
        .extend([(Key::EraseAll, 1.5), (Key::Delete, 1.0), (Key::Close, 2.0)]);
    vec![KeyRow::of("12345", DIGIT), KeyRow::of("67890", DIGIT), last]
}

fn codes() -> Vec<KeyRow> {
    let mut last = KeyRow::of("ABCDEF", TARGET);
    last.keys.push((Key::Close, 3.0));
    let mut first = KeyRow::of("PCBU;", TARGET);
    first
        .keys
        .extend([(Key::EraseAll, 1.5), (Key::Delete, 1.0)]);
    vec![
        first,
        KeyRow::of("12345", DIGIT),
        KeyRow::of("67890", DIGIT),
        last,
    ]
}

fn words(wanted: Wanted) -> Vec<KeyRow> {
    let most = ((wanted.width + BETWEEN) / (TARGET + BETWEEN)) as usize;
    let mut spare: Vec<char> = Vec::new();
    let mut rows: Vec<KeyRow> = Vec::new();
    match wanted.page {
        KeyPage::Letters => {
            let lines = letters(wanted.language);
            for (index, line) in lines.into_iter().enumerate() {
                // Shift and delete stand beside the last letters.
                let room = if index == 2 { most - 2 } else { most };
                let mut line: Vec<char> = line.chars().collect();
                spare.extend(line.drain(room.min(line.len())..));
                rows.push(KeyRow::of(&line.into_iter().collect::<String>(), TARGET));
            }
            if let Some(last) = rows.last_mut() {
                last.keys.insert(0, (Key::Shift, 1.0));
                last.keys.push((Key::Delete, 1.0));
            }
        }
        KeyPage::Signs => {
            rows.push(KeyRow::of(SIGNS[0], DIGIT.min(digit_side(wanted.width))));
            rows.extend(SIGNS[1..].iter().map(|line| KeyRow::of(line, TARGET)));
        }
        KeyPage::Accents => {
            rows.extend(ACCENTS.iter().map(|line| KeyRow::of(line, TARGET)));
        }
    }
    rows.push(foot(wanted, &spare));
    // Where there is room, digits need no other page.
    if wanted.page == KeyPage::Letters
        && digit_side(wanted.width) >= DIGIT
        && height(&rows) + DIGIT + BETWEEN <= wanted.height
    {
        rows.insert(0, KeyRow::of(SIGNS[0], DIGIT));
    }
    if wanted.page == KeyPage::Signs && digit_side(wanted.width) < DIGIT {
        // On a narrow screen digits take two rows, so that each is wide enough.
        rows.remove(0);
        rows.insert(0, KeyRow::of("67890", DIGIT));
        rows.insert(0, KeyRow::of("12345", DIGIT));
    }
    rows
}

/// Width of a digit where ten stand in a row.
fn digit_side(width: f32) -> f32 {
    (width + BETWEEN) / 10.0 - BETWEEN
}

fn foot(wanted: Wanted, spare: &[char]) -> KeyRow {
    let mut keys = Vec::new();
    for page in [KeyPage::Letters, KeyPage::Signs, KeyPage::Accents] {
        if page != wanted.page {
            keys.push((Key::Page(page), 1.0));
        }
    }
    keys.extend(spare.iter().map(|c| (Key::Sign(*c), 1.0)));
    if wanted.page == KeyPage::Accents {
        keys.push((Key::Shift, 1.0));
    }
    let has_room = spare.is_empty() && wanted.page != KeyPage::Accents;
    keys.push((Key::Sign(' '), if has_room { 2.0 } else { 1.0 }));
    if has_room {
        keys.push((Key::Sign(','), 1.0));
    }
    keys.push((Key::Sign('.'), 1.0));
    if wanted.has_lines {
        keys.push((Key::NewLine, 1.0));
    }
    if wanted.page != KeyPage::Letters {
        keys.push((Key::Delete, 1.0));
    }
    keys.push((Key::Close, 3.0));
    // Where the row is tight, the widest keys give way first.
    let gaps = BETWEEN * (keys.len() as f32 - 1.0);
    let most = (wanted.width - gaps) / TARGET;
    let all: f32 = keys.iter().map(|(_, share)| share).sum();
    let mut over = all - most;
    for (key, share) in &mut keys {
        if over > 0.0 && matches!(key, Key::Sign(' ') | Key::Close) {
            let less = over.min(*share - 1.0);
            *share -= less;
            over -= less;
        }
    }
    KeyRow {
        keys,
        height: TARGET,
    }
}

/// Widths and left edges of the keys of a row, from its left edge.
pub fn places(row: &KeyRow, width: f32) -> Vec<(f32, f32)> {
    let shares: f32 = row.keys.iter().map(|(_, share)| share).sum();
    let room = width - BETWEEN * (row.keys.len() as f32 - 1.0);
    let mut left = 0.0;
    row.keys
        .iter()
        .map(|(_, share)| {
            let wide = room * share / shares;
            let at = (left, wide);
            left += wide + BETWEEN;
            at
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn all(width: f32, height: f32) -> impl Iterator<Item = Wanted> {
        let pages = [KeyPage::Letters, KeyPage::Signs, KeyPage::Accents];
        let kinds = [
            Keys::Words,
            Keys::Whole,
            Keys::Figure,
            Keys::Date,
            Keys::Codes,
        ];
        kinds.into_iter().flat_map(move |keys| {
            pages.into_iter().flat_map(move |page| {
                Language::ALL.into_iter().flat_map(move |language| {
                    [false, true].map(|has_lines| Wanted {
                        keys,
                        page,
                        language,
                        has_lines,
                        decimal: '.',
                        width,
                        height,
                    })
                })
            })
        })
    }

    #[test]
    fn every_key_is_large_enough_at_every_width() {
        let mut seen = 0;
        for width in [584.0, 784.0, 1008.0, 2544.0] {
            for wanted in all(width, 400.0) {
                for row in rows(wanted) {
                    for ((key, _), (_, wide)) in row.keys.iter().zip(places(&row, width)) {
                        let is_digit = matches!(key, Key::Sign(c) if c.is_ascii_digit());
                        let least = if is_digit { DIGIT } else { TARGET };
                        let side = wide.min(row.height);
                        assert!(side >= least - 0.1, "{key:?} is {side} at {wanted:?}");
                        seen += 1;
                    }
                }
            }
        }
        assert!(seen > 4_000, "{seen}");
    }

    #[test]
    fn every_letter_digit_and_sign_is_within_reach_in_every_language() {
        for width in [584.0, 1008.0] {
            for language in Language::ALL {
                let signs: BTreeSet<char> = all(width, 300.0)
                    .filter(|w| w.keys == Keys::Words && w.language == language)
                    .flat_map(rows)
                    .flat_map(|row| row.keys)
                    .filter_map(|(key, _)| match key {
                        Key::Sign(c) => Some(c),
                        _ => None,
                    })
                    .collect();
                let wanted = "abcdefghijklmnopqrstuvwxyz0123456789 .,-/:;()äöüßéèñç";
                for c in wanted.chars() {
                    assert!(signs.contains(&c), "{c:?} in {language:?} at {width}");
                }
            }
        }
    }

    #[test]
    fn keys_always_have_one_that_closes_and_one_that_deletes() {
        for wanted in all(584.0, 300.0).chain(all(1264.0, 600.0)) {
            let keys: Vec<Key> = rows(wanted)
                .into_iter()
                .flat_map(|row| row.keys.into_iter().map(|(key, _)| key))
                .collect();
            for one in [Key::Close, Key::Delete] {
                let count = keys.iter().filter(|key| **key == one).count();
                assert_eq!(count, 1, "{one:?} in {wanted:?}");
            }
        }
    }
}
