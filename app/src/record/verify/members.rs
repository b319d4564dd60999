//! Whose lines count: the shop's log from its first line on, and whose key signed the list.

use std::collections::BTreeMap;

use trayzero_core::journal::{Link, Members};
use trayzero_core::shop_log::{Deed, Line, Shop, read_log, words_of_key};
use uuid::Uuid;

use super::{About, Files, VerifyReport, called, tablet_in};
use crate::record::proof::{MAKING, Making, SIGNER, log_name};
use crate::ui::words::verified::VerifySaid;

/// The most of a shop log that is read, in bytes.
const LOG_BYTES_MAX: usize = 16 << 20;

/// The shop, as its log says; `None` where there is no log or it does not hold.
pub(super) fn shop(
    files: &Files,
    making: &Making,
    wanted: Option<&str>,
    report: &mut VerifyReport,
) -> Option<Shop> {
    let lines = lines_of(files, report);
    let firsts = lines.values().filter_map(|lines| lines.first());
    let firsts = firsts.filter(|line| matches!(line.body().deed, Deed::Founded { .. }));
    let keys: Vec<String> = firsts.map(|line| line.link().to_string()).collect();
    let key = match (wanted, &keys[..]) {
        (Some(wanted), keys) if !keys.iter().any(|key| key == wanted) => {
            let said = VerifySaid::OtherShop {
                there: keys.to_vec(),
                wanted: wanted.to_owned(),
            };
            report.fails_in(About::Shop, None, said);
            return None;
        }
        (Some(wanted), _) => wanted.to_owned(),
        (None, [key]) => key.clone(),
        (None, []) => {
            report.leaves_open(About::Shop, None, VerifySaid::NoLog);
            return None;
        }
        (None, _) => {
            report.fails_in(About::Shop, None, VerifySaid::TwoLogs);
            return None;
        }
    };
    let shop = Link::from_hex(&key).and_then(|key| Shop::of(key, &lines).ok());
    let Some(shop) = shop else {
        report.fails_in(About::Shop, None, VerifySaid::FoundingBroken);
        return None;
    };
    if making.shop.as_ref() != Some(&key) {
        let said = VerifySaid::SaysOtherShop(making.shop.clone());
        report.fails_in(About::Shop, Some(MAKING), said);
    }
    let words = words_of_key(&key);
    if wanted.is_some() {
        report.holds_that(About::Shop, None, VerifySaid::ShopAsWanted { key, words });
    } else {
        report.leaves_open(About::Shop, None, VerifySaid::ShopToCompare { key, words });
    }
    of_log(&shop, &lines, report);
    Some(shop)
}

/// The log as far as each tablet's part of it holds.
fn lines_of(files: &Files, report: &mut VerifyReport) -> BTreeMap<Uuid, Vec<Line>> {
    let logs = files.iter().filter_map(|(name, bytes)| {
        let tablet = tablet_in(name, "log-", ".jsonl")?;
        Some((tablet, name, bytes))
    });
    let logs: Vec<_> = logs.collect();
    let mut lines = BTreeMap::new();
    let bytes: usize = logs.iter().map(|(_, _, bytes)| bytes.len()).sum();
    if bytes > LOG_BYTES_MAX {
        let most = LOG_BYTES_MAX;
        report.fails_in(About::Log, None, VerifySaid::LogTooLarge { bytes, most });
        return lines;
    }
    for (tablet, name, bytes) in logs {
        let read = read_log(bytes, tablet, &[]);
        if let Some((line, why)) = read.fault {
            report.fails_in(About::Log, Some(name), VerifySaid::LogLine { line, why });
        } else if read.bytes < bytes.len() {
            report.fails_in(About::Log, Some(name), VerifySaid::LogTorn);
        }
        if !read.lines.is_empty() {
            lines.insert(tablet, read.lines);
        }
    }
    lines
}

/// What of the log counts for nothing.
fn of_log(shop: &Shop, lines: &BTreeMap<Uuid, Vec<Line>>, report: &mut VerifyReport) {
    for refused in &shop.refused {
        let said = VerifySaid::LogRefused {
            line: refused.n,
            why: refused.why,
        };
        report.fails_in(About::Log, Some(&log_name(refused.tablet)), said);
    }
    for (tablet, n, missing) in &shop.waiting {
        let said = VerifySaid::LogWaits {
            line: *n,
            missing: *missing,
        };
        report.fails_in(About::Log, Some(&log_name(*tablet)), said);
    }
    if shop.refused.is_empty() && shop.waiting.is_empty() {
        let said = VerifySaid::LogHolds {
            lines: lines.values().map(Vec::len).sum(),
            tablets: shop.tablets.len(),
            people: shop.people.len(),
        };
        report.holds_that(About::Log, None, said);
    }
}

/// Whose seals count.
pub(super) fn members(shop: Option<&Shop>, making: &Making) -> Members {
    if let Some(shop) = shop {
        return shop.journal_members();
    }
    let mut members = Members::default();
    // Where the record says that it is of a shop, its tablets are known by the log alone.
    let keys = making.keys.iter().filter(|_| making.shop.is_none());
    for (tablet, keys) in keys {
        for key in keys {
            members.admit(*tablet, key);
        }
    }
    members
}

/// Whether the list was signed by a tablet that may.
pub(super) fn signer(
    shop: Option<&Shop>,
    making: &Making,
    key: Option<&str>,
    report: &mut VerifyReport,
) {
    // Without a signature that holds there is nothing to ask; that was said.
    let Some(key) = key else { return };
    let words = words_of_key(key);
    let Some(tablet) = making.tablet else {
        return report.fails_in(About::Signer, Some(SIGNER), VerifySaid::NoSigner);
    };
    let who = called(shop, tablet);
    match shop {
        Some(shop) if shop.is_member(tablet, key) => {
            let said = VerifySaid::SignerIsMember { who, words };
            report.holds_that(About::Signer, Some(SIGNER), said);
        }
        Some(_) => {
            let said = VerifySaid::SignerNotKnown { who, words };
            report.fails_in(About::Signer, Some(SIGNER), said);
        }
        None if making.shop.is_some() => {
            let said = VerifySaid::SignerWithoutLog { who, words };
            report.fails_in(About::Signer, Some(SIGNER), said);
        }
        None if making
            .keys
            .get(&tablet)
            .is_some_and(|keys| keys.iter().any(|k| k == key)) =>
        {
            let said = VerifySaid::SignerToCompare { who, words };
            report.leaves_open(About::Signer, Some(SIGNER), said);
        }
        None => {
            let said = VerifySaid::SignerOtherKey { who, words };
            report.fails_in(About::Signer, Some(SIGNER), said);
        }
    }
}
