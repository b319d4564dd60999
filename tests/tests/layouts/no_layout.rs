//! Texts that are no layouts.

use trayzero_core::engine::{LAYOUT_BYTES_MAX, Layout};

use crate::{good, lines};

#[test]
fn text_that_is_no_layout_gives_one_clear_fault() {
    let deep = "[".repeat(10_000);
    let huge = vec![b' '; LAYOUT_BYTES_MAX + 1];
    for (bytes, field, words) in [
        (&b""[..], "file", "is empty"),
        (b" \n\t ", "file", "is empty"),
        (b"\xEF\xBB\xBF", "file", "is empty"),
        (b"[]", "file", "a layout is one, with the fields"),
        (b"null", "file", "no JSON object"),
        (b"\"text\"", "file", "no JSON object"),
        (b"{\"format\": 1,", "line 1, column 13", "ends too early"),
        (
            b"{\n \"format\": 1\n \"name\": 2}",
            "line 3, column 2",
            "is no JSON: expected `,`",
        ),
        (b"hello", "line 1, column 1", "is no JSON"),
        (b"{} {}", "line 1, column 4", "is no JSON: trailing"),
        (
            b"{\"name\": \"\xFF\xFE\"}",
            "line 1, column 11",
            "is no JSON",
        ),
        (
            b"{\"bore_mm\": 1e999}",
            "line 1, column 17",
            "is no JSON: number out of range",
        ),
        (
            deep.as_bytes(),
            "line 1, column 17",
            "nested deeper than 16",
        ),
        (&huge, "file", "larger than a layout may be, 1048576 bytes"),
    ] {
        let faults = Layout::from_json("odd.json", bytes).unwrap_err();
        let shown = String::from_utf8_lossy(&bytes[..bytes.len().min(30)]).into_owned();
        assert_eq!(faults.len(), 1, "{shown}: {}", lines(&faults));
        assert_eq!(faults[0].field, field, "{shown}: {}", faults[0]);
        assert!(
            faults[0].rule.to_string().contains(words),
            "{shown}: {}",
            faults[0]
        );
        assert!(faults[0].to_string().len() < 400, "{}", faults[0]);
    }
}

#[test]
fn a_newer_format_is_named_alone_whatever_else_it_holds() {
    let faults = Layout::from_json("new.json", br#"{"format": 7, "cells": []}"#).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(
        (faults[0].field.as_str(), faults[0].value.as_str()),
        ("format", "7")
    );
    assert!(faults[0].rule.to_string().contains("newer program"));
}

#[test]
fn a_byte_order_mark_at_the_front_does_no_harm() {
    let mut bytes = b"\xEF\xBB\xBF".to_vec();
    bytes.extend_from_slice(good().to_string().as_bytes());
    assert!(Layout::from_json("marked.json", &bytes).is_ok());
}
