//! The outsider's table: somebody who writes to the shop folder, under each kind of identity,
//! with each kind of line and file. Each row is looked at on two running tablets, on the
//! board, in the record and by the check; none is believed, and a person is told.
// Long because it is one table, with the scene that its rows are played in.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};
use trayzero::data::store::OpenJob;
use trayzero::shop::Board;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, Opening, Reading, SearchPlace};
use trayzero_core::journal::Limits;
use trayzero_tests::demo_script::technician::{ScriptedLeak, Technician, next_stop};
use uuid::Uuid;

use super::outside::run_line;
use super::pen::{self, Journal, Log, key, prove, sign_off};
use super::shop::{START, Shop, Tablet, ada, later};

/// Whose keys there are: people from 101 on.
const MIRA: u8 = 101;
const ADA: u8 = 102;
const BEN: u8 = 103;
const CLEO_BEFORE: u8 = 104;
const CLEO: u8 = 105;
const DORA: u8 = 106;
const EVE: u8 = 66;

const STRANGER: Uuid = Uuid::from_u128(0xE0E);

/// A shop that Mira founded at a desk that is off now. Two tablets run; a third is a member
/// in wrong hands; a fourth is lost and struck off.
struct Scene {
    shop: Shop,
    one: Tablet,
    other: Tablet,
    open: [OpenJob; 2],
    job: Uuid,
    dropped: Uuid,
    log: Log,
    thief: Journal,
    thief_key: ed25519_dalek::SigningKey,
    lost: Journal,
    lost_key: ed25519_dalek::SigningKey,
    /// The folder's job as it was once, honest: file and bytes.
    early: Vec<(PathBuf, Vec<u8>)>,
    told: BTreeSet<&'static str>,
    /// What the check said last.
    checked: String,
    asking: usize,
}

fn uuid_in(root: &std::path::Path) -> Uuid {
    let card = fs::read_to_string(root.join("tablet.json")).unwrap();
    let card: Value = serde_json::from_str(&card).unwrap();
    card["tablet"].as_str().unwrap().parse().unwrap()
}

fn opening() -> Opening {
    let layout = shipped().iter().find(|s| s.key == "inline-4-8v").unwrap();
    Opening {
        layout: Layout::from_json(layout.key, layout.json.as_bytes()).unwrap(),
        vehicle: "Van 12".into(),
        order_number: None,
        bay: "Bay 1".into(),
        technician: ada(),
    }
}

/// Works on until a cylinder is read that leaks past the limit: the foreman has to look.
fn read_a_leak(open: &mut OpenJob) {
    let bad = ScriptedLeak {
        cylinder_bar: 2.0,
        ..ScriptedLeak::default()
    };
    let mut technician = Technician {
        name: ada(),
        second: ada(),
        foreman: ada(),
        leaks: BTreeMap::from([((Reading::Before, 2), bad)]),
        found_at: SearchPlace::Sump,
        entering: Box::new(Uuid::now_v7),
    };
    for _ in 0..200 {
        if open.state().foreman_wanted(2).is_some() {
            return;
        }
        let stop = next_stop(open.state()).unwrap();
        let events = technician.tap(open.state(), stop);
        open.propose(later(200), &ada(), &events).unwrap();
    }
    panic!("no cylinder leaks");
}

/// The founding, and what was changed since: Cleo has a new key, Dora is foreman no more.
fn founded(desk: Uuid, desk_key: &ed25519_dalek::SigningKey, others: &[String]) -> Log {
    let mira = key(MIRA);
    let by = Some(("Mira", &mira));
    let mut log = Log::new(desk, desk_key.clone(), None);
    let people = [
        pen::person("Ada", "technician", &key(ADA)),
        pen::person("Ben", "technician", &key(BEN)),
        pen::person("Cleo", "second", &key(CLEO_BEFORE)),
        pen::person("Dora", "foreman", &key(DORA)),
    ];
    let (card, foreman) = (
        pen::card(desk, desk_key),
        pen::person("Mira", "foreman", &mira),
    );
    let (tablets, people) = (others.join(","), people.join(","));
    let founded = format!(
        "{{\"founded\":{{\"tablet\":{card},\"foreman\":{foreman},\"tablets\":[{tablets}],\
         \"people\":[{people}]}}}}"
    );
    log.line(START.at_ms, &founded, by);
    let (public, lock) = (pen::public(&key(CLEO)), "0".repeat(64));
    let keyed = format!(
        "{{\"person_keyed\":{{\"name\":\"Cleo\",\"key\":{{\"key\":\"{public}\",\"lock\":\"{lock}\"}}}}}}"
    );
    log.line(later(100).at_ms, &keyed, by);
    let role = "{\"role_changed\":{\"name\":\"Dora\",\"role\":\"technician\"}}";
    log.line(later(100).at_ms, role, by);
    log
}

impl Scene {
    #[expect(
        clippy::too_many_lines,
        reason = "one course of events, told in its order"
    )]
    fn new() -> Self {
        let shop = Shop::new();
        let [mut one, mut other] = ["one", "other"].map(|name| shop.tablet(name));
        let roots = ["desk", "thief", "lost"].map(|name| shop.tablet(name).root);
        let [desk, thief, lost] = roots.each_ref().map(|root| uuid_in(root));
        let [desk_key, thief_key, lost_key] = roots.each_ref().map(|root| pen::key_of(root));
        let cards: Vec<String> = [&one.root, &other.root, &roots[1], &roots[2]]
            .map(|root| pen::card(uuid_in(root), &pen::key_of(root)))
            .into();
        let mut log = founded(desk, &desk_key, &cards);
        log.put(&shop.folder);
        for tablet in [&mut one, &mut other] {
            tablet.meet();
            let offer = tablet.crew.offers().remove(0);
            assert!(offer.is_admitted);
            tablet.crew.join_shop(offer.key, None, later(110)).unwrap();
            tablet.store.set_shop(tablet.crew.shop());
        }
        let mut at_one = one.store.create_job(opening(), later(200)).unwrap();
        let job = at_one.id();
        read_a_leak(&mut at_one);
        let mut propose = |s: i64, event: Value| {
            let event: Event = serde_json::from_value(event).unwrap();
            at_one.propose(later(s), &ada(), &[event]).unwrap();
        };
        propose(201, json!({"kit_counted": {"item": "rag", "count": 2}}));
        propose(
            202,
            json!({"part_dropped": {"item": "rag", "count": 1, "from": "kit"}}),
        );
        let id = one.id();
        for (s, who, number) in [(204, "Ada", ADA), (205, "Ben", BEN)] {
            let mut taken = json!({"taken_over": {"by": sign_off(who)}});
            prove(job, id, &mut taken, who, &key(number));
            propose(s, taken);
        }
        let dropped = at_one.state().drops_adrift().next().unwrap().id;
        one.meet();
        let names = fs::read_dir(shop.folder.join(format!("jobs/{job}"))).unwrap();
        let early = names.map(|name| name.unwrap().path());
        let early = early
            .map(|path| (path.clone(), fs::read(path).unwrap()))
            .collect();
        let note = |text: &str| json!({"noted": {"text": text}});
        let mut thief = Journal::new(job, thief, later(300).at_ms);
        thief.line(Uuid::now_v7(), "Ada", &note("honest once"));
        thief.put(&shop.folder, &thief_key);
        let mut lost = Journal::new(job, lost, later(300).at_ms);
        lost.line(Uuid::now_v7(), "Ada", &note("honest before it was lost"));
        lost.put(&shop.folder, &lost_key);
        other.meet();
        one.meet();
        let struck = format!(
            "{{\"tablet_struck_off\":{{\"tablet\":\"{}\",\"from_ms\":{},\"stands\":[{}]}}}}",
            lost.tablet,
            later(400).at_ms,
            lost.place_text()
        );
        log.line(later(400).at_ms, &struck, Some(("Mira", &key(MIRA))));
        log.put(&shop.folder);
        let at_other = other.store.open_job(job).unwrap();
        let mut scene = Self {
            open: [at_one, at_other],
            job,
            dropped,
            log,
            thief,
            thief_key,
            lost,
            lost_key,
            early,
            told: BTreeSet::new(),
            checked: String::new(),
            asking: 0,
            shop,
            one,
            other,
        };
        let text = "seen by the other".to_owned();
        let noted = [Event::Noted { text }];
        scene.open[1].propose(later(410), &ada(), &noted).unwrap();
        scene.rounds();
        scene.asking = scene.one.crew.asking().len() + scene.one.crew.offers().len();
        scene.told.clear();
        scene
    }

    /// The tablets go on for a while.
    fn rounds(&mut self) {
        for _ in 0..3 {
            let at = [&mut self.one, &mut self.other].into_iter();
            for (tablet, open) in at.zip(&mut self.open) {
                let round = tablet.exchange.round();
                assert_eq!(round.fault, None);
                let [lines, files] = [
                    round.not_confirmed.len() + round.key_conflicts.len(),
                    round.file_faults.len() + round.left_alone.len(),
                ];
                if let Some(sight) = round.sight {
                    tablet.crew.take_sight(sight, later(900)).unwrap();
                }
                tablet.store.set_shop(tablet.crew.shop());
                open.set_shop(tablet.crew.shop());
                open.take_foreign().unwrap();
                let asks = tablet.crew.asking().len() + tablet.crew.offers().len();
                let is_told = lines + open.not_signed().len() > 0;
                if is_told
                    || files + tablet.crew.sight_faults().len() + tablet.crew.refused_lines().len()
                        > 0
                    || asks > self.asking
                {
                    self.told.insert("tablets");
                }
            }
        }
    }

    /// Everything that both tablets show, anew and as it is open.
    fn on_tablets(&self) -> Vec<String> {
        let mut shown = Vec::new();
        for (tablet, open) in [&self.one, &self.other].into_iter().zip(&self.open) {
            let anew = tablet.store.open_job(self.job).unwrap();
            for state in [anew.state(), open.state()] {
                let mut state = state.clone();
                state.set_unconfirmed(0);
                shown.push(format!("{state:?}"));
            }
            shown.push(format!("{:?}", tablet.store.jobs().unwrap().jobs));
            let proofs = tablet.store.proofs().clone();
            let board = Board::of_unfinished(&tablet.root, Limits::OWN, proofs).unwrap();
            shown.push(format!(
                "{:?}",
                board.card(self.job).map(|card| &card.summary)
            ));
            shown.push(format!("{:?}", tablet.people()));
        }
        shown
    }

    /// The board and the record of the folder, by the shop's key, and what they say besides.
    fn seen_outside(&mut self) -> Vec<Value> {
        let folder = self.shop.folder.to_str().unwrap().to_owned();
        let shop_key = self.log.shop.clone().unwrap();
        let run = |args: &[&str]| run_line(&[args, &["--shop-key", &shop_key]].concat());
        let job = self.job.to_string();
        let mut shown = Vec::new();
        let (code, board) = run(&["board", &folder, "--json", "--all"]);
        let mut answer = first_json(&board);
        for one in answer["jobs"].as_array_mut().into_iter().flatten() {
            // The figures; the rest grows older by itself, or tells of lines that do not count.
            let figures = [
                "job",
                "vehicle",
                "bay",
                "technician",
                "phase",
                "valves",
                "verified",
            ];
            let parts = ["loose", "aboard", "adrift", "last_tap"];
            let kept = figures.into_iter().chain(parts);
            *one = kept.map(|name| one[name].clone()).collect();
        }
        shown.push(answer["jobs"].clone());
        if code != 0 || board.contains("not confirmed") || board.contains(".jsonl") {
            self.told.insert("board");
        }
        let (code, record) = run(&["record", &folder, "--job", &job, "--json"]);
        let mut answer = first_json(&record);
        for name in ["journal_faults", "not_signed", "check_value"] {
            answer[name] = Value::Null;
        }
        shown.push(answer);
        if code != 0 {
            self.told.insert("record");
        }
        let (code, check) = run(&["check", &folder]);
        if code != 0 {
            self.told.insert("check");
        }
        self.checked = check;
        shown
    }

    /// Lines behind the thief's honest ones, sealed as its tablet seals.
    fn thief_writes(&self, who: &str, events: &[Value]) {
        let mut journal = self.thief.clone();
        for event in events {
            journal.line(Uuid::now_v7(), who, event);
        }
        journal.put(&self.shop.folder, &self.thief_key);
    }

    fn path(&self, tablet: Uuid) -> PathBuf {
        self.shop
            .folder
            .join(format!("jobs/{}/{tablet}.jsonl", self.job))
    }

    fn journal(&self, tablet: Uuid) -> Journal {
        Journal::read(&self.path(tablet), self.job, tablet)
    }

    /// Lines of a tablet as they lie there, as values.
    fn lines(&self, tablet: Uuid) -> Vec<Value> {
        let text = fs::read_to_string(self.path(tablet)).unwrap();
        let lines = text.lines().skip(1);
        lines
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    }

    /// The owner's journal with a hand on its lines, every link as it must be.
    fn rewritten(&self, tablet: Uuid, edit: fn(&mut Vec<Value>)) -> Journal {
        let mut lines = self.lines(tablet);
        edit(&mut lines);
        let mut journal = Journal::new(self.job, tablet, later(200).at_ms);
        for line in lines {
            let id = line["id"].as_str().unwrap().parse().unwrap();
            journal.line(id, line["who"].as_str().unwrap(), &line["event"]);
        }
        journal
    }

    /// A line of the log, by some tablet, after all that it has seen.
    fn log_line(
        &self,
        tablet: Uuid,
        tablet_key: &ed25519_dalek::SigningKey,
        deed: &str,
        by: Option<(&str, u8)>,
    ) {
        let mut log = Log::new(tablet, tablet_key.clone(), self.log.shop.clone());
        log.has_seen(&self.log);
        let by = by.map(|(name, number)| (name, key(number)));
        log.line(
            later(500).at_ms,
            deed,
            by.as_ref().map(|(name, key)| (*name, key)),
        );
        log.put(&self.shop.folder);
    }
}

fn first_json(text: &str) -> Value {
    let mut read = serde_json::Deserializer::from_str(text).into_iter::<Value>();
    read.next().and_then(Result::ok).unwrap_or(Value::Null)
}

/// A name, the event, and who is named on it with which key.
type Signed = (&'static str, Value, &'static [(&'static str, u8)]);

/// Which key signs for a person who has a key.
type Way = fn(&str, u8) -> Option<u8>;

/// A person who answers for a line of the log, and the key that signs for them.
type By = Option<(&'static str, u8)>;

/// Every kind of event that people sign, with who is named.
fn signed_events(s: &Scene) -> Vec<Signed> {
    let dropped = s.dropped;
    let places = [
        "plug_hole",
        "oil_return",
        "sump",
        "timing_cavity",
        "bench_and_floor",
    ];
    vec![
        (
            "a person",
            json!({"taken_over": {"by": sign_off("Mira")}}),
            &[("Mira", MIRA)],
        ),
        (
            "the foreman agrees",
            json!({"foreman_agreed": {"cylinder": 2, "by": sign_off("Mira")}}),
            &[("Mira", MIRA)],
        ),
        (
            "a blind count",
            json!({"blind_count": {"by": sign_off("Ada"), "lines": [{"item": "rag", "place": "kit", "count": 2}]}}),
            &[("Ada", ADA)],
        ),
        (
            "a gate",
            json!({"bank_closed": {"bank": 0, "by": sign_off("Ada")}}),
            &[("Ada", ADA)],
        ),
        (
            "a job closed",
            json!({"job_closed": {"by": sign_off("Ada")}}),
            &[("Ada", ADA)],
        ),
        (
            "a job stopped",
            json!({"job_stopped": {"by": sign_off("Ada"), "why": "sold"}}),
            &[("Ada", ADA)],
        ),
        (
            "a search",
            json!({"search_signed": {"dropped": dropped, "first": sign_off("Ada"), "second": sign_off("Ben"), "places": places}}),
            &[("Ada", ADA), ("Ben", BEN)],
        ),
        (
            "a withdrawal",
            json!({"withdrawn": {"event": dropped, "by": [sign_off("Ada"), sign_off("Ben")]}}),
            &[("Ada", ADA), ("Ben", BEN)],
        ),
        (
            "a conflict resolved",
            json!({"conflict_resolved": {"conflict": dropped, "by": sign_off("Ada"), "note": "", "seen": [], "second": sign_off("Mira")}}),
            &[("Ada", ADA), ("Mira", MIRA)],
        ),
    ]
}

/// How the forger stands to the folder after a row.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    /// It claims something; a person is told.
    Claim,
    /// Honest lines are no longer there: who has nothing but the folder sees less, and is told.
    Less,
    /// An honest older state put back whole: who has nothing but the folder may see it.
    Older,
    /// Nobody reads it, so there is nothing to tell.
    Unread,
}

type Row = (String, Kind, Box<dyn Fn(&mut Scene)>);

fn row(what: &str, kind: Kind, act: impl Fn(&mut Scene) + 'static) -> Row {
    (what.to_owned(), kind, Box::new(act))
}

/// A member tablet in wrong hands: every signed event, badly signed in each way.
#[expect(clippy::too_many_lines, reason = "a table: one row a forgery")]
fn members_tablet() -> Vec<Row> {
    let mut rows = Vec::new();
    for at in 0..signed_events(&Scene::new()).len() {
        let name = signed_events(&Scene::new())[at].0;
        let ways: [(&str, Way); 3] = [
            ("nothing but the name", |_, _| None),
            ("a key of the forger's", |_, _| Some(EVE)),
            ("another person's key", |_, own| {
                Some(if own == DORA { MIRA } else { DORA })
            }),
        ];
        for (how, way) in ways {
            rows.push(row(
                &format!("member tablet: {name}, {how}"),
                Kind::Claim,
                move |s| {
                    let (_, mut event, people) = signed_events(s).swap_remove(at);
                    for (person, own) in people {
                        if let Some(number) = way(person, *own) {
                            prove(s.job, s.thief.tablet, &mut event, person, &key(number));
                        }
                    }
                    s.thief_writes("Ada", &[event]);
                },
            ));
        }
        let is_two = signed_events(&Scene::new())[at].2.len() == 2;
        if is_two {
            rows.push(row(
                &format!("member tablet: {name}, the second is missing"),
                Kind::Claim,
                move |s| {
                    let (_, mut event, people) = signed_events(s).swap_remove(at);
                    let (first, number) = people[0];
                    prove(s.job, s.thief.tablet, &mut event, first, &key(number));
                    s.thief_writes("Ada", &[event]);
                },
            ));
        }
    }
    let agreed = |s: &Scene, who: &str, number: u8| {
        let mut event = json!({"foreman_agreed": {"cylinder": 2, "by": sign_off(who)}});
        prove(s.job, s.thief.tablet, &mut event, who, &key(number));
        event
    };
    for (what, who, number) in [
        ("a technician as foreman", "Ada", ADA),
        ("who was foreman once", "Dora", DORA),
        ("a key that was taken away", "Cleo", CLEO_BEFORE),
        ("somebody unknown", "Eve", EVE),
    ] {
        rows.push(row(
            &format!("member tablet: {what}"),
            Kind::Claim,
            move |s| {
                s.thief_writes("Ada", &[agreed(s, who, number)]);
            },
        ));
    }
    rows.push(row(
        "member tablet: a key taken away, under another act",
        Kind::Claim,
        |s| {
            let mut event = json!({"taken_over": {"by": sign_off("Cleo")}});
            prove(s.job, s.thief.tablet, &mut event, "Cleo", &key(CLEO_BEFORE));
            s.thief_writes("Cleo", &[event]);
        },
    ));
    rows.push(row("member tablet: a second who has neither counted nor is foreman", Kind::Claim, |s| {
        let mut event = json!({"conflict_resolved": {"conflict": s.dropped, "by": sign_off("Ada"),
            "note": "", "seen": [], "second": sign_off("Ben")}});
        for (who, number) in [("Ada", ADA), ("Ben", BEN)] {
            prove(s.job, s.thief.tablet, &mut event, who, &key(number));
        }
        s.thief_writes("Ada", &[event]);
    }));
    rows.push(row(
        "member tablet: another's signed line replayed",
        Kind::Claim,
        |s| {
            let lines = s.lines(s.one.id());
            let taken = lines
                .iter()
                .find(|line| line["event"]["taken_over"].is_object())
                .unwrap();
            s.thief_writes("Ada", &[taken["event"].clone()]);
        },
    ));
    rows.push(row(
        "member tablet: a signature of another job",
        Kind::Claim,
        |s| {
            let mut event = json!({"taken_over": {"by": sign_off("Mira")}});
            prove(
                Uuid::from_u128(7),
                s.thief.tablet,
                &mut event,
                "Mira",
                &key(MIRA),
            );
            s.thief_writes("Mira", &[event]);
        },
    ));
    rows.push(row(
        "member tablet: a signature under another event",
        Kind::Claim,
        |s| {
            let mut event = json!({"job_stopped": {"by": sign_off("Ada"), "why": "a break"}});
            prove(s.job, s.thief.tablet, &mut event, "Ada", &key(ADA));
            event["job_stopped"]["why"] = "sold as it is".into();
            s.thief_writes("Ada", &[event]);
        },
    ));
    rows
}

/// Tablets that are none of the shop's, or no more.
#[expect(clippy::too_many_lines, reason = "a table: one row a forgery")]
fn strangers() -> Vec<Row> {
    let note = || json!({"noted": {"text": "nothing is adrift"}});
    let by_ada = |s: &Scene, tablet: Uuid| {
        let mut event = json!({"job_stopped": {"by": sign_off("Ada"), "why": "sold"}});
        prove(s.job, tablet, &mut event, "Ada", &key(ADA));
        event
    };
    let fresh = |s: &Scene| Journal::new(s.job, STRANGER, later(600).at_ms);
    vec![
        row(
            "unknown tablet: honest identities again, earlier, with other content",
            Kind::Claim,
            move |s| {
                let mut journal = Journal::new(s.job, STRANGER, later(199).at_ms);
                for line in s.lines(s.one.id()) {
                    journal.line(
                        line["id"].as_str().unwrap().parse().unwrap(),
                        "Eve",
                        &note(),
                    );
                }
                journal.put(&s.shop.folder, &key(EVE));
            },
        ),
        row(
            "unknown tablet: found, agreed, counted, closed, all at once",
            Kind::Claim,
            move |s| {
                let mut journal = fresh(s);
                journal.line(
                    Uuid::now_v7(),
                    "Ada",
                    &json!({"part_found": {"dropped": s.dropped, "found_at": "sump", "to": "kit"}}),
                );
                for (_, mut event, people) in signed_events(s) {
                    for (who, number) in people {
                        prove(s.job, STRANGER, &mut event, who, &key(*number));
                    }
                    journal.line(Uuid::now_v7(), "Ada", &event);
                }
                journal.put(&s.shop.folder, &key(EVE));
            },
        ),
        row("unknown tablet: sealed within", Kind::Claim, move |s| {
            let mut journal = fresh(s);
            journal.line(Uuid::now_v7(), "Ada", &note());
            journal.sealed(&key(EVE));
            journal.put(&s.shop.folder, &key(EVE));
        }),
        row(
            "unknown tablet: a person's real signature",
            Kind::Claim,
            move |s| {
                let mut journal = fresh(s);
                journal.line(Uuid::now_v7(), "Ada", &by_ada(s, STRANGER));
                journal.put(&s.shop.folder, &key(EVE));
            },
        ),
        row(
            "unknown tablet: sealed with a member's seal",
            Kind::Claim,
            move |s| {
                let mut journal = fresh(s);
                journal.line(Uuid::now_v7(), "Ada", &note());
                journal.put(&s.shop.folder, &s.thief_key);
            },
        ),
        row(
            "struck off: a line after it was lost",
            Kind::Claim,
            move |s| {
                s.lost.line(Uuid::now_v7(), "Ada", &note());
                s.lost.put(&s.shop.folder, &s.lost_key);
            },
        ),
        row(
            "struck off: a line under a date before",
            Kind::Claim,
            move |s| {
                s.lost.clock_ms = later(310).at_ms;
                s.lost.line(Uuid::now_v7(), "Ada", &note());
                s.lost.sealed(&s.lost_key);
                s.lost.put(&s.shop.folder, &s.lost_key);
            },
        ),
        row(
            "struck off: a person's real signature",
            Kind::Claim,
            move |s| {
                let event = by_ada(s, s.lost.tablet);
                s.lost.line(Uuid::now_v7(), "Ada", &event);
                s.lost.put(&s.shop.folder, &s.lost_key);
            },
        ),
        row("struck off: its lines otherwise", Kind::Less, move |s| {
            let mut journal = Journal::new(s.job, s.lost.tablet, later(300).at_ms);
            journal.line(Uuid::now_v7(), "Ada", &note());
            journal.put(&s.shop.folder, &s.lost_key);
        }),
    ]
}

/// An honest tablet's files, by somebody without its key.
#[expect(clippy::too_many_lines, reason = "a table: one row a forgery")]
fn in_the_owners_name() -> Vec<Row> {
    let note = || json!({"noted": {"text": "nothing is adrift"}});
    let put =
        |s: &Scene, journal: &Journal| fs::write(s.path(journal.tablet), &journal.text).unwrap();
    vec![
        row(
            "the owner: a line behind, sealed by nobody",
            Kind::Claim,
            move |s| {
                let mut journal = s.journal(s.one.id());
                journal.line(Uuid::now_v7(), "Ada", &note());
                put(s, &journal);
            },
        ),
        row(
            "the owner: a line behind, sealed by another member",
            Kind::Claim,
            move |s| {
                let mut journal = s.journal(s.one.id());
                journal.line(Uuid::now_v7(), "Ada", &note());
                journal.put(&s.shop.folder, &s.thief_key);
            },
        ),
        row("the owner: fourteen bytes behind", Kind::Claim, move |s| {
            let bytes = fs::read(s.path(s.one.id())).unwrap();
            fs::write(s.path(s.one.id()), [&bytes[..], b"rubbish at end"].concat()).unwrap();
        }),
        row(
            "the owner: the whole journal written anew",
            Kind::Claim,
            move |s| {
                let journal = s.rewritten(s.one.id(), |lines| {
                    lines.retain(|line| line["event"]["part_dropped"].is_null());
                });
                journal.put(&s.shop.folder, &key(EVE));
            },
        ),
        row("the owner: a line dropped", Kind::Claim, move |s| {
            put(s, &s.rewritten(s.one.id(), |lines| drop(lines.remove(2))));
        }),
        row(
            "the owner: two lines the other way round",
            Kind::Claim,
            move |s| {
                put(s, &s.rewritten(s.one.id(), |lines| lines.swap(1, 2)));
            },
        ),
        row("the owner: a line twice", Kind::Claim, move |s| {
            put(
                s,
                &s.rewritten(s.one.id(), |lines| lines.push(lines[2].clone())),
            );
        }),
        row("the owner: the file gone", Kind::Claim, move |s| {
            fs::remove_file(s.path(s.one.id())).unwrap();
        }),
        row("the owner: the seal gone", Kind::Claim, move |s| {
            fs::remove_file(s.path(s.one.id()).with_extension("seal")).unwrap();
            let mut journal = s.journal(s.one.id());
            journal.line(Uuid::now_v7(), "Ada", &note());
            put(s, &journal);
        }),
        row("the owner: an honest older state whole", Kind::Older, |s| {
            for (path, bytes) in &s.early {
                fs::write(path, bytes).unwrap();
            }
            for tablet in [s.other.id(), s.thief.tablet, s.lost.tablet] {
                for file in [s.path(tablet), s.path(tablet).with_extension("seal")] {
                    let _ = fs::remove_file(file);
                }
            }
        }),
    ]
}

const EVE_ADDED: fn() -> String = || {
    let eve = pen::person("Eve", "foreman", &key(EVE));
    format!("{{\"person_added\":{{\"person\":{eve}}}}}")
};
const ADA_FOREMAN: &str = "{\"role_changed\":{\"name\":\"Ada\",\"role\":\"foreman\"}}";

/// The shop log, and the other files.
#[expect(clippy::too_many_lines, reason = "a table: one row a forgery")]
fn log_and_files() -> Vec<Row> {
    let lines = |s: &Scene, lines: &[String]| {
        let path = s.shop.folder.join(format!("log/{}.jsonl", s.log.tablet));
        fs::write(path, lines.concat()).unwrap();
    };
    let mut rows = vec![
        row(
            "log: the foreman's name on a shop of the forger's own",
            Kind::Claim,
            |s| {
                let mut log = Log::new(STRANGER, key(EVE), None);
                let (card, mira) = (
                    pen::card(STRANGER, &key(EVE)),
                    pen::person("Mira", "foreman", &key(EVE)),
                );
                let founded = format!("{{\"founded\":{{\"tablet\":{card},\"foreman\":{mira}}}}}");
                log.line(later(500).at_ms, &founded, Some(("Mira", &key(EVE))));
                log.put(&s.shop.folder);
            },
        ),
        row(
            "log: two lines the other way round",
            Kind::Claim,
            move |s| {
                let mut all = s.log.lines.clone();
                all.swap(1, 2);
                lines(s, &all);
            },
        ),
        row("log: a line twice", Kind::Claim, move |s| {
            lines(s, &[&s.log.lines[..], &s.log.lines[1..2]].concat());
        }),
        row("log: a line dropped", Kind::Claim, move |s| {
            let mut all = s.log.lines.clone();
            all.remove(1);
            lines(s, &all);
        }),
        row("log: set back to before the loss", Kind::Older, move |s| {
            lines(s, &s.log.lines[..3]);
        }),
        row("log: rubbish behind", Kind::Claim, move |s| {
            lines(
                s,
                &[&s.log.lines[..], &["{\"rubbish\":1}\n".to_owned()]].concat(),
            );
        }),
        row("a crew list of the version before", Kind::Unread, |s| {
            let folder = s.shop.folder.join("crew");
            fs::create_dir_all(&folder).unwrap();
            let list =
                json!({"payload": {"format": 1, "members": [{"name": "Ada", "role": "foreman"}]}});
            fs::write(
                folder.join(format!("{}.json", s.one.id())),
                list.to_string(),
            )
            .unwrap();
        }),
        row("a summary that says it is finished", Kind::Unread, |s| {
            let text =
                "{\"format\":1,\"payload\":{\"vehicle\":\"Eve's van\",\"phase\":\"closed\"}}\n";
            fs::write(s.path(STRANGER).with_file_name("summary.json"), text).unwrap();
        }),
        row(
            "finished.txt, learned.json and a tablet's card",
            Kind::Unread,
            |s| {
                let text = format!(
                    "trayzero finished jobs 2\njudged \n{} 1 0\n",
                    s.job.simple()
                );
                fs::write(s.shop.folder.join("finished.txt"), text).unwrap();
                fs::write(s.shop.folder.join("learned.json"), "[]").unwrap();
                let card = json!({"format": 1, "tablet": STRANGER, "name": "T", "public_key": pen::public(&key(EVE))});
                fs::write(s.shop.folder.join("tablet.json"), card.to_string()).unwrap();
            },
        ),
    ];
    let bys: [(&str, By); 6] = [
        ("nobody", None),
        ("a technician", Some(("Ada", ADA))),
        ("who was foreman once", Some(("Dora", DORA))),
        ("a key taken away", Some(("Cleo", CLEO_BEFORE))),
        (
            "the foreman's name and the forger's key",
            Some(("Mira", EVE)),
        ),
        (
            "the foreman's name and a technician's key",
            Some(("Mira", ADA)),
        ),
    ];
    for (who, by) in bys {
        rows.push(row(
            &format!("log: a member tablet makes Ada foreman, signed by {who}"),
            Kind::Claim,
            move |s| {
                s.log_line(s.thief.tablet, &s.thief_key, ADA_FOREMAN, by);
            },
        ));
    }
    rows.push(row(
        "log: a stranger's tablet adds a foreman",
        Kind::Claim,
        |s| {
            s.log_line(STRANGER, &key(EVE), &EVE_ADDED(), Some(("Mira", EVE)));
        },
    ));
    rows.push(row(
        "log: the lost tablet makes Ada foreman",
        Kind::Claim,
        |s| {
            s.log_line(
                s.lost.tablet,
                &s.lost_key,
                ADA_FOREMAN,
                Some(("Dora", DORA)),
            );
        },
    ));
    rows
}

/// Whether what is shown now is what was shown before, or less of it where nothing more than
/// that can be known.
fn is_as_before(kind: Kind, now: &Value, before: &Value) -> bool {
    let is_nothing = now.is_null() || now == &json!([]) || now["error"].is_string();
    let is_same = ["standing", "drops", "signatures", "closings"];
    let is_less = || {
        let is_forged = now.to_string().contains("nothing is adrift");
        !is_forged && is_same.iter().all(|name| now[name] == before[name])
    };
    is_nothing || now == before || kind == Kind::Older || (kind == Kind::Less && is_less())
}

/// Plays a table, prints it, and gives how many were tried. None may be believed.
fn played(rows: Vec<Row>) {
    let (mut tried, mut believed, mut wrong) = (0, 0, Vec::new());
    for (what, kind, act) in rows {
        let mut scene = Scene::new();
        let (tablets, outside) = (scene.on_tablets(), scene.seen_outside());
        let told = &scene.told;
        assert!(
            told.is_empty(),
            "an honest shop: {told:?}: {}",
            scene.checked
        );
        act(&mut scene);
        let seen_now = scene.seen_outside();
        scene.rounds();
        let is_believed = scene.on_tablets() != tablets
            || [seen_now, scene.seen_outside()].iter().any(|seen| {
                let mut both = seen.iter().zip(&outside);
                both.any(|(now, before)| !is_as_before(kind, now, before))
            });
        let told: Vec<&str> = scene.told.iter().copied().collect();
        let number = usize::from(is_believed);
        println!(
            "tried: {what:<70} believed: {number}, told: {}",
            told.join(", ")
        );
        tried += 1;
        believed += number;
        let is_claim = matches!(kind, Kind::Claim | Kind::Less);
        if is_believed || (told.is_empty() && is_claim) {
            wrong.push(what);
        }
    }
    println!("{tried} forgeries tried, {believed} believed");
    assert!(wrong.is_empty(), "{wrong:#?}");
    trayzero_tests::figures::say("forgeries tried, believed 0", tried);
}

#[test]
fn a_member_tablet_in_wrong_hands_speaks_for_nobody() {
    played(members_tablet());
}

#[test]
fn an_unknown_tablet_and_a_lost_one_tell_nothing() {
    played(strangers());
}

#[test]
fn whoever_has_the_file_does_not_speak_for_its_owner() {
    played(in_the_owners_name());
}

#[test]
fn the_log_and_what_lies_beside_it_change_nobody() {
    played(log_and_files());
}
