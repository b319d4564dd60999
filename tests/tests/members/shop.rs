//! Tablets of a shop that meet in a folder, each with its crew.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;
use trayzero::data::crew::{Approval, CodeCost, Crew, Role, Uptime};
use trayzero::data::store::{Stamp, Store};
use trayzero::shop::Exchange;
use trayzero_core::job::{Entry, Event, Person};
use trayzero_core::shop_log::{Deed, TabletCard};
use uuid::Uuid;

pub const LIGHT: CodeCost = CodeCost {
    memory_kib: 64,
    passes: 1,
};

pub const START: Stamp = Stamp {
    at_ms: 1_796_000_000_000,
    offset_min: 60,
};

pub const MIRA_CODE: &str = "forge-71";
pub const ADA_CODE: &str = "258013";
pub const JOB: Uuid = Uuid::from_u128(77);

pub fn later(seconds: i64) -> Stamp {
    Stamp {
        at_ms: START.at_ms + seconds * 1_000,
        ..START
    }
}

pub fn mira() -> Person {
    Person::new("Mira")
}

pub fn ada() -> Person {
    Person::new("Ada")
}

/// One tablet with its crew, and its way to the folder.
pub struct Tablet {
    pub root: PathBuf,
    pub store: Store,
    pub crew: Crew,
    pub exchange: Exchange,
}

impl Tablet {
    pub fn at(root: &Path, shop: &Path) -> Self {
        let store = Store::open(root, START).unwrap();
        let exchange = Exchange::new(&store.for_exchange(), shop);
        // Its waits are over at once: these tests are about who may, not about how often.
        let up = std::sync::atomic::AtomicI64::new(0);
        let uptime =
            Uptime::by(move || up.fetch_add(100_000_000, std::sync::atomic::Ordering::Relaxed));
        let crew = Crew::open_with(root, store.tablet().clone(), LIGHT, uptime);
        Self {
            root: root.to_owned(),
            store,
            crew,
            exchange,
        }
    }

    pub fn id(&self) -> Uuid {
        self.store.tablet().id()
    }

    /// A round with the folder, and what came of it taken in.
    pub fn meet(&mut self) {
        let round = self.exchange.round();
        assert_eq!(round.fault, None);
        if let Some(sight) = round.sight {
            self.crew.take_sight(sight, later(1)).unwrap();
        }
    }

    pub fn agreed(&mut self) -> Approval {
        self.crew
            .approve(&mira(), &MIRA_CODE.into(), later(2))
            .unwrap()
    }

    /// The foreman gives a person another role here.
    pub fn makes(&mut self, person: &Person, role: Role, now: Stamp) {
        let by = self.agreed();
        let name = person.to_string();
        let deed = Deed::RoleChanged { name, role };
        self.crew.change(deed, by, now).unwrap();
    }

    /// The names and roles as this tablet has them.
    pub fn people(&self) -> Vec<(String, Role)> {
        let members = self.crew.members();
        members.map(|m| (m.person.to_string(), m.role)).collect()
    }

    /// An event signed here by somebody, as it would stand in the journal.
    pub fn signed(&mut self, person: &Person, code: &str) -> Entry {
        let by = self
            .crew
            .enter_code(person, &code.into(), later(60))
            .unwrap();
        let event = self.crew.sign(JOB, Event::TakenOver { by }).unwrap();
        Entry {
            id: Uuid::from_u128(1),
            tablet: self.id(),
            at_ms: later(60).at_ms,
            offset_min: 60,
            clock: (later(60).at_ms as u64, 0),
            after: None,
            paper: None,
            who: person.clone(),
            event,
        }
    }
}

pub struct Shop {
    pub scratch: TempDir,
    pub folder: PathBuf,
}

impl Shop {
    pub fn new() -> Self {
        let scratch = tempfile::tempdir().unwrap();
        let folder = scratch.path().join("shop");
        fs::create_dir(&folder).unwrap();
        Self { scratch, folder }
    }

    pub fn tablet(&self, name: &str) -> Tablet {
        Tablet::at(&self.scratch.path().join(name), &self.folder)
    }

    /// A shop that Mira founds, with Ada in it.
    pub fn founded(&self) -> Tablet {
        let mut one = self.tablet("one");
        one.crew
            .add_first_foreman("Mira", &MIRA_CODE.into(), START)
            .unwrap();
        let by = one.agreed();
        one.crew
            .add(
                "Ada",
                Role::Technician,
                Some(&ADA_CODE.into()),
                by,
                later(1),
            )
            .unwrap();
        one.meet();
        one
    }

    /// Another tablet, admitted by Mira on the first one and in the shop.
    pub fn admitted(&self, one: &mut Tablet, name: &str) -> Tablet {
        let mut two = self.tablet(name);
        two.meet();
        one.meet();
        let asking = one.crew.asking();
        let (card, words) = asking.iter().find(|(c, _)| c.tablet == two.id()).unwrap();
        let by = one.agreed();
        one.crew
            .admit(card.clone(), Vec::new(), by, later(3))
            .unwrap();
        one.meet();
        two.meet();
        let offers = two.crew.offers();
        assert_eq!(offers.len(), 1);
        assert!(offers[0].is_admitted);
        assert_eq!(offers[0].words, *words, "both show the same words");
        two.crew.join_shop(offers[0].key, None, later(4)).unwrap();
        one.meet();
        two.meet();
        two
    }

    /// Every byte that lies in the folder.
    pub fn bytes(&self) -> Vec<u8> {
        let mut all = Vec::new();
        let mut folders = vec![self.folder.clone()];
        while let Some(folder) = folders.pop() {
            for name in fs::read_dir(folder).unwrap() {
                let path = name.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else {
                    all.extend(fs::read(&path).unwrap());
                    all.push(b'\n');
                }
            }
        }
        all
    }
}

pub fn card_of(tablet: &Tablet) -> TabletCard {
    tablet.crew.own_card()
}
