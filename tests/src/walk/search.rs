//! Breadth first through all states, and backwards from every closed one.

use std::collections::{BTreeSet, HashMap};

use trayzero_core::job::{Entry, Event, JobPhase, JobState, Person};
use uuid::Uuid;

use super::Bounds;
use super::choices::Proposer;
use super::key::key_of;
use super::nonsense::nonsense;
use crate::entries::{MORNING_MS, id_of};
use crate::rules;

/// Nonsense is thrown at every so many states.
const NONSENSE_EVERY: u32 = 61;

/// What a walk has seen.
#[derive(Clone, Debug, Default)]
pub struct Figures {
    /// Different states.
    pub states: usize,
    /// Events taken between them.
    pub transitions: usize,
    /// Of these, events taken back.
    pub taken_back: usize,
    /// Events refused.
    pub refused: usize,
    /// States in which the job is closed.
    pub closed: usize,
    /// Events on the longest of the shortest ways.
    pub depth: usize,
    /// Pairs of events merged from two tablets.
    pub merged: usize,
    /// Codes of all refusals met.
    pub codes: BTreeSet<&'static str>,
}

/// A state or a step that should not be.
#[derive(Clone, Debug)]
pub struct Fault {
    /// What is wrong, in words.
    pub what: String,
    /// The event that led there, if one did.
    pub event: Option<Box<Event>>,
}

fn fault(what: impl Into<String>, event: Option<&Event>) -> Fault {
    Fault {
        what: what.into(),
        event: event.cloned().map(Box::new),
    }
}

/// One state that waits to be left by every event.
struct Waiting {
    number: u32,
    depth: u64,
    job: JobState,
}

struct Search<'a> {
    bounds: &'a Bounds,
    known: HashMap<u128, u32>,
    closed: Vec<u32>,
    edges: Vec<(u32, u32)>,
    next: Vec<Waiting>,
    figures: Figures,
}

/// Walks all states within the bounds.
///
/// # Errors
/// The first [`Fault`]: a rule broken, an answer of the state machine that does not hold
/// together, or a state from which the job can no longer be closed.
pub fn walk(bounds: &Bounds) -> Result<Figures, Fault> {
    let mut search = Search {
        bounds,
        known: HashMap::new(),
        closed: Vec::new(),
        edges: Vec::new(),
        next: Vec::new(),
        figures: Figures::default(),
    };
    let (job, depth) = search.start()?;
    search.arrive(job, depth)?;
    while !search.next.is_empty() {
        search.figures.depth += 1;
        for waiting in std::mem::take(&mut search.next) {
            search.leave(&waiting)?;
        }
    }
    search.all_can_be_closed()?;
    search.figures.states = search.known.len();
    search.figures.transitions = search.edges.len();
    search.figures.closed = search.closed.len();
    Ok(search.figures)
}

impl Search<'_> {
    /// The state from which the walk sets out.
    fn start(&mut self) -> Result<(JobState, u64), Fault> {
        let mut job = JobState::new();
        let mut depth = 0;
        if !self.bounds.prepared {
            return Ok((job, depth));
        }
        let layout = &self.bounds.layout;
        let mut events = vec![crate::bay::opening(layout.clone())];
        events.extend(layout.kit_list().into_iter().map(|line| Event::KitCounted {
            item: line.item,
            count: line.count,
        }));
        events.push(Event::StockIssued {
            item: trayzero_core::parts::Item::NewSeal,
            count: layout.valve_count() as u32 + self.bounds.seals_spoiled_max,
        });
        for cylinder in layout.cylinders() {
            events.push(Event::PlugOut { cylinder });
            events.push(Event::VentedCoverIn { cylinder });
        }
        for event in events {
            let entry = entry_at(depth, event);
            job.apply(&entry)
                .map_err(|r| fault(format!("preparing: {}", r.code()), Some(&entry.event)))?;
            depth += 1;
        }
        Ok((job, depth))
    }

    /// A state is reached: new ones wait to be left in their turn.
    fn arrive(&mut self, job: JobState, depth: u64) -> Result<u32, Fault> {
        let fresh = self.known.len() as u32;
        let number = *self.known.entry(key_of(&job)).or_insert(fresh);
        if number == fresh {
            if self.known.len() > self.bounds.states_max {
                return Err(fault("more states than the bound allows", None));
            }
            if job.phase() == JobPhase::Closed {
                self.closed.push(number);
            }
            self.next.push(Waiting { number, depth, job });
        }
        Ok(number)
    }

    /// Every event is tried on a state.
    fn leave(&mut self, from: &Waiting) -> Result<(), Fault> {
        let proposer = Proposer {
            bounds: self.bounds,
            job: &from.job,
            depth: from.depth,
            events: Vec::with_capacity(96),
        };
        let unused = proposer.sign(1);
        let signs = [proposer.sign(0), proposer.sign(1)];
        for event in proposer.propose() {
            self.try_event(from, &entry_at(from.depth, event))?;
        }
        if self.bounds.two_tablets {
            self.merge_pairs(from)?;
        }
        let earliest = from
            .depth
            .saturating_sub(self.bounds.take_back_depth as u64);
        for past in earliest..from.depth {
            let event = id_of(past + 1);
            match from.job.may_withdraw(event) {
                Ok(()) => {
                    let needed = from.job.signatures_to_take_back(event);
                    let by = signs[..needed.min(2)].to_vec();
                    let entry = entry_at(from.depth, Event::Withdrawn { event, by });
                    self.try_event(from, &entry)?;
                }
                Err(refusal) => self.refused(&refusal),
            }
        }
        if from.number.is_multiple_of(NONSENSE_EVERY) {
            for event in nonsense(unused) {
                let entry = entry_at(from.depth, event);
                let mut job = from.job.clone();
                match job.apply(&entry) {
                    Ok(_) => return Err(fault("nonsense was taken", Some(&entry.event))),
                    Err(refusal) => self.refused(&refusal),
                }
                if job != from.job {
                    return Err(fault("a refusal left a trace", Some(&entry.event)));
                }
            }
        }
        Ok(())
    }

    /// What two tablets do in the same state, each without the other: whichever comes
    /// first in the order, no rule of the state is broken and no loss is forgotten.
    fn merge_pairs(&mut self, from: &Waiting) -> Result<(), Fault> {
        let taken_at = |depth: u64| {
            let proposer = Proposer {
                bounds: self.bounds,
                job: &from.job,
                depth,
                events: Vec::with_capacity(96),
            };
            let entries = proposer.propose().into_iter().map(|e| entry_at(depth, e));
            let taken = entries.filter(|e| from.job.would_take(e).is_ok());
            taken.collect::<Vec<Entry>>()
        };
        // Codes are entered anew at the second tablet.
        let (ours, mut theirs) = (taken_at(from.depth), taken_at(from.depth + (1 << 20)));
        for entry in &mut theirs {
            entry.tablet = Uuid::from_u128(2);
        }
        for (one, other) in ours.iter().flat_map(|a| theirs.iter().map(move |b| (a, b))) {
            for pair in [[one, other], [other, one]] {
                let mut job = from.job.clone();
                for entry in pair {
                    job.fold(entry);
                }
                self.figures.merged += 1;
                if let Some(broken) = rules::broken_state(&job) {
                    let what = format!("{broken} (merged after {:?})", pair[0].event);
                    return Err(fault(what, Some(&pair[1].event)));
                }
                let is_told = |e: &Entry| !e.event.tells_drop() || job.drop_of(e.id).is_some();
                if !pair.iter().all(|e| is_told(e)) {
                    let what = format!("told: a loss is gone beside {:?}", pair[0].event);
                    return Err(fault(what, Some(&pair[1].event)));
                }
            }
        }
        Ok(())
    }

    fn try_event(&mut self, from: &Waiting, entry: &Entry) -> Result<(), Fault> {
        let back = matches!(entry.event, Event::Withdrawn { .. });
        if !back && let Err(refusal) = from.job.would_take(entry) {
            self.refused(&refusal);
            return Ok(());
        }
        let mut job = from.job.clone();
        match job.apply(entry) {
            Ok(_) => {}
            Err(refusal) if back => {
                if job != from.job {
                    return Err(fault("a refusal left a trace", Some(&entry.event)));
                }
                self.refused(&refusal);
                return Ok(());
            }
            Err(refusal) => {
                let what = format!("foretold as taken, refused with {}", refusal.code());
                return Err(fault(what, Some(&entry.event)));
            }
        }
        if let Some(broken) = rules::broken(&from.job, &entry.event, &job) {
            let event = match &entry.event {
                Event::Withdrawn { event, .. } => from.job.event_of(*event).cloned(),
                other => Some(other.clone()),
            };
            let what = if back {
                format!("{broken} (taken back)")
            } else {
                broken
            };
            return Err(fault(what, event.as_ref()));
        }
        self.figures.taken_back += usize::from(back);
        let number = self.arrive(job, from.depth + 1)?;
        self.edges.push((from.number, number));
        Ok(())
    }

    fn refused(&mut self, refusal: &trayzero_core::job::Refusal) {
        self.figures.refused += 1;
        self.figures.codes.insert(refusal.code());
    }

    /// Backwards from every closed state: no state may be left over.
    fn all_can_be_closed(&self) -> Result<(), Fault> {
        let states = self.known.len();
        let mut starts = vec![0_u32; states + 1];
        for (_, to) in &self.edges {
            starts[*to as usize + 1] += 1;
        }
        for index in 0..states {
            starts[index + 1] += starts[index];
        }
        let mut sources = vec![0_u32; self.edges.len()];
        let mut place = starts.clone();
        for (from, to) in &self.edges {
            sources[place[*to as usize] as usize] = *from;
            place[*to as usize] += 1;
        }
        let mut seen = vec![false; states];
        let mut stack = self.closed.clone();
        let mut reached = 0;
        while let Some(state) = stack.pop() {
            let index = state as usize;
            if std::mem::replace(&mut seen[index], true) {
                continue;
            }
            reached += 1;
            let into = starts[index] as usize..starts[index + 1] as usize;
            stack.extend(sources[into].iter().filter(|s| !seen[**s as usize]));
        }
        if reached == states {
            return Ok(());
        }
        let what = format!(
            "from {} of {states} states the job can no longer be closed",
            states - reached
        );
        Err(fault(what, None))
    }
}

/// The entry at a place in a history; its identity tells the place.
fn entry_at(depth: u64, event: Event) -> Entry {
    let at_ms = MORNING_MS + depth as i64 * 1_000;
    Entry {
        id: id_of(depth + 1),
        tablet: Uuid::nil(),
        at_ms,
        offset_min: 0,
        clock: (at_ms as u64, 0),
        after: None,
        paper: None,
        who: Person::new("Ada"),
        event,
    }
}
