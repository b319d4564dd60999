//! Tablets of one job that see each other now and then, and one run of them.

use serde_json::json;
use trayzero_core::engine::Layout;
use trayzero_core::job::{Entry, Event, JobPhase, JobState, Person, Refusal, SignOff};
use uuid::Uuid;

use super::hand;
use super::model::{self, Told};
use crate::dice::Dice;
use crate::entries::{MORNING_MS, id_of};

/// One tablet: the lines it knows, in their order, and what it shows.
#[derive(Clone, Debug)]
pub struct Tablet {
    number: u64,
    /// What it shows.
    pub job: JobState,
    /// The lines it knows, sorted.
    pub entries: Vec<Entry>,
    written: u64,
}

/// What the runs came to.
#[derive(Clone, Debug, Default)]
#[allow(missing_docs)]
pub struct Tally {
    pub runs: u64,
    pub events: u64,
    pub losses: u64,
    pub conflicts: u64,
    pub resolved: u64,
    pub taken_back: u64,
    pub reopened: u64,
    pub covers_on: u64,
    pub jobs_closed: u64,
    pub refused: std::collections::BTreeMap<&'static str, u64>,
}

fn order_of(entry: &Entry) -> ((u64, u32), Uuid, Uuid) {
    (entry.clock, entry.tablet, entry.id)
}

impl Tablet {
    /// A tablet that knows so many lines already.
    pub fn new(number: u64, entries: Vec<Entry>) -> Self {
        let mut tablet = Self {
            number,
            job: JobState::new(),
            entries,
            written: 0,
        };
        tablet.fold_anew();
        tablet
    }

    fn fold_anew(&mut self) {
        self.entries.sort_by_key(order_of);
        self.entries.dedup_by_key(|e| e.id);
        self.job = JobState::new();
        for entry in &self.entries {
            self.job.fold(entry);
        }
    }

    fn id(&self) -> Uuid {
        id_of(1 << 46 | self.number)
    }

    fn next_id(&mut self) -> Uuid {
        self.written += 1;
        id_of(self.number << 30 | self.written)
    }

    /// One entering of a person's code at this tablet.
    pub fn sign(&mut self, person: &str) -> SignOff {
        SignOff {
            person: Person::new(person),
            entering: self.next_id(),
            proof: None,
        }
    }

    /// Proposes an event as its own.
    ///
    /// # Errors
    /// The refusal of the state machine.
    pub fn propose(&mut self, event: Event) -> Result<Uuid, Refusal> {
        let last = self.entries.last().map_or(MORNING_MS as u64, |e| e.clock.0);
        let id = self.next_id();
        let entry = Entry {
            id,
            tablet: self.id(),
            at_ms: last as i64 + 1_000,
            offset_min: 0,
            clock: (last + 1_000, 0),
            after: None,
            paper: None,
            who: Person::new(hand::PEOPLE[(self.number % 2) as usize]),
            event,
        };
        self.job.apply(&entry)?;
        self.entries.push(entry);
        Ok(id)
    }

    /// Learns what another tablet knows.
    pub fn hear(&mut self, other: &[Entry]) {
        let known = self.entries.len();
        let last = self.entries.last().map(order_of);
        let mut new: Vec<Entry> = other
            .iter()
            .filter(|e| !self.entries.iter().rev().any(|k| k.id == e.id))
            .cloned()
            .collect();
        new.sort_by_key(order_of);
        let comes_after = new.first().is_none_or(|e| Some(order_of(e)) > last);
        self.entries.extend(new);
        if comes_after {
            for entry in &self.entries[known..] {
                self.job.fold(entry);
            }
        } else {
            self.fold_anew();
        }
    }

    /// Its lines as JSON.
    pub fn lines(&self) -> Vec<String> {
        let line = |e: &Entry| {
            json!({
                "tablet": e.tablet, "id": e.id, "clock": [e.clock.0, e.clock.1],
                "who": &*e.who.0, "event": &e.event,
            })
            .to_string()
        };
        self.entries.iter().map(line).collect()
    }

    /// What the model says that its lines have told.
    pub fn told(&self) -> Told {
        model::read(&self.lines())
    }
}

/// Tablets of one job.
#[derive(Clone, Debug)]
pub struct Shop {
    /// The tablets.
    pub tablets: Vec<Tablet>,
    layout: Layout,
}

impl Shop {
    /// So many tablets that all know the same lines.
    pub fn new(count: u64, entries: &[Entry], layout: Layout) -> Self {
        let tablets = (2..2 + count).map(|n| Tablet::new(n, entries.to_vec()));
        Self {
            tablets: tablets.collect(),
            layout,
        }
    }

    /// Two tablets see each other.
    pub fn meet(&mut self, one: usize, other: usize) {
        let (theirs, mine) = (
            self.tablets[other].entries.clone(),
            self.tablets[one].entries.clone(),
        );
        self.tablets[one].hear(&theirs);
        self.tablets[other].hear(&mine);
    }

    /// All see each other.
    pub fn meet_all(&mut self) {
        for one in 1..self.tablets.len() {
            self.meet(0, one);
        }
        for one in 1..self.tablets.len() {
            self.meet(0, one);
        }
    }

    /// Proposes at a tablet; a closing that is taken is held against the model.
    ///
    /// # Errors
    /// What the model says is still inside.
    pub fn propose(&mut self, at: usize, event: &Event, tally: &mut Tally) -> Result<bool, String> {
        let judged = matches!(
            event,
            Event::BankClosed { .. }
                | Event::JobClosed { .. }
                | Event::WrenchOn {}
                | Event::CrankTurned { .. }
        );
        let told = judged.then(|| self.tablets[at].told());
        if let Err(refusal) = self.tablets[at].propose(event.clone()) {
            *tally.refused.entry(refusal.code()).or_default() += 1;
            return Ok(false);
        }
        tally.events += 1;
        tally.losses += u64::from(event.tells_drop());
        tally.taken_back += u64::from(matches!(event, Event::Withdrawn { .. }));
        tally.resolved += u64::from(matches!(event, Event::ConflictResolved { .. }));
        let inside = match (event, told) {
            (Event::BankClosed { bank, .. }, Some(told)) => {
                tally.covers_on += 1;
                let cylinders = &self.layout.banks[usize::from(*bank)].cylinders;
                told.keeps_open(u64::from(*bank), cylinders)
            }
            (Event::JobClosed { .. }, Some(told)) => {
                tally.jobs_closed += 1;
                told.keeps_job_open()
            }
            (Event::WrenchOn {} | Event::CrankTurned { .. }, Some(told)) => told.keeps_still(),
            _ => None,
        };
        match inside {
            Some(inside) => Err(format!("{event:?}: {inside}")),
            None => Ok(true),
        }
    }

    /// Nothing that was told is inside a bank or a job that one of them shows as closed.
    ///
    /// # Errors
    /// What is inside.
    pub fn check(&self) -> Result<(), String> {
        for tablet in &self.tablets {
            let (job, told) = (&tablet.job, tablet.told());
            if job.phase() == JobPhase::Closed
                && let Some(inside) = told.keeps_job_open()
            {
                return Err(format!("the job is closed: {inside}"));
            }
            for (bank, of) in self.layout.banks.iter().enumerate() {
                if !job.is_bank_closed(bank) {
                    continue;
                }
                let closed_at = told.closed.get(&(bank as u64)).copied().unwrap_or(0);
                let before = told.adrift.iter().find(|(_, place)| **place < closed_at);
                if let Some((id, _)) = before {
                    return Err(format!("bank {bank} is closed over {id}"));
                }
                let mut at_the_bank = told.clone();
                at_the_bank.adrift.clear();
                at_the_bank.wrench_on = false;
                // The last leak-down is read through the plug holes of a closed bank.
                at_the_bank.in_cylinder.retain(|(_, what)| *what == "hold");
                if let Some(inside) = at_the_bank.keeps_open(bank as u64, &of.cylinders)
                    && job.open_conflicts().next().is_none()
                {
                    return Err(format!("bank {bank} is closed: {inside}"));
                }
            }
        }
        Ok(())
    }
}

/// One run: tablets cut off from one another work, lose, take back and resolve; then they
/// meet, and one of them tries honestly to close the job.
///
/// # Errors
/// What was closed in, in words.
pub fn run(seed: u64, whole: &[Entry], layout: &Layout, tally: &mut Tally) -> Result<(), String> {
    let mut shop = Shop::new(0, &[], layout.clone());
    let ran = run_in(&mut shop, seed, whole, tally);
    ran.map_err(|inside| {
        let lines: Vec<Vec<String>> = shop.tablets.iter().map(Tablet::lines).collect();
        format!("{inside}; the lines of each tablet: {lines:#?}")
    })
}

fn run_in(shop: &mut Shop, seed: u64, whole: &[Entry], tally: &mut Tally) -> Result<(), String> {
    let mut dice = Dice::new(seed);
    let count = 2 + dice.below(3) as u64;
    let known = 1 + dice.below(whole.len());
    *shop = Shop::new(count, &whole[..known], shop.layout.clone());
    tally.runs += 1;
    for _ in 0..12 + dice.below(28) {
        let at = dice.below(shop.tablets.len());
        if dice.once_in(9) {
            let other = dice.below(shop.tablets.len());
            shop.meet(at, other);
            continue;
        }
        for event in hand::anything(&mut shop.tablets[at], &mut dice) {
            if !shop.propose(at, &event, tally)? {
                break;
            }
        }
    }
    shop.meet_all();
    shop.check()?;
    let first = &shop.tablets[0].job;
    tally.conflicts += first.conflicts().len() as u64;
    tally.reopened += first
        .conflicts()
        .iter()
        .map(|c| c.reopened().len() as u64)
        .sum::<u64>();
    for tablet in &shop.tablets[1..] {
        if format!("{:?}", tablet.job) != format!("{first:?}") {
            return Err("two tablets with the same lines show different states".to_owned());
        }
    }
    for _ in 0..160 {
        if shop.tablets[0].job.phase() == JobPhase::Closed {
            break;
        }
        for event in hand::towards_the_end(&mut shop.tablets[0], &mut dice) {
            if !shop.propose(0, &event, tally)? {
                break;
            }
        }
    }
    shop.check()
}

/// A tablet by itself tries honestly to close a job that it knows.
pub fn finish(tablet: &mut Tablet, seed: u64) {
    let mut dice = Dice::new(seed);
    for _ in 0..400 {
        if tablet.job.phase() == JobPhase::Closed {
            return;
        }
        for event in hand::towards_the_end(tablet, &mut dice) {
            if tablet.propose(event).is_err() {
                break;
            }
        }
    }
}
