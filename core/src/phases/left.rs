//! The work that is left of a job, in the steps of its phases.

use crate::engine::{Layout, Side, ValveName};
use crate::job::{CylinderState, JobState, Reading, STAGES, Step};
use crate::plan::{
    ByPhase, CLEAR_STEPS_A_BANK, JobForecast, JobHours, STEPS_A_BANK, ShopPace, TAKE_IN_STEPS,
    ValveKind, ValveToDo, WorkLeft, WorkPhase, count_steps, steps_of,
};

use super::JobClock;

/// Setting a cylinder up is so much of its step; the rest is leaving it.
const SHARE_OF_SETTING_UP: f64 = 0.6;

/// The whole work of a job to come on an engine, its cylinders in the layout's order.
pub fn work_of(layout: &Layout) -> WorkLeft {
    let cylinders: Vec<u8> = layout.cylinders().collect();
    WorkLeft {
        valves: cylinders
            .iter()
            .flat_map(|cylinder| layout.valves_of(*cylinder))
            .map(|valve| {
                to_do(
                    valve,
                    valve.place == 1 && valve.side == Side::Intake,
                    0,
                    0,
                    0,
                )
            })
            .collect(),
        steps: steps_of(layout),
    }
}

/// The hours of a whole job to come on an engine, from what a shop has learned: what a
/// customer is quoted.
pub fn quote(pace: &ShopPace, layout: &Layout) -> JobForecast {
    let job = JobHours {
        engine: layout.name.clone(),
        steps: steps_of(layout),
        ..JobHours::default()
    };
    pace.forecast(&job, &work_of(layout))
}

fn to_do(valve: ValveName, opens: bool, stages_seen: u8, day: u16, hand: u16) -> ValveToDo {
    ValveToDo {
        kind: ValveKind {
            exhaust: Some(valve.side == Side::Exhaust),
            opens_cylinder: opens,
            day,
            hand,
        },
        stages_seen,
    }
}

/// What is left of a job, with its clock. `order` has the cylinders in the order in which
/// they will be worked; cylinders that it lacks come after them.
pub fn work_left(state: &JobState, clock: &JobClock, order: &[u8]) -> WorkLeft {
    let Some(layout) = state.layout() else {
        return WorkLeft::default();
    };
    if state.phase().is_over() {
        return WorkLeft::default();
    }
    let mut left = WorkLeft {
        valves: valves_left(state, layout, clock, order),
        steps: [0.0; crate::plan::WORK_PHASES],
    };
    let steps = &mut left.steps;
    steps[WorkPhase::Valves.index()] = left.valves.len() as f64;
    steps[WorkPhase::Lost.index()] = left.valves.len() as f64;
    before(state, layout, steps);
    for cylinder in layout.cylinders() {
        steps[WorkPhase::SetUp.index()] += set_up_left(state, cylinder);
    }
    after(state, layout, steps);
    left
}

fn valves_left(
    state: &JobState,
    layout: &Layout,
    clock: &JobClock,
    order: &[u8],
) -> Vec<ValveToDo> {
    let mut cylinders: Vec<u8> = layout.cylinders().collect();
    let place = |cylinder: &u8| order.iter().position(|o| o == cylinder);
    let begun = |cylinder: &u8| state.valves_of(*cylinder).any(|(_, v)| v.stages_seen > 0);
    cylinders.sort_by_key(|c| (!begun(c), place(c).unwrap_or(usize::MAX)));
    let mut valves = Vec::new();
    for cylinder in cylinders {
        let was_begun = begun(&cylinder);
        let mut is_first = true;
        for (valve, known) in state.valves_of(cylinder) {
            if usize::from(known.stages_seen) < STAGES {
                let opens = is_first && !was_begun;
                valves.push(to_do(
                    valve,
                    opens,
                    known.stages_seen,
                    clock.day,
                    clock.hand,
                ));
            }
            is_first = false;
        }
    }
    valves
}

/// Taking in and preparing.
fn before(state: &JobState, layout: &Layout, steps: &mut ByPhase) {
    let is_touched = state.valves().any(|(_, v)| v.stages_seen > 0);
    if !is_touched {
        let unread = layout
            .cylinders()
            .filter(|c| state.leak(*c, Reading::Before).is_none())
            .count();
        let take_in = match state.take_in_note() {
            // Once every cylinder is read nobody comes back to the take-in.
            None if unread > 0 => TAKE_IN_STEPS,
            _ => 0.0,
        };
        steps[WorkPhase::TakeIn.index()] = unread as f64 + take_in;
        let unseen = Step::BEFORE
            .iter()
            .filter(|step| state.step_seen(**step).is_none())
            .count();
        let kit = usize::from(!state.kit_missing().is_empty());
        steps[WorkPhase::Prepare.index()] = (unseen + kit) as f64;
    }
    for (index, bank) in layout.banks.iter().enumerate() {
        if state.bank_verified(index) || state.is_bank_closed(index) {
            continue;
        }
        let covered = state.bank(index).is_some_and(|b| !b.cover_off);
        let plugged = |c: &&u8| {
            let known = state.cylinder(**c);
            known.is_some_and(|k| !k.plug_out && !state.cylinder_verified(**c))
        };
        let plugs = bank.cylinders.iter().filter(plugged).count();
        let cover = if covered { STEPS_A_BANK } else { 0.0 };
        steps[WorkPhase::Prepare.index()] += cover + plugs as f64;
    }
}

/// How much of setting a cylinder up and leaving it is left, 0 to 1.
fn set_up_left(state: &JobState, cylinder: u8) -> f64 {
    let Some(known) = state.cylinder(cylinder) else {
        return 0.0;
    };
    let leaves = 1.0 - SHARE_OF_SETTING_UP;
    if state.cylinder_verified(cylinder) {
        return if known.hose_in { leaves } else { 0.0 };
    }
    match known {
        k if k.is_held() => leaves,
        k if k.hose_in => 0.5 * (1.0 + leaves),
        _ => 1.0,
    }
}

/// Clearing, the gate, the second leak-down and closing up.
fn after(state: &JobState, layout: &Layout, steps: &mut ByPhase) {
    let open: Vec<usize> = (0..layout.banks.len())
        .filter(|bank| !state.is_bank_closed(*bank))
        .collect();
    let is_cleared = |bank: usize| {
        let out = |c: &CylinderState| c.plug_out;
        let cylinders = &layout.banks[bank].cylinders;
        state.bank_verified(bank)
            && state.aboard_bank(bank).next().is_none()
            && !cylinders.iter().filter_map(|c| state.cylinder(*c)).any(out)
    };
    let clearing: f64 = open
        .iter()
        .map(|bank| CLEAR_STEPS_A_BANK - f64::from(u8::from(is_cleared(*bank))))
        .sum();
    let counts = if open.is_empty() {
        0.0
    } else {
        let taken = state.round_counts().len().min(2) as f64;
        count_steps(layout.valve_count() as f64) * (1.0 - taken / 2.0)
    };
    steps[WorkPhase::ClearAndGate.index()] = clearing + counts;
    let turned = state.step_seen(Step::TurnedTwiceByHand).is_some();
    let unread = layout
        .cylinders()
        .filter(|c| state.leak(*c, Reading::After).is_none())
        .count();
    steps[WorkPhase::SecondLeakDown.index()] = (unread + usize::from(!turned)) as f64;
    let unseen = Step::AFTER
        .iter()
        .filter(|step| state.step_seen(**step).is_none())
        .count();
    steps[WorkPhase::ClosingUp.index()] = unseen as f64;
}
