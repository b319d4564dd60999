//! Any two tablets that hold the same lines show the same state, whatever order the
//! lines came in; and what was acknowledged is everywhere in the end.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use trayzero::data::store::ProposeError;
use trayzero::shop::{Board, Surroundings};
use trayzero_core::job::{Event, JobState, Person, SearchPlace, SignOff};
use trayzero_core::journal::{Limits, journal_path, read_journal};
use trayzero_core::parts::{Item, Place};
use trayzero_core::shop_log::Proofs;
use trayzero_tests::demo_script::technician::Technician;
use trayzero_tests::object_server::ObjectServer;
use uuid::Uuid;

use super::parts::{Dice, Tablet, meet_all, scratch};

/// Seeded runs; a failure prints its seed.
const RUNS: u64 = 300;
/// Steps of a run: taps, rounds, cuts, restarts.
const STEPS: usize = 90;

pub fn technician(person: &Person, entering: u128) -> Technician {
    let mut next = entering << 64;
    Technician {
        name: person.clone(),
        second: Person::new("Noor"),
        foreman: Person::new("Mira"),
        leaks: BTreeMap::new(),
        found_at: SearchPlace::BenchAndFloor,
        entering: Box::new(move || {
            next += 1;
            Uuid::from_u128(next)
        }),
    }
}

/// Something besides the next step: what happens in a shop, and what two tablets that do
/// not see each other say against each other.
fn aside(dice: &mut Dice, state: &JobState, signs: &mut Technician) -> Vec<Event> {
    match dice.below(8) {
        0 => vec![Event::Noted {
            text: format!("note {}", dice.below(100)),
        }],
        1 => vec![Event::Paused {
            why: "other work".to_owned(),
        }],
        2 => vec![Event::Resumed {}],
        3 => vec![Event::PartDropped {
            item: Item::Lock,
            count: 1,
            from: Place::Tray,
            bank: None,
            valve: None,
        }],
        4 => state
            .drops_adrift()
            .take(1)
            .map(|drop| Event::PartFound {
                dropped: drop.id,
                found_at: SearchPlace::BenchAndFloor,
                to: drop.from,
            })
            .collect(),
        5 => state
            .undo_offer()
            .map(|(event, _)| signed_taking_back(state, signs, event))
            .into_iter()
            .collect(),
        6 => state
            .open_conflicts()
            .take(1)
            .map(|conflict| Event::ConflictResolved {
                conflict: conflict.entry.id,
                by: signs.sign_as(&Person::new("Noor")),
                note: "looked at the engine".to_owned(),
                seen: state.sights_of(conflict.entry.id, &conflict.entry.event),
                second: Some(signs.sign_as(&Person::new("Mira"))),
            })
            .collect(),
        _ => vec![Event::StockIssued {
            item: Item::Lock,
            count: 2,
        }],
    }
}

/// A taking back with as many signatures as it takes.
fn signed_taking_back(state: &JobState, signs: &mut Technician, event: Uuid) -> Event {
    let needed = state.signatures_to_take_back(event);
    let by = ["Mira", "Noor"][..needed.min(2)].iter();
    let by = by.map(|name| signs.sign_as(&Person::new(name))).collect();
    Event::Withdrawn { event, by }
}

/// One tap at a tablet; gives how many events were acknowledged.
pub fn tap(tablet: &mut Tablet, signs: &mut Technician, dice: &mut Dice) -> usize {
    let Some(open) = &mut tablet.open else {
        return 0;
    };
    let events = if dice.one_in(5) {
        aside(dice, open.state(), signs)
    } else {
        signs.tap(open.state(), None)
    };
    if events.is_empty() {
        return 0;
    }
    // Clocks of tablets differ, and one now and then is set back.
    let step = if dice.one_in(20) {
        -40_000
    } else {
        dice.below(30_000) as i64
    };
    let now = tablet.clock.advance(step);
    match open.propose(now, &tablet.person, &events) {
        Ok(_) => events.len(),
        Err(ProposeError::Refused { .. }) => 0,
        Err(error) => panic!("{error}"),
    }
}

/// Identities of the events that a tablet has on its own disk, seals aside.
pub fn acknowledged(root: &Path, job: Uuid, tablet: Uuid) -> Vec<Uuid> {
    let file = journal_path(root, job, tablet);
    if !file.exists() {
        return Vec::new();
    }
    let read = read_journal(&file, job, tablet, Limits::OWN).unwrap();
    assert_eq!((read.fault, read.torn), (None, None));
    let taps = read.entries.iter();
    taps.filter(|entry| !matches!(entry.event, Event::Sealed(_)))
        .map(|entry| entry.id)
        .collect()
}

#[derive(Default)]
struct Tally {
    taps: usize,
    conflicts: usize,
    restarts: usize,
    cuts: usize,
}

fn run(seed: u64, tally: &mut Tally, where_to: impl Fn(&Path) -> (PathBuf, Surroundings)) {
    let scratch = scratch();
    let (shop, around) = where_to(scratch.path());
    let mut dice = Dice(seed);
    let mut tablets: Vec<Tablet> = ["Ada", "Ben", "Cleo"]
        .iter()
        .map(|name| Tablet::within(&scratch.path().join(name), &shop, name, &around))
        .collect();
    let mut signs: Vec<Technician> = tablets
        .iter()
        .zip(1..)
        .map(|(tablet, n)| technician(&tablet.person, n))
        .collect();
    let shared = tablets[0].create("inline-4-8v", "Bay 1");
    let other = tablets[2].create("inline-3-12v", "Bay 2");
    tablets[0].meet();
    tablets[1].meet();
    tablets[1].open = Some(tablets[1].store.open_job(shared).unwrap());
    let mut boards: Vec<Board> = tablets
        .iter()
        .map(|tablet| Board::of_folder(&tablet.root, Limits::OWN, Proofs::default()).unwrap())
        .collect();
    let mut is_cut = [false; 3];
    let mut taps = [1, 0, 1];
    for _ in 0..STEPS {
        let at = dice.below(3);
        match dice.below(12) {
            0 => {
                is_cut[at] = !is_cut[at];
                tally.cuts += usize::from(is_cut[at]);
            }
            1 | 2 if !is_cut[at] => {
                tablets[at].meet();
                boards[at].read_on().unwrap();
            }
            3 if dice.one_in(3) => {
                tablets[at].restart();
                tally.restarts += 1;
            }
            _ => taps[at] += tap(&mut tablets[at], &mut signs[at], &mut dice),
        }
    }
    let job_of = [shared, shared, other];
    let mut kept: Vec<(Uuid, Uuid)> = Vec::new();
    for (at, tablet) in tablets.iter().enumerate() {
        let ids = acknowledged(&tablet.root, job_of[at], tablet.id());
        assert_eq!(ids.len(), taps[at], "seed {seed}: on its own disk");
        kept.extend(ids.into_iter().map(|id| (job_of[at], id)));
    }
    for tablet in &mut tablets {
        // A signature may still wait for the tablet's own.
        if let Some(open) = &mut tablet.open {
            open.seal(tablet.clock.advance(1), &tablet.person);
        }
    }
    meet_all(&mut tablets);
    for board in &mut boards {
        board.read_on().unwrap();
    }
    tally.taps += taps.iter().sum::<usize>();
    let open: Vec<(Uuid, String)> = tablets
        .iter_mut()
        .filter_map(|tablet| tablet.open.take())
        .map(|open| (open.id(), format!("{:?}", open.state())))
        .collect();
    assert_eq!(open.len(), 3);
    for job in [shared, other] {
        tally.conflicts += check_same(seed, &tablets, &boards, job, &open, &kept);
    }
}

/// Every tablet shows the same to the byte: read anew, as it stood open all the time, and
/// on its board, which has only ever read on. Gives the number of conflicts.
fn check_same(
    seed: u64,
    tablets: &[Tablet],
    boards: &[Board],
    job: Uuid,
    open: &[(Uuid, String)],
    kept: &[(Uuid, Uuid)],
) -> usize {
    let opened: Vec<_> = tablets
        .iter()
        .map(|tablet| tablet.store.open_job(job).unwrap())
        .collect();
    let shown: Vec<String> = opened
        .iter()
        .map(|open| format!("{:?}", open.state()))
        .collect();
    assert_eq!(shown[0], shown[1], "seed {seed}");
    assert_eq!(shown[0], shown[2], "seed {seed}");
    for board in boards {
        let state = board.state(job).unwrap();
        assert_eq!(shown[0], format!("{state:?}"), "seed {seed}: board");
    }
    for (_, state) in open.iter().filter(|(of, _)| *of == job) {
        assert_eq!(shown[0], *state, "seed {seed}: open");
    }
    for (_, id) in kept.iter().filter(|(of, _)| *of == job) {
        assert!(opened.iter().all(|o| o.state().knows(*id)), "seed {seed}");
    }
    assert!(opened.iter().all(|open| open.clashes().is_empty()));
    opened[0].state().conflicts().len()
}

#[test]
fn three_tablets_cut_off_at_random_end_with_the_same_state_to_the_byte() {
    let mut tally = Tally::default();
    for seed in 0..RUNS {
        run(seed, &mut tally, |scratch| {
            let shop = scratch.join("shop");
            std::fs::create_dir(&shop).unwrap();
            (shop, Surroundings::default())
        });
    }
    tally.say("a folder");
}

#[test]
fn three_tablets_cut_off_from_a_bucket_end_with_the_same_state_to_the_byte() {
    let mut tally = Tally::default();
    let server = ObjectServer::start();
    for seed in 0..RUNS {
        let shop = server.place(&format!("run-{seed}"));
        run(seed, &mut tally, |_| (shop.clone(), server.surroundings()));
        server.objects(BTreeMap::clear);
    }
    tally.say("a bucket");
}

impl Tally {
    fn say(&self, place: &str) {
        println!(
            "{place}: {RUNS} runs: {} taps acknowledged, {} conflicts, {} restarts, {} cuts, lost: 0",
            self.taps, self.conflicts, self.restarts, self.cuts
        );
        assert!(self.conflicts > 100, "the runs have to make conflicts");
        assert!(self.restarts > 100 && self.cuts > 300);
    }
}

#[test]
fn a_job_handed_over_goes_on_at_the_other_tablet() {
    let scratch = scratch();
    let shop = scratch.path().join("shop");
    std::fs::create_dir(&shop).unwrap();
    let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
    let mut two = Tablet::new(&scratch.path().join("two"), &shop, "Ben");
    let job = one.create("inline-4-8v", "Bay 1");
    one.note("half way");
    let handed = Event::HandedOver {
        to_tablet: two.id(),
    };
    let now = one.clock.advance(1_000);
    one.open
        .as_mut()
        .unwrap()
        .propose(now, &one.person, &[handed])
        .unwrap();
    one.meet();
    two.meet();
    let mut open = two.store.open_job(job).unwrap();
    assert_eq!(open.state().holder(), Some(two.id()));
    let by = SignOff {
        person: two.person.clone(),
        entering: Uuid::from_u128(5),
        proof: None,
    };
    open.propose(
        two.clock.advance(9_000),
        &two.person,
        &[Event::TakenOver { by }],
    )
    .unwrap();
    let shown = open.state().clone();
    two.meet();
    one.meet();
    assert_eq!(*one.open.as_ref().unwrap().state(), shown);
    assert_eq!(shown.technician(), Some(&two.person));
    assert_eq!(shown.conflicts(), []);
}
