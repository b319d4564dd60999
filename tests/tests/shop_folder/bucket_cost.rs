//! What a bucket costs: a day of a shop of six bays, every request counted by the server, and
//! from it a company of a thousand such shops after five years.
//!
//! Prices: the public price list of Amazon S3, class Standard, US East, March 2026: 1,000 PUT
//! or LIST 0.005 USD, 1,000 GET 0.0004 USD, a GB and month 0.023 USD, a GB out to the internet
//! 0.09 USD; taking away costs nothing. How often people tap, and how long a job lasts: common
//! practice, no source.

use std::time::Duration;

use trayzero::shop::ExchangePace;
use trayzero_tests::figures::say;
use trayzero_tests::object_server::{Asked, ObjectServer};

use super::converge::{tap, technician};
use super::parts::{Dice, Tablet, scratch};

const BAYS: usize = 6;
/// A tap or a few at once come every so many seconds, in the middle.
const BETWEEN_TAPS_S: usize = 240;
const DAY_H: u64 = 9;
const SHOPS: u64 = 1_000;
const DAYS_A_MONTH: f64 = 21.0;
/// Five years of 250 days; a job is in a bay for two and a half of them.
const JOBS_CLOSED: f64 = 6.0 * 250.0 * 5.0 / 2.5;
/// What servers of one bucket take for one prefix each second (the same source: 3,500 requests
/// that write or list, and 5,500 that read).
const WRITES_A_SECOND: f64 = 3_500.0;

const PUT_OR_LIST_USD: f64 = 0.005 / 1_000.0;
const GET_USD: f64 = 0.000_4 / 1_000.0;
const GB_MONTH_USD: f64 = 0.023;
const GB_OUT_USD: f64 = 0.09;

struct Day {
    asked: Asked,
    taps: u64,
    bytes_of_a_job: f64,
}

/// So many hours of a shop, as its clocks would have them.
fn work(hours: u64) -> Day {
    let server = ObjectServer::start();
    let scratch = scratch();
    let place = server.place("shop");
    let around = server.surroundings();
    let usual = ExchangePace::default().poll;
    let mut dice = Dice(2026);
    let mut tablets: Vec<Tablet> = (0..BAYS)
        .map(|n| {
            let root = scratch.path().join(n.to_string());
            let mut tablet = Tablet::within(&root, &place, &format!("Person {n}"), &around);
            tablet.create("inline-4-16v", &format!("Bay {n}"));
            tablet
        })
        .collect();
    for tablet in &mut tablets {
        tablet.meet();
    }
    let before = server.asked();
    let people = tablets.iter().zip(1..);
    let mut signs: Vec<_> = people.map(|(t, n)| technician(&t.person, n)).collect();
    let mut looks = [Duration::ZERO; BAYS];
    let mut taps = 0;
    for second in 0..hours * 3_600 {
        let now = Duration::from_secs(second);
        for (n, tablet) in tablets.iter_mut().enumerate() {
            let tapped = dice.one_in(BETWEEN_TAPS_S) && tap(tablet, &mut signs[n], &mut dice) > 0;
            let hears = now >= looks[n];
            if !(tapped || hears) {
                continue;
            }
            taps += u64::from(tapped);
            assert_eq!(tablet.exchange.round_of(hears).fault, None);
            if hears {
                looks[n] = now + tablet.exchange.pause(usual);
            }
        }
    }
    let lines = server.objects(|objects| {
        let pieces = objects.iter().filter(|(name, _)| name.contains("/lines/"));
        pieces.map(|(_, bytes)| bytes.len()).sum::<usize>()
    });
    Day {
        asked: server.asked() - before,
        taps,
        bytes_of_a_job: lines as f64 / BAYS as f64,
    }
}

/// Dollars a month for the company, and its requests a second while it works.
fn company(day: &Day, hours: u64) {
    let asked = &day.asked;
    let times = DAY_H as f64 / hours as f64;
    let a_day = |n: u64| n as f64 * times;
    let writes = a_day(asked.puts + asked.lists);
    let (reads, out_gb) = (a_day(asked.gets), a_day(asked.bytes_down) / 1e9);
    let shops = SHOPS as f64;
    let seconds = DAY_H as f64 * 3_600.0;
    let requests_usd = (writes * PUT_OR_LIST_USD + reads * GET_USD) * shops * DAYS_A_MONTH;
    let out_usd = out_gb * GB_OUT_USD * shops * DAYS_A_MONTH;
    // A whole job has about as much again as it has in the middle.
    let stored_gb = JOBS_CLOSED * shops * 2.0 * day.bytes_of_a_job / 1e9;
    println!(
        "a shop of {BAYS} bays, {hours} h of work: {} taps, {asked:?}",
        day.taps
    );
    println!(
        "{SHOPS} shops, {} open bays: {:.0} writes and lists and {:.0} reads a second, {:.0} GB \
         out a month",
        SHOPS * BAYS as u64,
        writes * shops / seconds,
        reads * shops / seconds,
        out_gb * shops * DAYS_A_MONTH
    );
    println!(
        "a month: requests {requests_usd:.0} USD, transfer {out_usd:.0} USD, {stored_gb:.0} GB of \
         {:.1} million closed jobs {:.0} USD",
        JOBS_CLOSED * shops / 1e6,
        stored_gb * GB_MONTH_USD
    );
    println!(
        "one prefix for all of them would be asked {:.2} of what it takes",
        writes * shops / seconds / WRITES_A_SECOND
    );
    say(
        "bucket: requests of a bay and day",
        (a_day(asked.puts + asked.lists + asked.gets) / BAYS as f64) as u64,
    );
    say(
        "bucket: US cents of a bay and month",
        ((requests_usd + out_usd) * 100.0 / shops / BAYS as f64) as u64,
    );
}

#[test]
fn a_day_of_a_shop_in_a_bucket_costs_by_its_work() {
    let is_long = std::env::var_os("TRAYZERO_LONG").is_some();
    let hours = if is_long { DAY_H } else { 1 };
    let day = work(hours);
    company(&day, hours);
    // Two puts a tap; of pieces put together nothing is put besides.
    assert!(day.taps > 30 * hours);
    assert!(day.asked.puts <= 2 * day.taps + 2 * BAYS as u64);
    // Looks come by the clock: no more than one in nine seconds, and a list of boxes with
    // every tenth.
    let most = BAYS as u64 * hours * 3_600 / 9 * 11 / 10 + 2 * BAYS as u64;
    assert!(day.asked.lists <= most, "{} lists", day.asked.lists);
    // Each tap is read by each other tablet as a head and a piece.
    let others = BAYS as u64 - 1;
    assert!(
        day.asked.gets <= 2 * day.taps * others + 40 * BAYS as u64,
        "{:?}",
        day.asked
    );
}
