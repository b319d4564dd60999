//! What people do at a tablet: the next step, anything that goes wrong, and at last the
//! honest attempt to close.

use trayzero_core::job::{
    CrankAt, Event, Finding, FindingKind, HoldKind, JobPhase, JobState, NextStep, Reading,
    SearchPlace, Stage, found_places,
};
use trayzero_core::parts::{Item, Place};

use super::shop::Tablet;
use crate::bay::true_lines;
use crate::dice::Dice;

/// Two technicians and the foreman.
pub(super) const PEOPLE: [&str; 3] = ["Ilse Brandt", "Tomek Wrona", "Ruth Okafor"];

/// Anything that people do.
pub(super) fn anything(tablet: &mut Tablet, dice: &mut Dice) -> Vec<Event> {
    match dice.below(20) {
        0..=8 => next_step(tablet),
        9..=11 => vec![loss(&tablet.job, dice)],
        12..=14 => taking_back(tablet, dice).into_iter().collect(),
        15 => ended(tablet, dice).into_iter().collect(),
        16 | 17 => resolution(tablet, dice).into_iter().collect(),
        18 => vec![at_the_engine(&tablet.job, dice)],
        _ => vec![end_or_rest(tablet, dice)],
    }
}

/// The step that is due, with a careful technician's answer.
fn next_step(tablet: &mut Tablet) -> Vec<Event> {
    let step = tablet.job.next_step(None);
    let plain = tablet.job.events_of(&step);
    if !plain.is_empty() {
        return plain;
    }
    match step {
        NextStep::ReadLeak { cylinder, when } => vec![leak(cylinder, when)],
        NextStep::AirOn { cylinder } => vec![Event::AirOn { cylinder, bar: 4.0 }],
        NextStep::FindPart { dropped } => vec![found(&tablet.job, dropped)],
        NextStep::Gate { bank } => {
            let mut events: Vec<Event> = counts(tablet);
            let by = tablet.sign(PEOPLE[0]);
            events.push(Event::BankClosed { bank, by });
            events
        }
        NextStep::CloseJob => vec![Event::JobClosed {
            by: tablet.sign(PEOPLE[0]),
        }],
        _ => Vec::new(),
    }
}

fn leak(cylinder: u8, when: Reading) -> Event {
    Event::LeakRead {
        cylinder,
        when,
        supply_bar: 6.9,
        cylinder_bar: 6.3,
        heard: Vec::new(),
    }
}

/// The counts that the round still wants.
fn counts(tablet: &mut Tablet) -> Vec<Event> {
    if tablet.job.counts_agree() {
        return Vec::new();
    }
    let round = tablet.job.round_counts();
    let counted = match round[..] {
        [one] => Some(one.by.to_string()),
        _ => None,
    };
    let lines = true_lines(&tablet.job);
    let wanted = PEOPLE[..2]
        .iter()
        .filter(|p| counted.as_deref() != Some(**p));
    wanted
        .map(|person| Event::BlindCount {
            by: tablet.sign(person),
            lines: lines.clone(),
        })
        .collect()
}

fn found(job: &JobState, dropped: uuid::Uuid) -> Event {
    let to = job.drop_of(dropped).map(|d| found_places(&d.item)[0]);
    Event::PartFound {
        dropped,
        found_at: SearchPlace::BenchAndFloor,
        to: to.unwrap_or(Place::Tray),
    }
}

/// Every kind of report of a loss.
fn loss(job: &JobState, dice: &mut Dice) -> Event {
    let bank = dice.below(job.bank_count().max(1)) as u8;
    let drop = |item, from, bank| Event::PartDropped {
        item,
        count: 1,
        from,
        bank,
        valve: None,
    };
    match dice.below(8) {
        0 | 1 => drop(Item::Lock, Place::Tray, None),
        2 => drop(Item::VentedCover, Place::Kit, None),
        3 => drop(Item::Rag, Place::Aboard, Some(bank)),
        4 => drop(Item::NewSeal, Place::Stock, None),
        5 => Event::FindingNoted(Box::new(Finding {
            cylinder: cylinder(job, dice),
            valve: None,
            kind: FindingKind::SealTorn { missing: 1 },
            text: String::new(),
        })),
        6 => Event::PutAboard {
            item: Item::Rag,
            bank,
            count: 1,
        },
        _ => {
            let next = job
                .valves()
                .find(|(_, v)| v.next_stage() == Some(Stage::LocksOut));
            match next {
                Some((valve, _)) => Event::StageSeen {
                    valve,
                    stage: Stage::LocksOut,
                    locks_dropped: 1,
                    seals_spoiled: 0,
                },
                None => drop(Item::Lock, Place::Tray, None),
            }
        }
    }
}

fn cylinder(job: &JobState, dice: &mut Dice) -> u8 {
    let all: Vec<u8> = job
        .layout()
        .map(|l| l.cylinders().collect())
        .unwrap_or_default();
    if all.is_empty() { 1 } else { dice.one_of(&all) }
}

/// Taking back one of the latest lines, with the signatures that it takes; now and then
/// with none.
fn taking_back(tablet: &mut Tablet, dice: &mut Dice) -> Option<Event> {
    let reach = if dice.once_in(3) { 40 } else { 8 };
    let back = dice.below(reach);
    let event = tablet.entries.iter().rev().nth(back)?.id;
    let needed = if dice.once_in(6) {
        0
    } else {
        tablet.job.signatures_to_take_back(event)
    };
    let people = PEOPLE[..needed.min(3)].iter();
    let by = people.map(|person| tablet.sign(person)).collect();
    Some(Event::Withdrawn { event, by })
}

/// A find or a signed search.
fn ended(tablet: &mut Tablet, dice: &mut Dice) -> Option<Event> {
    let adrift: Vec<uuid::Uuid> = tablet.job.drops_adrift().map(|d| d.id).collect();
    if adrift.is_empty() {
        return None;
    }
    let dropped = dice.one_of(&adrift);
    if dice.once_in(2) {
        return Some(found(&tablet.job, dropped));
    }
    Some(Event::SearchSigned {
        dropped,
        first: tablet.sign(PEOPLE[0]),
        second: tablet.sign(PEOPLE[1]),
        places: SearchPlace::LIST.to_vec(),
    })
}

/// One of the answers that an open conflict allows, by two people.
fn resolution(tablet: &mut Tablet, dice: &mut Dice) -> Option<Event> {
    let open = tablet.job.open_conflicts().count();
    let conflict = tablet.job.open_conflicts().nth(dice.below(open))?;
    let id = conflict.entry.id;
    let answers = tablet.job.answers(conflict);
    let seen = dice.one_of(&answers);
    let second = (!dice.once_in(6)).then(|| tablet.sign(PEOPLE[2]));
    Some(Event::ConflictResolved {
        conflict: id,
        by: tablet.sign(PEOPLE[1]),
        note: String::new(),
        seen,
        second,
    })
}

fn at_the_engine(job: &JobState, dice: &mut Dice) -> Event {
    let cylinder = cylinder(job, dice);
    match dice.below(9) {
        0 => Event::WrenchOn {},
        1 => Event::WrenchOff {},
        2 => Event::AirOn { cylinder, bar: 4.0 },
        3 => Event::AirOff { cylinder, bar: 4.0 },
        4 => Event::HoldDeclared {
            cylinder,
            hold: HoldKind::Piston,
        },
        5 => Event::HoldReleased {
            cylinder,
            hold: HoldKind::Piston,
        },
        6 => Event::HoseOut { cylinder },
        7 => Event::TakenOff {
            item: Item::Rag,
            bank: 0,
            count: 1,
        },
        _ => {
            let to = CrankAt {
                cylinder,
                offset_deg: 0.0,
            };
            Event::CrankTurned {
                from: job.crank(),
                to,
                turn_deg: job.turn_to(to),
            }
        }
    }
}

fn end_or_rest(tablet: &mut Tablet, dice: &mut Dice) -> Event {
    match dice.below(7) {
        0 => Event::Paused { why: String::new() },
        1 | 2 => Event::Resumed {},
        3 => Event::JobStopped {
            by: tablet.sign(PEOPLE[0]),
            why: String::new(),
        },
        4 => Event::KitCounted {
            item: Item::Rag,
            count: 2,
        },
        5 => Event::PutAway {
            item: Item::Lock,
            count: 1,
            to: Place::Scrap,
        },
        _ => Event::CoverOff { bank: 0 },
    }
}

/// One honest step towards the end: look at what two tablets disagree about, find or
/// search, bring home, take off, and take the step that is due.
pub(super) fn towards_the_end(tablet: &mut Tablet, dice: &mut Dice) -> Vec<Event> {
    if tablet.job.phase() == JobPhase::Stopped {
        let is_stop = |e: &&trayzero_core::job::Entry| matches!(e.event, Event::JobStopped { .. });
        let stops = tablet.entries.iter().rev().filter(is_stop);
        let stop = stops.map(|e| e.id).find(|id| !tablet.job.is_withdrawn(*id));
        let by = vec![tablet.sign(PEOPLE[2])];
        return vec![Event::Withdrawn {
            event: stop.unwrap_or_default(),
            by,
        }];
    }
    if tablet.job.phase() == JobPhase::Paused {
        return vec![Event::Resumed {}];
    }
    if let Some(event) = resolution(tablet, dice).filter(|_| !dice.once_in(4)) {
        return vec![event];
    }
    if let Some(event) = ended(tablet, dice).filter(|_| !dice.once_in(4)) {
        return vec![event];
    }
    let step = tablet.job.next_step(None);
    let loose = tablet
        .job
        .ledger()
        .accounts()
        .find(|(_, a)| a.at(Place::Tray) > 0);
    match (&step, loose) {
        (NextStep::Gate { .. }, Some((item, account))) => vec![Event::PutAway {
            item,
            count: account.at(Place::Tray),
            to: Place::Scrap,
        }],
        (NextStep::SeeStage { stage, .. }, _) => made_up(tablet, *stage),
        _ => next_step(tablet),
    }
}

/// A stage, with new parts where the tray or the stock lacks some.
fn made_up(tablet: &mut Tablet, stage: Stage) -> Vec<Event> {
    let ledger = tablet.job.ledger();
    let needs: &[(Item, Place, u32)] = match stage {
        Stage::SealFitted => &[(Item::NewSeal, Place::Stock, 1)],
        Stage::LocksIn => &[
            (Item::Lock, Place::Tray, 2),
            (Item::Retainer, Place::Tray, 1),
            (Item::Spring, Place::Tray, 1),
        ],
        Stage::Verified => &[(Item::Follower, Place::Tray, 1)],
        Stage::Positioned | Stage::SpringHeld | Stage::LocksOut => &[],
    };
    let mut events = Vec::new();
    for (item, place, wanted) in needs {
        let count = wanted.saturating_sub(ledger.at(item, *place));
        if count > 0 {
            let item = item.clone();
            events.push(Event::StockIssued {
                item: item.clone(),
                count,
            });
            if *place == Place::Tray {
                events.push(Event::TakenFromStock { item, count });
            }
        }
    }
    events.extend(next_step(tablet));
    events
}
