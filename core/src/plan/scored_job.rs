//! Scores the forecasts that stood while a finished job went on.

use super::hours::{JobHours, ValveHours, ValveToDo, WORK_PHASES, WorkLeft, WorkPhase};
use super::pace::ShopPace;
use super::score::Score;

/// Shares of the valves at which a finished job's forecasts are scored.
const SCORED_AT: [(usize, usize); 5] = [(1, 8), (1, 4), (1, 2), (3, 4), (1, 1)];

/// Scores the forecasts of a finished job by what the shop knew before it.
pub fn scores_of(job: &JobHours, before: &ShopPace) -> Vec<Score> {
    let cuts = SCORED_AT
        .iter()
        .map(|(part, of)| (job.valves.len() * part).div_ceil(*of));
    let mut scores = Vec::new();
    let mut last = None;
    for valves in cuts.chain([0]) {
        if valves == 0 && valves < job.valves.len() && job.minutes[0] <= 0.0 {
            continue; // Nothing is known of what went before the valves.
        }
        if last.replace(valves) != Some(valves) {
            scores.extend(score_at(job, before, valves));
        }
    }
    scores
}

/// The forecast that stood when so many valves were verified; with none, before the job.
fn score_at(job: &JobHours, before: &ShopPace, valves: usize) -> Option<Score> {
    let (so_far, left) = cut(job, valves);
    let real = job.total() - so_far.total();
    if real <= 0.0 {
        return None;
    }
    let said = before.forecast(&so_far, &left);
    let off = (real.ln() - said.ln_middle) / said.ln_deviation.max(1e-3);
    Some(Score {
        done: so_far.total() / job.total(),
        off,
        inside: (said.low_min..=said.high_min).contains(&real),
    })
}

/// A finished job as it stood when so many valves were verified.
fn cut(job: &JobHours, valves: usize) -> (JobHours, WorkLeft) {
    let valves = valves.min(job.valves.len());
    let share = valves as f64 / job.valves.len().max(1) as f64;
    let mut so_far = JobHours {
        engine: job.engine.clone(),
        hands: job.hands.clone(),
        steps: job.steps,
        valves: job.valves[..valves].to_vec(),
        ..JobHours::default()
    };
    let mut steps = [0.0; WORK_PHASES];
    for phase in WorkPhase::ALL {
        let at = phase.index();
        let done = match phase {
            WorkPhase::TakeIn | WorkPhase::Prepare if valves > 0 => 1.0,
            WorkPhase::SetUp | WorkPhase::Lost => share,
            _ => 0.0,
        };
        so_far.minutes[at] = done * job.minutes[at];
        // A phase that left no time behind was not part of this job.
        if job.minutes[at] > 0.0 {
            steps[at] = (1.0 - done) * job.steps[at];
        }
    }
    so_far.minutes[WorkPhase::Valves.index()] = so_far.valves.iter().map(|v| v.minutes).sum();
    steps[WorkPhase::Valves.index()] = (job.valves.len() - valves) as f64;
    let now = so_far.valves.last().map(|v| (v.kind.day, v.kind.hand));
    let to_do = |valve: &ValveHours| {
        let mut kind = valve.kind;
        // Nights and other hands to come were not known.
        let (day, hand) = now.unwrap_or((0, job.valves[0].kind.hand));
        (kind.day, kind.hand) = (day, hand);
        ValveToDo {
            kind,
            stages_seen: 0,
        }
    };
    let left = WorkLeft {
        valves: job.valves[valves..].iter().map(to_do).collect(),
        steps,
    };
    (so_far, left)
}
