//! Tablets for these tests: each with a data folder of its own.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use tempfile::TempDir;
use trayzero::data::crew::CodeCost;
use trayzero::data::store::{Clock, OpenJob, SetClock, Stamp, Store};
use trayzero::shop::{Exchange, Surroundings};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, Opening, Person};
use uuid::Uuid;

/// A window as large as a tablet's, in points.
pub const SIZE: egui::Vec2 = egui::vec2(1280.0, 800.0);

/// Codes that cost no time, for tests about something else.
pub const LIGHT: CodeCost = CodeCost {
    memory_kib: 64,
    passes: 1,
};

pub const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

/// A folder in memory where there is one: these tests are about order, not about disks.
pub fn scratch() -> TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() {
        tempfile::tempdir_in(memory).unwrap()
    } else {
        tempfile::tempdir().unwrap()
    }
}

pub fn layout(key: &str) -> Layout {
    let one = shipped().iter().find(|s| s.key == key).unwrap();
    Layout::from_json(one.key, one.json.as_bytes()).unwrap()
}

pub fn opening(key: &str, bay: &str, technician: &Person) -> Opening {
    Opening {
        order_number: None,
        layout: layout(key),
        vehicle: format!("Van in {bay}"),
        bay: bay.to_owned(),
        technician: technician.clone(),
    }
}

/// One tablet: its data folder, its clock, and what it has open.
pub struct Tablet {
    pub root: PathBuf,
    pub shop: PathBuf,
    pub person: Person,
    pub clock: SetClock,
    pub store: Store,
    pub exchange: Exchange,
    pub open: Option<OpenJob>,
    around: Surroundings,
}

impl Tablet {
    pub fn new(root: &Path, shop: &Path, person: &str) -> Self {
        Self::within(root, shop, person, &Surroundings::default())
    }

    /// A tablet whose shop may be a bucket.
    pub fn within(root: &Path, shop: &Path, person: &str, around: &Surroundings) -> Self {
        let store = Store::open(root, START).unwrap();
        let exchange = Exchange::within(&store.for_exchange(), shop, around);
        Self {
            root: root.to_owned(),
            shop: shop.to_owned(),
            around: around.clone(),
            person: Person::new(person),
            clock: SetClock::at(START),
            store,
            exchange,
            open: None,
        }
    }

    pub fn id(&self) -> Uuid {
        self.store.tablet().id()
    }

    /// The program ends without a word and starts again.
    pub fn restart(&mut self) {
        let job = self.open.take().map(|open| open.id());
        self.store = Store::open(&self.root, self.clock.now()).unwrap();
        self.exchange = Exchange::within(&self.store.for_exchange(), &self.shop, &self.around);
        self.open = job.map(|job| self.store.open_job(job).unwrap());
    }

    pub fn create(&mut self, key: &str, bay: &str) -> Uuid {
        let opening = opening(key, bay, &self.person);
        let open = self.store.create_job(opening, self.clock.now()).unwrap();
        let job = open.id();
        self.open = Some(open);
        job
    }

    pub fn note(&mut self, text: &str) {
        let event = Event::Noted {
            text: text.to_owned(),
        };
        let now = self.clock.advance(1_000);
        let open = self.open.as_mut().unwrap();
        open.propose(now, &self.person, &[event]).unwrap();
    }

    /// A round that has to go well, and its new lines taken in.
    pub fn meet(&mut self) -> trayzero::shop::Round {
        let round = self.exchange.round();
        assert_eq!(round.fault, None);
        self.take_foreign();
        round
    }

    pub fn take_foreign(&mut self) {
        if let Some(open) = &mut self.open {
            open.take_foreign().unwrap();
        }
    }
}

/// Gives every tablet's lines to every other one.
pub fn meet_all(tablets: &mut [Tablet]) {
    for _ in 0..3 {
        for tablet in tablets.iter_mut() {
            tablet.meet();
        }
    }
}

/// Numbers that a seed fixes: `SplitMix64` (Steele, Lea and Flood, OOPSLA 2014; from memory).
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, most: usize) -> usize {
        (self.next() % most as u64) as usize
    }

    pub fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

/// A clock that can be shared with threads.
pub fn shared_clock() -> Arc<SetClock> {
    Arc::new(SetClock::at(START))
}
