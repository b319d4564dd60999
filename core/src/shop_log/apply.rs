//! Who may do what to a shop: the rules for one line.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    DISMISSED_MAX, Deed, JournalPlace, Line, MemberKey, MemberTablet, NAME_CHARS_MAX, NewPerson,
    PEOPLE_MAX, PLACES_MAX, PersonKey, Role, Shop, ShopPerson, StrangerFile, TABLETS_MAX,
    TabletCard, WhyRefused,
};
use crate::journal::Link;

/// The shop that a founding line begins; `None` where it does not hold together.
pub(super) fn founded(line: &Line) -> Option<Shop> {
    let body = line.body();
    let Deed::Founded {
        tablet,
        foreman,
        tablets,
        people,
        is_taken_over,
    } = &body.deed
    else {
        return None;
    };
    let is_first = body.n == 1 && body.shop.is_none() && body.seen.is_empty();
    let is_own = tablet.tablet == body.tablet && tablet.key == line.key();
    let key = foreman.key.as_ref()?;
    let is_by_foreman = foreman.role == Role::Foreman
        && body.by.as_ref() == Some(&foreman.name)
        && line.person_key() == Some(key.key.as_str());
    if !(is_first && is_own && is_by_foreman) {
        return None;
    }
    let mut shop = Shop {
        key: line.link(),
        founded_ms: body.at_ms,
        is_taken_over: *is_taken_over,
        tablets: BTreeMap::new(),
        people: BTreeMap::new(),
        short_codes: false,
        dismissed: BTreeSet::new(),
        taken: BTreeMap::new(),
        refused: Vec::new(),
        waiting: Vec::new(),
        joined: Vec::new(),
    };
    shop.admit(tablet).ok()?;
    shop.join(foreman, body.at_ms).ok()?;
    for card in tablets {
        shop.admit(card).ok()?;
    }
    for person in people {
        shop.join(person, body.at_ms).ok()?;
    }
    Some(shop)
}

impl Shop {
    /// Changes the shop as a line says.
    ///
    /// # Errors
    /// Why the line has no right to; nothing has changed then.
    #[expect(clippy::too_many_lines, reason = "a table: one arm a deed")]
    pub(super) fn try_apply(&mut self, line: &Line) -> Result<(), WhyRefused> {
        let body = line.body();
        if body.deed.is_founding() {
            return Err(WhyRefused::FoundedOnce);
        }
        if body.shop.as_deref() != Some(&*self.key.to_string()) {
            return Err(WhyRefused::OtherShop);
        }
        if !self.is_member(body.tablet, line.key()) && !is_coming_back(line) {
            return Err(WhyRefused::NoMember);
        }
        let by = body.by.as_deref();
        if let Some(name) = by {
            let key = match &body.deed {
                Deed::PersonKeyMade { name: whose, key } if whose == name => Some(&*key.key),
                _ => self.people.get(name).and_then(ShopPerson::key),
            };
            if key.is_none() || line.person_key() != key {
                return Err(WhyRefused::OtherKey);
            }
        }
        let is_foreman = by
            .and_then(|name| self.people.get(name))
            .is_some_and(ShopPerson::can_agree);
        let needs_foreman = || is_foreman.then_some(()).ok_or(WhyRefused::NoForeman);
        let needs_self = |name: &str| {
            (by == Some(name))
                .then_some(())
                .ok_or(WhyRefused::NotTheirOwn)
        };
        match &body.deed {
            Deed::Founded { .. } => Err(WhyRefused::FoundedOnce),
            Deed::TabletTold { name, box_key } => self.tablet_told(line, name, box_key),
            Deed::PersonRelocked { name, lock } => {
                needs_self(name)?;
                self.relock(name, lock)
            }
            Deed::PersonKeyMade { name, key } => {
                needs_self(name)?;
                self.make_key(name, key)
            }
            Deed::TabletAdmitted { card } => {
                needs_foreman()?;
                self.admit(card)
            }
            Deed::TabletStruckOff {
                tablet,
                from_ms,
                stands,
            } => {
                needs_foreman()?;
                self.strike_off(*tablet, (*from_ms).min(body.at_ms), stands)
            }
            Deed::TabletKeyChanged { card, stands } => {
                needs_foreman()?;
                self.change_key(card, stands, body.at_ms)
            }
            Deed::PersonAdded { person } => {
                needs_foreman()?;
                self.join(person, body.at_ms)
            }
            Deed::PersonKeyed { name, key } => {
                needs_foreman()?;
                self.key_person(name, key.as_ref(), body.at_ms)
            }
            Deed::RoleChanged { name, role } => {
                needs_foreman()?;
                self.change_role(name, *role, body.at_ms)
            }
            Deed::PersonRemoved { name } => {
                needs_foreman()?;
                self.remove(name, body.at_ms)
            }
            Deed::ShortCodes { are_allowed } => {
                needs_foreman()?;
                self.short_codes = *are_allowed;
                Ok(())
            }
            Deed::FileDismissed { file } => {
                needs_foreman()?;
                self.dismiss(file)
            }
        }
    }

    fn admit(&mut self, card: &TabletCard) -> Result<(), WhyRefused> {
        card.holds()?;
        let is_full = self.tablets.len() >= TABLETS_MAX;
        match self.tablets.get_mut(&card.tablet) {
            Some(known) if known.key().is_some() => Err(WhyRefused::MemberAlready),
            Some(known) if known.keys.iter().any(|key| key.key == card.key) => {
                Err(WhyRefused::StruckKey)
            }
            Some(known) => {
                known.keys.push(MemberKey::new(&card.key));
                known.name.clone_from(&card.name);
                known.box_key.clone_from(&card.box_key);
                known.was = card.was;
                known.struck_from_ms = None;
                Ok(())
            }
            None if is_full => Err(WhyRefused::TabletsFull),
            None => {
                let tablet = MemberTablet {
                    name: card.name.clone(),
                    keys: vec![MemberKey::new(&card.key)],
                    box_key: card.box_key.clone(),
                    was: card.was,
                    struck_from_ms: None,
                    stands: Vec::new(),
                };
                self.tablets.insert(card.tablet, tablet);
                Ok(())
            }
        }
    }

    fn dismiss(&mut self, file: &StrangerFile) -> Result<(), WhyRefused> {
        is_hex(&file.hash)?;
        if self.tablets.contains_key(&file.tablet) {
            return Err(WhyRefused::MembersFile);
        }
        if self.dismissed.len() >= DISMISSED_MAX {
            return Err(WhyRefused::DismissedFull);
        }
        self.dismissed.insert(file.clone());
        Ok(())
    }

    fn tablet_told(&mut self, line: &Line, name: &str, box_key: &str) -> Result<(), WhyRefused> {
        is_name(name)?;
        is_hex(box_key)?;
        let own = self.tablets.get_mut(&line.body().tablet);
        let own = own.ok_or(WhyRefused::NotMember)?;
        name.clone_into(&mut own.name);
        own.box_key = Some(box_key.to_owned());
        Ok(())
    }

    fn strike_off(
        &mut self,
        tablet: uuid::Uuid,
        from_ms: i64,
        stands: &[JournalPlace],
    ) -> Result<(), WhyRefused> {
        if stands.len() > PLACES_MAX {
            return Err(WhyRefused::TooManyPlaces);
        }
        if self.members().count() == 1 {
            return Err(WhyRefused::LastTablet);
        }
        let known = self.tablets.get_mut(&tablet);
        let known = known.filter(|known| known.key().is_some());
        let known = known.ok_or(WhyRefused::NotMember)?;
        retire(&mut known.keys, from_ms);
        known.struck_from_ms = Some(from_ms);
        known.box_key = None;
        known.stands.extend_from_slice(stands);
        Ok(())
    }

    fn change_key(
        &mut self,
        card: &TabletCard,
        stands: &[JournalPlace],
        at_ms: i64,
    ) -> Result<(), WhyRefused> {
        if stands.len() > PLACES_MAX {
            return Err(WhyRefused::TooManyPlaces);
        }
        is_hex(&card.key)?;
        card.box_key.as_deref().map_or(Ok(()), is_hex)?;
        let known = self.tablets.get_mut(&card.tablet);
        let known = known.filter(|known| known.key().is_some());
        let known = known.ok_or(WhyRefused::NotMember)?;
        if known.keys.iter().any(|key| key.key == card.key) {
            return Err(WhyRefused::TabletsKeyAgain);
        }
        retire(&mut known.keys, at_ms);
        known.keys.push(MemberKey::new(&card.key));
        known.box_key.clone_from(&card.box_key);
        known.stands.extend_from_slice(stands);
        Ok(())
    }

    fn join(&mut self, person: &NewPerson, at_ms: i64) -> Result<(), WhyRefused> {
        is_name(&person.name)?;
        let lower = person.name.to_lowercase();
        let is_taken =
            |(name, known): (&String, &ShopPerson)| !known.has_left && name.to_lowercase() == lower;
        if self.people.iter().any(is_taken) {
            return Err(WhyRefused::NameInUse);
        }
        let keys = match &person.key {
            Some(key) => vec![self.free_key(key)?],
            None => Vec::new(),
        };
        let joining = ShopPerson {
            role: person.role,
            roles_before: Vec::new(),
            keys,
            lock: person.key.as_ref().map(|key| key.lock.clone()),
            has_old_code: person.has_old_code && person.key.is_none(),
            has_left: person.has_left,
        };
        if let Some(known) = self.people.get_mut(&person.name) {
            // The same name once more: what was signed under it stays with its old keys.
            known.turn_to(joining.role, at_ms);
            known.keys.extend(joining.keys);
            *known = ShopPerson {
                keys: std::mem::take(&mut known.keys),
                roles_before: std::mem::take(&mut known.roles_before),
                ..joining
            };
            return Ok(());
        }
        if self.people.len() >= PEOPLE_MAX {
            return Err(WhyRefused::PeopleFull);
        }
        self.people.insert(person.name.clone(), joining);
        self.joined.push(person.name.clone());
        Ok(())
    }

    /// A key that nobody has or had: one key never speaks for two names.
    fn free_key(&self, key: &PersonKey) -> Result<MemberKey, WhyRefused> {
        is_hex(&key.key)?;
        is_hex(&key.lock)?;
        let mut all = self.people.values().flat_map(|person| &person.keys);
        if all.any(|known| known.key == key.key) {
            return Err(WhyRefused::PersonsKeyAgain);
        }
        Ok(MemberKey::new(&key.key))
    }

    fn key_person(
        &mut self,
        name: &str,
        key: Option<&PersonKey>,
        at_ms: i64,
    ) -> Result<(), WhyRefused> {
        let new = key.map(|key| self.free_key(key)).transpose()?;
        if new.is_none() {
            self.spare_a_foreman(name)?;
        }
        let person = self.person(name)?;
        retire(&mut person.keys, at_ms);
        person.keys.extend(new);
        person.lock = key.map(|key| key.lock.clone());
        person.has_old_code = false;
        Ok(())
    }

    fn make_key(&mut self, name: &str, key: &PersonKey) -> Result<(), WhyRefused> {
        let new = self.free_key(key)?;
        let person = self.person(name)?;
        if !person.has_old_code {
            return Err(WhyRefused::NoOldCode);
        }
        person.keys.push(new);
        person.lock = Some(key.lock.clone());
        person.has_old_code = false;
        Ok(())
    }

    fn relock(&mut self, name: &str, lock: &str) -> Result<(), WhyRefused> {
        is_hex(lock)?;
        self.person(name)?.lock = Some(lock.to_owned());
        Ok(())
    }

    fn change_role(&mut self, name: &str, role: Role, at_ms: i64) -> Result<(), WhyRefused> {
        if role != Role::Foreman {
            self.spare_a_foreman(name)?;
        }
        self.person(name)?.turn_to(role, at_ms);
        Ok(())
    }

    fn remove(&mut self, name: &str, at_ms: i64) -> Result<(), WhyRefused> {
        self.spare_a_foreman(name)?;
        let person = self.person(name)?;
        retire(&mut person.keys, at_ms);
        person.lock = None;
        person.has_old_code = false;
        person.has_left = true;
        Ok(())
    }

    fn person(&mut self, name: &str) -> Result<&mut ShopPerson, WhyRefused> {
        let known = self.people.get_mut(name).filter(|known| !known.has_left);
        known.ok_or(WhyRefused::Nobody)
    }

    fn spare_a_foreman(&self, name: &str) -> Result<(), WhyRefused> {
        let is_one = self.people.get(name).is_some_and(ShopPerson::can_agree);
        if is_one && self.foremen() == 1 {
            return Err(WhyRefused::LastForeman);
        }
        Ok(())
    }
}

/// A tablet that goes on from a backup, or comes back, lets itself in with a foreman's
/// key: it has that key only because the foreman has entered the code on it.
fn is_coming_back(line: &Line) -> bool {
    let body = line.body();
    matches!(&body.deed, Deed::TabletAdmitted { card }
        if card.tablet == body.tablet && card.key == line.key())
}

impl MemberKey {
    fn new(key: &str) -> Self {
        Self {
            key: key.to_owned(),
            until_ms: None,
        }
    }
}

/// Takes the key in use out of use.
fn retire(keys: &mut [MemberKey], at_ms: i64) {
    if let Some(last) = keys.last_mut() {
        last.until_ms.get_or_insert(at_ms);
    }
}

impl TabletCard {
    /// Whether name and keys can be a tablet's.
    ///
    /// # Errors
    /// Which of them cannot.
    pub fn holds(&self) -> Result<(), WhyRefused> {
        is_name(&self.name)?;
        is_hex(&self.key)?;
        self.box_key.as_deref().map_or(Ok(()), is_hex)
    }
}

fn is_name(text: &str) -> Result<(), WhyRefused> {
    let is_one = !text.is_empty()
        && text.trim() == text
        && text.chars().count() <= NAME_CHARS_MAX
        && !text.chars().any(char::is_control);
    is_one.then_some(()).ok_or(WhyRefused::NoName)
}

fn is_hex(text: &str) -> Result<(), WhyRefused> {
    let is_one = Link::from_hex(text).is_some();
    is_one.then_some(()).ok_or(WhyRefused::NoHex)
}
