//! Changes of the crew and of the shop's tablets, each a line of the shop log that a
//! foreman's key has signed.
#![expect(
    clippy::needless_pass_by_value,
    reason = "an approval is good for one change, which uses it up"
)]

use trayzero_core::job::Person;
use trayzero_core::shop_log::{Deed, JournalPlace, NewPerson, Role, TabletCard};

use super::code::Code;
use super::locked_key::{LockedKey, new_key};
use super::{Approval, CodeError, Crew, PERSON_NAME_MAX};
use crate::data::store::Stamp;

impl Crew {
    /// The first foreman of the crew, who needs nobody's agreement: with them the shop
    /// begins.
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
        if !self.wants_first_foreman() {
            return Err(CodeError::NotTheFirst);
        }
        code.is_good(false)?;
        let name = self.free_name(name)?;
        self.found(&name, code, Vec::new(), Vec::new(), now)
    }

    /// The line that a shop begins with. `tablets` and `people` are taken over.
    pub(super) fn found(
        &mut self,
        name: &str,
        code: &Code,
        tablets: Vec<TabletCard>,
        people: Vec<NewPerson>,
        now: Stamp,
    ) -> Result<(), CodeError> {
        self.attempts.create_if_missing(&self.tablet)?;
        let key = new_key()?;
        let form = LockedKey::lock(&key, code, self.cost)?;
        let is_taken_over = self.wants_taking_over();
        let deed = Deed::Founded {
            tablet: self.own_card(),
            foreman: NewPerson {
                name: name.to_owned(),
                role: Role::Foreman,
                key: Some(form.person_key(&key)),
                has_old_code: false,
                has_left: false,
            },
            tablets,
            people,
            is_taken_over,
        };
        // The locked key first: a shop without one would be closed for good.
        self.keep_form(name, form)?;
        self.append(deed, Some((name, &key)), now)
    }

    /// What this tablet is known by.
    pub fn own_card(&self) -> TabletCard {
        TabletCard {
            tablet: self.tablet.id(),
            name: self.tablet.name().to_owned(),
            key: self.tablet.public_key(),
            box_key: self.box_key.as_ref().map(super::BoxKey::public),
            was: self.tablet.was(),
        }
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
        agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        let name = self.free_name(name)?;
        let locked = code.map(|code| self.locked(code)).transpose()?;
        let person = NewPerson {
            name: name.clone(),
            role,
            key: locked.as_ref().map(|(key, form)| form.person_key(key)),
            has_old_code: false,
            has_left: false,
        };
        if let Some((_, form)) = locked {
            self.keep_form(&name, form)?;
        }
        self.change(Deed::PersonAdded { person }, agreed, now)
    }

    /// A person's first code, or a new one in place of a forgotten one; a foreman is there.
    /// It comes with a new key, for nobody can unlock the old one.
    ///
    /// # Errors
    /// [`CodeError::TooSimple`], or the disk.
    pub fn set_code(
        &mut self,
        person: &Person,
        code: &Code,
        agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        self.known(&person.0)?;
        let (key, form) = self.locked(code)?;
        let deed = Deed::PersonKeyed {
            name: person.to_string(),
            key: Some(form.person_key(&key)),
        };
        self.change(deed, agreed, now)?;
        self.attempts.forget(&person.0, &self.tablet)?;
        self.keep_form(&person.0, form)
    }

    /// A person changes their own code. Their key stays.
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
        self.is_good(new)?;
        let key = self.try_code(person, old, now)?;
        let key = key.ok_or(CodeError::TakeOverFirst)?;
        let form = LockedKey::lock(&key, new, self.cost)?;
        let deed = Deed::PersonRelocked {
            name: person.to_string(),
            lock: form.digest(),
        };
        self.append(deed, Some((&person.0, &key)), now)?;
        self.keep_form(&person.0, form)
    }

    /// A tablet becomes a member, or goes on with another key if it is one; then `stands`
    /// says how far its journals were known under the key before.
    ///
    /// # Errors
    /// What the log or the disk says.
    pub fn admit(
        &mut self,
        card: TabletCard,
        stands: Vec<JournalPlace>,
        agreed: Approval,
        now: Stamp,
    ) -> Result<(), CodeError> {
        let known = self.shop().and_then(|shop| shop.tablets.get(&card.tablet));
        let deed = if known.is_some_and(|tablet| tablet.key().is_some()) {
            Deed::TabletKeyChanged { card, stands }
        } else {
            Deed::TabletAdmitted { card }
        };
        self.change(deed, agreed, now)
    }

    /// A change that a foreman has agreed to and that the line alone makes.
    ///
    /// # Errors
    /// [`CodeError::LastForeman`], or what the log or the disk says.
    pub fn change(&mut self, deed: Deed, agreed: Approval, now: Stamp) -> Result<(), CodeError> {
        match &deed {
            Deed::RoleChanged { name, role } if *role != Role::Foreman => {
                self.keep_one_foreman(name)?;
            }
            Deed::PersonKeyed { name, key: None } | Deed::PersonRemoved { name } => {
                self.keep_one_foreman(name)?;
            }
            _ => {}
        }
        let key = agreed.key.as_ref().ok_or(CodeError::TakeOverFirst)?;
        self.append(deed, Some((&agreed.foreman.person.0, key)), now)
    }

    fn locked(&self, code: &Code) -> Result<(ed25519_dalek::SigningKey, LockedKey), CodeError> {
        self.is_good(code)?;
        let key = new_key()?;
        let form = LockedKey::lock(&key, code, self.cost)?;
        Ok((key, form))
    }

    fn is_good(&self, code: &Code) -> Result<(), CodeError> {
        code.is_good(self.shop().is_some_and(|shop| shop.short_codes))
    }

    fn known(&self, name: &str) -> Result<(), CodeError> {
        let is_known = self.members().any(|m| *m.person.0 == *name);
        let unknown = || CodeError::NoSuchPerson(name.to_owned());
        is_known.then_some(()).ok_or_else(unknown)
    }

    fn keep_one_foreman(&self, name: &str) -> Result<(), CodeError> {
        self.known(name)?;
        let mut foremen = self
            .members()
            .filter(|m| m.role == Role::Foreman && m.has_code);
        let is_last =
            foremen.next().is_some_and(|m| *m.person.0 == *name) && foremen.next().is_none();
        if is_last {
            return Err(CodeError::LastForeman(name.to_owned()));
        }
        Ok(())
    }

    pub(super) fn free_name(&self, name: &str) -> Result<String, CodeError> {
        let name = name.trim();
        let lower = name.to_lowercase();
        let is_taken = self.members().any(|m| m.person.0.to_lowercase() == lower);
        if !super::member::is_name(name) || is_taken {
            let shown = name.chars().take(PERSON_NAME_MAX).collect();
            return Err(CodeError::BadName(shown));
        }
        Ok(name.to_owned())
    }
}
