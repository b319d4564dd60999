//! Whose lines count: the shop's log from its first line on, and whose key signed the list.

use std::collections::BTreeMap;

use trayzero_core::journal::{Link, Members};
use trayzero_core::shop_log::{Deed, Line, Shop, read_log, words_of_key};
use uuid::Uuid;

use super::{About, Files, VerifyReport, called, tablet_in};
use crate::record::proof::{MAKING, Making, SIGNER, log_name};

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
            let there = match keys {
                [] => "no shop log goes along".to_owned(),
                keys => format!(
                    "the shop log that goes along begins with {}",
                    keys.join(" and ")
                ),
            };
            report.fails_in(About::Shop, None, format!("{there}, and not with {wanted}"));
            return None;
        }
        (Some(wanted), _) => wanted.to_owned(),
        (None, [key]) => key.clone(),
        (None, []) => {
            let words = "no shop log goes along: nobody but the tablets themselves vouches for \
                         their keys";
            report.leaves_open(About::Shop, None, words);
            return None;
        }
        (None, _) => {
            let words = "there are two shop logs in it; name the shop's key";
            report.fails_in(About::Shop, None, words);
            return None;
        }
    };
    let shop = Link::from_hex(&key).and_then(|key| Shop::of(key, &lines).ok());
    let Some(shop) = shop else {
        report.fails_in(
            About::Shop,
            None,
            "the line that founds the shop does not hold",
        );
        return None;
    };
    if making.shop.as_ref() != Some(&key) {
        let said = making.shop.as_deref().unwrap_or("none");
        let words = format!("the record says that it is of another shop: {said}");
        report.fails_in(About::Shop, Some(MAKING), words);
    }
    let words = words_of_key(&key);
    if wanted.is_some() {
        report.holds_that(
            About::Shop,
            None,
            format!("it is the shop with the key {key} ({words})"),
        );
    } else {
        report.leaves_open(
            About::Shop,
            None,
            format!(
                "the shop's key is {key}, in short {words}: hold it against the one that the \
                 shop gives you"
            ),
        );
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
        let words = format!("the shop log has {bytes} bytes; at most {LOG_BYTES_MAX} are read");
        report.fails_in(About::Log, None, words);
        return lines;
    }
    for (tablet, name, bytes) in logs {
        let read = read_log(bytes, tablet, &[]);
        if let Some((line, why)) = read.fault {
            report.fails_in(About::Log, Some(name), format!("line {line}: {why}"));
        } else if read.bytes < bytes.len() {
            report.fails_in(About::Log, Some(name), "its last line is not whole");
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
        let words = format!("line {}: it counts for nothing: {}", refused.n, refused.why);
        report.fails_in(About::Log, Some(&log_name(refused.tablet)), words);
    }
    for (tablet, n, missing) in &shop.waiting {
        let words = format!("line {n}: it knew of lines of tablet {missing} that are not there");
        report.fails_in(About::Log, Some(&log_name(*tablet)), words);
    }
    if shop.refused.is_empty() && shop.waiting.is_empty() {
        let count: usize = lines.values().map(Vec::len).sum();
        let words = format!(
            "the shop log holds from its first line on; lines: {count}, tablets: {}, people: {}",
            shop.tablets.len(),
            shop.people.len()
        );
        report.holds_that(About::Log, None, words);
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
        report.fails_in(
            About::Signer,
            Some(SIGNER),
            "the record names no tablet that signed it",
        );
        return;
    };
    let name = called(shop, tablet);
    match shop {
        Some(shop) if shop.is_member(tablet, key) => report.holds_that(
            About::Signer,
            Some(SIGNER),
            format!("it is the key of {name}, a member of the shop ({words})"),
        ),
        Some(_) => report.fails_in(
            About::Signer,
            Some(SIGNER),
            format!("it is no key by which the shop knows {name} ({words})"),
        ),
        None if making.shop.is_some() => report.fails_in(
            About::Signer,
            Some(SIGNER),
            format!("whether {name} belongs to the shop is not known without its log ({words})"),
        ),
        None if making
            .keys
            .get(&tablet)
            .is_some_and(|keys| keys.iter().any(|k| k == key)) =>
        {
            report.leaves_open(
                About::Signer,
                Some(SIGNER),
                format!(
                    "it is the key that {name} says it has, in short {words}: hold it against \
                     the one that its owner gives you"
                ),
            );
        }
        None => report.fails_in(
            About::Signer,
            Some(SIGNER),
            format!("it is not the key that {name} has sealed its journal with ({words})"),
        ),
    }
}
