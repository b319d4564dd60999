//! Intents about people: acts signed by code, and changes of the crew.

use trayzero_core::job::{Event, Person, SignOff};

use super::{Desk, Outcome};
use crate::data::crew::{Code, CodeError, Role};
use crate::ui::intent::{SignedAct, TypedCode};
use crate::ui::view::Notice;

impl Desk {
    /// Checks the codes, then proposes what they sign.
    pub(super) fn sign(&mut self, act: SignedAct, codes: &[(Person, TypedCode)]) -> Outcome {
        let mut signs = Vec::new();
        for (person, code) in codes {
            let code = Code::from(code.0.as_str());
            match self.crew.enter_code(person, &code, self.clock.now()) {
                Ok(sign) => signs.push(sign),
                Err(error) => return self.say_code(&error),
            }
        }
        match event_of(act, signs) {
            Some(event) => self.tap(&[event]),
            None => Outcome::Stayed,
        }
    }

    pub(super) fn say_code(&mut self, error: &CodeError) -> Outcome {
        let words = self.words();
        self.notice = Some(Notice::Fault {
            what: format!("{} ({error})", words.wrong_code),
            way_out: words.try_again.to_owned(),
        });
        Outcome::Stayed
    }

    /// Somebody joins the crew: the first one as its foreman, others with a foreman's code.
    pub(super) fn add_person(
        &mut self,
        name: &str,
        is_foreman: bool,
        code: &TypedCode,
        by: Option<&(Person, TypedCode)>,
    ) -> Outcome {
        let now = self.clock.now();
        let code = Code::from(code.0.as_str());
        let role = if is_foreman {
            Role::Foreman
        } else {
            Role::Technician
        };
        let added = match by {
            None => self.crew.add_first_foreman(name, &code, now),
            Some((foreman, theirs)) => self
                .crew
                .approve(foreman, &Code::from(theirs.0.as_str()), now)
                .and_then(|agreed| self.crew.add(name, role, Some(&code), agreed, now)),
        };
        self.crew_changed(added)
    }

    pub(super) fn reset_code(
        &mut self,
        person: &Person,
        code: &TypedCode,
        (foreman, theirs): &(Person, TypedCode),
    ) -> Outcome {
        let now = self.clock.now();
        let code = Code::from(code.0.as_str());
        let reset = self
            .crew
            .approve(foreman, &Code::from(theirs.0.as_str()), now)
            .and_then(|agreed| self.crew.set_code(person, &code, agreed, now));
        self.crew_changed(reset)
    }

    pub(super) fn crew_changed(&mut self, changed: Result<(), CodeError>) -> Outcome {
        if let Err(error) = changed {
            self.say_fault(&error.to_string());
            return Outcome::Stayed;
        }
        self.read_members();
        if let Some(shop) = &self.shop {
            shop.crew_changed();
        }
        Outcome::Taken
    }
}

/// The event that an act becomes once it is signed.
fn event_of(act: SignedAct, signs: Vec<SignOff>) -> Option<Event> {
    let mut signs = signs.into_iter();
    let by = signs.next()?;
    Some(match act {
        SignedAct::Count(lines) => Event::BlindCount { by, lines },
        SignedAct::CloseBank(bank) => Event::BankClosed { bank, by },
        SignedAct::CloseJob => Event::JobClosed { by },
        SignedAct::StopJob(why) => Event::JobStopped { by, why },
        SignedAct::TakeOver => Event::TakenOver { by },
        SignedAct::ForemanAgrees(cylinder) => Event::ForemanAgreed { cylinder, by },
        SignedAct::Search(dropped, places) => Event::SearchSigned {
            dropped,
            first: by,
            second: signs.next()?,
            places,
        },
        SignedAct::ResolveConflict(conflict, note) => {
            Event::ConflictResolved { conflict, by, note }
        }
    })
}
