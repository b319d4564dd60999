//! The demo shop in a data folder.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use ed25519_dalek::SigningKey;
use tempfile::TempDir;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, JobState, Opening, Person, Refusal, SignOff};
use trayzero_core::shop_log::sign_event;
use uuid::Uuid;

use super::DemoError;
use super::calendar::Calendar;
use super::recorded::{CrewCard, RecordedJob, Tap, recording};
use crate::data::crew::{Code, CodeCost, CodeError, Crew, ends_job, sign_ends};
use crate::data::store::{OpenJob, ProposeError, Stamp, Store, StoreError};
use crate::ui::first_use;

/// How much work a try of a code is at the depot. Its codes stand in the open, so they
/// need no protection, and the depot should be there at once.
const DEMO_CODE_COST: CodeCost = CodeCost {
    memory_kib: 64,
    passes: 1,
};

/// A furnished folder that goes away when it is let go.
#[derive(Debug)]
pub struct DemoFolder {
    dir: TempDir,
    jobs: Vec<Uuid>,
}

impl DemoFolder {
    /// The data folder.
    pub fn path(&self) -> &Path {
        self.dir.path()
    }

    /// The depot's jobs, in the order of the recorded taps.
    pub fn jobs(&self) -> &[Uuid] {
        &self.jobs
    }
}

/// A job that was played.
#[derive(Clone, Debug)]
pub struct Played {
    /// The job.
    pub id: Uuid,
    /// Its state after the last tap and the tablet's signature.
    pub state: JobState,
}

/// Makes a scratch folder under the system's folder for such, with the depot in it and a
/// first-use card on each screen. It is removed when the value is dropped.
///
/// # Errors
/// [`DemoError`], which names the file where it comes from the disk.
pub fn open_demo_folder(now: Stamp) -> Result<DemoFolder, DemoError> {
    let dir = tempfile::Builder::new()
        .prefix("trayzero-demo-")
        .tempdir()
        .map_err(|fault| DemoError::Scratch {
            folder: std::env::temp_dir(),
            fault,
        })?;
    let store = Store::open(dir.path(), now)?;
    let jobs = create_demo_data(&store, now)?;
    first_use::ask_for_cards(store.root()).map_err(StoreError::from)?;
    Ok(DemoFolder { dir, jobs })
}

/// What somebody who looks on sees.
#[derive(Debug)]
pub enum Moment<'a> {
    /// A tap was taken: the state after it, and its events.
    Taken(&'a JobState, &'a [Event]),
    /// The gate was tried and refused, for all these reasons.
    GateRefused(&'a JobState, &'a [Refusal]),
}

impl Moment<'_> {
    /// The state at that moment.
    pub fn state(&self) -> &JobState {
        match self {
            Moment::Taken(state, _) | Moment::GateRefused(state, _) => state,
        }
    }
}

/// Puts the depot's crew and jobs into a data folder, as if they had been at work until
/// just now. Gives the jobs in the order of the recorded taps.
///
/// # Errors
/// [`DemoError`], which names the file where it comes from the disk.
pub fn create_demo_data(store: &Store, now: Stamp) -> Result<Vec<Uuid>, DemoError> {
    let recording = recording()?;
    let last_ms = recording.jobs.iter().map(RecordedJob::last_ms).max();
    let calendar = Calendar::ending(now, last_ms.unwrap_or(0));
    let keys = create_crew(store, &recording.crew, now)?;
    recording
        .jobs
        .iter()
        .map(|recorded| {
            let mut playing = Playing::open(store, recorded, calendar, &keys)?;
            playing.play(&recorded.taps, &mut |_| ())?;
            Ok(playing.let_go().id)
        })
        .collect()
}

/// Puts the depot's crew into a data folder and plays its finished job alone, ending just
/// now.
///
/// When the recorded lock has gone astray the job is let go for a moment, `midway`
/// is called with the job and the time, and the job is opened again from its journal.
///
/// # Errors
/// [`DemoError`], which names the file where it comes from the disk.
pub fn play_closed_job(
    store: &Store,
    now: Stamp,
    see: &mut dyn FnMut(Moment<'_>),
    midway: &mut dyn FnMut(Uuid, Stamp),
) -> Result<Played, DemoError> {
    let has = |tap: &Tap, wanted: fn(&Event) -> bool| tap.events.iter().any(wanted);
    let recording = recording()?;
    let is_closed = |job: &&RecordedJob| {
        let mut taps = job.taps.iter();
        taps.any(|tap| has(tap, |event| matches!(event, Event::JobClosed { .. })))
    };
    let missing = |what| DemoError::Missing { what };
    let mut jobs = recording.jobs.iter();
    let recorded = jobs.find(is_closed).ok_or(missing("finished job"))?;
    let drops = |tap: &Tap| has(tap, |event| matches!(event, Event::PartDropped { .. }));
    let dropped = recorded.taps.iter().position(drops);
    let (before, after) = recorded
        .taps
        .split_at(dropped.ok_or(missing("dropped lock"))? + 1);
    let calendar = Calendar::ending(now, recorded.last_ms());
    let keys = create_crew(store, &recording.crew, now)?;
    let mut playing = Playing::open(store, recorded, calendar, &keys)?;
    let id = playing.job.id();
    playing.play(before, see)?;
    drop(playing);
    let at_ms = before.last().map_or(recorded.opened_ms, |tap| tap.at_ms);
    midway(id, calendar.stamp(at_ms));
    let mut playing = Playing {
        job: store.open_job(id)?,
        store,
        recorded,
        calendar,
        keys: &keys,
    };
    playing.play(after, see)?;
    Ok(playing.let_go())
}

/// The keys that the crew signs with.
type PersonKeys = BTreeMap<Person, SigningKey>;

/// A job that is being played.
struct Playing<'a> {
    job: OpenJob,
    store: &'a Store,
    recorded: &'a RecordedJob,
    calendar: Calendar,
    keys: &'a PersonKeys,
}

impl<'a> Playing<'a> {
    fn open(
        store: &'a Store,
        recorded: &'a RecordedJob,
        calendar: Calendar,
        keys: &'a PersonKeys,
    ) -> Result<Self, DemoError> {
        let opening = Opening {
            order_number: None,
            layout: layout_of(&recorded.layout)?,
            vehicle: recorded.vehicle.clone(),
            bay: recorded.bay.clone(),
            technician: recorded.technician.clone(),
        };
        Ok(Self {
            job: store.create_job(opening, calendar.stamp(recorded.opened_ms))?,
            store,
            recorded,
            calendar,
            keys,
        })
    }

    /// Puts taps through the rules and into the journal.
    fn play(&mut self, taps: &[Tap], see: &mut dyn FnMut(Moment<'_>)) -> Result<(), DemoError> {
        for tap in taps {
            let events = tap.events.iter();
            let events = events.map(|event| self.as_here(event));
            let events = events.collect::<Result<Vec<Event>, DemoError>>()?;
            let job = &mut self.job;
            let at = self.calendar.stamp(tap.at_ms);
            let taken = job.propose(at, &self.recorded.technician, &events);
            match (taken, tap.is_refused, events.first()) {
                (Ok(_), false, _) => {
                    see(Moment::Taken(job.state(), &events));
                    self.sign_ends(&events, at)?;
                }
                (Err(ProposeError::Refused { .. }), true, Some(Event::BankClosed { bank, .. })) => {
                    let holds = job.state().gate(usize::from(*bank));
                    see(Moment::GateRefused(job.state(), &holds));
                }
                (Err(error), ..) => return Err(error.into()),
                (Ok(_), true, _) => {
                    return Err(DemoError::Missing {
                        what: "reason to refuse a tap that was refused",
                    });
                }
            }
        }
        Ok(())
    }

    /// Whoever closes the job signs the ends of its journals, as the window has it.
    fn sign_ends(&self, events: &[Event], at: Stamp) -> Result<(), DemoError> {
        let closing = events.iter().filter(|event| ends_job(event));
        let people = closing.flat_map(Event::signatures);
        let key = |sign: &SignOff| {
            let key = self.keys.get(&sign.person)?;
            Some((sign.person.clone(), key.clone()))
        };
        let people: Vec<(Person, SigningKey)> = people.filter_map(key).collect();
        let (root, tablet) = (self.store.root(), self.store.tablet());
        sign_ends(root, tablet, self.job.id(), &people, at).map_err(DemoError::Ends)
    }

    /// A recorded event as it is in this folder, signed by whoever signs it.
    fn as_here(&self, event: &Event) -> Result<Event, DemoError> {
        let mut here = moved(event, self.job.state(), self.recorded, self.calendar);
        let signs: Vec<SignOff> = here.signatures().cloned().collect();
        for sign in signs {
            let key = self.keys.get(&sign.person);
            let key = key.ok_or(DemoError::Missing {
                what: "person of the crew who signs",
            })?;
            here = sign_event(
                self.job.id(),
                self.store.tablet().id(),
                &sign.person,
                &here,
                key,
            )
            .map_err(CodeError::Unhashed)?;
        }
        Ok(here)
    }

    /// The tablet signs, and the journal is let go.
    fn let_go(mut self) -> Played {
        let at = self.calendar.stamp(self.recorded.last_ms());
        self.job.seal(at, &self.recorded.technician);
        Played {
            id: self.job.id(),
            state: self.job.state().clone(),
        }
    }
}

/// The layout of that key among those that come with the program.
fn layout_of(key: &str) -> Result<Layout, DemoError> {
    shipped()
        .iter()
        .find(|one| one.key == key)
        .and_then(|one| Layout::from_json(one.key, one.json.as_bytes()).ok())
        .ok_or_else(|| DemoError::Layout {
            key: key.to_owned(),
        })
}

/// An event with its date moved to now, and with the part that is adrift here.
fn moved(event: &Event, state: &JobState, recorded: &RecordedJob, calendar: Calendar) -> Event {
    let mut event = event.clone();
    match &mut event {
        Event::OilToppedUp { on, .. } => *on = calendar.date(on, recorded.opened_ms),
        Event::PartFound { dropped, .. } => {
            if let Some(drop) = state.drops_adrift().next() {
                *dropped = drop.id;
            }
        }
        _ => {}
    }
    event
}

/// The depot's crew with their codes; gives the keys that these unlock.
fn create_crew(store: &Store, cards: &[CrewCard], now: Stamp) -> Result<PersonKeys, DemoError> {
    let mut crew = Crew::open(store.root(), Arc::clone(store.tablet()), DEMO_CODE_COST);
    let (foreman, others) = cards
        .split_first()
        .ok_or(DemoError::Missing { what: "foreman" })?;
    let foreman_code = Code::from(foreman.code.as_str());
    crew.add_first_foreman(&foreman.name, &foreman_code, now)?;
    let foreman = Person::new(&foreman.name);
    for card in others {
        let agreed = crew.approve(&foreman, &foreman_code, now)?;
        let code = Code::from(card.code.as_str());
        crew.add(&card.name, card.role, Some(&code), agreed, now)?;
    }
    let mut keys = PersonKeys::new();
    for card in cards {
        let person = Person::new(&card.name);
        if let Some(key) = crew.try_code(&person, &Code::from(card.code.as_str()), now)? {
            keys.insert(person, key);
        }
    }
    Ok(keys)
}
