//! Where a shop's time went, engine by engine.

use super::hours::{ByPhase, JobHours, LossKind, WORK_PHASES, WorkPhase};
use crate::engine::Item;

/// Where the time of the jobs on one engine went.
#[derive(Clone, Debug, PartialEq)]
pub struct EngineHours {
    /// Name of the engine layout.
    pub engine: String,
    /// Jobs looked at: those that tell every phase.
    pub jobs: usize,
    /// Mean minutes of each phase in a job, by [`WorkPhase::index`].
    pub phase_min: ByPhase,
    /// What fell and cost time, the dearest first.
    pub drops: Vec<DropCost>,
}

/// What one kind of part cost when it fell.
#[derive(Clone, Debug, PartialEq)]
pub struct DropCost {
    /// What fell.
    pub item: Item,
    /// How many times.
    pub times: usize,
    /// Minutes in all.
    pub minutes: f64,
}

/// Engines in the order in which a finished job first had them. Jobs of which only the
/// valves are known are left out: their other phases would count as nothing.
pub(super) fn by_engine(past: &[&JobHours]) -> Vec<EngineHours> {
    let mut engines: Vec<EngineHours> = Vec::new();
    let is_whole = |job: &&&JobHours| job.steps[WorkPhase::TakeIn.index()] > 0.0;
    for job in past.iter().filter(is_whole) {
        let at = engines.iter().position(|e| e.engine == job.engine);
        let at = at.unwrap_or_else(|| {
            engines.push(EngineHours {
                engine: job.engine.clone(),
                jobs: 0,
                phase_min: [0.0; WORK_PHASES],
                drops: Vec::new(),
            });
            engines.len() - 1
        });
        let engine = &mut engines[at];
        engine.jobs += 1;
        for (sum, own) in engine.phase_min.iter_mut().zip(&job.minutes) {
            *sum += own;
        }
        for loss in &job.losses {
            if let LossKind::Dropped { item, .. } = &loss.kind {
                add_drop(&mut engine.drops, item, loss.minutes);
            }
        }
    }
    for engine in &mut engines {
        let jobs = engine.jobs as f64;
        engine.phase_min = engine.phase_min.map(|minutes| minutes / jobs);
        engine.drops.sort_by(|a, b| b.minutes.total_cmp(&a.minutes));
    }
    engines
}

fn add_drop(drops: &mut Vec<DropCost>, item: &Item, minutes: f64) {
    if let Some(known) = drops.iter_mut().find(|d| d.item == *item) {
        known.times += 1;
        known.minutes += minutes;
        return;
    }
    drops.push(DropCost {
        item: item.clone(),
        times: 1,
        minutes,
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Loss, ShopPace};

    fn job(engine: &str, take_in: f64, lost: &[(Item, f64)]) -> JobHours {
        let mut job = JobHours {
            engine: engine.to_owned(),
            ..JobHours::default()
        };
        job.minutes[WorkPhase::TakeIn.index()] = take_in;
        job.steps[WorkPhase::TakeIn.index()] = 8.0;
        job.losses = lost
            .iter()
            .map(|(item, minutes)| Loss {
                kind: LossKind::Dropped {
                    item: item.clone(),
                    count: 1,
                },
                minutes: *minutes,
            })
            .collect();
        job
    }

    #[test]
    fn each_engine_has_its_means_and_what_fell_on_it() {
        let old = JobHours::of_valve_minutes("flat", "Wren", &[12.0, 11.0]);
        let jobs = [
            job("flat", 40.0, &[(Item::Lock, 6.0), (Item::Rag, 1.0)]),
            old,
            job("vee", 90.0, &[]),
            job("flat", 60.0, &[(Item::Lock, 10.0)]),
        ];
        let jobs: Vec<&JobHours> = jobs.iter().collect();
        let shop = ShopPace::learn(&jobs, &[]);
        let told = shop.spent();
        assert_eq!(told.len(), 2);
        assert_eq!((&*told[0].engine, told[0].jobs), ("flat", 2));
        assert_eq!(told[0].phase_min[WorkPhase::TakeIn.index()], 50.0);
        let lock = &told[0].drops[0];
        assert_eq!((&lock.item, lock.times), (&Item::Lock, 2));
        assert_eq!(lock.minutes, 16.0);
        assert_eq!(told[0].drops.len(), 2);
        assert_eq!(told[1].phase_min[WorkPhase::TakeIn.index()], 90.0);
        assert_eq!(ShopPace::learn(&[], &[]).spent(), &[]);
    }
}
