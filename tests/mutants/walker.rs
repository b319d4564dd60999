//! Walks a core in which one rule is broken, for every rule in turn, and plays the rows of
//! what two tablets tell. Built by the test `mutants` beside a patched copy of the core;
//! never part of the product.

mod rows;

use trayzero_core::engine::Layout;
use trayzero_core::job::{Entry, Event, HoldKind};
use trayzero_core::parts::Item;
use trayzero_mutants::bay::Bay;
use trayzero_mutants::engines::small_engine;
use trayzero_mutants::told::{Tally, run};
use trayzero_mutants::walk::{Bounds, walk};

/// A prepared engine on which nothing is lost; the walks below add to it.
fn plain(name: &'static str, stoppers: bool) -> Bounds {
    Bounds {
        prepared: true,
        drops_max: 0,
        locks_lost_max: 0,
        spare_locks: false,
        seals_spoiled_max: 0,
        holds: &[],
        pauses: false,
        stops: false,
        plugs_any_time: false,
        wrong_counts: false,
        ..Bounds::wide(name, small_engine(&[&[1]], stoppers))
    }
}

/// Small walks, the smallest first, that between them meet every rule.
fn walks() -> [Bounds; 5] {
    [
        Bounds {
            pauses: true,
            stops: true,
            ..plain("rests and stops", false)
        },
        Bounds {
            plugs_any_time: true,
            early_counts: true,
            ..plain("stoppers and early counts", true)
        },
        Bounds {
            holds: &[HoldKind::Piston],
            wrong_counts: true,
            ..plain("a hold and wrong counts", false)
        },
        Bounds {
            drops_max: 1,
            locks_lost_max: 1,
            ..plain("a lock dropped", false)
        },
        Bounds {
            drops_max: 1,
            locks_lost_max: 1,
            spare_locks: true,
            ..plain("a lock dropped and made up for", false)
        },
    ]
}

/// Runs of several tablets for what no walk has caught.
const RUNS: u64 = 1_200;

/// One whole job with rags in its kit, from which each run takes some of the beginning.
fn whole(layout: Layout) -> (Vec<Entry>, Layout) {
    let mut bay = Bay::open(layout.clone());
    bay.must(Event::KitCounted {
        item: Item::Rag,
        count: 2,
    });
    bay.work_to_the_end();
    (bay.entries, layout)
}

/// The first row that does not come out as it must.
fn failing_row() -> Option<String> {
    let failed = |row: &fn()| std::panic::catch_unwind(row).is_err();
    let (name, _) = rows::ROWS.iter().find(|(_, row)| failed(row))?;
    Some((*name).to_owned())
}

/// One line a mutant: its number, `caught` or `alive`, the walk, and the fault.
fn main() {
    let mutants: usize = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(0);
    let jobs = [small_engine(&[&[1]], true), small_engine(&[&[1], &[2]], false)].map(whole);
    // A row that fails panics; its name is enough.
    std::panic::set_hook(Box::new(|_| ()));
    for mutant in 0..=mutants {
        trayzero_core::BROKEN_RULE.store(mutant, std::sync::atomic::Ordering::Relaxed);
        let caught = walks().into_iter().find_map(|bounds| {
            let fault = walk(&bounds).err()?;
            Some(format!("{}: {}", bounds.name, fault.what))
        });
        let caught = caught.or_else(failing_row).or_else(|| {
            (0..RUNS).find_map(|seed| {
                let (entries, layout) = &jobs[(seed % 2) as usize];
                let fault = run(seed, entries, layout, &mut Tally::default()).err()?;
                let what = fault.split(';').next().unwrap_or_default();
                Some(format!("tablets, seed {seed}: {what}"))
            })
        });
        match caught {
            Some(what) => println!("{mutant} caught {what}"),
            None => println!("{mutant} alive"),
        }
    }
}
