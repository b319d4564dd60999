//! `trayzero leak`: what a leak-down reading comes to.

use std::io::{self, Write};

use trayzero_core::bench::{BenchError, LeakAnswer, LeakClass, LeakGauges, limits};

use super::{CliError, Reply, write_json};

/// Arguments of `trayzero leak`.
#[derive(Debug, clap::Args)]
pub struct LeakArgs {
    /// Gauge pressure ahead of the tester's orifice, bar.
    #[arg(long, value_name = "S", allow_negative_numbers = true)]
    pub supply_bar: f64,
    /// Gauge pressure in the cylinder, bar.
    #[arg(long, value_name = "C", allow_negative_numbers = true)]
    pub cylinder_bar: f64,
    /// Diameter of the tester's orifice, millimetres.
    #[arg(long, value_name = "D", allow_negative_numbers = true,
          default_value_t = LeakGauges::USUAL_ORIFICE_MM)]
    pub orifice_mm: f64,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Answers; the answer is no for a cylinder whose leak has to be found first.
///
/// # Errors
/// [`CliError::Bench`] for a figure out of range, a cylinder above its supply included.
pub fn run(args: &LeakArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let reading = LeakGauges {
        supply_bar: args.supply_bar,
        cylinder_bar: args.cylinder_bar,
        orifice_mm: args.orifice_mm,
    };
    let answer = reading.answer().map_err(|fault| CliError::Bench {
        place: option_of(&fault).to_owned(),
        fault,
    })?;
    let reply = Reply::answer(answer.class != LeakClass::FindTheLeak);
    if args.json {
        write_json(out, &answer)?;
        let left_out = answer.left_out.iter();
        let notes = left_out.map(|l| format!("{}: {}", l.figure, l.reason));
        return Ok(reply.with_notes(notes.collect()));
    }
    write_words(out, &answer).map_err(CliError::Write)?;
    Ok(reply)
}

/// The option that a figure at fault came from.
fn option_of(fault: &BenchError) -> &'static str {
    let quantity = fault.quantity();
    if quantity == limits::SUPPLY.quantity {
        "--supply-bar"
    } else if quantity == limits::ORIFICE.quantity {
        "--orifice-mm"
    } else {
        "--cylinder-bar"
    }
}

fn write_words(out: &mut dyn Write, answer: &LeakAnswer) -> io::Result<()> {
    writeln!(out, "loss      {:.1} %", answer.loss_percent)?;
    writeln!(out, "class     {}", answer.class.words())?;
    match answer.leak_diameter_mm {
        Some(mm) => writeln!(out, "like      one hole of {mm:.2} mm")?,
        None => writeln!(out, "like      no hole can be reckoned without pressure")?,
    }
    writeln!(out, "free air  {:.1} l/min", answer.free_air_l_min)?;
    if answer.class == LeakClass::FindTheLeak {
        writeln!(out, "Find the leak before any spring is touched.")?;
    }
    Ok(())
}
