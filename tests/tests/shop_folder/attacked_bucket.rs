//! The same as in `attacked`, by somebody who can change every object of a bucket and holds no
//! key of a tablet.

use std::collections::BTreeMap;
use std::path::Path;

use serde_json::Value;
use trayzero_core::job::{Entry, Event, Person};
use trayzero_core::journal::Writer;
use trayzero_tests::object_server::ObjectServer;
use uuid::Uuid;

use super::attacked::{FORGER, RUNS, damaged, run};
use super::parts::{Dice, scratch};

/// The attacker: the objects as he has seen them, and what he does next.
struct Attacker<'a> {
    server: &'a ObjectServer,
    lair: &'a Path,
    job: Uuid,
    dice: Dice,
    seen: Vec<(String, Vec<u8>)>,
}

type Objects = BTreeMap<String, Vec<u8>>;

impl Attacker<'_> {
    fn any(&mut self, objects: &Objects, of: &str) -> Option<String> {
        let names: Vec<&String> = objects.keys().filter(|name| name.contains(of)).collect();
        let at = self.dice.below(names.len().max(1));
        names.get(at).map(|name| (*name).clone())
    }

    fn act(&mut self) {
        let server = self.server.clone();
        server.objects(|objects| self.act_on(objects));
    }

    fn act_on(&mut self, objects: &mut Objects) {
        let Some(name) = self.any(objects, "") else {
            return;
        };
        let bytes = objects[&name].clone();
        if self.dice.one_in(3) {
            self.seen.push((name.clone(), bytes.clone()));
        }
        match self.dice.below(9) {
            0 => drop(objects.insert(name, damaged(bytes, &mut self.dice))),
            1 => {
                if let Some((name, bytes)) = self.seen.pop() {
                    objects.insert(name, bytes);
                }
            }
            2 => drop(objects.remove(&name)),
            3 => {
                if let Some(to) = self.any(objects, "") {
                    objects.insert(to, bytes);
                }
            }
            4 | 5 => self.forge_head(objects),
            6 => self.forge_piece(objects),
            7 => self.speak_as_a_stranger(objects),
            _ => {
                // Names that are none, and some that would lead out of a folder.
                let names = [
                    "now/../../x.json",
                    "now/heads/x.json",
                    "lines/x",
                    "now/tablets/a",
                ];
                let prefix = name.split('/').next().unwrap_or_default();
                let rubbish = format!("{prefix}/{}", names[self.dice.below(names.len())]);
                objects.insert(rubbish, b"rubbish".to_vec());
            }
        }
    }

    /// A head that holds, with journals left out, cut short, of one another, or claimed longer.
    fn forge_head(&mut self, objects: &mut Objects) {
        let Some(name) = self.any(objects, "/heads/") else {
            return;
        };
        let Ok(mut head) = serde_json::from_slice::<Value>(&objects[&name]) else {
            return;
        };
        let how = self.dice.below(5);
        let Some(open) = head["open"].as_array_mut() else {
            return;
        };
        match how {
            0 => open.clear(),
            1 => open.iter_mut().for_each(|journal| {
                if let Some(pieces) = journal["pieces"].as_array_mut() {
                    pieces.pop();
                }
            }),
            2 | 3 => open.iter_mut().for_each(|journal| {
                if let Some(piece) = journal.pointer_mut("/pieces/0") {
                    let (field, value) = match how {
                        2 => ("bytes", Value::from(u64::MAX)),
                        _ => ("hash", Value::from("../../x")),
                    };
                    piece[field] = value;
                }
            }),
            _ => head["past"] = Value::from(u32::MAX),
        }
        objects.insert(name, head.to_string().into_bytes());
    }

    /// Lines in an honest tablet's name, as a piece that its head names.
    fn forge_piece(&mut self, objects: &mut Objects) {
        let Some(name) = self.any(objects, "/heads/") else {
            return;
        };
        let stem = name
            .rsplit('/')
            .next()
            .and_then(|file| file.strip_suffix(".json"));
        let Some(tablet) = stem.and_then(|stem| stem.parse().ok()) else {
            return;
        };
        self.put_journal(objects, &name, tablet);
    }

    /// A head and lines under a name of the attacker's own.
    fn speak_as_a_stranger(&mut self, objects: &mut Objects) {
        let Some(prefix) = objects
            .keys()
            .next()
            .and_then(|name| name.split('/').next())
        else {
            return;
        };
        let stranger = Uuid::from_u128(0xE0E + self.dice.below(3) as u128);
        let name = format!("{prefix}/now/heads/{stranger}.json");
        self.put_journal(objects, &name, stranger);
    }

    fn put_journal(&mut self, objects: &mut Objects, head: &str, tablet: Uuid) {
        let _ = std::fs::remove_dir_all(self.lair);
        let mut writer = Writer::open(self.lair, self.job, tablet).unwrap().writer;
        for step in 0..=self.dice.below(3) as u64 {
            let forged = Entry {
                id: Uuid::now_v7(),
                tablet,
                at_ms: 1_796_000_000_000,
                offset_min: 0,
                clock: (1_796_000_000_000 + step, 0),
                after: None,
                paper: None,
                who: Person::new(FORGER),
                event: Event::Noted {
                    text: "all is well".to_owned(),
                },
            };
            writer.append(&[forged]).unwrap();
        }
        let bytes = std::fs::read(writer.file()).unwrap();
        let hash = sha256(&bytes);
        let prefix = head.split('/').next().unwrap_or_default();
        let piece = format!("{prefix}/lines/{}/{tablet}/00000001-{hash}", self.job);
        let told = serde_json::json!({
            "format": 1,
            "open": [{
                "job": self.job,
                "pieces": [{ "line": 1, "bytes": bytes.len(), "hash": hash }],
            }],
            "past": 0,
        });
        objects.insert(piece, bytes);
        objects.insert(head.to_owned(), told.to_string().into_bytes());
    }
}

fn sha256(bytes: &[u8]) -> String {
    use sha2::Digest as _;
    let hash = sha2::Sha256::digest(bytes);
    let pairs: Vec<String> = hash.iter().map(|b| format!("{b:02x}")).collect();
    pairs.concat()
}

#[test]
fn three_tablets_work_on_while_somebody_writes_anything_into_the_bucket() {
    let server = ObjectServer::start();
    let (mut taps, mut acts) = (0, 0);
    for seed in 0..RUNS {
        let scratch = scratch();
        let lair = scratch.path().join("lair");
        let place = server.place(&format!("run-{seed}"));
        let around = server.surroundings();
        taps += run(seed, scratch.path(), (&place, &around), |job| {
            let mut attacker = Attacker {
                server: &server,
                lair: &lair,
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
        server.objects(BTreeMap::clear);
    }
    println!("a bucket: {RUNS} runs: {taps} taps, {acts} forgeries at random; lost 0, believed 0");
    assert!(taps > 3_000 && acts > 3_000);
    trayzero_tests::figures::say("forgeries at random in a bucket", acts);
}
