//! The crew: who works here, and the keys that they sign with.
//!
//! Who is in it, and what they may do, is the outcome of the [shop log](log_files): signed
//! entries, checked from the first one on. A person's key is locked by their code
//! ([`LockedKey`]); a code itself is nowhere: not in a file, not in a log, not in a crash
//! text. `crew.json` of the version before is read until a foreman takes it over.

mod attempts;
pub mod boxes;
mod change;
mod code;
mod ends;
mod error;
mod fault;
mod forms;
mod locked_key;
pub mod log_files;
mod member;
mod take_over;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ed25519_dalek::SigningKey;
use trayzero_core::job::{Event, Person, SignOff};
use trayzero_core::journal::event_id;
use trayzero_core::shop_log::{Deed, Shop, sign_event};
use uuid::Uuid;

use crate::data::store::{Stamp, Tablet, random};
use attempts::Attempts;
use boxes::BoxKey;
use forms::Forms;
use log_files::LogFiles;
use member::Member;

pub(crate) use attempts::begin_anew as begin_attempts_anew;
pub use attempts::{Attempt, AttemptResult, Uptime};
pub use code::{CODE_CHARS, Code, CodeCost, SHORT_CODE_CHARS_MIN};
pub use ends::{ends_job, sign_ends};
pub use error::CodeError;
pub use fault::{CrewFault, WhyFaulty};
pub use forms::{FILE as KEYS_FILE, LockedKeys};
pub use locked_key::LockedKey;
pub use member::{CREW_MAX, CrewList, PERSON_NAME_MAX};
pub use take_over::{ForLogExchange, LogSight, TakeOverOffer, for_exchange, reseal_restored};
pub use trayzero_core::shop_log::Role;

/// The crew list of the version before, in the data folder.
pub const CREW_FILE: &str = "crew.json";
/// What the seal of such a list is for.
pub const CREW_PURPOSE: &str = "trayzero crew 1";

/// One person of the crew, for the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CrewMember {
    /// The name that taps and signatures carry.
    pub person: Person,
    /// What they may do.
    pub role: Role,
    /// Whether a code is set.
    pub has_code: bool,
}

impl CrewMember {
    /// Whether they are a foreman.
    pub fn is_foreman(&self) -> bool {
        self.role == Role::Foreman
    }
}

/// A foreman has just entered their code: good for one change of the crew.
#[derive(Debug)]
pub struct Approval {
    foreman: SignOff,
    key: Option<SigningKey>,
}

impl Approval {
    /// Who has agreed.
    pub fn foreman(&self) -> &SignOff {
        &self.foreman
    }
}

/// The crew of this tablet.
#[derive(Debug)]
pub struct Crew {
    root: PathBuf,
    tablet: Arc<Tablet>,
    cost: CodeCost,
    log: LogFiles,
    forms: Option<Forms>,
    box_key: Option<BoxKey>,
    /// The crew of the version before, until it is taken over.
    old: BTreeMap<String, Member>,
    attempts: Attempts,
    /// Keys unlocked for one signature each, by the entering of the code.
    unlocked: BTreeMap<Uuid, (Person, SigningKey)>,
    /// What lies in the shop folder, last seen.
    sight: LogSight,
    fault: Option<CrewFault>,
    tries_fault: Option<CrewFault>,
}

impl Crew {
    /// Reads the crew of a data folder. A log or a list that was changed by hand is not
    /// used: nobody can sign until that is dealt with, and [`Crew::fault`] says so.
    pub fn open(root: &Path, tablet: Arc<Tablet>, cost: CodeCost) -> Self {
        Self::open_with(root, tablet, cost, Uptime::since_now())
    }

    /// As [`Crew::open`], with a clock of one's own for the waits after wrong codes.
    pub fn open_with(root: &Path, tablet: Arc<Tablet>, cost: CodeCost, uptime: Uptime) -> Self {
        let log = LogFiles::read(root, &tablet);
        let forms = Forms::read(root, &tablet);
        let old = take_over::read_old(root, &tablet);
        let box_key = BoxKey::open(root);
        let exists =
            root.join(CREW_FILE).exists() || log.as_ref().is_ok_and(|log| log.shop().is_some());
        let (attempts, tries_fault) = Attempts::read(root, &tablet, exists, uptime);
        let mut crew = Self {
            root: root.to_owned(),
            tablet,
            cost,
            log: LogFiles::default(),
            forms: None,
            box_key: None,
            old: BTreeMap::new(),
            attempts,
            unlocked: BTreeMap::new(),
            sight: LogSight::default(),
            fault: None,
            tries_fault,
        };
        let lost = !exists && root.join(forms::FILE).exists();
        let read = (|| {
            crew.log = log?;
            crew.forms = Some(forms?);
            crew.box_key = Some(box_key?);
            if crew.log.shop().is_none() {
                crew.old = old?;
            }
            if lost {
                // Without this whoever deletes the log would be the next first foreman.
                let path = root.join(log_files::LOG_FOLDER);
                return Err(CrewFault::of(&path, WhyFaulty::Missing));
            }
            Ok(())
        })();
        crew.fault = read.err();
        crew
    }

    /// What is wrong with the crew's files, if anything; then nobody can sign.
    pub fn fault(&self) -> Option<&CrewFault> {
        self.fault.as_ref()
    }

    /// What is wrong with the sheet of tries, if anything: then everybody's next try of a
    /// code has to wait longer.
    pub fn tries_fault(&self) -> Option<&CrewFault> {
        self.tries_fault.as_ref()
    }

    /// The shop that this tablet belongs to, as its log has it.
    pub fn shop(&self) -> Option<&Shop> {
        self.log.shop()
    }

    /// Whether this tablet is a member of the shop under the key that it has.
    pub fn is_member(&self) -> bool {
        let key = self.tablet.public_key();
        self.shop()
            .is_some_and(|shop| shop.is_member(self.tablet.id(), &key))
    }

    /// Whether this tablet's key was struck off: it comes back only as a new tablet.
    pub fn is_struck_off(&self) -> bool {
        let key = self.tablet.public_key();
        let known = self
            .shop()
            .and_then(|shop| shop.tablets.get(&self.tablet.id()));
        !self.is_member() && known.is_some_and(|known| known.keys.iter().any(|k| k.key == key))
    }

    /// The people by name.
    pub fn members(&self) -> impl Iterator<Item = CrewMember> + '_ {
        let people = self.shop().into_iter().flat_map(|shop| &shop.people);
        let people = people
            .filter(|(_, person)| !person.has_left)
            .map(|(name, person)| CrewMember {
                person: Person::new(name),
                role: person.role,
                has_code: person.key().is_some() || person.has_old_code,
            });
        let old = self.old.values().filter(|m| !m.left);
        people.chain(old.map(|m| CrewMember {
            person: Person::new(&m.name),
            role: m.role,
            has_code: m.code.is_some(),
        }))
    }

    /// Whether there is no crew yet: the first start.
    pub fn wants_first_foreman(&self) -> bool {
        self.fault.is_none() && self.shop().is_none() && self.old.is_empty()
    }

    /// Whether the crew is one of the version before, which a foreman takes over once.
    pub fn wants_taking_over(&self) -> bool {
        self.shop().is_none() && !self.old.is_empty()
    }

    /// Codes tried, oldest first.
    pub fn attempts(&self) -> &[Attempt] {
        self.attempts.all()
    }

    /// The signature of a person who enters their code. It is good for one event, which
    /// [`Crew::sign`] puts the person's own signature on.
    ///
    /// # Errors
    /// [`CodeError`]. After a wrong code the next try has to wait, longer each time.
    pub fn enter_code(
        &mut self,
        person: &Person,
        code: &Code,
        now: Stamp,
    ) -> Result<SignOff, CodeError> {
        let key = self.try_code(person, code, now)?;
        let sign = SignOff::new(person.clone(), fresh(now)?);
        // Never more than one act's worth.
        while self.unlocked.len() >= 4 {
            self.unlocked.pop_first();
        }
        if let Some(key) = key {
            self.unlocked.insert(sign.entering, (person.clone(), key));
        }
        Ok(sign)
    }

    /// Puts the own signatures of the people on an event whose codes were just entered.
    ///
    /// # Errors
    /// [`CodeError::Unhashed`] for an event that cannot be written.
    pub fn sign(&mut self, job: Uuid, event: Event) -> Result<Event, CodeError> {
        let signs: Vec<SignOff> = event.signatures().cloned().collect();
        let mut signed = event;
        for sign in signs {
            if let Some((person, key)) = self.unlocked.remove(&sign.entering) {
                signed = sign_event(job, self.tablet.id(), &person, &signed, &key)
                    .map_err(CodeError::Unhashed)?;
            }
        }
        Ok(signed)
    }

    /// Tries a code, and gives the key that it unlocks; a crew of the version before has
    /// none.
    pub(crate) fn try_code(
        &mut self,
        person: &Person,
        code: &Code,
        now: Stamp,
    ) -> Result<Option<SigningKey>, CodeError> {
        if let Some(fault) = &self.fault {
            return Err(CodeError::Faulty(fault.clone()));
        }
        let name = person.to_string();
        let lock = self.lock_of(&name)?;
        let seconds = |ms: i64| (ms.max(0) as u64).div_ceil(1_000);
        let wait_ms = self.attempts.wait_ms(&name);
        if wait_ms > 0 {
            let wait_s = seconds(wait_ms);
            return Err(CodeError::Wait { wait_s });
        }
        self.attempts.begin(&name, now.at_ms, &self.tablet)?;
        let key = match &lock {
            Lock::Key(form) => form.unlock(code)?.map(Some),
            Lock::OldCode(kept) => code::is_right(code, kept)?.then_some(None),
        };
        let Some(mut key) = key else {
            let wait_s = seconds(self.attempts.wait_ms(&name));
            return Err(CodeError::Wrong { wait_s });
        };
        self.attempts.was_right(&name, &self.tablet)?;
        if matches!(lock, Lock::OldCode(_)) && self.shop().is_some() {
            key = Some(self.make_key(&name, code, now)?);
        }
        Ok(key)
    }

    /// What a person's code is tried on.
    fn lock_of(&self, name: &str) -> Result<Lock, CodeError> {
        let no_code = || CodeError::NoCode(name.to_owned());
        let Some(shop) = self.shop() else {
            let old = self.old.get(name).filter(|m| !m.left);
            let old = old.ok_or_else(|| CodeError::NoSuchPerson(name.to_owned()))?;
            return Ok(Lock::OldCode(old.code.clone().ok_or_else(no_code)?));
        };
        let person = shop.people.get(name).filter(|p| !p.has_left);
        let person = person.ok_or_else(|| CodeError::NoSuchPerson(name.to_owned()))?;
        let forms = self.forms.as_ref();
        if let Some(form) = forms.and_then(|forms| forms.key_of(name, shop)) {
            return Ok(Lock::Key(form.clone()));
        }
        let old = forms.and_then(|forms| forms.old_code_of(name));
        match old.filter(|_| person.has_old_code) {
            Some(old) => Ok(Lock::OldCode(old.to_owned())),
            None if person.key().is_some() || person.has_old_code => {
                Err(CodeError::NotHere(name.to_owned()))
            }
            None => Err(no_code()),
        }
    }

    /// Somebody taken over has entered the old code: they have a key of their own now.
    fn make_key(&mut self, name: &str, code: &Code, now: Stamp) -> Result<SigningKey, CodeError> {
        let key = locked_key::new_key()?;
        let form = LockedKey::lock(&key, code, self.cost)?;
        let deed = Deed::PersonKeyMade {
            name: name.to_owned(),
            key: form.person_key(&key),
        };
        self.append(deed, Some((name, &key)), now)?;
        self.keep_form(name, form)?;
        Ok(key)
    }

    /// A foreman agrees, by their code, to one change of the crew.
    ///
    /// # Errors
    /// [`CodeError`] as for any code, and for a person who is no foreman.
    pub fn approve(
        &mut self,
        foreman: &Person,
        code: &Code,
        now: Stamp,
    ) -> Result<Approval, CodeError> {
        let known = self.members().find(|m| m.person == *foreman);
        let known = known.ok_or_else(|| CodeError::NoSuchPerson(foreman.to_string()))?;
        if known.role != Role::Foreman {
            return Err(CodeError::NoForeman(foreman.to_string()));
        }
        let key = self.try_code(foreman, code, now)?;
        Ok(Approval {
            foreman: SignOff::new(foreman.clone(), fresh(now)?),
            key,
        })
    }

    fn append(
        &mut self,
        deed: Deed,
        by: Option<(&str, &SigningKey)>,
        now: Stamp,
    ) -> Result<(), CodeError> {
        self.log.append(deed, by, &self.tablet, now)
    }

    fn keep_form(&mut self, name: &str, form: LockedKey) -> Result<(), CodeError> {
        let missing = || CrewFault::of(&self.root.join(forms::FILE), WhyFaulty::Missing);
        match &mut self.forms {
            Some(forms) => forms.keep(name, form, &self.tablet),
            None => Err(CodeError::Faulty(
                self.fault.clone().unwrap_or_else(missing),
            )),
        }
    }
}

/// What a code is tried on.
enum Lock {
    Key(LockedKey),
    OldCode(String),
}

fn fresh(now: Stamp) -> Result<Uuid, CodeError> {
    let chance = random().map_err(|e| CodeError::Unhashed(e.to_string()))?;
    Ok(event_id(now.at_ms, &chance))
}
