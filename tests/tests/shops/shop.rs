//! Shops of the yard's jobs, each founded by a tablet of its own. All of them number their jobs
//! alike, so that their identities are the same.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use trayzero::data::crew::{CodeCost, Crew};
use trayzero::data::store::{Stamp, Store};
use trayzero::shop::Exchange;
use trayzero_core::journal::Writer;
use trayzero_tests::yard::{self, Played};

pub const NOW: Stamp = Stamp {
    at_ms: yard::NOW_MS,
    offset_min: yard::OFFSET_MIN,
};

const LIGHT: CodeCost = CodeCost {
    memory_kib: 64,
    passes: 1,
};

/// A shop's folder with its first key.
pub struct YardShop {
    pub folder: PathBuf,
    pub key: String,
}

/// The yard's bays with these numbers.
pub fn bays(numbers: &[u128]) -> Vec<&'static Played> {
    static ALL: OnceLock<Vec<Played>> = OnceLock::new();
    let all = ALL.get_or_init(|| yard::bays(18));
    let is_asked = |bay: &&Played| numbers.contains(&bay.number);
    all.iter().filter(is_asked).collect()
}

impl YardShop {
    /// A shop that works on these jobs, below a folder.
    pub fn of(scratch: &Path, name: &str, jobs: &[&Played]) -> Self {
        let (root, folder) = (scratch.join(format!("{name} tablet")), scratch.join(name));
        fs::create_dir(&folder).unwrap();
        let store = Store::open(&root, NOW).unwrap();
        let mut crew = Crew::open(&root, store.tablet().clone(), LIGHT);
        crew.add_first_foreman("Mira", &"forge-71".into(), NOW)
            .unwrap();
        let tablet = store.tablet().id();
        for job in jobs {
            let mut writer = Writer::open(&root, job.job(), tablet).unwrap().writer;
            let mut entries = job.entries.clone();
            for entry in &mut entries {
                entry.tablet = tablet;
            }
            writer.append(&entries).unwrap();
        }
        let mut exchange = Exchange::new(&store.for_exchange(), &folder);
        for _ in 0..2 {
            let round = exchange.round();
            assert_eq!(round.fault, None);
        }
        let key = crew.shop().unwrap().key.to_string();
        Self { folder, key }
    }
}
