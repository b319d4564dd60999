//! `trayzero sheet`: the work sheet of an engine, for the day when the tablet is dead.

use std::path::PathBuf;

use super::record::{LanguageArg, UnitsArg, write_file};
use super::{CliError, Reply};
use crate::data::layouts;
use crate::record::pdf::{Paper, SheetError, render_sheet};

/// Arguments of `trayzero sheet`.
#[derive(Debug, clap::Args)]
pub struct SheetArgs {
    /// Engine layout.
    #[arg(value_name = "ENGINE.json")]
    pub engine: PathBuf,
    /// The PDF to write.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// The paper: A4 where none is named, Letter with US units.
    #[arg(long, value_enum)]
    pub paper: Option<Paper>,
    /// The units.
    #[arg(long, value_enum, default_value = "metric")]
    pub units: UnitsArg,
    /// The language.
    #[arg(long, value_enum, default_value = "en")]
    pub language: LanguageArg,
}

/// Writes the sheet.
///
/// # Errors
/// Those of [`layouts::read_file`], [`CliError::Order`] and [`CliError::Bench`] for an
/// engine that has none, [`CliError::Pdf`] and [`CliError::File`] where it cannot be written.
pub fn run(args: &SheetArgs) -> Result<Reply, CliError> {
    let layout = layouts::read_file(&args.engine)?;
    let system = args.units.into();
    let paper = args.paper.unwrap_or(Paper::usual(system));
    let place = || args.engine.display().to_string();
    let pdf =
        render_sheet(&layout, args.language.into(), paper, system).map_err(
            |error| match error {
                SheetError::Order(fault) => CliError::Order {
                    place: place(),
                    fault,
                },
                SheetError::Bench(fault) => CliError::Bench {
                    place: place(),
                    fault,
                },
                SheetError::Pdf(fault) => CliError::Pdf(fault),
            },
        )?;
    write_file(&args.out, &pdf)?;
    Ok(Reply::done())
}
