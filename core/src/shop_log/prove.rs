//! A person's own signature over an event, so that no tablet speaks in a person's name.

use std::collections::BTreeMap;

use ed25519_dalek::SigningKey;
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::{Role, Shop, Unproven, WhyNotSigned};
use crate::job::{Entry, Event, Person, Seal, SignOff};
use crate::journal::{Link, seal_holds, seal_over};

/// What a person signs: the event without any person's own signature, who signs it, and
/// the job and the tablet it is signed on, so that it stands for nothing else.
///
/// # Errors
/// What of the event cannot be written, in words.
pub fn vouched_link(
    job: Uuid,
    tablet: Uuid,
    person: &Person,
    event: &Event,
) -> Result<Link, String> {
    let mut bare = serde_json::to_value(event).map_err(|e| e.to_string())?;
    each_sign_off(&mut bare, &mut |sign| {
        sign.remove(PROOF);
    });
    let signed = serde_json::json!({
        "job": job,
        "tablet": tablet,
        "person": person,
        "event": bare,
    });
    let hash = Sha256::new()
        .chain_update(b"trayzero signature 1\n")
        .chain_update(canonical(&signed))
        .finalize();
    Ok(Link(hash.into()))
}

/// The event with a person's own signature on every sign-off of theirs.
///
/// # Errors
/// As [`vouched_link`].
pub fn sign_event(
    job: Uuid,
    tablet: Uuid,
    person: &Person,
    event: &Event,
    key: &SigningKey,
) -> Result<Event, String> {
    let link = vouched_link(job, tablet, person, event)?;
    let proof = seal_over(link, key).signature;
    let mut signed = serde_json::to_value(event).map_err(|e| e.to_string())?;
    each_sign_off(&mut signed, &mut |sign| {
        if sign[PERSON].as_str() == Some(&*person.0) {
            sign.insert(PROOF.to_owned(), Value::from(proof.clone()));
        }
    });
    serde_json::from_value(signed).map_err(|e| e.to_string())
}

/// JSON with the fields of every object by name, so that it is the same bytes however the
/// fields came.
fn canonical(value: &Value) -> String {
    match value {
        Value::Object(fields) => {
            let sorted: BTreeMap<&String, &Value> = fields.iter().collect();
            let fields: Vec<String> = sorted
                .into_iter()
                .map(|(name, value)| format!("{}:{}", Value::from(name.as_str()), canonical(value)))
                .collect();
            format!("{{{}}}", fields.join(","))
        }
        Value::Array(all) => {
            let all: Vec<String> = all.iter().map(canonical).collect();
            format!("[{}]", all.join(","))
        }
        plain => plain.to_string(),
    }
}

/// A copy of a copy of a copy, and no further.
const COPIES_MAX: usize = 4;

const PERSON: &str = "person";
const ENTERING: &str = "entering";
const PROOF: &str = "proof";

/// Goes through every sign-off of an event, wherever it stands in it, so that no event can
/// be forgotten here.
fn each_sign_off(value: &mut Value, change: &mut impl FnMut(&mut Map<String, Value>)) {
    match value {
        Value::Object(fields) => {
            if fields.contains_key(PERSON) && fields.contains_key(ENTERING) {
                change(fields);
            }
            for field in fields.values_mut() {
                each_sign_off(field, change);
            }
        }
        Value::Array(all) => {
            for one in all {
                each_sign_off(one, change);
            }
        }
        _ => {}
    }
}

impl Shop {
    /// Whether everybody whose signature an event carries has signed it with a key of
    /// their own that counted then, and had the role that it takes. Lines from before the
    /// shop had keys stand without.
    ///
    /// # Errors
    /// Whose signature is missing or does not count, and why.
    pub fn proves(&self, job: Uuid, entry: &Entry) -> Result<(), Unproven> {
        for sign in entry.event.signatures() {
            let not = |why| Unproven {
                person: sign.person.clone(),
                why,
            };
            let at_ms = at_ms(entry);
            let Some(proof) = &sign.proof else {
                if self.is_before_keys(entry) {
                    continue;
                }
                return Err(not(WhyNotSigned::Missing));
            };
            let known = self.people.get(&*sign.person.0);
            let known = known.ok_or_else(|| not(WhyNotSigned::Unknown))?;
            let holds_on = |tablet: Uuid| {
                let Ok(link) = vouched_link(job, tablet, &sign.person, &entry.event) else {
                    return false;
                };
                known.keys.iter().any(|key| {
                    let seal = Seal {
                        key: key.key.clone(),
                        signature: proof.to_string(),
                    };
                    key.until_ms.is_none_or(|until| at_ms <= until)
                        && seal_holds(&seal, link).is_ok()
                })
            };
            if !self.signed_on(entry.tablet).any(holds_on) {
                return Err(not(WhyNotSigned::OtherKey));
            }
            let takes_foreman = matches!(entry.event, Event::ForemanAgreed { .. });
            if takes_foreman && !self.answers_as_foreman(sign, entry) {
                return Err(not(WhyNotSigned::NotForeman));
            }
        }
        Ok(())
    }

    /// The tablets that a signature in a tablet's journal may have been given on: itself, and
    /// the one that it was a copy of.
    fn signed_on(&self, tablet: Uuid) -> impl Iterator<Item = Uuid> {
        let was = |tablet: &Uuid| self.tablets.get(tablet).and_then(|known| known.was);
        std::iter::successors(Some(tablet), was).take(COPIES_MAX)
    }

    /// Whether somebody who signs was a foreman at the time. Before there were keys the word
    /// of the tablet was all there was.
    pub(super) fn answers_as_foreman(&self, sign: &SignOff, entry: &Entry) -> bool {
        let known = self.people.get(&*sign.person.0);
        let is_foreman = known.is_some_and(|known| known.role_at(at_ms(entry)) == Role::Foreman);
        is_foreman || (sign.proof.is_none() && self.is_before_keys(entry))
    }

    fn is_before_keys(&self, entry: &Entry) -> bool {
        self.is_taken_over && at_ms(entry) <= self.founded_ms
    }
}

/// When an event was signed: by the clock that its seal covers.
fn at_ms(entry: &Entry) -> i64 {
    i64::try_from(entry.clock.0).unwrap_or(i64::MAX)
}
