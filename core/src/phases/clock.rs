//! The clock of a job, cut into phases.

use super::label::{Label, labels};
use crate::engine::{Side, ValveName};
use crate::job::{Event, JobState, STAGES, TimedEvent};
use crate::plan::{
    JobHours, Loss, LossKind, ValveHours, ValveKind, WORK_PHASES, WorkPhase, steps_of,
};

/// Without an event for so long nobody was at work, though no rest was noted: a night, a
/// day off. Milliseconds; four hours (common practice, no source).
const UNNOTED_REST_MS: i64 = 4 * 3_600_000;

/// A rest of at least so long is a night: hands and pace begin anew. Milliseconds.
const NIGHT_MS: i64 = UNNOTED_REST_MS;

const MS_A_MINUTE: f64 = 60_000.0;

/// A time in which nobody worked.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// Since when, milliseconds since 1970 UTC.
    pub from_ms: i64,
    /// Until when; `None` while it lasts.
    pub until_ms: Option<i64>,
    /// Why, in the words of whoever noted it; `None` where nobody noted it.
    pub why: Option<String>,
}

/// The clock of a job: its phases, valves, losses and rests.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobClock {
    /// The figures.
    pub hours: JobHours,
    /// Minutes of every valve that was begun, verified or not, in the order begun; none of
    /// which a stage was entered from paper.
    pub valve_minutes: Vec<(ValveName, f64)>,
    /// Minutes of setting up and leaving each cylinder, in the order worked.
    pub set_ups: Vec<(u8, f64)>,
    /// Rests.
    pub rests: Vec<Rest>,
    /// Place in [`JobHours::hands`] of whoever has the bay.
    pub hand: u16,
    /// Stretches of work between nights so far, less one.
    pub day: u16,
    /// Milliseconds since 1970 UTC of the first event.
    pub from_ms: i64,
    /// Milliseconds since 1970 UTC up to which the phases reach: the last event.
    pub until_ms: i64,
}

/// A valve as the fold finds it.
struct Begun {
    valve: ValveName,
    kind: ValveKind,
    minutes: f64,
}

/// The fold under way.
struct Fold {
    clock: JobClock,
    begun: Vec<Begun>,
    rest: Option<(i64, String)>,
    /// Some of it was entered from paper.
    is_from_paper: bool,
    /// Valves with a stage that was.
    on_paper: Vec<ValveName>,
}

impl JobClock {
    /// Cuts the clock of a job. The work grows with its events.
    pub fn of(state: &JobState) -> Self {
        let Some(layout) = state.layout() else {
            return Self::default();
        };
        let events: Vec<TimedEvent<'_>> = state.timeline().collect();
        let mut fold = Fold {
            clock: JobClock {
                hours: JobHours {
                    engine: layout.name.clone(),
                    steps: steps_of(layout),
                    ..JobHours::default()
                },
                from_ms: state.started_ms(),
                until_ms: state.started_ms(),
                ..JobClock::default()
            },
            begun: Vec::with_capacity(layout.valve_count()),
            rest: None,
            is_from_paper: false,
            on_paper: Vec::new(),
        };
        for (timed, label) in events.iter().zip(labels(&events)) {
            fold.take(state, timed, label);
        }
        fold.finish(state)
    }
}

impl Fold {
    fn take(&mut self, state: &JobState, timed: &TimedEvent<'_>, label: Label) {
        if timed.is_from_paper || matches!(timed.event, Event::EnteredFromPaper(_)) {
            self.pass_over(timed, label);
            return;
        }
        if matches!(timed.event, Event::FollowedUp { .. }) {
            return; // The vehicle has left: nobody rested, and nobody worked.
        }
        self.change_hands(&timed.who.0);
        if let Event::Paused { why } = timed.event {
            // What was worked on until the rest belongs to what comes after it.
            self.rest = Some((timed.at_ms, why.clone()));
            return;
        }
        let from_ms = self.clock.until_ms;
        // Clocks of two tablets differ; time never runs back.
        let at_ms = timed.at_ms.max(from_ms);
        if label == Label::Next && at_ms - from_ms < UNNOTED_REST_MS {
            return;
        }
        let mut worked_ms = at_ms - from_ms;
        match self.rest.take() {
            Some((since_ms, why)) if label == Label::Rest => {
                let since_ms = since_ms.clamp(from_ms, at_ms);
                self.add_rest(since_ms, at_ms, Some(why));
                // The work before the rest goes to the next stretch.
                self.clock.until_ms = at_ms - (since_ms - from_ms);
                return;
            }
            rest => self.rest = rest,
        }
        if worked_ms >= UNNOTED_REST_MS {
            self.add_rest(from_ms, at_ms, None);
            worked_ms = 0;
        }
        self.clock.until_ms = at_ms;
        self.add_work(state, timed, label, worked_ms as f64 / MS_A_MINUTE);
    }

    /// What was entered from paper happened nobody knows when: the time up to it belongs to
    /// nothing, and the next tap is timed from it.
    fn pass_over(&mut self, timed: &TimedEvent<'_>, label: Label) {
        self.is_from_paper = true;
        let at_ms = timed.at_ms.max(self.clock.until_ms);
        self.clock.day += u16::from(at_ms - self.clock.until_ms >= NIGHT_MS);
        self.clock.until_ms = at_ms;
        if let Label::Stage(valve, _) = label
            && !self.on_paper.contains(&valve)
        {
            self.on_paper.push(valve);
        }
    }

    fn add_rest(&mut self, from_ms: i64, until_ms: i64, why: Option<String>) {
        self.clock.day += u16::from(until_ms - from_ms >= NIGHT_MS);
        self.clock.rests.push(Rest {
            from_ms,
            until_ms: Some(until_ms),
            why,
        });
    }

    fn add_work(&mut self, state: &JobState, timed: &TimedEvent<'_>, label: Label, minutes: f64) {
        let phase = match label {
            Label::Phase(phase) => phase,
            Label::Stage(valve, stage) => {
                let by_side = &mut self.clock.hours.stage_minutes[valve.side as usize];
                by_side[stage.index()] += minutes;
                self.add_to_valve(valve, minutes);
                WorkPhase::Valves
            }
            Label::Next | Label::Rest => return,
        };
        self.clock.hours.minutes[phase.index()] += minutes;
        match phase {
            WorkPhase::SetUp => self.add_to_set_up(state, timed.event, minutes),
            WorkPhase::Lost => self.add_loss(state, timed.event, minutes),
            _ => {}
        }
    }

    fn add_to_valve(&mut self, valve: ValveName, minutes: f64) {
        if let Some(begun) = self.begun.iter_mut().find(|b| b.valve == valve) {
            begun.minutes += minutes;
            return;
        }
        let cylinder = valve.cylinder;
        self.begun.push(Begun {
            valve,
            kind: ValveKind {
                exhaust: Some(valve.side == Side::Exhaust),
                opens_cylinder: self.begun.iter().all(|b| b.valve.cylinder != cylinder),
                day: self.clock.day,
                hand: self.clock.hand,
            },
            minutes,
        });
    }

    fn add_to_set_up(&mut self, state: &JobState, event: &Event, minutes: f64) {
        let named = event.cylinder();
        let last = self.clock.set_ups.last().map(|(cylinder, _)| *cylinder);
        let Some(cylinder) = named.or(last).or(state.crank().map(|at| at.cylinder)) else {
            return;
        };
        match self.clock.set_ups.iter_mut().find(|(c, _)| *c == cylinder) {
            Some((_, so_far)) => *so_far += minutes,
            None => self.clock.set_ups.push((cylinder, minutes)),
        }
    }

    fn add_loss(&mut self, state: &JobState, event: &Event, minutes: f64) {
        let kind = match event {
            Event::PartFound { dropped, .. } | Event::SearchSigned { dropped, .. } => {
                let Some(drop) = state.drop_of(*dropped) else {
                    return;
                };
                LossKind::Dropped {
                    item: drop.item.clone(),
                    count: drop.count,
                }
            }
            Event::ForemanAgreed { cylinder, .. } => LossKind::Foreman {
                cylinder: *cylinder,
            },
            _ => LossKind::Conflict {},
        };
        self.clock.hours.losses.push(Loss { kind, minutes });
    }

    fn change_hands(&mut self, who: &str) {
        let hands = &mut self.clock.hours.hands;
        let hand = hands.iter().position(|h| h == who).unwrap_or_else(|| {
            hands.push(who.to_owned());
            hands.len() - 1
        });
        self.clock.hand = hand as u16;
    }

    fn finish(mut self, state: &JobState) -> JobClock {
        if let Some((from_ms, why)) = self.rest {
            self.clock.rests.push(Rest {
                from_ms,
                until_ms: None,
                why: Some(why),
            });
        }
        if self.is_from_paper {
            // The phases have steps that were not timed: they say nothing of a step's minutes.
            self.clock.hours.steps = [0.0; WORK_PHASES];
        }
        for begun in self.begun {
            if self.on_paper.contains(&begun.valve) {
                continue;
            }
            let named = (begun.valve, begun.minutes);
            self.clock.valve_minutes.push(named);
            let is_verified = state
                .valve(begun.valve)
                .is_some_and(|v| usize::from(v.stages_seen) == STAGES);
            if is_verified {
                self.clock.hours.valves.push(ValveHours {
                    minutes: begun.minutes,
                    kind: begun.kind,
                });
            }
        }
        self.clock
    }
}
