//! The table at the end: figure, yardstick, ratio, goal.

/// One line of the table.
pub struct Row {
    pub what: String,
    pub figure: f64,
    /// What was measured beside it in the same run, in the same unit; nothing where the
    /// goal is a time by itself.
    pub yardstick: Option<f64>,
    pub unit: &'static str,
    pub goal: Goal,
}

/// What a figure may come to.
#[derive(Clone, Copy)]
pub enum Goal {
    /// At most so many times the yardstick.
    Times(f64),
    /// At most so much more than the yardstick.
    #[cfg_attr(not(feature = "yardsticks"), allow(dead_code))] // Only the window's rows.
    More(f64),
    /// At most this.
    AtMost(f64),
}

impl Row {
    /// A figure against its yardstick.
    pub fn ratio(what: &str, figure: f64, yardstick: f64, unit: &'static str, goal: f64) -> Self {
        Self {
            what: what.to_owned(),
            figure,
            yardstick: Some(yardstick),
            unit,
            goal: Goal::Times(goal),
        }
    }

    /// A figure by itself.
    pub fn at_most(what: &str, figure: f64, unit: &'static str, goal: f64) -> Self {
        Self {
            what: what.to_owned(),
            figure,
            yardstick: None,
            unit,
            goal: Goal::AtMost(goal),
        }
    }

    fn is_met(&self) -> bool {
        let beside = self.yardstick.unwrap_or_default();
        match self.goal {
            Goal::Times(most) => self.figure <= beside * most,
            Goal::More(most) => self.figure <= beside + most,
            Goal::AtMost(most) => self.figure <= most,
        }
    }
}

pub fn print(rows: &[Row]) {
    println!("\n| what | figure | yardstick | ratio | goal | |");
    println!("|---|---|---|---|---|---|");
    for row in rows {
        let (what, unit) = (&row.what, row.unit);
        let yardstick = row
            .yardstick
            .map_or_else(String::new, |y| format!("{y:.3} {unit}"));
        let ratio = row
            .yardstick
            .map_or_else(String::new, |y| format!("{:.3}", row.figure / y));
        let goal = match row.goal {
            Goal::Times(most) => format!("{most:.2} x"),
            Goal::More(most) => format!("+ {most} {unit}"),
            Goal::AtMost(most) => format!("{most} {unit}"),
        };
        let verdict = if row.is_met() { "met" } else { "MISSED" };
        println!(
            "| {what} | {:.3} {unit} | {yardstick} | {ratio} | {goal} | {verdict} |",
            row.figure
        );
    }
}

/// The middle one of some times.
pub fn median(times: &mut [f64]) -> f64 {
    share(times, 0.5)
}

/// The time that so large a share of them does not pass.
pub fn share(times: &mut [f64], part: f64) -> f64 {
    times.sort_by(f64::total_cmp);
    times[((times.len() - 1) as f64 * part).round() as usize]
}

/// The least of some times: what the work takes when nothing else disturbs it.
pub fn least(times: &[f64]) -> f64 {
    times.iter().copied().fold(f64::INFINITY, f64::min)
}
