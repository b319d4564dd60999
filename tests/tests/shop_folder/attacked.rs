//! An attacker who can write to the folder and holds no key does anything at random while
//! three tablets work. Nothing honest is lost, nothing forged is believed, and once the
//! folder is left alone all three show the same.

use std::fs;
use std::path::{Path, PathBuf};

use trayzero::shop::Surroundings;
use trayzero_core::job::{Entry, Event, Person};
use trayzero_core::journal::{EndSeal, Limits, Link, Writer, journal_path, link_at, read_journal};
use uuid::Uuid;

use super::converge::{acknowledged, tap, technician};
use super::parts::{Dice, Tablet, meet_all, scratch};

/// Seeded runs; a failure prints its seed.
pub const RUNS: u64 = 300;
const STEPS: usize = 80;
pub const FORGER: &str = "Eve Forger";

/// The attacker: what he has seen in the folder, and what he does next.
struct Attacker {
    shop: PathBuf,
    lair: PathBuf,
    job: Uuid,
    dice: Dice,
    /// Files as they were at some time.
    seen: Vec<(PathBuf, Vec<u8>)>,
}

impl Attacker {
    /// The files of the job and the cards of the tablets.
    fn files(&self) -> Vec<PathBuf> {
        let folders = [
            trayzero_core::journal::job_path(&self.shop, self.job),
            self.shop.join("tablets"),
        ];
        let mut files: Vec<PathBuf> = folders
            .iter()
            .flat_map(|folder| fs::read_dir(folder).into_iter().flatten().flatten())
            .map(|name| name.path())
            .filter(|path| path.symlink_metadata().is_ok_and(|m| m.is_file()))
            .collect();
        files.sort();
        files
    }

    fn any_file(&mut self) -> Option<PathBuf> {
        let mut files = self.files();
        if files.is_empty() {
            return None;
        }
        let at = self.dice.below(files.len());
        Some(files.swap_remove(at))
    }

    /// A journal and the tablet that it is named after.
    fn any_journal(&mut self) -> Option<(PathBuf, Uuid)> {
        let files = self.files();
        let journals: Vec<_> = files
            .into_iter()
            .filter(|path| path.extension().is_some_and(|e| e == "jsonl"))
            .filter_map(|path| {
                let tablet = path.file_stem()?.to_str()?.parse().ok()?;
                Some((path, tablet))
            })
            .collect();
        if journals.is_empty() {
            return None;
        }
        let at = self.dice.below(journals.len());
        journals.into_iter().nth(at)
    }

    fn act(&mut self) {
        if let Some(path) = self.any_file().filter(|_| self.dice.one_in(3)) {
            let bytes = fs::read(&path).unwrap();
            self.seen.push((path, bytes));
        }
        match self.dice.below(9) {
            0 => self.damage(),
            1 => self.roll_back(),
            2 => self.forge_lines(),
            3 => self.forge_lines(),
            4 => self.speak_as_a_stranger(),
            5 => self.forge_seal(),
            6 => {
                if let (Some(from), Some(to)) = (self.any_file(), self.any_file()) {
                    let _ = fs::copy(from, to);
                }
            }
            7 => {
                if let Some(path) = self.any_file() {
                    fs::remove_file(path).unwrap();
                }
            }
            _ => self.put_something_else(),
        }
    }

    fn damage(&mut self) {
        let Some(path) = self.any_file() else {
            return;
        };
        let bytes = fs::read(&path).unwrap();
        fs::write(path, damaged(bytes, &mut self.dice)).unwrap();
    }

    fn roll_back(&mut self) {
        if self.seen.is_empty() {
            return;
        }
        let at = self.dice.below(self.seen.len());
        let (path, bytes) = &self.seen[at];
        if path.parent().is_some_and(Path::is_dir) && !path.is_dir() {
            let _ = fs::write(path, bytes);
        }
    }

    /// Lines that follow from an honest journal, each link as it must be.
    fn forge_lines(&mut self) {
        let Some((path, tablet)) = self.any_journal() else {
            return;
        };
        let Ok(read) = read_journal(&path, self.job, tablet, Limits::OWN) else {
            return;
        };
        let mut lines = read.entries;
        let cut = self.dice.below(lines.len() + 1);
        if self.dice.one_in(2) {
            lines.truncate(cut);
        }
        let forged = 1 + self.dice.below(3);
        let model = lines.last().cloned();
        for step in 0..forged as u64 {
            let (ms, _) = model.as_ref().map_or((1_796_000_000_000, 0), |e| e.clock);
            let known = lines.get(cut.min(lines.len().saturating_sub(1)));
            let id = known.map(|e| e.id).filter(|_| self.dice.one_in(2));
            lines.push(Entry {
                id: id.unwrap_or_else(Uuid::now_v7),
                tablet,
                at_ms: ms as i64,
                offset_min: 0,
                clock: (ms + 1 + step, 0),
                after: None,
                paper: None,
                who: Person::new(FORGER),
                event: Event::Noted {
                    text: "all is well".to_owned(),
                },
            });
        }
        let _ = fs::remove_dir_all(&self.lair);
        let mut writer = Writer::open(&self.lair, self.job, tablet).unwrap().writer;
        for line in lines {
            // A line that cannot follow is left out.
            let _ = writer.append(&[line]);
        }
        fs::copy(writer.file(), path).unwrap();
    }

    /// Honest lines again under a name of the attacker's own, a millisecond earlier.
    fn speak_as_a_stranger(&mut self) {
        let Some((path, tablet)) = self.any_journal() else {
            return;
        };
        let Ok(read) = read_journal(&path, self.job, tablet, Limits::OWN) else {
            return;
        };
        let stranger = Uuid::from_u128(0xE0E + self.dice.below(3) as u128);
        let _ = fs::remove_dir_all(&self.lair);
        let mut writer = Writer::open(&self.lair, self.job, stranger).unwrap().writer;
        for line in read.entries {
            let _ = writer.append(&[Entry {
                tablet: stranger,
                clock: (line.clock.0 - 1, line.clock.1),
                who: Person::new(FORGER),
                event: Event::Noted {
                    text: "all is well".to_owned(),
                },
                ..line
            }]);
        }
        // Something else may stand there by now.
        let _ = fs::copy(writer.file(), journal_path(&self.shop, self.job, stranger));
    }

    fn forge_seal(&mut self) {
        let Some((path, tablet)) = self.any_journal() else {
            return;
        };
        let bytes = fs::metadata(&path).unwrap().len();
        let link = link_at(&path, bytes).unwrap().unwrap_or(Link([7; 32]));
        let key = ed25519_dalek::SigningKey::from_bytes(&[0x66; 32]);
        let seal = EndSeal::over(self.job, tablet, bytes, link, &key);
        let _ = fs::write(EndSeal::path(&self.shop, self.job, tablet), seal.to_bytes());
    }

    fn put_something_else(&mut self) {
        let Some(path) = self.any_file() else {
            return;
        };
        fs::remove_file(&path).unwrap();
        if self.dice.one_in(2) {
            fs::create_dir(&path).unwrap();
        } else if cfg!(unix) {
            #[cfg(unix)]
            std::os::unix::fs::symlink(self.lair.with_extension("elsewhere"), &path).unwrap();
        }
    }
}

/// A bit turned, an end cut off, or rubbish behind it.
pub fn damaged(mut bytes: Vec<u8>, dice: &mut Dice) -> Vec<u8> {
    match dice.below(3) {
        0 if !bytes.is_empty() => {
            let at = dice.below(bytes.len());
            bytes[at] ^= 1 << dice.below(8);
        }
        1 => bytes.truncate(dice.below(bytes.len() + 1)),
        _ => bytes.extend_from_slice(b"rubbish"),
    }
    bytes
}

pub fn run<A: FnMut()>(
    seed: u64,
    scratch: &Path,
    (shop, around): (&Path, &Surroundings),
    attack: impl FnOnce(Uuid) -> A,
) -> usize {
    let mut dice = Dice(seed);
    let mut tablets: Vec<Tablet> = ["Ada", "Ben", "Cleo"]
        .iter()
        .map(|name| Tablet::within(&scratch.join(name), shop, name, around))
        .collect();
    let mut signs: Vec<_> = tablets
        .iter()
        .zip(1..)
        .map(|(tablet, n)| technician(&tablet.person, n))
        .collect();
    let job = tablets[0].create("inline-4-8v", "Bay 1");
    meet_all(&mut tablets);
    for tablet in &mut tablets[1..] {
        tablet.open = Some(tablet.store.open_job(job).unwrap());
    }
    let mut act = attack(job);
    let mut taps = [1, 0, 0];
    for _ in 0..STEPS {
        let at = dice.below(3);
        match dice.below(8) {
            0 | 1 => act(),
            2 | 3 => {
                // Whatever the folder is like, the round ends and the taps go on.
                tablets[at].exchange.round();
                tablets[at].take_foreign();
            }
            4 if dice.one_in(4) => tablets[at].restart(),
            _ => taps[at] += tap(&mut tablets[at], &mut signs[at], &mut dice),
        }
    }
    let mut kept = Vec::new();
    for (at, tablet) in tablets.iter().enumerate() {
        let ids = acknowledged(&tablet.root, job, tablet.id());
        assert_eq!(ids.len(), taps[at], "seed {seed}: on its own disk");
        kept.extend(ids);
    }
    // The folder is left alone. In a bucket an owner looks over its pieces once an hour and at
    // each start.
    if shop.starts_with("s3:") {
        tablets.iter_mut().for_each(Tablet::restart);
    }
    for _ in 0..4 {
        for tablet in &mut tablets {
            tablet.exchange.round();
            tablet.take_foreign();
        }
    }
    let shown: Vec<String> = tablets
        .iter()
        .map(|tablet| {
            let opened = tablet.store.open_job(job).unwrap();
            let forged = opened.entries().into_iter().filter(|e| *e.who.0 == *FORGER);
            assert_eq!(forged.count(), 0, "seed {seed}: believed");
            for id in &kept {
                assert!(opened.state().knows(*id), "seed {seed}: lost {id}");
            }
            let open = tablet.open.as_ref().unwrap();
            let anew = format!("{:?}", opened.state());
            assert_eq!(anew, format!("{:?}", open.state()), "seed {seed}: open");
            anew
        })
        .collect();
    assert_eq!(shown[0], shown[1], "seed {seed}");
    assert_eq!(shown[0], shown[2], "seed {seed}");
    taps.iter().sum()
}

#[test]
fn three_tablets_work_on_while_somebody_writes_anything_into_the_folder() {
    let (mut taps, mut acts) = (0, 0);
    for seed in 0..RUNS {
        let scratch = scratch();
        let shop = scratch.path().join("shop");
        fs::create_dir(&shop).unwrap();
        let around = Surroundings::default();
        taps += run(seed, scratch.path(), (&shop, &around), |job| {
            let mut attacker = Attacker {
                shop: shop.clone(),
                lair: scratch.path().join("lair"),
                job,
                dice: Dice(seed ^ 0xA77A),
                seen: Vec::new(),
            };
            let acts = &mut acts;
            move || {
                attacker.act();
                *acts += 1;
            }
        });
    }
    println!("{RUNS} runs: {taps} taps, {acts} forgeries at random; lost 0, believed 0");
    assert!(taps > 3_000 && acts > 3_000);
    trayzero_tests::figures::say("forgeries at random", acts);
}
