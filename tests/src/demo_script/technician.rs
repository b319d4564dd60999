//! A scripted technician: plays a job tap by tap through the same state machine as a
//! finger does. The demo shop and the demo on the command line are played by one.

use std::collections::BTreeMap;

use trayzero_core::bench::AirQuestion;
use trayzero_core::job::{
    CountLine, CrankAt, Event, HeardAt, JobState, NextStep, Person, Reading, SearchPlace, SignOff,
    Stage, TakeIn, found_places,
};
use trayzero_core::parts::{Item, Place};
use trayzero_core::plan::{OrderFault, OrderQuestion, working_order};
use uuid::Uuid;

/// One leak-down reading of the script.
#[derive(Clone, Debug, PartialEq)]
pub struct ScriptedLeak {
    /// Gauge pressure before the tester's orifice, bar.
    pub supply_bar: f64,
    /// Gauge pressure in the cylinder, bar.
    pub cylinder_bar: f64,
    /// Where the air is heard.
    pub heard: Vec<HeardAt>,
}

impl Default for ScriptedLeak {
    fn default() -> Self {
        Self {
            supply_bar: 6.0,
            cylinder_bar: 5.5,
            heard: Vec::new(),
        }
    }
}

/// What the script answers where a step needs more than a tap.
pub struct Technician {
    /// Who works.
    pub name: Person,
    /// Who counts second and searches along.
    pub second: Person,
    /// Who agrees to cylinders past the limit.
    pub foreman: Person,
    /// Readings before or after the work, by cylinder; others are good.
    pub leaks: BTreeMap<(Reading, u8), ScriptedLeak>,
    /// Where a dropped part turns up.
    pub found_at: SearchPlace,
    /// Gives the identity of one entering of a code.
    pub entering: Box<dyn FnMut() -> Uuid>,
}

impl Technician {
    /// The next tap's events: the proposed step, answered where it asks for a figure or
    /// a signature. Empty when nothing is left to do.
    pub fn tap(&mut self, state: &JobState, stop: Option<CrankAt>) -> Vec<Event> {
        self.answer(state, &state.next_step(stop))
    }

    /// The events of one tap on a step: the caution that applies and is not seen yet,
    /// else parts that the step needs and the tray lacks, else the step itself.
    pub fn answer(&mut self, state: &JobState, step: &NextStep) -> Vec<Event> {
        if let Some(caution) = step.caution().filter(|c| !state.caution_seen(*c)) {
            return vec![Event::CautionSeen { caution }];
        }
        let made_up = locks_made_up(state, step);
        if !made_up.is_empty() {
            return made_up;
        }
        let plain = state.events_of(step);
        if !plain.is_empty() {
            return plain;
        }
        match *step {
            NextStep::TakeIn => vec![Event::TakeInNoted(Box::new(TakeIn {
                complaint: "smokes after idling".into(),
                ..TakeIn::default()
            }))],
            NextStep::ReadLeak { cylinder, when } => vec![self.read_leak(cylinder, when)],
            NextStep::AirOn { cylinder } => vec![Event::AirOn {
                cylinder,
                bar: pressure_for(state, cylinder),
            }],
            NextStep::AskForeman { cylinder } => vec![Event::ForemanAgreed {
                cylinder,
                by: self.sign_as(&self.foreman.clone()),
            }],
            NextStep::FindPart { dropped } => found(state, dropped, self.found_at),
            NextStep::Gate { bank } => self.close_bank(state, bank),
            NextStep::CloseJob => vec![Event::JobClosed {
                by: self.sign_as(&self.name.clone()),
            }],
            _ => Vec::new(),
        }
    }

    /// A signature of one person.
    pub fn sign_as(&mut self, person: &Person) -> SignOff {
        SignOff {
            person: person.clone(),
            entering: (self.entering)(),
            proof: None,
        }
    }

    fn read_leak(&self, cylinder: u8, when: Reading) -> Event {
        let good = ScriptedLeak::default();
        let reading = self.leaks.get(&(when, cylinder)).unwrap_or(&good);
        Event::LeakRead {
            cylinder,
            when,
            supply_bar: reading.supply_bar,
            cylinder_bar: reading.cylinder_bar,
            heard: reading.heard.clone(),
        }
    }

    /// Parts left in the tray are put away, what is missing of two counts is counted,
    /// then the cover goes on.
    fn close_bank(&mut self, state: &JobState, bank: u8) -> Vec<Event> {
        let left: Vec<Event> = state
            .ledger()
            .accounts()
            .map(|(item, account)| (item, account.at(Place::Tray)))
            .filter(|(_, count)| *count > 0)
            .map(|(item, count)| Event::PutAway {
                item,
                count,
                to: Place::Scrap,
            })
            .collect();
        if !left.is_empty() {
            return left;
        }
        let counter = match state.round_counts().as_slice() {
            [] => self.name.clone(),
            [first] if first.by == self.second => self.name.clone(),
            [_] => self.second.clone(),
            _ => {
                return vec![Event::BankClosed {
                    bank,
                    by: self.sign_as(&self.name.clone()),
                }];
            }
        };
        vec![Event::BlindCount {
            by: self.sign_as(&counter),
            lines: honest_count(state),
        }]
    }
}

/// What a careful person sees laid out: the script has no eyes, so it takes the ledger's
/// word for it.
pub fn honest_count(state: &JobState) -> Vec<CountLine> {
    state
        .count_list()
        .into_iter()
        .map(|(item, place)| CountLine {
            count: state.ledger().at(&item, place),
            item,
            place,
        })
        .collect()
}

/// The pressure that the bench suggests for a cylinder where the crank stands, to a
/// tenth of a bar; half the rating where it suggests none.
pub fn pressure_for(state: &JobState, cylinder: u8) -> f64 {
    let Some(layout) = state.layout() else {
        return 1.0;
    };
    let offset = state
        .crank()
        .filter(|c| c.cylinder == cylinder)
        .map_or(0.0, |c| c.off_top_deg());
    let question = AirQuestion {
        off_tdc_deg: offset,
        breakaway_nm: state.breakaway_nm().map(|(nm, _)| nm),
        ..AirQuestion::default()
    };
    let suggested = question.answer(layout).ok().and_then(|a| a.suggested_bar);
    let half = layout.pressure_rating_bar / 2.0;
    let tenth = (suggested.unwrap_or(half) * 10.0).round() / 10.0;
    tenth.clamp(0.1, layout.pressure_rating_bar)
}

/// The next stop of the working order from where the job stands. A cylinder at which the
/// crank stands already is worked before the crank moves on.
///
/// # Errors
/// [`OrderFault`] for a layout without a working order.
pub fn next_stop(state: &JobState) -> Result<Option<CrankAt>, OrderFault> {
    let Some(layout) = state.layout() else {
        return Ok(None);
    };
    if let Some(here) = state
        .crank()
        .filter(|at| !state.cylinder_verified(at.cylinder))
    {
        return Ok(Some(here));
    }
    let done: Vec<u8> = layout
        .cylinders()
        .filter(|c| state.cylinder_verified(*c))
        .collect();
    let put_off = state.put_off();
    let order = working_order(&OrderQuestion {
        from_deg: state.crank_deg().unwrap_or(0.0),
        from_bank: state.crank().and_then(|at| layout.bank_of(at.cylinder)),
        from_adaptor: state.adaptor_in_use(),
        done: &done,
        put_off: &put_off,
        wanted_next: state.wanted(),
        ..OrderQuestion::at_start(layout)
    })?;
    Ok(order.stops.first().map(|stop| CrankAt {
        cylinder: stop.cylinder,
        offset_deg: stop.offset_deg,
    }))
}

/// New locks from the store for those that the tray lacks when they are due in.
fn locks_made_up(state: &JobState, step: &NextStep) -> Vec<Event> {
    let due = match (step, state.layout()) {
        (
            NextStep::SeeStage {
                stage: Stage::LocksIn,
                ..
            },
            Some(layout),
        ) => u32::from(layout.locks_per_valve),
        _ => 0,
    };
    let count = due.saturating_sub(state.ledger().at(&Item::Lock, Place::Tray));
    if count == 0 {
        return Vec::new();
    }
    let item = Item::Lock;
    vec![
        Event::StockIssued {
            item: item.clone(),
            count,
        },
        Event::TakenFromStock { item, count },
    ]
}

/// A dropped part turns up.
fn found(state: &JobState, dropped: Uuid, found_at: SearchPlace) -> Vec<Event> {
    let Some(drop) = state.drop_of(dropped) else {
        return Vec::new();
    };
    let to = found_places(&drop.item)[0];
    vec![Event::PartFound {
        dropped,
        found_at,
        to,
    }]
}
