//! A list that was thrown runs on, ever slower, until it stops or a finger stops it.

use egui::{Pos2, Vec2};

/// Only what was moved in the last so many seconds gives a throw its speed.
const RECENT_S: f64 = 0.1;
/// From less time than this no speed is taken, in seconds.
const LEAST_S: f32 = 0.004;
/// Below so many points a second nothing is thrown.
const LEAST: f32 = 120.0;
/// At so many points a second a throw ends.
const REST: f32 = 30.0;
/// No throw is faster, in points a second.
const MOST: f32 = 4_000.0;
/// In so many seconds the speed falls to 1/e.
const SLOWS_S: f64 = 0.325;

/// How fast a finger goes.
#[derive(Clone, Debug, Default)]
pub(super) struct Speed {
    steps: Vec<(f64, Vec2)>,
}

impl Speed {
    /// The finger has gone so far since the last time.
    pub(super) fn take(&mut self, by: Vec2, now_s: f64) {
        self.steps.retain(|(at_s, _)| now_s - at_s <= RECENT_S);
        self.steps.push((now_s, by));
    }

    /// The throw that it gives when the finger is lifted.
    pub(super) fn throw(&self, at: Pos2, now_s: f64) -> Option<Throw> {
        let recent = || {
            self.steps
                .iter()
                .filter(|(at_s, _)| now_s - at_s <= RECENT_S)
        };
        let first_s = recent().next()?.0;
        let way = recent().skip(1).fold(Vec2::ZERO, |way, (_, by)| way + *by);
        let last_s = self.steps.last()?.0;
        let time_s = (last_s - first_s) as f32;
        // What a slow window hears all at once has no speed that anybody could know.
        if time_s < LEAST_S {
            return None;
        }
        let speed = way / time_s;
        let speed = speed * (MOST / speed.length().max(1.0)).min(1.0);
        (speed.length() >= LEAST).then_some(Throw {
            at,
            speed,
            last_s: now_s,
        })
    }
}

/// A list on its way.
#[derive(Clone, Debug)]
pub(super) struct Throw {
    /// Where the finger had come down.
    pub(super) at: Pos2,
    /// Points a second.
    speed: Vec2,
    last_s: f64,
}

impl Throw {
    /// How far it goes until now; `None` once it has stopped.
    pub(super) fn runs_on(&mut self, now_s: f64) -> Option<Vec2> {
        let time_s = (now_s - self.last_s).clamp(0.0, 0.1);
        self.last_s = now_s;
        let slower = (-time_s / SLOWS_S).exp() as f32;
        // The way under a speed that falls evenly.
        let way = self.speed * (SLOWS_S as f32) * (1.0 - slower);
        self.speed *= slower;
        (self.speed.length() > REST).then_some(way)
    }
}
