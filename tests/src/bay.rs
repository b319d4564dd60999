//! A bay in which a job is played: every event goes through the state machine, and
//! after each the rules and the auditor are asked.

use trayzero_core::engine::Layout;
use trayzero_core::job::{
    CountLine, Effects, Entry, Event, JobPhase, JobState, NextStep, Opening, Person, Refusal,
    SearchPlace, SignOff, TakeIn, found_places,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use crate::auditor::Auditor;
use crate::entries::Scribe;
use crate::rules;

/// The technician of the bay, who counts first.
pub const FIRST: &str = "Ilse Brandt";
/// The one who counts second.
pub const SECOND: &str = "Tomek Wrona";
/// The foreman.
pub const FOREMAN: &str = "Ruth Okafor";

/// One bay with one job in it.
#[derive(Clone, Debug)]
pub struct Bay {
    /// The job as the state machine has it.
    pub job: JobState,
    /// Every entry taken, in order.
    pub entries: Vec<Entry>,
    /// Writes the entries.
    pub scribe: Scribe,
    auditor: Auditor,
}

impl Bay {
    /// A bay without a job.
    pub fn empty() -> Self {
        Self {
            job: JobState::new(),
            entries: Vec::new(),
            scribe: Scribe::new(1, FIRST),
            auditor: Auditor::default(),
        }
    }

    /// A bay with a job that was just opened.
    pub fn open(layout: Layout) -> Self {
        let mut bay = Self::empty();
        bay.must(opening(layout));
        bay
    }

    /// Proposes an event. A refused one must leave no trace.
    ///
    /// # Errors
    /// The refusal of the state machine.
    ///
    /// # Panics
    /// If a rule is broken, the auditor disagrees, or a refused event left a trace.
    pub fn propose(&mut self, event: Event) -> Result<Effects, Refusal> {
        let entry = self.scribe.entry(event);
        let before = self.job.clone();
        let foretold = before.would_take(&entry);
        let taken = self.job.apply(&entry);
        match &taken {
            Ok(_) => {
                let broken = rules::broken(&before, &entry.event, &self.job);
                assert_eq!(broken, None, "after {:?}", entry.event);
                let differs = self.auditor.take(&entry, &self.job);
                assert_eq!(differs, None, "after {:?}", entry.event);
                self.entries.push(entry);
            }
            Err(_) => assert_eq!(self.job, before, "a refusal leaves no trace"),
        }
        match foretold {
            Ok(foreseen) => {
                let (mut job, entry) = (before, &self.entries[self.entries.len() - 1]);
                let effects = job.apply_foreseen(entry, foreseen.clone());
                assert_eq!(effects, taken, "what was foreseen comes");
                assert!(job == self.job, "and nothing else");
                // Looked at before it was known, it is now known: nothing happens twice.
                let again = job.apply_foreseen(entry, foreseen);
                assert!(again.is_ok_and(|effects| effects.repeated) && job == self.job);
            }
            Err(refusal) => assert_eq!(Some(&refusal), taken.as_ref().err()),
        }
        taken
    }

    /// Proposes an event that has to be taken; gives its identity.
    ///
    /// # Panics
    /// If it is refused, and as [`Bay::propose`].
    pub fn must(&mut self, event: Event) -> Uuid {
        let told = format!("{event:?}");
        if let Err(refusal) = self.propose(event) {
            panic!("{told} was refused: {} {refusal:?}", refusal.code());
        }
        self.entries.last().map(|e| e.id).unwrap_or_default()
    }

    /// Proposes an event that has to be refused; gives the refusal.
    ///
    /// # Panics
    /// If it is taken.
    pub fn refused(&mut self, event: Event) -> Refusal {
        let told = format!("{event:?}");
        if let Some(refusal) = self.job.objection(&event) {
            return refusal;
        }
        match self.propose(event) {
            Ok(_) => panic!("{told} was taken"),
            Err(refusal) => refusal,
        }
    }

    /// Takes the proposed steps one after another until the job is closed, or until
    /// `stop` says so of the step that would come next.
    ///
    /// # Panics
    /// If a step is refused or the job does not come to its end.
    pub fn work_until(&mut self, mut stop: impl FnMut(&JobState, &NextStep) -> bool) {
        for _ in 0..20_000 {
            let step = self.job.next_step(None);
            if stop(&self.job, &step) || step == NextStep::Nothing {
                return;
            }
            self.take_step(&step);
        }
        panic!("the job does not end: {:?}", self.job.next_step(None));
    }

    /// Works on until the job is closed.
    ///
    /// # Panics
    /// If it cannot be closed.
    pub fn work_to_the_end(&mut self) {
        self.work_until(|_, _| false);
        assert_eq!(self.job.phase(), JobPhase::Closed);
    }

    /// Takes one step, with a careful technician's answer where it asks for one.
    ///
    /// # Panics
    /// If it is refused.
    pub fn take_step(&mut self, step: &NextStep) {
        let events = self.events_for(step);
        assert!(!events.is_empty(), "nothing to do for {step:?}");
        for event in events {
            self.must(event);
        }
    }

    /// The events of a step: those of a plain tap, or a careful technician's answer.
    /// Counts of the gate carry the ledger's figures.
    pub fn events_for(&mut self, step: &NextStep) -> Vec<Event> {
        let plain = self.job.events_of(step);
        if plain.is_empty() {
            self.answer(step)
        } else {
            plain
        }
    }

    /// The events of a step that needs more than a tap.
    fn answer(&mut self, step: &NextStep) -> Vec<Event> {
        match step {
            NextStep::TakeIn => vec![Event::TakeInNoted(Box::new(TakeIn {
                complaint: "blue smoke after idling".to_owned(),
                ..TakeIn::default()
            }))],
            NextStep::ReadLeak { cylinder, when } => vec![Event::LeakRead {
                cylinder: *cylinder,
                when: *when,
                supply_bar: 6.9,
                cylinder_bar: 6.3,
                heard: Vec::new(),
            }],
            NextStep::AskForeman { cylinder } => vec![Event::ForemanAgreed {
                cylinder: *cylinder,
                by: self.scribe.sign(FOREMAN),
            }],
            NextStep::AirOn { cylinder } => vec![Event::AirOn {
                cylinder: *cylinder,
                bar: 4.0,
            }],
            NextStep::FindPart { dropped } => vec![self.found(*dropped)],
            NextStep::Gate { bank } => {
                let mut events = Vec::new();
                if !self.job.counts_agree() {
                    events.extend(self.counts_wanted());
                }
                events.push(Event::BankClosed {
                    bank: *bank,
                    by: self.scribe.sign(FIRST),
                });
                events
            }
            NextStep::CloseJob => vec![Event::JobClosed {
                by: self.scribe.sign(FIRST),
            }],
            _ => Vec::new(),
        }
    }

    /// The dropped part is found on the bench, and goes where it belongs.
    pub fn found(&self, dropped: Uuid) -> Event {
        let drop = self.job.drop_of(dropped);
        let to = drop.map_or(Place::Tray, |d| found_places(&d.item)[0]);
        Event::PartFound {
            dropped,
            found_at: SearchPlace::BenchAndFloor,
            to,
        }
    }

    /// A search for a dropped part everywhere, signed by two.
    pub fn searched(&mut self, dropped: Uuid) -> Event {
        Event::SearchSigned {
            dropped,
            first: self.scribe.sign(FIRST),
            second: self.scribe.sign(SECOND),
            places: SearchPlace::LIST.to_vec(),
        }
    }

    /// What a person counts who sees everything.
    pub fn true_count(&mut self, person: &str) -> Event {
        Event::BlindCount {
            by: self.scribe.sign(person),
            lines: true_lines(&self.job),
        }
    }

    /// The true counts that the round still wants, by people who have not counted in it.
    fn counts_wanted(&mut self) -> Vec<Event> {
        let round = self.job.round_counts();
        let counted = match round[..] {
            [one] => Some(one.by.clone()),
            _ => None,
        };
        [FIRST, SECOND]
            .into_iter()
            .filter(|p| counted.as_ref() != Some(&Person::new(p)))
            .map(|p| self.true_count(p))
            .collect()
    }

    /// Two people count, each for themselves.
    ///
    /// # Panics
    /// If a count is refused.
    pub fn count_twice(&mut self) {
        for person in [FIRST, SECOND] {
            let count = self.true_count(person);
            self.must(count);
        }
    }

    /// Takes an entry back.
    ///
    /// # Errors
    /// The refusal of the state machine.
    pub fn take_back(&mut self, event: Uuid) -> Result<Effects, Refusal> {
        let needed = self.job.signatures_to_take_back(event);
        let by = [FIRST, SECOND][..needed.min(2)].iter();
        let by = by.map(|person| self.scribe.sign(person)).collect();
        self.propose(Event::Withdrawn { event, by })
    }

    /// How many of an item are at a place.
    pub fn at(&self, item: &Item, place: Place) -> u32 {
        self.job.ledger().at(item, place)
    }
}

/// A signature that rests on an entering of that number.
pub fn signed(person: &str, entering: u64) -> SignOff {
    SignOff {
        person: Person::new(person),
        entering: Uuid::from_u128(u128::from(entering)),
        proof: None,
    }
}

/// The opening of a job on an engine.
pub fn opening(layout: Layout) -> Event {
    Event::JobOpened(Box::new(Opening {
        order_number: None,
        layout,
        vehicle: "Depot van 7".to_owned(),
        bay: "Bay 2".to_owned(),
        technician: Person::new(FIRST),
    }))
}

/// The count list with the ledger's own figures.
pub fn true_lines(job: &JobState) -> Vec<CountLine> {
    job.count_list()
        .into_iter()
        .map(|(item, place)| CountLine {
            count: job.ledger().at(&item, place),
            item,
            place,
        })
        .collect()
}
