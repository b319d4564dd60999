//! The board of 6,000 bays in a bucket on this machine: the first one, and one tap of a tablet
//! until it stands on the board again.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Instant;

use trayzero::data::store::Store;
use trayzero::shop::{Admitted, Exchange, Visit};
use trayzero_core::job::{Entry, Event};
use trayzero_core::journal::Writer;
use trayzero_tests::object_server::{BUCKET, ObjectServer};
use uuid::Uuid;

use super::jobs::{NOW, one_job, stamped};
use super::table::{Goal, Row, least};

const TABLETS: u16 = 500;
const BAYS_A_TABLET: u16 = 12;
/// So many lines has a bay.
const LINES: usize = 100;
const ROUNDS: usize = 5;

/// A tablet with its bays, which pushes to a prefix of its own, so that it need not read the
/// others' lines; what it has pushed is laid beside theirs.
struct Depot<'a> {
    server: &'a ObjectServer,
    store: Store,
    exchange: Exchange,
    n: u16,
    events: &'a [Event],
}

impl<'a> Depot<'a> {
    fn new(server: &'a ObjectServer, root: &Path, n: u16, events: &'a [Event]) -> Self {
        let store = Store::open(&root.join(n.to_string()), NOW).unwrap();
        let place = server.place(&format!("one-{n}"));
        let exchange = Exchange::within(&store.for_exchange(), &place, &server.surroundings());
        let mut depot = Self {
            server,
            store,
            exchange,
            n,
            events,
        };
        for bay in 0..BAYS_A_TABLET {
            depot.tell(bay, 0, LINES);
        }
        depot
    }

    /// More lines of a bay.
    fn tell(&mut self, bay: u16, told: usize, until: usize) {
        let job = self.n * BAYS_A_TABLET + bay;
        let tablet = self.store.tablet().id();
        let entries = stamped(&self.events[told..until], told, job);
        let of_tablet = |entry: Entry| Entry { tablet, ..entry };
        let entries: Vec<Entry> = entries.into_iter().map(of_tablet).collect();
        let id = Uuid::from_u128(1 + u128::from(job));
        let opened = Writer::open(self.store.root(), id, tablet).unwrap();
        let mut writer = opened.writer;
        writer.append(&entries).unwrap();
    }

    /// Brings what is new to the bucket.
    fn push(&mut self) {
        assert_eq!(self.exchange.round().fault, None);
        let (from, to) = (format!("one-{}/", self.n), "all/");
        self.server.objects(|objects| {
            let own: BTreeMap<String, Vec<u8>> = objects
                .range(from.clone()..)
                .take_while(|(name, _)| name.starts_with(&from))
                .map(|(name, bytes)| (name.replacen(&from, to, 1), bytes.clone()))
                .collect();
            objects.extend(own);
        });
    }
}

pub fn rows() -> Vec<Row> {
    let server = ObjectServer::start();
    let scratch = tempfile::tempdir().unwrap();
    let events = one_job("inline-4-16v");
    let mut depots: Vec<Depot<'_>> = (0..TABLETS)
        .map(|n| {
            let mut depot = Depot::new(&server, scratch.path(), n, &events);
            depot.push();
            depot
        })
        .collect();
    println!(
        "{} objects in {BUCKET}",
        server.objects(|objects| objects.len())
    );
    let cache = scratch.path().join("cache");
    let place = server.place("all");
    let begun = Instant::now();
    let before = server.asked();
    let mut visit = Visit::within(&place, None, &cache, &server.surroundings());
    visit.look().unwrap();
    let fetched_ms = begun.elapsed().as_secs_f64() * 1_000.0;
    let admitted = Admitted::of(visit.folder(), None).unwrap();
    let mut board = admitted.board(visit.folder()).unwrap();
    visit.read_on(&mut board).unwrap();
    let bays = usize::from(TABLETS * BAYS_A_TABLET);
    assert_eq!(board.cards().len(), bays);
    let first_ms = begun.elapsed().as_secs_f64() * 1_000.0;
    println!(
        "fetched in {fetched_ms:.0} ms: {:?}",
        server.asked() - before
    );
    let mut refreshes = Vec::new();
    for round in 0..ROUNDS {
        let depot = &mut depots[round * 7];
        depot.tell(3, LINES + round, LINES + round + 1);
        depot.push();
        let before = server.asked();
        let begun = Instant::now();
        visit.look().unwrap();
        let changed = visit.read_on(&mut board).unwrap();
        refreshes.push(begun.elapsed().as_secs_f64() * 1_000.0);
        assert_eq!(changed.len(), 1);
        println!("refreshed: {:?}", server.asked() - before);
    }
    let first = Row {
        what: format!("first board of a bucket: {bays} bays of {TABLETS} tablets"),
        figure: first_ms,
        yardstick: None,
        unit: "ms",
        goal: Goal::AtMost(10_000.0),
    };
    let again = Row::ratio(
        "one tap of a tablet on the board of a bucket / first board",
        least(&refreshes),
        first_ms,
        "ms",
        0.02,
    );
    vec![first, again]
}
