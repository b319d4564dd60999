//! `trayzero air`: what the air in a cylinder holds and whether it turns the crank.

use std::io::{self, Write};
use std::path::PathBuf;

use trayzero_core::bench::{AirAnswer, AirQuestion, BenchError, Verdict, limits};

use super::{CliError, Reply, write_json};
use crate::data::layouts;

/// Arguments of `trayzero air`.
#[derive(Debug, clap::Args)]
pub struct AirArgs {
    /// Engine layout.
    #[arg(value_name = "ENGINE.json")]
    pub engine: PathBuf,
    /// Degrees of crank off the cylinder's compression TDC; negative is before it.
    #[arg(long, value_name = "A", allow_negative_numbers = true)]
    pub off_tdc_deg: f64,
    /// Gauge pressure of the air, bar.
    #[arg(long, value_name = "P", allow_negative_numbers = true)]
    pub pressure_bar: Option<f64>,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Answers; the answer is no unless there is a window or the pressure holds.
///
/// # Errors
/// Those of [`layouts::read_file`], and [`CliError::Bench`] for a figure out of range.
pub fn run(args: &AirArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let layout = layouts::read_file(&args.engine)?;
    let question = AirQuestion {
        off_tdc_deg: args.off_tdc_deg,
        pressure_bar: args.pressure_bar,
        breakaway_nm: None,
    };
    let answer = question.answer(&layout).map_err(|fault| CliError::Bench {
        place: place_of(&fault, args),
        fault,
    })?;
    let reply = Reply::answer(answer.verdict.is_some_and(Verdict::is_yes));
    if args.json {
        write_json(out, &answer)?;
        return Ok(reply.with_notes(reasons(&answer)));
    }
    write_words(out, &answer).map_err(CliError::Write)?;
    Ok(reply)
}

/// The option that a figure at fault came from, or else the layout's file.
fn place_of(fault: &BenchError, args: &AirArgs) -> String {
    let quantity = fault.quantity();
    if quantity == limits::OFF_TDC.quantity {
        "--off-tdc-deg".to_owned()
    } else if quantity == limits::PRESSURE.quantity && args.pressure_bar.is_some() {
        "--pressure-bar".to_owned()
    } else {
        args.engine.display().to_string()
    }
}

/// One line for every figure left out.
fn reasons(answer: &AirAnswer) -> Vec<String> {
    let line = |l: &trayzero_core::bench::LeftOut| format!("{}: {}", l.figure, l.reason);
    answer.left_out.iter().map(line).collect()
}

fn write_words(out: &mut dyn Write, answer: &AirAnswer) -> io::Result<()> {
    let figures = [
        ("piston drop", Some(answer.piston_drop_mm), "mm", 3),
        ("torque on the crank", answer.torque_nm, "Nm", 2),
        ("holds an intake valve with", answer.hold_intake_n, "N", 0),
        ("holds an exhaust valve with", answer.hold_exhaust_n, "N", 0),
        ("lowest pressure", answer.lowest_bar, "bar", 2),
        ("highest pressure", Some(answer.highest_bar), "bar", 2),
        ("suggested pressure", answer.suggested_bar, "bar", 2),
        ("widest off TDC", answer.widest_off_tdc_deg, "deg", 1),
    ];
    for (name, value, unit, decimals) in figures {
        if let Some(value) = value {
            writeln!(out, "{name:<28}{value:.decimals$} {unit}")?;
        }
    }
    let known = answer.torque_nm.is_some() || answer.lowest_bar.is_some();
    if known && answer.widest_off_tdc_deg.is_none() {
        writeln!(out, "{:<28}turns the crank nowhere", "widest off TDC")?;
    }
    let verdict = answer.verdict.map_or("open", Verdict::words);
    writeln!(out, "{:<28}{verdict}", "verdict")?;
    for line in reasons(answer) {
        writeln!(out, "left out: {line}")?;
    }
    if !answer.breakaway.measured {
        writeln!(
            out,
            "The breakaway torque of {} Nm is assumed: read it on a torque wrench, plugs out.",
            answer.breakaway.torque_nm
        )?;
    }
    writeln!(
        out,
        "Other valve springs acting through the cams are not in the torque. \
         Wrench off the crank and hands clear before air goes on."
    )
}
