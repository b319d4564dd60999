//! Intents about people: acts signed by code, and changes of the crew.

use trayzero_core::job::{Event, Person, Refusal, SignOff};
use trayzero_core::journal::Link;
use trayzero_core::shop_log::{Deed, words_of_key};
use uuid::Uuid;

use super::{Desk, Outcome};
use crate::data::crew::{Code, CodeError, Crew, Role, ends_job, sign_ends};
use crate::shop::{pinned, standing_journals};
use crate::ui::intent::{ShopChange, SignedAct, TypedCode};
use crate::ui::view::{Asking, MembershipView, Notice, ShopTablet};

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
        if let SignedAct::Paper(paper) = act {
            return match signs.pop() {
                Some(by) => self.enter_paper(*paper, by),
                None => Outcome::Stayed,
            };
        }
        let Some(event) = event_of(act, signs) else {
            return Outcome::Stayed;
        };
        let job = self.current.as_ref().map(|current| current.job.id());
        let job = job.unwrap_or_default();
        let keys = if ends_job(&event) {
            self.crew.keys_for(&event)
        } else {
            Vec::new()
        };
        let event = match self.crew.sign(job, event) {
            Ok(event) => event,
            Err(error) => return self.say_code(&error),
        };
        let outcome = self.tap(&[event]);
        if outcome == Outcome::Taken && !keys.is_empty() {
            let (store, now) = (&self.store, self.clock.now());
            // The job is closed all the same; its record says that nobody has signed the ends.
            let _ = sign_ends(store.root(), store.tablet(), job, &keys, now);
        }
        outcome
    }

    /// A foot signs nothing and asks for no signature: what takes one is left alone, and the
    /// bar says where to do it.
    pub(super) fn pedal_takes_back(&mut self, event: Option<Uuid>) -> Outcome {
        let words = self.words();
        let Some(event) = event else {
            self.notice = Some(Notice::Said(words.nothing_to_take_back.to_owned()));
            return Outcome::Stayed;
        };
        let needed = self
            .state()
            .map_or(0, |state| state.signatures_to_take_back(event));
        if needed == 0 {
            return self.tap(&[Event::taken_back(event)]);
        }
        let refusal = Refusal::SignaturesShort { needed, signed: 0 };
        self.notice = Some(Notice::Refused {
            why: words.pedal_signs_nothing(needed),
            way_out: words.take_back_by_finger.to_owned(),
            code: refusal.code(),
        });
        Outcome::Stayed
    }

    pub(super) fn say_code(&mut self, error: &CodeError) -> Outcome {
        let words = self.words();
        self.notice = Some(Notice::Fault {
            what: format!("{} ({})", words.wrong_code, words.error(error)),
            way_out: words.try_again.to_owned(),
        });
        Outcome::Stayed
    }

    /// Somebody joins the crew: the first one as its foreman, others with a foreman's code.
    pub(super) fn add_person(
        &mut self,
        name: &str,
        role: Role,
        code: &TypedCode,
        by: Option<&(Person, TypedCode)>,
    ) -> Outcome {
        let now = self.clock.now();
        let code = Code::from(code.0.as_str());
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

    pub(super) fn change_code(
        &mut self,
        person: &Person,
        old: &TypedCode,
        code: &TypedCode,
    ) -> Outcome {
        let [old, code] = [old, code].map(|typed| Code::from(typed.0.as_str()));
        let changed = self.crew.change_code(person, &old, &code, self.clock.now());
        self.crew_changed(changed)
    }

    /// A change of the crew or of the shop's tablets that a foreman agrees to.
    pub(super) fn change_shop(
        &mut self,
        change: ShopChange,
        (foreman, code): &(Person, TypedCode),
    ) -> Outcome {
        let now = self.clock.now();
        let code = Code::from(code.0.as_str());
        let crew = &mut self.crew;
        // Three of them are agreed to in their own way: there is no key to sign with yet.
        let changed = match change {
            ShopChange::TakeOver(tablets) => {
                let mut cards = pinned(self.store.root(), self.store.tablet());
                cards.retain(|card| tablets.contains(&card.tablet));
                crew.take_over(foreman, &code, cards, now)
            }
            ShopChange::Join(key) => crew.join_shop(key, Some((foreman, &code)), now),
            ShopChange::ComeBack => crew.come_back(foreman, &code, now),
            agreed => crew
                .approve(foreman, &code, now)
                .and_then(|by| match agreed {
                    ShopChange::Role(person, role) => {
                        let name = person.to_string();
                        crew.change(Deed::RoleChanged { name, role }, by, now)
                    }
                    ShopChange::Remove(person) => {
                        let name = person.to_string();
                        crew.change(Deed::PersonRemoved { name }, by, now)
                    }
                    ShopChange::Admit(card) => {
                        let stands = standing_journals(self.store.root(), card.tablet);
                        crew.admit(*card, stands, by, now)
                    }
                    ShopChange::StrikeOff(tablet) => {
                        let deed = Deed::TabletStruckOff {
                            tablet,
                            from_ms: now.at_ms,
                            stands: standing_journals(self.store.root(), tablet),
                        };
                        crew.change(deed, by, now)
                    }
                    ShopChange::Dismiss(file) => {
                        crew.change(Deed::FileDismissed { file: *file }, by, now)
                    }
                    ShopChange::ShortCodes(are_allowed) => {
                        crew.change(Deed::ShortCodes { are_allowed }, by, now)
                    }
                    ShopChange::TakeOver(_) | ShopChange::Join(_) | ShopChange::ComeBack => Ok(()),
                }),
        };
        self.crew_changed(changed)
    }

    pub(super) fn join_other_shop(&mut self, key: Link) -> Outcome {
        let joined = self.crew.join_shop(key, None, self.clock.now());
        self.crew_changed(joined)
    }

    pub(super) fn begin_crew_anew(&mut self) -> Outcome {
        let begun = self.crew.begin_anew();
        self.crew_changed(begun)
    }

    pub(super) fn crew_changed(&mut self, changed: Result<(), CodeError>) -> Outcome {
        if let Err(error) = changed {
            return self.say_error(&error);
        }
        self.read_members();
        if self.hold_against_shop() {
            self.read_jobs();
        }
        if let Some(shop) = &self.shop {
            shop.crew_changed();
        }
        Outcome::Taken
    }
}

/// How a tablet stands in its shop, for the screens.
pub(super) fn membership(crew: &Crew, own: Uuid) -> MembershipView {
    let tablets = crew.shop().into_iter().flat_map(|shop| &shop.tablets);
    let asking = crew.asking().into_iter();
    MembershipView {
        tablets: tablets
            .map(|(id, tablet)| ShopTablet {
                id: *id,
                name: tablet.name.clone(),
                struck_from_ms: tablet.struck_from_ms,
                is_own: *id == own,
            })
            .collect(),
        asking: asking
            .map(|(card, words)| Asking {
                is_known: crew
                    .shop()
                    .and_then(|shop| shop.tablets.get(&card.tablet))
                    .is_some_and(|tablet| tablet.key().is_some()),
                card,
                words,
            })
            .collect(),
        offers: crew.offers(),
        has_shop: crew.shop().is_some(),
        key_words: words_of_key(&crew.own_card().key),
        shop_words: crew.shop().map(|shop| words_of_key(&shop.key.to_string())),
        is_member: crew.is_member(),
        is_struck_off: crew.is_struck_off(),
        wants_taking_over: crew.wants_taking_over(),
        short_codes: crew.shop().is_some_and(|shop| shop.short_codes),
        fault: crew.fault().cloned(),
        folder_faults: crew.sight_faults().to_vec(),
        refused_lines: crew.refused_lines(),
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
        SignedAct::ResolveConflict { conflict, seen, .. } => Event::ConflictResolved {
            conflict,
            by,
            note: String::new(),
            seen,
            second: signs.next(),
        },
        SignedAct::Paper(_) => return None,
        SignedAct::FollowUp(seen) => Event::FollowedUp { by, seen },
        SignedAct::TakeBack(event, _) => Event::Withdrawn {
            event,
            by: std::iter::once(by).chain(signs).collect(),
        },
    })
}
