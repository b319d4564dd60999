//! `trayzero order`: the cheapest way round the engine.

use std::io::{self, Write};
use std::path::PathBuf;

use trayzero_core::engine::Layout;
use trayzero_core::plan::{OrderFault, OrderQuestion, Stop, WorkingOrder, working_order};

use super::{CliError, Reply, write_json};
use crate::data::layouts;

/// Arguments of `trayzero order`.
#[derive(Debug, clap::Args)]
pub struct OrderArgs {
    /// Engine layout.
    #[arg(value_name = "ENGINE.json")]
    pub engine: PathBuf,
    /// Where the crank is, in degrees; 0 is cylinder 1's compression TDC.
    #[arg(
        long,
        value_name = "D",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub from_deg: f64,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Answers with the working order from the start of a job.
///
/// # Errors
/// Those of [`layouts::read_file`], and [`CliError::Order`] for a crank angle that is no number
/// or an engine too large for an exact answer.
pub fn run(args: &OrderArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let layout = layouts::read_file(&args.engine)?;
    let question = OrderQuestion {
        from_deg: args.from_deg,
        ..OrderQuestion::at_start(&layout)
    };
    let order = working_order(&question).map_err(|fault| CliError::Order {
        place: place_of(&fault, args),
        fault,
    })?;
    if args.json {
        write_json(out, &order)?;
    } else {
        write_words(out, &layout, &order).map_err(CliError::Write)?;
    }
    Ok(Reply::done())
}

/// The option that a figure at fault came from, or else the layout's file.
fn place_of(fault: &OrderFault, args: &OrderArgs) -> String {
    match fault {
        OrderFault::BadFigure {
            field: "from_deg", ..
        } => "--from-deg".to_owned(),
        _ => args.engine.display().to_string(),
    }
}

fn write_words(out: &mut dyn Write, layout: &Layout, order: &WorkingOrder) -> io::Result<()> {
    writeln!(out, "{}", layout.name)?;
    for (place, stop) in order.stops.iter().enumerate() {
        writeln!(out, "{:>3}. {}", place + 1, words_of(stop))?;
    }
    writeln!(
        out,
        "turning {} deg, bank changes {}, adaptor changes {}: {:.1} min besides the valves",
        figure(order.turn_deg),
        order.bank_changes,
        order.adaptor_changes,
        order.minutes
    )?;
    let caution = "Never turn the crank with a valve unlocked or air on.";
    if layout.may_turn_back {
        writeln!(out, "{caution}")
    } else {
        writeln!(out, "Turn in the running direction only. {caution}")
    }
}

fn words_of(stop: &Stop) -> String {
    let way = if stop.turn_deg < 0.0 { "back" } else { "on" };
    let position = match stop.offset_deg {
        offset if offset >= 180.0 => format!(
            "{} deg after its compression top, at the other one",
            figure(offset)
        ),
        offset if offset > 0.0 => format!("{} deg after its top", figure(offset)),
        offset if offset < 0.0 => format!("{} deg before its top", figure(-offset)),
        _ => "at its top".to_owned(),
    };
    format!(
        "turn {way} {} deg to {}: cylinder {}, bank {}, {position}; {}",
        figure(stop.turn_deg.abs()),
        figure(stop.crank_deg),
        stop.cylinder,
        stop.bank,
        stop.adaptors.join(", ")
    )
}

/// An angle to a tenth of a degree, whole ones without the point.
fn figure(deg: f64) -> String {
    let tenths = format!("{deg:.1}");
    tenths.strip_suffix(".0").unwrap_or(&tenths).to_owned()
}
