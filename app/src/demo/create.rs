//! The demo shop in a data folder.

use std::path::Path;
use std::sync::Arc;

use tempfile::TempDir;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::{Event, JobState, Person};
use uuid::Uuid;

use super::calendar::Calendar;
use super::depot::{BayScript, CrewCard, DemoRole, Depot, End, depot};
use super::player::{Moment, Player};
use super::rehearsal::Rehearsal;
use super::{Bay, DemoError};
use crate::data::crew::{self, Code, CodeCost, Crew};
use crate::data::store::{OpenJob, Stamp, Store, StoreError};
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

    /// The depot's jobs, in the order of its file.
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

/// Puts the depot's crew and jobs into a data folder, as if they had been at work until
/// just now. Gives the jobs in the order of the depot's file.
///
/// # Errors
/// [`DemoError`], which names the file where it comes from the disk.
pub fn create_demo_data(store: &Store, now: Stamp) -> Result<Vec<Uuid>, DemoError> {
    let depot = depot()?;
    let foreman = foreman_of(&depot)?;
    let mut last_local_ms = i64::MIN;
    for script in &depot.bays {
        last_local_ms = last_local_ms.max(rehearse(script, &foreman)?);
    }
    let calendar = Calendar::ending(now, last_local_ms);
    create_crew(store, &depot, now)?;
    depot
        .bays
        .iter()
        .map(|script| Ok(play(store, script, &foreman, calendar)?.id))
        .collect()
}

/// Plays the depot's finished job alone into a data folder, ending just now.
///
/// When the lock of the script has gone astray the job is let go for a moment, `midway`
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
    let depot = depot()?;
    let foreman = foreman_of(&depot)?;
    let closed = depot
        .bays
        .iter()
        .find(|script| matches!(script.state, End::Closed { .. }))
        .ok_or(DemoError::Missing {
            what: "finished job",
        })?;
    let calendar = Calendar::ending(now, rehearse(closed, &foreman)?);
    let mut player = Player::new(closed, &foreman, calendar, Box::new(Uuid::now_v7))?;
    let mut job = store.create_job(player.opening()?, player.stamp())?;
    let id = job.id();
    player.play_until(&mut job, see, &|state| state.adrift() > 0)?;
    drop(job);
    midway(id, player.stamp());
    let mut job = store.open_job(id)?;
    player.play(&mut job, see)?;
    Ok(let_go(job, &player, closed))
}

/// The layout of that key among those that come with the program.
///
/// # Errors
/// [`DemoError::Layout`] if there is none.
pub(super) fn layout_of(key: &str) -> Result<Layout, DemoError> {
    shipped()
        .iter()
        .find(|one| one.key == key)
        .and_then(|one| Layout::from_json(one.key, one.json.as_bytes()).ok())
        .ok_or_else(|| DemoError::Layout {
            key: key.to_owned(),
        })
}

/// The depot's crew with their codes, the foreman first.
fn create_crew(store: &Store, depot: &Depot, now: Stamp) -> Result<(), DemoError> {
    let tablet = Arc::clone(store.tablet());
    let mut crew = Crew::open(store.root(), tablet, DEMO_CODE_COST);
    let foreman = foreman_card(depot)?;
    let foreman_code = Code::from(foreman.code.as_str());
    crew.add_first_foreman(&foreman.name, &foreman_code, now)?;
    let foreman = Person::new(&foreman.name);
    for card in depot.crew.iter().filter(|c| c.role != DemoRole::Foreman) {
        let agreed = crew.approve(&foreman, &foreman_code, now)?;
        let code = Code::from(card.code.as_str());
        let role = match card.role {
            DemoRole::Foreman => crew::Role::Foreman,
            DemoRole::Technician => crew::Role::Technician,
            DemoRole::Second => crew::Role::Second,
            DemoRole::Stores => crew::Role::Stores,
        };
        crew.add(&card.name, role, Some(&code), agreed, now)?;
    }
    Ok(())
}

fn foreman_of(depot: &Depot) -> Result<Person, DemoError> {
    Ok(Person::new(&foreman_card(depot)?.name))
}

fn foreman_card(depot: &Depot) -> Result<&CrewCard, DemoError> {
    let mut crew = depot.crew.iter();
    crew.find(|card| card.role == DemoRole::Foreman)
        .ok_or(DemoError::Missing { what: "foreman" })
}

/// The depot's local time at a job's last tap.
fn rehearse(script: &BayScript, foreman: &Person) -> Result<i64, DemoError> {
    let midnight = Stamp {
        at_ms: 0,
        offset_min: 0,
    };
    let any = Calendar::ending(midnight, 0);
    let mut player = Player::new(script, foreman, any, Box::new(Uuid::now_v7))?;
    let mut rehearsal = Rehearsal::default();
    let opened = Event::JobOpened(Box::new(player.opening()?));
    rehearsal.take(player.stamp(), &script.technician, &[opened])?;
    player.play(&mut rehearsal, &mut |_| ())?;
    Ok(player.local_ms())
}

fn play(
    store: &Store,
    script: &BayScript,
    foreman: &Person,
    calendar: Calendar,
) -> Result<Played, DemoError> {
    let mut player = Player::new(script, foreman, calendar, Box::new(Uuid::now_v7))?;
    let mut job = store.create_job(player.opening()?, player.stamp())?;
    player.play(&mut job, &mut |_| ())?;
    Ok(let_go(job, &player, script))
}

/// The tablet signs, and the journal is let go.
fn let_go(mut job: OpenJob, player: &Player<'_>, script: &BayScript) -> Played {
    job.seal(player.stamp(), &script.technician);
    Played {
        id: job.id(),
        state: job.state().clone(),
    }
}
