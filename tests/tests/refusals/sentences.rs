//! Every refusal has its words: why, and the way out.

use trayzero::ui::words::{DE, EN};
use trayzero_core::job::Refusal;

/// A sentence a person can read: it starts like one, ends like one, and says something in so
/// many words.
fn is_a_sentence(text: &str, words_least: usize) -> bool {
    let starts = text
        .chars()
        .next()
        .is_some_and(|c| c.is_uppercase() || c.is_ascii_digit());
    let ends = text.ends_with('.') && !text.ends_with("..");
    let words = text.split_whitespace().count();
    starts && ends && words >= words_least && !text.contains(['{', '}']) && !text.contains("  ")
}

fn check_sentences(refusal: &Refusal) {
    let code = refusal.code();
    // German says "Weiterarbeiten." in one.
    for (words, words_least) in [(&EN, 3), (&DE, 1)] {
        let (why, way_out) = (words.refusal_why(refusal), words.refusal_way_out(refusal));
        assert!(is_a_sentence(&why, words_least), "{code}: why: {why}");
        assert!(
            is_a_sentence(&way_out, words_least),
            "{code}: way out: {way_out}"
        );
        // A faulty layout is told by the names in its file; all else by the shop's words.
        let by_file = matches!(refusal, Refusal::BadLayout { .. });
        assert!(by_file || !why.contains('_'), "{code}: why: {why}");
        assert_ne!(why, way_out);
        assert!(!why.contains(code), "{code} has no words");
    }
    assert_ne!(EN.refusal_why(refusal), DE.refusal_why(refusal), "{code}");
}

#[test]
fn every_refusal_says_why_and_the_way_out() {
    for (_, lead, event) in super::rows() {
        let mut bay = lead();
        let event = event(&mut bay);
        check_sentences(&bay.refused(event));
    }
}
