//! How a tablet comes into a shop: the crew of the version before taken over, a shop that
//! lies in the shop folder joined, a restored log put under a new tablet's seal; and what
//! comes from the other tablets.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::job::Person;
use trayzero_core::journal::Link;
use trayzero_core::shop_log::{
    Deed, Line, NewPerson, Refused, Role, Shop, TabletCard, words_to_compare,
};
use zeroize::Zeroizing;

use super::code::{Code, is_kept_form};
use super::forms::Forms;
use super::locked_key::LockedKey;
use super::log_files::{self, LogFiles, LogLines};
use super::member::Member;
use super::{CREW_FILE, CREW_PURPOSE, CodeError, Crew, CrewFault, CrewList, WhyFaulty};
use crate::data::store::{Doing, FileError, Stamp, Tablet, sealed};

/// What lies in the shop folder about the shop itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LogSight {
    /// Lines that this tablet does not have yet.
    pub lines: LogLines,
    /// What each tablet says of itself there.
    pub cards: Vec<TabletCard>,
    /// Locked keys that came in boxes for this tablet, each with whose it is said to be.
    pub forms: Vec<(String, LockedKey)>,
    /// What does not hold.
    pub faults: Vec<CrewFault>,
}

/// A shop in the shop folder that this tablet is not in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakeOverOffer {
    /// The shop key.
    pub key: Link,
    /// The words that a member shows for this tablet too.
    pub words: String,
    /// The tablet that founded it.
    pub tablet: String,
    /// The foreman who founded it.
    pub foreman: String,
    /// A foreman there has admitted this tablet already.
    pub is_admitted: bool,
}

/// Reads the crew list of the version before; nothing where there is none.
pub(super) fn read_old(
    root: &Path,
    tablet: &Tablet,
) -> Result<BTreeMap<String, Member>, CrewFault> {
    let path = root.join(CREW_FILE);
    let Some(read) = sealed::read::<CrewList>(&path, CREW_PURPOSE)? else {
        return Ok(BTreeMap::new());
    };
    if read.key != tablet.public_key() {
        return Err(CrewFault::of(&path, WhyFaulty::OtherSeal));
    }
    let people = read.payload.by_name();
    people.map_err(|why| CrewFault::of(&path, WhyFaulty::Unreadable(why)))
}

/// Puts the crew's files of a backup under the seal of the tablet that goes on from it.
///
/// # Errors
/// What the disk says.
pub fn reseal_restored(root: &Path, before: &str, tablet: &Tablet) -> Result<(), CrewFault> {
    LogFiles::reseal(root, before, tablet)?;
    Forms::reseal(root, before, tablet)
}

impl Crew {
    /// Takes the crew of the version before over, once: a foreman enters the code that they
    /// had, and the shop begins with everybody in the list and the tablets known here.
    /// Everybody else's code works as before, and makes their key the first time.
    ///
    /// # Errors
    /// As for any code, or what the disk says.
    pub fn take_over(
        &mut self,
        foreman: &Person,
        code: &Code,
        tablets: Vec<TabletCard>,
        now: Stamp,
    ) -> Result<(), CodeError> {
        if !self.wants_taking_over() {
            return Err(CodeError::NotTheFirst);
        }
        let agreed = self.approve(foreman, code, now)?;
        let name = agreed.foreman().person.to_string();
        let own = self.tablet.id();
        let tablets = tablets.into_iter().filter(|card| card.tablet != own);
        let others = self.old.values().filter(|m| m.name != name);
        let mut seen = BTreeSet::from([name.to_lowercase()]);
        let people = others
            .filter(|m| m.left || seen.insert(m.name.to_lowercase()))
            .map(|m| NewPerson {
                name: m.name.clone(),
                role: m.role,
                key: None,
                has_old_code: !m.left && m.code.is_some(),
                has_left: m.left,
            })
            .collect();
        self.keep_old_codes()?;
        self.found(&name, code, tablets.collect(), people, now)?;
        self.put_old_list_away()
    }

    fn keep_old_codes(&mut self) -> Result<(), CodeError> {
        let old = self.old.values().filter(|m| !m.left);
        let codes = old
            .filter_map(|m| Some((m.name.clone(), m.code.clone()?)))
            .filter(|(_, kept)| is_kept_form(kept))
            .collect();
        match &mut self.forms {
            Some(forms) => forms.keep_old_codes(codes, &self.tablet),
            None => Ok(()),
        }
    }

    /// The list of the version before stays, under another name, for whoever wants to see
    /// what was taken over.
    fn put_old_list_away(&mut self) -> Result<(), CodeError> {
        self.old.clear();
        let path = self.root.join(CREW_FILE);
        if !path.exists() {
            return Ok(());
        }
        std::fs::rename(&path, path.with_extension("json.taken-over"))
            .map_err(|e| FileError::of(&path, Doing::SettingAside, e).into())
    }

    /// Shops that lie in the shop folder and that this tablet is not in.
    pub fn offers(&self) -> Vec<TakeOverOffer> {
        let own = self.own_card();
        let foundings = self.sight.lines.values().filter_map(|lines| lines.first());
        let foundings = foundings.filter(|line| self.shop().is_none_or(|s| s.key != line.link()));
        let offers = foundings.filter_map(|line| {
            let Deed::Founded {
                tablet, foreman, ..
            } = &line.body().deed
            else {
                return None;
            };
            let shop = Shop::of(line.link(), &lines_of(line.link(), &self.sight.lines)).ok()?;
            Some(TakeOverOffer {
                key: line.link(),
                words: words_to_compare(line.link(), &own),
                tablet: tablet.name.clone(),
                foreman: foreman.name.clone(),
                is_admitted: shop.is_member(own.tablet, &own.key),
            })
        });
        offers.collect()
    }

    /// Tablets that lie in the shop folder and are no members under the key they show,
    /// each with the words that it shows too.
    pub fn asking(&self) -> Vec<(TabletCard, String)> {
        let Some(shop) = self.shop() else {
            return Vec::new();
        };
        let own = self.tablet.id();
        // One that was struck off does not ask: its key does not come back.
        let had = |card: &TabletCard| {
            let known = shop.tablets.get(&card.tablet);
            known.is_some_and(|known| known.keys.iter().any(|key| key.key == card.key))
        };
        let asking = self.sight.cards.iter();
        asking
            .filter(|card| card.tablet != own && !had(card))
            .map(|card| (card.clone(), words_to_compare(shop.key, card)))
            .collect()
    }

    /// What in the shop folder does not hold.
    pub fn sight_faults(&self) -> &[CrewFault] {
        &self.sight.faults
    }

    /// Lines of the shop log that count for nothing: somebody has tried what they may not.
    /// Each with its file.
    pub fn refused_lines(&self) -> Vec<(PathBuf, Refused)> {
        let refused = self.shop().into_iter().flat_map(|shop| &shop.refused);
        let with_file = |refused: &Refused| {
            let path = log_files::log_path(&self.root, refused.tablet);
            (path, refused.clone())
        };
        refused.map(with_file).collect()
    }

    /// Joins a shop of the shop folder, after both screens have shown the same words. Where
    /// this tablet has a crew of its own, a foreman of that crew agrees; that crew is set
    /// aside.
    ///
    /// # Errors
    /// [`CodeError::NotTheFirst`] without such an agreement, or what the disk says.
    pub fn join_shop(
        &mut self,
        key: Link,
        own_foreman: Option<(&Person, &Code)>,
        now: Stamp,
    ) -> Result<(), CodeError> {
        let has_foreman = self
            .members()
            .any(|m| m.role == Role::Foreman && m.has_code);
        match own_foreman {
            Some((foreman, code)) => {
                self.approve(foreman, code, now)?;
            }
            None if has_foreman => return Err(CodeError::NotTheFirst),
            None => {}
        }
        self.keep_old_codes()?;
        self.log.join(key, &self.sight.lines, &self.tablet)?;
        self.attempts.create_if_missing(&self.tablet)?;
        self.put_old_list_away()?;
        self.take_forms()?;
        self.tell_box_key(now)
    }

    /// Lets a tablet that goes on from a backup into its shop again, with a foreman's code.
    ///
    /// # Errors
    /// As for any code, or what the log says.
    pub fn come_back(
        &mut self,
        foreman: &Person,
        code: &Code,
        now: Stamp,
    ) -> Result<(), CodeError> {
        let agreed = self.approve(foreman, code, now)?;
        self.admit(self.own_card(), Vec::new(), agreed, now)
    }

    /// Takes in what lies in the shop folder. Gives whether the crew or the shop has
    /// changed.
    ///
    /// # Errors
    /// What the disk says.
    pub fn take_sight(&mut self, sight: LogSight, now: Stamp) -> Result<bool, CodeError> {
        self.sight = sight;
        if self.fault.is_some() || self.shop().is_none() {
            return Ok(false);
        }
        let lines = self.sight.lines.clone();
        let is_new = self.log.take_in(&lines)?;
        self.take_forms()?;
        self.tell_box_key(now)?;
        Ok(is_new)
    }

    fn take_forms(&mut self) -> Result<(), CodeError> {
        if let (Some(forms), Some(shop)) = (&mut self.forms, self.log.shop()) {
            forms.take_in(&self.sight.forms, shop, &self.tablet)?;
        }
        Ok(())
    }

    /// A member that was taken over, or has another name now, says so in the log.
    fn tell_box_key(&mut self, now: Stamp) -> Result<(), CodeError> {
        let own = self.own_card();
        let known = self.shop().and_then(|shop| shop.tablets.get(&own.tablet));
        let Some(known) = known.filter(|_| self.is_member()) else {
            return Ok(());
        };
        if known.box_key == own.box_key && known.name == own.name {
            return Ok(());
        }
        match own.box_key {
            Some(box_key) => {
                let name = own.name;
                self.append(Deed::TabletTold { name, box_key }, None, now)
            }
            None => Ok(()),
        }
    }

    /// The tablet has another name.
    ///
    /// # Errors
    /// What the disk says.
    pub fn renamed(&mut self, tablet: Arc<Tablet>, now: Stamp) -> Result<(), CodeError> {
        self.tablet = tablet;
        self.tell_box_key(now)
    }

    /// Sets files that do not hold aside and begins anew: the next to come is the first
    /// foreman of another shop, or this tablet joins the one in the shop folder again. What
    /// was signed before stands as that shop's.
    ///
    /// # Errors
    /// What the disk says.
    pub fn begin_anew(&mut self) -> Result<(), CodeError> {
        if self.fault.is_none() {
            return Ok(());
        }
        log_files::set_aside(&self.root)?;
        for name in [CREW_FILE, super::forms::FILE, "attempts.json"] {
            let path = self.root.join(name);
            if path.exists() {
                let aside = path.with_extension("json.set-aside");
                std::fs::rename(&path, &aside)
                    .map_err(|e| FileError::of(&path, Doing::SettingAside, e))?;
            }
        }
        let sight = std::mem::take(&mut self.sight);
        let (root, uptime) = (self.root.clone(), self.attempts.uptime());
        *self = Crew::open_with(&root, Arc::clone(&self.tablet), self.cost, uptime);
        self.sight = sight;
        Ok(())
    }
}

/// The files among some in which a shop's lines stand: of many shops in a folder each is
/// folded by itself.
fn lines_of(shop: Link, all: &LogLines) -> LogLines {
    let key = shop.to_string();
    let is_of_it = |lines: &&Vec<Line>| {
        let mut lines = lines.iter();
        lines.any(|line| line.link() == shop || line.body().shop.as_deref() == Some(&key))
    };
    let files = all.iter().filter(|(_, lines)| is_of_it(lines));
    files.map(|(id, lines)| (*id, lines.clone())).collect()
}

/// The log, the forms and the box key of a data folder, for the exchange: it reads, and
/// the crew alone writes.
#[derive(Debug)]
pub struct ForLogExchange {
    /// The log as it was checked.
    pub log: LogFiles,
    /// Every locked key that is current, as text, for the boxes.
    pub forms: Zeroizing<Vec<u8>>,
}

/// Reads what the exchange needs of a data folder; `None` where it does not hold.
pub fn for_exchange(root: &Path, tablet: &Tablet) -> Option<ForLogExchange> {
    let log = LogFiles::read(root, tablet).ok()?;
    let forms = Forms::read(root, tablet).ok()?;
    let current = log
        .shop()
        .map(|shop| forms.current(shop))
        .unwrap_or_default();
    let forms = Zeroizing::new(serde_json::to_vec(&current).unwrap_or_default());
    Some(ForLogExchange { log, forms })
}
