//! Whoever can write to the shop folder, and holds no tablet's key, makes nobody believe
//! anything: a table of forgeries, each tried on two running tablets, the board, the record
//! and the check of the folder.
// Long because it is one table, with the scene that its rows are played in.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use trayzero::cli;
use trayzero::data::store::Clock;
use trayzero::shop::Round;
use trayzero_core::job::{
    CountLine, Entry, Event, JobState, Opening, Person, SearchPlace, SignOff, Stage,
};
use trayzero_core::journal::{
    EndSeal, Limits, Writer, job_path, journal_path, link_at, read_journal,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use super::parts::{Tablet, opening, scratch};

/// The forger's name: it stands in every line that is forged and in no other.
const FORGER: &str = "Eve Forger";
/// Nobody's tablet.
const STRANGER: Uuid = Uuid::from_u128(0xE0E);

/// A shop of two tablets with a job: a lock is adrift, a valve is worked on.
pub struct Scene {
    _scratch: tempfile::TempDir,
    pub shop: PathBuf,
    lair: PathBuf,
    pub one: Tablet,
    pub other: Tablet,
    pub job: Uuid,
    /// What the owner had written when the folder was seen first.
    early: Vec<u8>,
    early_seal: Vec<u8>,
}

/// What is done to the folder. `Uuid` is the tablet in whose name.
type Act = fn(&mut Scene, Uuid);

impl Scene {
    fn new() -> Self {
        let scratch = scratch();
        let shop = scratch.path().join("shop");
        fs::create_dir(&shop).unwrap();
        let mut one = Tablet::new(&scratch.path().join("one"), &shop, "Ada");
        let mut other = Tablet::new(&scratch.path().join("other"), &shop, "Ben");
        let job = one.create("inline-4-8v", "Bay 1");
        one.meet();
        other.meet();
        other.open = Some(other.store.open_job(job).unwrap());
        let mut stage = Self {
            shop,
            lair: scratch.path().join("lair"),
            one,
            other,
            job,
            early: Vec::new(),
            early_seal: Vec::new(),
            _scratch: scratch,
        };
        stage.one.note("first");
        stage.tell();
        stage.early = fs::read(stage.shown(stage.one.id())).unwrap();
        stage.early_seal = fs::read(stage.seal_of(stage.one.id())).unwrap();
        let dropped = Event::PartDropped {
            item: Item::Rag,
            count: 1,
            from: Place::Kit,
            bank: None,
            valve: None,
        };
        let counted = Event::KitCounted {
            item: Item::Rag,
            count: 2,
        };
        stage.propose(&[counted]);
        stage.propose(&[dropped]);
        stage.one.note("second");
        let now = stage.other.clock.advance(5_000);
        let text = "seen by the other".to_owned();
        let person = stage.other.person.clone();
        let open = stage.other.open.as_mut().unwrap();
        open.propose(now, &person, &[Event::Noted { text }])
            .unwrap();
        stage.tell();
        stage
    }

    fn propose(&mut self, events: &[Event]) {
        let now = self.one.clock.advance(1_000);
        let person = self.one.person.clone();
        let open = self.one.open.as_mut().unwrap();
        open.propose(now, &person, events).unwrap();
    }

    fn tell(&mut self) {
        for _ in 0..2 {
            self.one.meet();
            self.other.meet();
        }
    }

    pub fn shown(&self, tablet: Uuid) -> PathBuf {
        journal_path(&self.shop, self.job, tablet)
    }

    fn seal_of(&self, tablet: Uuid) -> PathBuf {
        EndSeal::path(&self.shop, self.job, tablet)
    }

    /// The lines of a tablet as they lie in the folder.
    fn lines_of(&self, tablet: Uuid) -> Vec<Entry> {
        let path = self.shown(tablet);
        if !path.exists() {
            return Vec::new();
        }
        read_journal(&path, self.job, tablet, Limits::OWN)
            .unwrap()
            .entries
    }

    /// A whole journal with these lines, every link as it must be.
    fn chain(&self, tablet: Uuid, lines: &[Entry]) -> Vec<u8> {
        let _ = fs::remove_dir_all(&self.lair);
        let mut writer = Writer::open(&self.lair, self.job, tablet).unwrap().writer;
        for line in lines {
            writer
                .append(&[Entry {
                    tablet,
                    ..line.clone()
                }])
                .unwrap();
        }
        drop(writer);
        fs::read(journal_path(&self.lair, self.job, tablet)).unwrap()
    }

    /// A line of the forger's, after all that a tablet has written.
    fn forged(&self, tablet: Uuid, event: Event) -> Entry {
        let last = self
            .lines_of(tablet)
            .last()
            .map_or((1_796_000_900_000, 0), |e| e.clock);
        Entry {
            id: Uuid::now_v7(),
            tablet,
            at_ms: last.0 as i64 + 1,
            offset_min: 60,
            clock: (last.0 + 1, 0),
            after: None,
            paper: None,
            who: Person::new(FORGER),
            event,
        }
    }

    /// Puts a journal with these lines where a tablet's is.
    fn plant(&self, tablet: Uuid, lines: &[Entry]) {
        fs::write(self.shown(tablet), self.chain(tablet, lines)).unwrap();
    }

    /// Adds a forged event to what a tablet has written.
    fn add(&self, tablet: Uuid, event: Event) {
        let mut lines = self.lines_of(tablet);
        lines.push(self.forged(tablet, event));
        self.plant(tablet, &lines);
    }

    /// The drop that was reported.
    fn dropped(&self) -> Uuid {
        let lines = self.lines_of(self.one.id());
        let drop = lines
            .iter()
            .find(|e| matches!(e.event, Event::PartDropped { .. }));
        drop.unwrap().id
    }
}

fn sign() -> SignOff {
    SignOff::new(Person::new("Mira"), Uuid::now_v7())
}

/// One forged event of every kind that would change what a person does.
#[expect(clippy::too_many_lines, reason = "a table: one row a kind of event")]
fn events(stage: &Scene) -> Vec<(&'static str, Event)> {
    let dropped = stage.dropped();
    let layout = super::parts::layout("inline-4-8v");
    let valve = layout.valves().next().unwrap();
    vec![
        (
            "a find",
            Event::PartFound {
                dropped,
                found_at: SearchPlace::Sump,
                to: Place::Kit,
            },
        ),
        (
            "a search signed",
            Event::SearchSigned {
                dropped,
                places: SearchPlace::LIST.to_vec(),
                first: sign(),
                second: sign(),
            },
        ),
        (
            "a drop that never was",
            Event::PartDropped {
                item: Item::Lock,
                count: 1,
                from: Place::Stock,
                bank: None,
                valve: None,
            },
        ),
        (
            "a withdrawal",
            Event::Withdrawn {
                event: dropped,
                by: vec![sign()],
            },
        ),
        (
            "a stage",
            Event::StageSeen {
                valve,
                stage: Stage::Positioned,
                locks_dropped: 0,
                seals_spoiled: 0,
            },
        ),
        (
            "the foreman agrees",
            Event::ForemanAgreed {
                cylinder: 1,
                by: sign(),
            },
        ),
        (
            "a blind count",
            Event::BlindCount {
                by: sign(),
                lines: vec![CountLine {
                    item: Item::Rag,
                    place: Place::Kit,
                    count: 2,
                }],
            },
        ),
        (
            "a gate",
            Event::BankClosed {
                bank: 0,
                by: sign(),
            },
        ),
        ("a job closed", Event::JobClosed { by: sign() }),
        (
            "a job stopped",
            Event::JobStopped {
                why: "no".into(),
                by: sign(),
            },
        ),
        ("a person", Event::TakenOver { by: sign() }),
        (
            "a hand-over",
            Event::HandedOver {
                to_tablet: STRANGER,
            },
        ),
        (
            "a conflict resolved",
            Event::ConflictResolved {
                conflict: dropped,
                by: sign(),
                note: "seen".into(),
                seen: Vec::new(),
                second: Some(sign()),
            },
        ),
        (
            "a pause",
            Event::Paused {
                why: "lunch".into(),
            },
        ),
        (
            "air off",
            Event::AirOff {
                cylinder: 1,
                bar: 4.0,
            },
        ),
        (
            "stock",
            Event::StockIssued {
                item: Item::Lock,
                count: 90,
            },
        ),
        (
            "a note",
            Event::Noted {
                text: "nothing is adrift".into(),
            },
        ),
        ("a cover off", Event::CoverOff { bank: 0 }),
    ]
}

/// The same lines with a hand on them.
fn edited(stage: &Scene, tablet: Uuid, edit: fn(&mut Vec<Entry>)) {
    let mut lines = stage.lines_of(tablet);
    if lines.is_empty() {
        lines = stage.lines_of(stage.one.id());
    }
    edit(&mut lines);
    // The clocks have to rise for a chain to hold at all.
    for (at, line) in lines.iter_mut().enumerate() {
        line.clock = (1_796_000_000_000 + at as u64, 0);
    }
    stage.plant(tablet, &lines);
}

fn seal_by_forger(stage: &Scene, tablet: Uuid) {
    let key = ed25519_dalek::SigningKey::from_bytes(&[0x66; 32]);
    let path = stage.shown(tablet);
    let bytes = fs::metadata(&path).unwrap().len();
    let link = link_at(&path, bytes).unwrap().unwrap();
    let seal = EndSeal::over(stage.job, tablet, bytes, link, &key);
    fs::write(stage.seal_of(tablet), seal.to_bytes()).unwrap();
}

const NOTE: fn() -> Event = || Event::Noted {
    text: "nothing is adrift".into(),
};

/// What is done to the files in a tablet's name.
#[expect(clippy::too_many_lines, reason = "a table: one row a forgery")]
fn acts() -> Vec<(&'static str, Act)> {
    vec![
        ("its lines again, a millisecond earlier", |s, tablet| {
            let honest = s.lines_of(s.one.id());
            let mut lines: Vec<Entry> = honest
                .iter()
                .map(|e| Entry {
                    who: Person::new(FORGER),
                    event: NOTE(),
                    ..e.clone()
                })
                .collect();
            for line in &mut lines {
                line.clock.0 -= 1;
            }
            s.plant(tablet, &lines);
        }),
        ("a seal of the forger's in it", |s, tablet| {
            s.add(tablet, NOTE());
            let key = ed25519_dalek::SigningKey::from_bytes(&[0x66; 32]);
            let path = s.shown(tablet);
            let bytes = fs::metadata(&path).unwrap().len();
            let link = link_at(&path, bytes).unwrap().unwrap();
            let seal = trayzero_core::journal::seal_over(link, &key);
            s.add(tablet, Event::Sealed(Box::new(seal)));
        }),
        ("a seal of the forger's beside it", |s, tablet| {
            s.add(tablet, NOTE());
            seal_by_forger(s, tablet);
        }),
        ("an honest seal again after a forged line", |s, tablet| {
            s.add(tablet, NOTE());
            let seal: Value = serde_json::from_slice(&s.early_seal).unwrap();
            let seal = trayzero_core::job::Seal {
                key: seal["key"].as_str().unwrap().to_owned(),
                signature: seal["signature"].as_str().unwrap().to_owned(),
            };
            s.add(tablet, Event::Sealed(Box::new(seal)));
        }),
        ("an honest seal with another length", |s, tablet| {
            s.add(tablet, NOTE());
            let bytes = fs::metadata(s.shown(tablet)).unwrap().len();
            let mut seal: Value = serde_json::from_slice(&s.early_seal).unwrap();
            seal["bytes"] = bytes.into();
            seal["tablet"] = tablet.to_string().into();
            fs::write(s.seal_of(tablet), seal.to_string()).unwrap();
        }),
        ("a line dropped in the middle", |s, tablet| {
            edited(s, tablet, |lines| drop(lines.remove(lines.len() / 2)));
        }),
        ("two lines the other way round", |s, tablet| {
            edited(s, tablet, |lines| lines.reverse());
        }),
        ("a line replaced", |s, tablet| {
            edited(s, tablet, |lines| {
                let at = lines.len() - 1;
                lines[at].event = NOTE();
                lines[at].who = Person::new(FORGER);
            });
        }),
        ("another person in a line", |s, tablet| {
            edited(s, tablet, |lines| lines[0].who = Person::new(FORGER));
        }),
        ("a line retimed to 2099", |s, tablet| {
            let mut line = s.forged(tablet, NOTE());
            line.at_ms = 4_070_908_800_000;
            line.clock = (4_070_908_800_000, 0);
            let mut lines = s.lines_of(tablet);
            lines.push(line);
            s.plant(tablet, &lines);
        }),
        ("a clock of the year 9999", |s, tablet| {
            let mut line = s.forged(tablet, NOTE());
            line.clock = (253_402_300_799_999, u32::MAX);
            let mut lines = s.lines_of(tablet);
            lines.push(line);
            s.plant(tablet, &lines);
        }),
        ("an honest beginning again", |s, tablet| {
            fs::write(s.shown(tablet), &s.early).unwrap();
            fs::write(s.seal_of(tablet), &s.early_seal).unwrap();
        }),
        ("fourteen bytes of rubbish", |s, tablet| {
            let mut bytes = fs::read(s.shown(tablet)).unwrap_or_default();
            bytes.extend_from_slice(b"rubbish at end");
            fs::write(s.shown(tablet), bytes).unwrap();
        }),
        ("a line of rubbish", |s, tablet| {
            let mut bytes = fs::read(s.shown(tablet)).unwrap_or_default();
            bytes.extend_from_slice(b"{\"rubbish\":1}\n");
            fs::write(s.shown(tablet), bytes).unwrap();
        }),
        ("a file of a gigabyte", |s, tablet| {
            let file = fs::OpenOptions::new();
            let file = file
                .clone()
                .append(true)
                .create(true)
                .open(s.shown(tablet))
                .unwrap();
            file.set_len(1 << 30).unwrap();
        }),
        (
            "the journal of another tablet under its name",
            |s, tablet| {
                let from = if tablet == s.other.id() {
                    s.one.id()
                } else {
                    s.other.id()
                };
                fs::copy(s.shown(from), s.shown(tablet)).unwrap();
                fs::copy(s.seal_of(from), s.seal_of(tablet)).unwrap();
            },
        ),
        ("the journal of another job under this one", |s, tablet| {
            let job = Uuid::from_u128(0xABC);
            let path = s.chain(tablet, &[s.forged(tablet, NOTE())]);
            let text = String::from_utf8(path).unwrap();
            fs::write(
                s.shown(tablet),
                text.replace(&s.job.to_string(), &job.to_string()),
            )
            .unwrap();
        }),
        ("the file gone", |s, tablet| {
            let _ = fs::remove_file(s.shown(tablet));
        }),
        ("the seal gone and a line added", |s, tablet| {
            let _ = fs::remove_file(s.seal_of(tablet));
            s.add(tablet, NOTE());
        }),
        ("a finished summary beside it", |s, _| {
            let summary = "{\"format\":1,\"payload\":{\"vehicle\":\"Eve Forger\"}}\n";
            fs::write(job_path(&s.shop, s.job).join("summary.json"), summary).unwrap();
        }),
        #[cfg(unix)]
        ("a link to somewhere else", |s, tablet| {
            let path = s.shown(tablet);
            let _ = fs::remove_file(&path);
            std::os::unix::fs::symlink(s.other.root.join("tablet.key"), path).unwrap();
        }),
        #[cfg(unix)]
        ("a link where the seal is written", |s, tablet| {
            let path = s.seal_of(tablet).with_extension("seal.new");
            std::os::unix::fs::symlink(s.one.root.join("tablet.key"), path).unwrap();
            let _ = fs::remove_file(s.seal_of(tablet));
        }),
    ]
}

/// The state after each number of honest lines: whatever a screen tells is one of these.
fn honest_states(lines: &[Entry]) -> BTreeSet<(u32, usize, usize)> {
    let mut state = JobState::new();
    let mut told = BTreeSet::from([figures(&state)]);
    for line in lines {
        state.fold(line);
        told.insert(figures(&state));
    }
    told
}

fn figures(state: &JobState) -> (u32, usize, usize) {
    let verified = state.valves().filter(|(_, v)| v.is_verified()).count();
    (state.adrift(), verified, state.open_conflicts().count())
}

fn run_line(args: &[&str]) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = cli::run(args, &mut out, &mut err);
    (
        code,
        String::from_utf8(out).unwrap() + &String::from_utf8(err).unwrap(),
    )
}

/// What came of one forgery.
#[derive(Default)]
struct Came {
    believed: Vec<String>,
    told: BTreeSet<&'static str>,
}

impl Came {
    fn rounds(&mut self, stage: &mut Scene) {
        for _ in 0..3 {
            let said = |round: &Round, came: &mut Came| {
                if !round.not_confirmed.is_empty() {
                    came.told.insert("not confirmed");
                }
                if !round.file_faults.is_empty() || !round.left_alone.is_empty() {
                    came.told.insert("files");
                }
            };
            said(&stage.other.meet(), self);
            said(&stage.one.meet(), self);
        }
        stage.tell();
    }

    /// The board, the record and the check of the folder as it lies there now.
    fn look_from_outside(&mut self, stage: &Scene, honest: &BTreeSet<(u32, usize, usize)>) {
        let shop = stage.shop.to_str().unwrap();
        let (_, board) = run_line(&["trayzero", "board", shop, "--json", "--all"]);
        let answer = board.lines().next().unwrap_or_default();
        if let Ok(answer) = serde_json::from_str::<Value>(answer) {
            for job in answer["jobs"].as_array().into_iter().flatten() {
                let adrift = job["adrift"].as_u64().unwrap() as u32;
                let verified = job["verified"].as_u64().unwrap() as usize;
                if !honest
                    .iter()
                    .any(|(a, v, _)| (*a, *v) == (adrift, verified))
                {
                    self.believed.push(format!("board: {job}"));
                }
                let blocks = job["blocks"].to_string();
                if blocks.contains("not confirmed") || blocks.contains(".jsonl") {
                    self.told.insert("board");
                }
            }
        }
        let job = stage.job.to_string();
        let (code, record) = run_line(&["trayzero", "record", shop, "--job", &job, "--json"]);
        for (from, text) in [("board", &board), ("record", &record)] {
            if text.contains(FORGER) || text.contains("nothing is adrift") {
                self.believed.push(from.to_owned());
            }
        }
        if code != cli::EXIT_DONE {
            self.told.insert("record");
        }
        if run_line(&["trayzero", "check", shop]).0 != cli::EXIT_DONE {
            self.told.insert("check");
        }
    }

    fn on_tablets(&mut self, stage: &Scene, before: &BTreeMap<&'static str, String>) {
        for (name, tablet) in [("one", &stage.one), ("other", &stage.other)] {
            let opened = tablet.store.open_job(stage.job).unwrap();
            let open = tablet.open.as_ref().unwrap();
            for (how, state) in [("anew", opened.state()), ("open", open.state())] {
                if format!("{state:?}") != before[name] {
                    self.believed.push(format!("{name}, {how}"));
                }
            }
            assert!(
                opened.entries().iter().all(|e| *e.who.0 != *FORGER),
                "{name}"
            );
        }
    }
}

fn try_it(act: impl Fn(&mut Scene, Uuid), whose: fn(&Scene) -> Uuid) -> Came {
    let mut stage = Scene::new();
    let mut came = Came::default();
    let lines = stage.one.open.as_ref().unwrap().entries();
    let honest = honest_states(&lines);
    let state = |tablet: &Tablet| format!("{:?}", tablet.open.as_ref().unwrap().state());
    let before = BTreeMap::from([("one", state(&stage.one)), ("other", state(&stage.other))]);
    assert_eq!(before["one"], before["other"]);
    let tablet = whose(&stage);
    act(&mut stage, tablet);
    came.look_from_outside(&stage, &honest);
    came.rounds(&mut stage);
    came.on_tablets(&stage, &before);
    // Honest taps go on, and arrive.
    stage.one.note("goes on");
    stage.tell();
    let at_the_other = stage.other.open.as_ref().unwrap().entries();
    let goes_on = Event::Noted {
        text: "goes on".to_owned(),
    };
    assert!(
        at_the_other.iter().any(|e| e.event == goes_on),
        "an honest tap was lost"
    );
    came
}

type Whose = (&'static str, fn(&Scene) -> Uuid);

const NAMES: [Whose; 3] = [
    ("the owner", |s| s.one.id()),
    ("the other member", |s| s.other.id()),
    ("a stranger", |_| STRANGER),
];

#[test]
fn whatever_is_forged_in_the_folder_nobody_believes_it_and_a_person_is_told() {
    let mut tried = 0;
    let mut rows = Vec::new();
    for (whom, whose) in NAMES {
        for (what, act) in acts() {
            if whose(&Scene::new()) == STRANGER && what == "the file gone" {
                continue; // There is none.
            }
            rows.push((format!("{what}; {whom}"), try_it(act, whose)));
            tried += 1;
        }
        for (at, (what, _)) in events(&Scene::new()).into_iter().enumerate() {
            let act = |stage: &mut Scene, tablet: Uuid| {
                let event = events(stage).swap_remove(at).1;
                stage.add(tablet, event);
            };
            rows.push((format!("{what}; {whom}"), try_it(act, whose)));
            tried += 1;
        }
    }
    let mut believed = 0;
    for (what, came) in &rows {
        let told: Vec<&str> = came.told.iter().copied().collect();
        println!(
            "{what}: believed {}, told {}",
            came.believed.len(),
            told.join(", ")
        );
        believed += came.believed.len();
    }
    println!("{tried} forgeries tried, {believed} believed");
    let wrong: Vec<_> = rows
        .iter()
        .filter(|(what, came)| {
            // Nobody reads a summary of others, so there is nothing to tell.
            let claims = !what.starts_with("a finished summary");
            !came.believed.is_empty() || (claims && came.told.is_empty())
        })
        .map(|(what, came)| format!("{what}: {:?} {:?}", came.believed, came.told))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    trayzero_tests::figures::say("forgeries tried, believed 0", tried);
}

/// Opens the same job again, for a forged one of the same name.
#[test]
fn a_job_that_only_a_stranger_tells_of_is_not_there_at_all() {
    let mut stage = Scene::new();
    let job = Uuid::from_u128(0x10B);
    let opening: Opening = opening("inline-4-8v", FORGER, &Person::new(FORGER));
    let mut writer = Writer::open(&stage.lair, job, STRANGER).unwrap().writer;
    let line = stage.forged(STRANGER, Event::JobOpened(Box::new(opening)));
    writer.append(&[line]).unwrap();
    fs::create_dir_all(job_path(&stage.shop, job)).unwrap();
    let from = journal_path(&stage.lair, job, STRANGER);
    fs::copy(from, journal_path(&stage.shop, job, STRANGER)).unwrap();
    let round = stage.other.meet();
    assert!(round.not_confirmed.iter().any(|n| n.job == job));
    assert!(!Path::new(&job_path(&stage.other.root, job)).exists());
    let _ = stage.other.clock.now();
    let (_, board) = run_line(&["trayzero", "board", stage.shop.to_str().unwrap()]);
    assert!(!board.contains(FORGER), "{board}");
}

/// Copies a folder as a person does who moves a tablet.
pub fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for name in fs::read_dir(from).unwrap() {
        let name = name.unwrap();
        let to = to.join(name.file_name());
        if name.file_type().unwrap().is_dir() {
            copy_folder(&name.path(), &to);
        } else {
            fs::copy(name.path(), to).unwrap();
        }
    }
}

#[test]
fn one_identity_in_use_twice_is_named_on_all_and_the_copy_becomes_a_new_tablet() {
    let mut stage = Scene::new();
    let copied = stage.one.root.with_extension("copied");
    copy_folder(&stage.one.root, &copied);
    let mut copy = Tablet::new(&copied, &stage.shop, "Ada");
    copy.clock.set(stage.one.clock.now().at_ms + 60_000);
    copy.open = Some(copy.store.open_job(stage.job).unwrap());
    stage.one.note("at the first");
    copy.note("at the copy");
    copy.note("at the copy again");
    stage.one.meet();
    let old = stage.one.id();
    let round = copy.meet();
    assert_eq!(round.twice, [stage.job], "the copy is told");
    for _ in 0..2 {
        for tablet in [&mut stage.one, &mut stage.other] {
            let round = tablet.meet();
            let named = round
                .not_confirmed
                .iter()
                .any(|n| (n.tablet, &n.why) == (old, &trayzero::shop::WhyNotConfirmed::Twice));
            assert!(named, "{:?}", round.not_confirmed);
        }
    }
    let shown = fs::read(stage.shown(old)).unwrap();
    copy.open = None;
    let now = copy.clock.advance(1_000);
    copy.store.become_new_tablet(&stage.shop, now).unwrap();
    assert_ne!(copy.id(), old);
    copy.open = Some(copy.store.open_job(stage.job).unwrap());
    copy.restart();
    for _ in 0..3 {
        copy.meet();
        stage.tell();
    }
    assert_eq!(
        fs::read(stage.shown(old)).unwrap(),
        shown,
        "the first one's lines stay"
    );
    let state = |tablet: &Tablet| format!("{:?}", tablet.open.as_ref().unwrap().state());
    assert_eq!(state(&copy), state(&stage.one));
    assert_eq!(state(&copy), state(&stage.other));
    let all = stage.other.open.as_ref().unwrap().entries();
    for text in ["at the first", "at the copy", "at the copy again"] {
        let text = text.to_owned();
        let noted = Event::Noted { text };
        assert_eq!(
            all.iter().filter(|e| e.event == noted).count(),
            1,
            "{noted:?}"
        );
    }
    let round = stage.other.meet();
    assert_eq!((round.not_confirmed, round.twice), (vec![], vec![]));
}
