//! What a key does to a text, as plain data.

use super::rows::Keys;

/// One change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Edit {
    /// Writes a character at the cursor.
    Sign(char),
    /// Takes away what is marked, or the character before the cursor.
    Delete,
    /// Takes all away.
    EraseAll,
    /// Puts a choice in place of what stands there.
    Choose(String),
}

/// Makes a change; `from` and `to` are what is marked, in characters. Gives where the
/// cursor is then.
pub fn make(
    text: &mut String,
    (from, to): (usize, usize),
    edit: &Edit,
    keys: Keys,
    chars_max: usize,
) -> usize {
    let mut signs: Vec<char> = text.chars().collect();
    let (from, to) = (from.min(to).min(signs.len()), from.max(to).min(signs.len()));
    let at = match edit {
        Edit::Sign(sign) => {
            signs.splice(from..to, [*sign]);
            let mut at = from + 1;
            // The dashes of a date come by themselves.
            let is_end = at == signs.len() && sign.is_ascii_digit();
            if keys == Keys::Date && is_end && (at == 4 || at == 7) {
                signs.push('-');
                at += 1;
            }
            at
        }
        Edit::Delete if from < to => {
            signs.drain(from..to);
            from
        }
        Edit::Delete if from > 0 => {
            signs.remove(from - 1);
            from - 1
        }
        Edit::Delete => 0,
        Edit::EraseAll => {
            signs.clear();
            0
        }
        Edit::Choose(choice) => {
            signs = chosen(text, choice, keys).chars().collect();
            signs.len()
        }
    };
    if signs.len() > chars_max {
        return to;
    }
    *text = signs.into_iter().collect();
    at
}

/// A choice in place of a text; among fault codes, in place of the one being written.
fn chosen(text: &str, choice: &str, keys: Keys) -> String {
    if keys != Keys::Codes {
        return choice.to_owned();
    }
    let mut codes: Vec<&str> = text.split(';').map(str::trim).collect();
    codes.pop();
    codes.push(choice);
    codes.retain(|code| !code.is_empty());
    format!("{}; ", codes.join("; "))
}

/// The choices that go on from what stands there; all while nothing does.
pub fn fitting<'c>(text: &str, choices: &'c [String], keys: Keys) -> Vec<&'c String> {
    let begun = match keys {
        Keys::Codes => text.rsplit(';').next().unwrap_or_default(),
        _ => text,
    };
    let begun = begun.trim().to_lowercase();
    let goes_on = |choice: &&String| {
        let choice = choice.to_lowercase();
        choice != begun && choice.contains(&begun)
    };
    choices.iter().filter(goes_on).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(signs: &str, keys: Keys) -> String {
        let mut text = String::new();
        let mut at = 0;
        for sign in signs.chars() {
            let edit = if sign == '<' {
                Edit::Delete
            } else {
                Edit::Sign(sign)
            };
            at = make(&mut text, (at, at), &edit, keys, 20);
        }
        text
    }

    #[test]
    fn keys_write_and_delete_at_the_cursor() {
        assert_eq!(typed("Hof<f 7ß", Keys::Words), "Hof 7ß");
        let mut text = "sweeper".to_owned();
        assert_eq!(make(&mut text, (0, 2), &Edit::Delete, Keys::Words, 20), 0);
        assert_eq!(text, "eeper");
        assert_eq!(
            make(&mut text, (1, 1), &Edit::Sign('ö'), Keys::Words, 20),
            2
        );
        assert_eq!(text, "eöeper");
        assert_eq!(make(&mut text, (0, 0), &Edit::Delete, Keys::Words, 20), 0);
        assert_eq!(make(&mut text, (9, 9), &Edit::EraseAll, Keys::Words, 20), 0);
        assert_eq!(text, "");
    }

    #[test]
    fn a_field_takes_no_more_than_it_may() {
        assert_eq!(typed(&"x".repeat(30), Keys::Words).len(), 20);
    }

    #[test]
    fn the_dashes_of_a_date_come_by_themselves() {
        assert_eq!(typed("20261128", Keys::Date), "2026-11-28");
        assert_eq!(typed("2026<<", Keys::Date), "202");
    }

    #[test]
    fn a_choice_goes_in_place_of_a_text_or_of_one_code() {
        let choices = ["P0171".to_owned(), "P0300".to_owned()];
        assert_eq!(fitting("p03", &choices, Keys::Codes), [&choices[1]]);
        assert_eq!(fitting("", &choices, Keys::Codes).len(), 2);
        let mut text = "P0171; P03".to_owned();
        let edit = Edit::Choose("P0300".to_owned());
        let at = make(&mut text, (10, 10), &edit, Keys::Codes, 100);
        assert_eq!((text.as_str(), at), ("P0171; P0300; ", 14));
        assert_eq!(fitting(&text, &choices, Keys::Codes).len(), 2);
        make(&mut text, (0, 0), &edit, Keys::Words, 100);
        assert_eq!(text, "P0300");
    }
}
