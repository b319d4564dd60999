//! How long things take at the depot: working minutes of each tap, falling with
//! practice over a job and swaying a little.

use trayzero_core::job::{NextStep, Stage, Step};

/// Every doubling of the valves done takes this share of the time before.
const LEARNING_RATE: f64 = 0.92;

/// A figure sways by up to this share either way.
const SWAY: f64 = 0.12;

/// The pace of one job. The same name gives the same minutes.
#[derive(Clone, Debug)]
pub struct WorkPace {
    seed: u64,
}

impl WorkPace {
    /// The pace of the job on that vehicle.
    pub fn of(vehicle: &str) -> Self {
        // FNV-1a: any spread of the letters over the bits will do.
        let spread = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        let seed = vehicle.bytes().fold(0xcbf2_9ce4_8422_2325, spread);
        Self { seed }
    }

    /// Milliseconds that a usual number of minutes takes this time.
    pub fn take_ms(&mut self, minutes: f64) -> i64 {
        // Knuth's linear congruential generator (The Art of Computer Programming, vol. 2,
        // 3.3.4); the upper bits are the good ones.
        self.seed = self
            .seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let unit = (self.seed >> 40) as f64 / f64::from(1_u32 << 24);
        (minutes * (1.0 + SWAY * (2.0 * unit - 1.0)) * 60_000.0).round() as i64
    }

    /// Milliseconds that a step takes after so many valves of the job are done.
    pub fn step_ms(&mut self, step: &NextStep, valves_done: usize) -> i64 {
        let practice = ((valves_done + 1) as f64).powf(LEARNING_RATE.log2());
        match step {
            NextStep::SeeStage { stage, .. } => self.take_ms(stage_minutes(*stage) * practice),
            other => self.take_ms(minutes(other)),
        }
    }
}

/// Minutes of a stage on the first valve of a job; all six come to 12.3.
fn stage_minutes(stage: Stage) -> f64 {
    match stage {
        Stage::Positioned => 1.2,
        Stage::SpringHeld => 1.5,
        Stage::LocksOut => 1.8,
        Stage::SealFitted => 3.4,
        Stage::LocksIn => 3.2,
        Stage::Verified => 1.2,
    }
}

/// Minutes of any other step.
fn minutes(step: &NextStep) -> f64 {
    match step {
        NextStep::See(Step::EngineCold | Step::TubesOff | Step::ConnectorsOn) => 6.0,
        NextStep::See(Step::ConnectorsOff | Step::FirstStart | Step::TurnedTwiceByHand) => 5.0,
        NextStep::See(Step::SmokeWatched) => 10.0,
        NextStep::See(_) => 2.0,
        NextStep::CountKit => 5.0,
        NextStep::ReadLeak { .. } => 4.0,
        NextStep::AskForeman { .. } | NextStep::StoppersIn { .. } => 3.0,
        NextStep::PlugsOut { .. } | NextStep::LiftCover { .. } | NextStep::ClearBank { .. } => 9.0,
        NextStep::Gate { .. } => 6.0,
        NextStep::FindPart { .. } => 11.0,
        NextStep::Turn { .. } => 2.5,
        _ => 0.8,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_vehicle_has_the_same_pace_and_another_a_different_one() {
        let draw = |vehicle| {
            let mut pace = WorkPace::of(vehicle);
            (0..20).map(|_| pace.take_ms(5.0)).collect::<Vec<_>>()
        };
        assert_eq!(draw("sweeper 07"), draw("sweeper 07"));
        assert_ne!(draw("sweeper 07"), draw("sweeper 08"));
        for ms in draw("sweeper 07") {
            assert!(
                (264_000..=336_000).contains(&ms),
                "five minutes, an eighth either way: {ms}"
            );
        }
    }

    #[test]
    fn valves_take_fourteen_to_eight_minutes_and_get_faster() {
        let mut pace = WorkPace::of("any");
        let mut valve = |done: usize| -> f64 {
            let name =
                trayzero_core::engine::ValveName::new(1, trayzero_core::engine::Side::Intake, 1);
            let stages = Stage::ALL.map(|stage| NextStep::SeeStage { valve: name, stage });
            stages
                .iter()
                .map(|s| pace.step_ms(s, done) as f64)
                .sum::<f64>()
                / 60_000.0
        };
        let (first, last) = (valve(0), valve(23));
        assert!((10.8..=14.0).contains(&first), "{first}");
        assert!((7.0..=10.0).contains(&last), "{last}");
        assert!(last < first * 0.85);
    }
}
