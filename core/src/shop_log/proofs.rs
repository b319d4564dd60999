//! Whose signatures count. Everybody who folds a job from files asks here.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::sync::Arc;

use serde::Serialize;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::{Shop, ShopPerson};
use crate::job::{Entry, Event, Person};
use crate::journal::Link;

/// Why a signature does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyNotSigned {
    /// Nothing but the name is there: it is not signed with a key of their own.
    Missing,
    /// Nobody of that name is in the shop.
    Unknown,
    /// It is by no key that they had at the time.
    OtherKey,
    /// It takes a foreman, and they were none at the time.
    NotForeman,
    /// It takes a foreman or somebody who has counted in this job.
    NotForemanNorCounted,
}

/// Somebody whose signature does not count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unproven {
    /// Who is named.
    pub person: Person,
    /// Why it does not count.
    pub why: WhyNotSigned,
}

/// An event that is not confirmed, because a signature on it does not count.
#[derive(Clone, Debug, PartialEq)]
pub struct NotSigned {
    /// The event.
    pub entry: Entry,
    /// Whose signature does not count, and why.
    pub unproven: Unproven,
}

/// What signatures are held against: the shop as its log has it.
///
/// Without a shop, as in the version before, a signature is its tablet's word for it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proofs {
    shop: Option<Arc<Shop>>,
    /// The tablet whose own folder is read: what it has written was signed at it, by the
    /// code, and is taken back there.
    own: Option<Uuid>,
    footing: Arc<str>,
}

impl Proofs {
    /// Signatures are held against a shop's log; those in lines of the tablet whose own
    /// folder is read were asked for by that tablet itself.
    pub fn of(shop: Option<&Shop>, own: Option<Uuid>) -> Self {
        Self {
            shop: shop.cloned().map(Arc::new),
            own,
            footing: shop.map(footing).unwrap_or_default().into(),
        }
    }

    /// The same for somebody who believes no tablet about a person, whosever folder it is.
    #[must_use]
    pub fn for_an_outsider(&self) -> Self {
        Self {
            own: None,
            ..self.clone()
        }
    }

    /// The tablet that is believed about the people who signed at it, if one is.
    pub fn own(&self) -> Option<Uuid> {
        self.own
    }

    /// What the answer rests on, in short: keys and roles of all people, and
    /// which tablets were copies. As long as it is the
    /// same, what was judged before need not be judged again. Empty without a shop.
    pub fn footing(&self) -> &str {
        &self.footing
    }

    /// The shop whose log is asked.
    pub fn shop_key(&self) -> Option<Link> {
        self.shop.as_ref().map(|shop| shop.key)
    }

    /// The moments, in milliseconds since 1970 UTC, at which a key or a role ended. A job
    /// that was over before a moment is judged the same without it.
    pub fn endings(&self) -> BTreeSet<i64> {
        let people = self.shop.iter().flat_map(|shop| shop.people.values());
        let of = |person: &ShopPerson| {
            let keys = person.keys.iter().filter_map(|key| key.until_ms);
            let roles = person.roles_before.iter().map(|(_, until)| *until);
            keys.chain(roles).collect::<Vec<i64>>()
        };
        people.flat_map(of).collect()
    }

    fn holds(&self, job: Uuid, entry: &Entry, counted: &BTreeSet<Person>) -> Result<(), Unproven> {
        let Some(shop) = self
            .shop
            .as_ref()
            .filter(|_| self.own != Some(entry.tablet))
        else {
            return Ok(());
        };
        shop.proves(job, entry)?;
        let Event::ConflictResolved {
            second: Some(second),
            ..
        } = &entry.event
        else {
            return Ok(());
        };
        let is_fit = counted.contains(&second.person) || shop.answers_as_foreman(second, entry);
        is_fit.then_some(()).ok_or_else(|| Unproven {
            person: second.person.clone(),
            why: WhyNotSigned::NotForemanNorCounted,
        })
    }
}

fn footing(shop: &Shop) -> String {
    let people = shop.people.iter();
    let people: Vec<_> = people
        .map(|(name, person)| (name, person.role, &person.roles_before, &person.keys))
        .collect();
    let mut text = format!("{:?}", (shop.key, shop.is_taken_over, people));
    for (tablet, known) in &shop.tablets {
        if let Some(was) = known.was {
            // Writing to a string cannot fail.
            let _ = write!(text, "{tablet} was {was}");
        }
    }
    Link(Sha256::digest(text.as_bytes()).into()).to_string()
}

/// The entries of one job judged in their order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Judged {
    counted: BTreeSet<Person>,
    not_signed: Vec<NotSigned>,
    /// What is no part of the job: not signed, or taking such an event back.
    left_out: BTreeSet<Uuid>,
    /// Batches from paper among them and their lines, each with its tablet.
    papers_left_out: BTreeSet<(Uuid, Uuid)>,
}

impl Judged {
    /// Whether an entry is part of the job. One with a signature that does not count is not
    /// confirmed until its own tablet takes it back; such a taking back is no part either.
    pub fn takes(&mut self, proofs: &Proofs, job: Uuid, entry: &Entry) -> bool {
        // What was entered from paper counts as far as the signature over it does.
        if self.is_of_paper_left_out(entry) {
            self.papers_left_out.insert((entry.tablet, entry.id));
            self.left_out.insert(entry.id);
            return false;
        }
        if let Err(unproven) = proofs.holds(job, entry, &self.counted) {
            self.left_out.insert(entry.id);
            if matches!(entry.event, Event::EnteredFromPaper(_)) {
                self.papers_left_out.insert((entry.tablet, entry.id));
            }
            let entry = entry.clone();
            self.not_signed.push(NotSigned { entry, unproven });
            return false;
        }
        match &entry.event {
            Event::BlindCount { by, .. } => {
                self.counted.insert(by.person.clone());
            }
            Event::Withdrawn { event, .. } => {
                let of = (entry.tablet, *event);
                let is_it = |n: &NotSigned| (n.entry.tablet, n.entry.id) == of;
                if self.not_signed.iter().any(is_it) {
                    self.not_signed.retain(|n| !is_it(n));
                    self.left_out.insert(entry.id);
                    return false;
                }
            }
            _ => {}
        }
        true
    }

    /// A line of a batch that does not count, or the taking back of one.
    fn is_of_paper_left_out(&self, entry: &Entry) -> bool {
        let is_out = |id: Uuid| self.papers_left_out.contains(&(entry.tablet, id));
        match &entry.event {
            Event::Withdrawn { event, .. } if is_out(*event) => {
                let mut waiting = self.not_signed.iter().map(|n| n.entry.id);
                waiting.all(|id| id != *event)
            }
            _ => entry.paper.is_some_and(is_out),
        }
    }

    /// Whether an event was judged to be no part of the job.
    pub fn leaves_out(&self, event: Uuid) -> bool {
        self.left_out.contains(&event)
    }

    /// Events that are not confirmed, in the order of the job.
    pub fn not_signed(&self) -> &[NotSigned] {
        &self.not_signed
    }

    /// In how many journals there are such events.
    pub fn journals(&self) -> usize {
        let tablets = self.not_signed.iter().map(|n| n.entry.tablet);
        tablets.collect::<BTreeSet<Uuid>>().len()
    }
}
