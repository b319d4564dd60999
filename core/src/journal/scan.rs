//! Reading event lines as this program writes them, without a general JSON parser for
//! anything but the event itself.
//!
//! A long journal is read a million lines at a time, and half of that time would go into
//! the names of the same six fields in the same order. So those are compared byte by
//! byte. A line that differs in anything at all is left to the general reader, which
//! either takes it or says what is wrong with it.

use std::borrow::Cow;

use uuid::Uuid;

use super::clock::{CLOCK_MS_MAX, Hlc};
use super::time::parse_own;
use super::wire::WireLine;

/// The bytes of a time in a line of our own.
const TIME_BYTES: usize = 29;
const UUID_BYTES: usize = 36;

/// Reads the body of a line of our own; `None` where the general reader is to look.
pub(super) fn scan(body: &[u8]) -> Option<WireLine<'_>> {
    let mut rest = Unread(body);
    rest.pass(b"{\"n\":")?;
    let n = rest.number()?;
    rest.pass(b",\"id\":\"")?;
    let id = Uuid::try_parse_ascii(rest.take(UUID_BYTES)?).ok()?;
    rest.pass(b"\",\"at\":\"")?;
    let (at_ms, offset_min) = parse_own(rest.take(TIME_BYTES)?)?;
    rest.pass(b"\",\"clock\":[")?;
    let ms = rest.number()?;
    rest.pass(b",")?;
    let counter = u32::try_from(rest.number()?).ok()?;
    rest.pass(b"],\"who\":\"")?;
    let who = rest.plain_text()?;
    rest.pass(b"\",\"event\":")?;
    let event = serde_json::from_slice(rest.0).ok()?;
    (ms <= CLOCK_MS_MAX).then_some(WireLine {
        n,
        id,
        at_ms,
        offset_min,
        clock: Hlc { ms, counter },
        who: Cow::Borrowed(who),
        after: None,
        paper: None,
        event: Some(event),
    })
}

/// What is still to be read.
struct Unread<'a>(&'a [u8]);

impl<'a> Unread<'a> {
    fn pass(&mut self, text: &[u8]) -> Option<()> {
        self.0 = self.0.strip_prefix(text)?;
        Some(())
    }

    fn take(&mut self, bytes: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(bytes)?;
        self.0 = rest;
        Some(taken)
    }

    /// Decimal digits as JSON has them: no leading zero, no sign.
    fn number(&mut self) -> Option<u64> {
        let digits = self.0.iter().take_while(|b| b.is_ascii_digit()).count();
        let text = self.take(digits)?;
        if text.is_empty() || (text[0] == b'0' && digits > 1) {
            return None;
        }
        text.iter().try_fold(0_u64, |sum, digit| {
            sum.checked_mul(10)?.checked_add(u64::from(digit - b'0'))
        })
    }

    /// Text up to the next quote, with nothing in it that JSON would escape.
    fn plain_text(&mut self) -> Option<&'a str> {
        let is_plain = |b: &u8| !matches!(b, b'"' | b'\\' | 0..0x20);
        let bytes = self.0.iter().take_while(|b| is_plain(b)).count();
        str::from_utf8(self.take(bytes)?).ok()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::{FORMAT, wire};
    use super::*;

    const BODY: &str = r#"{"n":12,"id":"017f22e2-79b0-7cc3-98c4-dc0c0c07398f","at":"2026-11-25T08:03:07.120+01:00","clock":[1796022187120,0],"who":"Zoë","event":{"air_on":{"cylinder":3,"bar":2.5}}"#;

    fn general(body: &str) -> Result<WireLine<'static>, wire::Blame> {
        let line = format!("{body},\"link\":\"\"}}");
        wire::decode(line.as_bytes(), FORMAT).map(|line| WireLine {
            who: Cow::Owned(line.who.into_owned()),
            ..line
        })
    }

    #[test]
    fn a_line_of_our_own_is_read_as_the_general_reader_reads_it() {
        let scanned = scan(BODY.as_bytes()).unwrap();
        assert_eq!(scanned.n, 12);
        assert_eq!(scanned, general(BODY).unwrap());
    }

    /// Every byte replaced by every byte of a choice, removed and doubled: where the scan
    /// answers at all, the general reader gives the same answer.
    #[test]
    fn whatever_is_scanned_the_general_reader_reads_alike() {
        let (mut both, mut tried) = (0, 0);
        for at in 0..BODY.len() {
            let choice = b"0159aAfz\"\\,:[]{}+-. \n\x00\xc3";
            let variants = choice.iter().map(|byte| vec![*byte]).chain([
                vec![],
                vec![BODY.as_bytes()[at]; 2],
                br"\u0041".to_vec(),
                b",\"n\":1".to_vec(),
            ]);
            for variant in variants {
                let mut bytes = BODY.as_bytes().to_vec();
                bytes.splice(at..=at, variant);
                tried += 1;
                let Some(scanned) = scan(&bytes) else {
                    continue;
                };
                let text = str::from_utf8(&bytes).unwrap();
                assert_eq!(Ok(scanned), general(text), "{text}");
                both += 1;
            }
        }
        assert!(both > 200 && both < tried, "{both} of {tried}");
    }
}
