//! The list of attachments, in the form that `sha256sum -c` of the GNU core utilities reads:
//! 64 hex digits, two blanks, the name, a line each.

use std::collections::BTreeMap;

use trayzero_core::journal::sha256;

use crate::ui::words::verified::{ListFault, WhyNoList};

/// Longer lists are not read, in lines.
const LINES_MAX: usize = 5_000;
/// The longest name.
const NAME_BYTES_MAX: usize = 120;

/// The list of files by their names.
pub fn list_of(files: &BTreeMap<String, Vec<u8>>) -> String {
    let mut list = String::new();
    for (name, bytes) in files {
        list.extend([&sha256(bytes), "  ", name, "\n"]);
    }
    list
}

/// The hashes of a list by name, 64 hex digits.
///
/// # Errors
/// [`ListFault`] for the first line that is not as [`list_of`] writes it.
pub fn entries_of(list: &[u8]) -> Result<BTreeMap<String, String>, ListFault> {
    let mut entries = BTreeMap::new();
    for (index, line) in list.split_inclusive(|b| *b == b'\n').enumerate() {
        let fault = |why| ListFault {
            line: index + 1,
            why,
        };
        if index == LINES_MAX {
            return Err(fault(WhyNoList::TooLong));
        }
        let line = line
            .strip_suffix(b"\n")
            .and_then(|line| str::from_utf8(line).ok());
        let (hash, name) = line
            .and_then(|line| line.split_once("  "))
            .filter(|(hash, name)| is_hash(hash) && is_name(name))
            .ok_or_else(|| fault(WhyNoList::OtherForm))?;
        if entries.insert(name.to_owned(), hash.to_owned()).is_some() {
            return Err(fault(WhyNoList::Again));
        }
    }
    Ok(entries)
}

fn is_hash(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

/// Names that stand for one file in every tool.
fn is_name(text: &str) -> bool {
    let is_fit = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'-' | b'_');
    !text.is_empty()
        && text.len() <= NAME_BYTES_MAX
        && !text.starts_with(['.', '-'])
        && text.bytes().all(is_fit)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_list_is_read_as_it_is_written_and_in_no_other_spelling() {
        let files = BTreeMap::from([
            ("a.json".to_owned(), b"abc".to_vec()),
            ("b-1.jsonl".to_owned(), Vec::new()),
        ]);
        let list = list_of(&files);
        // FIPS 180-4, SHA-256 of "abc", as printed in its example.
        let printed = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert!(list.starts_with(&format!("{printed}  a.json\n")));
        let entries = entries_of(list.as_bytes()).unwrap();
        assert_eq!(entries["a.json"], printed);
        assert_eq!(entries.len(), 2);
        for (from, to) in [
            ("  a", " a"),
            ("a.json", "../a"),
            ("a.json", "-c"),
            ("ba78", "BA78"),
            ("b-1.jsonl\n", "b-1.jsonl"),
            ("b-1.jsonl", "a.json"),
        ] {
            let other = list.replacen(from, to, 1);
            assert!(entries_of(other.as_bytes()).is_err(), "{other}");
        }
    }
}
