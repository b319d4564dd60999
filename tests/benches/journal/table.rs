//! The table at the end: figure, yardstick, ratio, goal.

/// One line of the table; both times in the same unit.
pub struct Row {
    pub what: String,
    pub figure: f64,
    pub yardstick: f64,
    pub unit: &'static str,
    /// The most that figure / yardstick may be.
    pub goal: f64,
}

pub fn print(rows: &[Row]) {
    println!("\n| what | figure | yardstick | ratio | goal | |");
    println!("|---|---|---|---|---|---|");
    for row in rows {
        let ratio = row.figure / row.yardstick;
        let verdict = if ratio <= row.goal { "met" } else { "MISSED" };
        let Row {
            what,
            figure,
            yardstick,
            unit,
            goal,
        } = row;
        println!(
            "| {what} | {figure:.3} {unit} | {yardstick:.3} {unit} | {ratio:.3} | {goal:.2} | {verdict} |"
        );
    }
}

/// The middle one of some times.
pub fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// The least of some times: what the work takes when nothing else disturbs it.
pub fn least(times: &[f64]) -> f64 {
    times.iter().copied().fold(f64::INFINITY, f64::min)
}
