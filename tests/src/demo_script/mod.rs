//! The script of the demo shop, and who plays it: what the program comes with is recorded
//! from here.

pub mod depot;
mod job_status;
mod pace;
mod player;
mod rehearsal;
pub mod technician;

use std::fmt;

use depot::{BayScript, depot};
use player::Player;
use rehearsal::Rehearsal;
use trayzero::data::crew::Role;
use trayzero::demo::{CrewCard, RecordedJob, Recording};
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, Person, Refusal};
use trayzero_core::journal::{TimeError, parse_rfc3339};
use uuid::Uuid;

/// Why a script cannot be played.
#[derive(Debug)]
pub enum ScriptError {
    /// The rules refuse a tap.
    Refused(Refusal),
    /// Anything else, in words.
    Other(String),
}

impl<E: std::error::Error> From<E> for ScriptError {
    fn from(error: E) -> Self {
        Self::Other(error.to_string())
    }
}

impl fmt::Display for ScriptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused(refusal) => write!(f, "{refusal:?}"),
            Self::Other(why) => f.write_str(why),
        }
    }
}

/// Plays the whole depot in memory, and gives what was tapped.
///
/// # Errors
/// [`ScriptError`], if a job cannot be played as its script says.
pub fn record() -> Result<Recording, ScriptError> {
    let depot = depot()?;
    let mut crew = depot.crew.clone();
    crew.sort_by_key(|card| card.role != Role::Foreman);
    let foreman = Person::new(&crew[0].name);
    let card = |card: depot::CrewCard| CrewCard {
        name: card.name,
        role: card.role,
        code: card.code,
    };
    let jobs = depot.bays.iter().map(|script| record_job(script, &foreman));
    Ok(Recording {
        jobs: jobs.collect::<Result<_, _>>()?,
        crew: crew.into_iter().map(card).collect(),
    })
}

fn record_job(script: &BayScript, foreman: &Person) -> Result<RecordedJob, ScriptError> {
    let mut entering = 0_u128;
    let entering = Box::new(move || {
        entering += 1;
        Uuid::from_u128(entering)
    });
    let mut player = Player::new(script, foreman, entering)?;
    let mut rehearsal = Rehearsal::default();
    let opened_ms = player.local_ms();
    let opening = Event::JobOpened(Box::new(player.opening()?));
    rehearsal.take(opened_ms, &script.technician, &[opening])?;
    player.play(&mut rehearsal)?;
    Ok(RecordedJob {
        bay: script.bay.clone(),
        vehicle: script.vehicle.clone(),
        layout: script.layout.clone(),
        technician: script.technician.clone(),
        opened_ms,
        taps: rehearsal.taps.split_off(1),
    })
}

/// The local time of a time in the depot's file, milliseconds.
fn local_ms(text: &str) -> Result<i64, TimeError> {
    let (at_ms, offset_min) = parse_rfc3339(text)?;
    Ok(at_ms + i64::from(offset_min) * 60_000)
}

/// The layout of that key among those that come with the program.
fn layout_of(key: &str) -> Result<Layout, ScriptError> {
    shipped()
        .iter()
        .find(|one| one.key == key)
        .and_then(|one| Layout::from_json(one.key, one.json.as_bytes()).ok())
        .ok_or_else(|| ScriptError::Other(format!("depot.json: no layout {key}")))
}
