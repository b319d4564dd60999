//! The crew: who works here, and the codes that they sign off with.
//!
//! `crew.json` holds names, roles and the codes' one-way forms, sealed by the tablet. A
//! code itself is nowhere: not in a file, not in a log, not in a crash text.

mod attempts;
mod code;
mod error;
mod member;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::job::{Person, SignOff};
use trayzero_core::journal::{Hlc, event_id};
use uuid::Uuid;

use crate::data::store::{Stamp, Tablet, random, sealed};
use attempts::Attempts;
use member::{Member, is_name};

pub(crate) use attempts::begin_anew as begin_attempts_anew;
pub use attempts::{Attempt, AttemptResult};
pub use code::{CODE_CHARS, Code, CodeCost};
pub use error::CodeError;
pub use member::{CREW_MAX, CrewList, PERSON_NAME_MAX, Role};

/// The file's name in the data folder.
pub const CREW_FILE: &str = "crew.json";
/// What the seal of a crew list is for.
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

/// A foreman has just entered their code: good for one change of the crew.
#[derive(Debug)]
pub struct Approval {
    foreman: SignOff,
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
    path: PathBuf,
    tablet: Arc<Tablet>,
    cost: CodeCost,
    members: BTreeMap<String, Member>,
    attempts: Attempts,
    clock: Hlc,
    fault: Option<String>,
    notes: Vec<String>,
}

impl Crew {
    /// Reads the crew of a data folder. A list that was changed by hand is not used:
    /// nobody can sign until that is dealt with, and [`Crew::fault`] says so.
    pub fn open(root: &Path, tablet: Arc<Tablet>, cost: CodeCost) -> Self {
        let path = root.join(CREW_FILE);
        let exists = path.exists();
        let (attempts, note) = Attempts::read(root, &tablet, exists);
        let mut crew = Self {
            path,
            tablet,
            cost,
            members: BTreeMap::new(),
            attempts,
            clock: Hlc::default(),
            fault: None,
            notes: note.into_iter().collect(),
        };
        match crew.read() {
            Ok(members) => crew.members = members,
            Err(why) => crew.fault = Some(why),
        }
        crew.observe();
        crew
    }

    fn read(&self) -> Result<BTreeMap<String, Member>, String> {
        let named = |why: &str| format!("{}: {why}", self.path.display());
        let read = sealed::read::<CrewList>(&self.path, CREW_PURPOSE).map_err(|e| e.to_string())?;
        let Some(read) = read else {
            return Ok(BTreeMap::new());
        };
        if read.key != self.tablet.public_key() {
            return Err(named("it was not sealed by this tablet"));
        }
        read.payload.by_name().map_err(|why| named(&why))
    }

    /// What is wrong with the crew list, if anything; then nobody can sign.
    pub fn fault(&self) -> Option<&str> {
        self.fault.as_deref()
    }

    /// What the foreman should know. Taken out by asking.
    pub fn take_notes(&mut self) -> Vec<String> {
        std::mem::take(&mut self.notes)
    }

    /// The people by name.
    pub fn members(&self) -> impl Iterator<Item = CrewMember> + '_ {
        self.members
            .values()
            .filter(|m| !m.left)
            .map(|m| CrewMember {
                person: Person::new(&m.name),
                role: m.role,
                has_code: m.code.is_some(),
            })
    }

    /// Whether there is no foreman with a code yet: the first start.
    pub fn wants_first_foreman(&self) -> bool {
        self.fault.is_none() && self.foremen() == 0
    }

    /// Codes tried, oldest first.
    pub fn attempts(&self) -> &[Attempt] {
        self.attempts.all()
    }

    /// The signature of a person who enters their code. It is good for one event.
    ///
    /// # Errors
    /// [`CodeError`]. After a wrong code the next try has to wait, longer each time.
    pub fn enter_code(
        &mut self,
        person: &Person,
        code: &Code,
        now: Stamp,
    ) -> Result<SignOff, CodeError> {
        if let Some(fault) = &self.fault {
            return Err(CodeError::Faulty(fault.clone()));
        }
        let name = person.to_string();
        let member = self.member(&name)?;
        let kept = member.code.clone();
        let kept = kept.ok_or_else(|| CodeError::NoCode(name.clone()))?;
        let seconds = |ms: i64| (ms.max(0) as u64).div_ceil(1_000);
        let wait_ms = self.attempts.wait_ms(&name, now.at_ms);
        if wait_ms > 0 {
            let wait_s = seconds(wait_ms);
            return Err(CodeError::Wait { wait_s });
        }
        self.attempts.begin(&name, now.at_ms, &self.tablet)?;
        if !code::is_right(code, &kept)? {
            let wait_s = seconds(self.attempts.wait_ms(&name, now.at_ms));
            return Err(CodeError::Wrong { wait_s });
        }
        self.attempts.was_right(&name, &self.tablet)?;
        Ok(SignOff {
            person: person.clone(),
            entering: fresh(now)?,
            proof: None,
        })
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
        if self.member(&foreman.0)?.role != Role::Foreman {
            return Err(CodeError::NoForeman(foreman.to_string()));
        }
        let foreman = self.enter_code(foreman, code, now)?;
        Ok(Approval { foreman })
    }

    /// The first foreman of the crew, who needs nobody's agreement.
    ///
    /// # Errors
    /// [`CodeError::NotTheFirst`] once there is one, a bad name or code, or the disk.
    pub fn add_first_foreman(
        &mut self,
        name: &str,
        code: &Code,
        now: Stamp,
    ) -> Result<(), CodeError> {
        if let Some(fault) = &self.fault {
            return Err(CodeError::Faulty(fault.clone()));
        }
        if self.foremen() > 0 {
            return Err(CodeError::NotTheFirst);
        }
        code.is_good()?;
        let kept = code::kept_form(code, self.cost)?;
        let name = self.free_name(name)?;
        let member = self.stamped(&name, Role::Foreman, Some(kept), now);
        self.change(member)
    }

    /// Somebody joins the crew, with a code of their own or to set one later.
    ///
    /// # Errors
    /// A name that is taken or cannot be one, a code that is too simple, or the disk.
    pub fn add(
        &mut self,
        name: &str,
        role: Role,
        code: Option<&Code>,
        _agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        let name = self.free_name(name)?;
        let kept = match code {
            Some(code) => {
                code.is_good()?;
                Some(code::kept_form(code, self.cost)?)
            }
            None => None,
        };
        let member = self.stamped(&name, role, kept, now);
        self.change(member)
    }

    /// A person's first code, or a new one in place of a forgotten one; a foreman is there.
    ///
    /// # Errors
    /// [`CodeError::TooSimple`], or the disk.
    pub fn set_code(
        &mut self,
        person: &Person,
        code: &Code,
        _agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        code.is_good()?;
        let role = self.member(&person.0)?.role;
        let kept = code::kept_form(code, self.cost)?;
        let member = self.stamped(&person.0, role, Some(kept), now);
        self.change(member)
    }

    /// A foreman takes a person's code away; a new one has to be set.
    ///
    /// # Errors
    /// [`CodeError::LastForeman`], or the disk.
    pub fn reset_code(
        &mut self,
        person: &Person,
        _agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        self.keep_one_foreman(person)?;
        let role = self.member(&person.0)?.role;
        let member = self.stamped(&person.0, role, None, now);
        self.change(member)
    }

    /// A person changes their own code.
    ///
    /// # Errors
    /// As for any code; [`CodeError::TooSimple`]; or the disk.
    pub fn change_code(
        &mut self,
        person: &Person,
        old: &Code,
        new: &Code,
        now: Stamp,
    ) -> Result<(), CodeError> {
        new.is_good()?;
        self.enter_code(person, old, now)?;
        let role = self.member(&person.0)?.role;
        let kept = code::kept_form(new, self.cost)?;
        let member = self.stamped(&person.0, role, Some(kept), now);
        self.change(member)
    }

    /// A person gets another role.
    ///
    /// # Errors
    /// [`CodeError::LastForeman`], or the disk.
    pub fn set_role(
        &mut self,
        person: &Person,
        role: Role,
        _agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        if role != Role::Foreman {
            self.keep_one_foreman(person)?;
        }
        let code = self.member(&person.0)?.code.clone();
        let member = self.stamped(&person.0, role, code, now);
        self.change(member)
    }

    /// A person leaves the crew. What they have signed stays.
    ///
    /// # Errors
    /// [`CodeError::LastForeman`], or the disk.
    pub fn remove(
        &mut self,
        person: &Person,
        _agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        self.keep_one_foreman(person)?;
        let role = self.member(&person.0)?.role;
        let mut member = self.stamped(&person.0, role, None, now);
        member.left = true;
        self.change(member)
    }

    /// Takes in the list of another tablet, whose seal the shop folder has checked. Gives
    /// whether anything is new.
    ///
    /// # Errors
    /// [`CodeError::Faulty`] for a list that does not hold, or the disk; nothing changes.
    pub fn take_in(&mut self, list: CrewList) -> Result<bool, CodeError> {
        if let Some(fault) = &self.fault {
            return Err(CodeError::Faulty(fault.clone()));
        }
        let theirs = list.by_name().map_err(CodeError::Faulty)?;
        let mut merged = self.members.clone();
        if !member::merge(&mut merged, theirs) {
            return Ok(false);
        }
        if merged.len() > CREW_MAX {
            return Err(CodeError::Full(CREW_MAX));
        }
        self.write(&merged)?;
        self.members = merged;
        self.observe();
        Ok(true)
    }

    /// Sets a list that does not hold aside, as `crew.json.set-aside`, and begins anew:
    /// the next to come is the first foreman again, or the lists of the other tablets.
    ///
    /// # Errors
    /// What the disk says.
    pub fn begin_anew(&mut self) -> Result<(), CodeError> {
        if self.fault.is_none() {
            return Ok(());
        }
        let aside = self.path.with_extension("json.set-aside");
        std::fs::rename(&self.path, &aside).map_err(|e| {
            let error = crate::data::store::FileError::of(&self.path, "setting it aside", e);
            CodeError::Disk(error.into())
        })?;
        self.fault = None;
        Ok(())
    }

    fn member(&self, name: &str) -> Result<&Member, CodeError> {
        self.members
            .get(name)
            .filter(|m| !m.left)
            .ok_or_else(|| CodeError::NoSuchPerson(name.to_owned()))
    }

    fn foremen(&self) -> usize {
        self.members.values().filter(|m| is_foreman(m)).count()
    }

    fn keep_one_foreman(&self, person: &Person) -> Result<(), CodeError> {
        if is_foreman(self.member(&person.0)?) && self.foremen() == 1 {
            return Err(CodeError::LastForeman(person.to_string()));
        }
        Ok(())
    }

    fn free_name(&self, name: &str) -> Result<String, CodeError> {
        let name = name.trim();
        let lower = name.to_lowercase();
        let is_taken = |m: &Member| !m.left && m.name.to_lowercase() == lower;
        if !is_name(name) || self.members.values().any(is_taken) {
            let shown = name.chars().take(PERSON_NAME_MAX).collect();
            return Err(CodeError::BadName(shown));
        }
        if self.members.len() >= CREW_MAX {
            return Err(CodeError::Full(CREW_MAX));
        }
        Ok(name.to_owned())
    }

    fn stamped(&mut self, name: &str, role: Role, code: Option<String>, now: Stamp) -> Member {
        self.clock = self.clock.tick(now.at_ms);
        Member {
            name: name.to_owned(),
            role,
            code,
            left: false,
            changed: self.clock.pair(),
            by: self.tablet.id(),
        }
    }

    fn change(&mut self, member: Member) -> Result<(), CodeError> {
        let mut members = self.members.clone();
        members.insert(member.name.clone(), member);
        self.write(&members)?;
        self.members = members;
        Ok(())
    }

    fn write(&self, members: &BTreeMap<String, Member>) -> Result<(), CodeError> {
        if !self.path.exists() {
            // The sheet of tries comes first: a crew without one is taken for a sheet that
            // somebody has deleted.
            self.attempts.create_if_missing(&self.tablet)?;
        }
        let list = CrewList {
            format: 1,
            members: members.values().cloned().collect(),
        };
        Ok(sealed::write(
            &self.path,
            CREW_PURPOSE,
            &list,
            &self.tablet,
        )?)
    }

    fn observe(&mut self) {
        for member in self.members.values() {
            self.clock = self.clock.observe(member.changed.into());
        }
    }
}

fn is_foreman(member: &Member) -> bool {
    member.role == Role::Foreman && member.code.is_some() && !member.left
}

fn fresh(now: Stamp) -> Result<Uuid, CodeError> {
    let chance = random().map_err(|e| CodeError::Unhashed(e.to_string()))?;
    Ok(event_id(now.at_ms, &chance))
}
