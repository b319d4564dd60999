//! `trayzero record`: the record of a job as a PDF, as JSON, or both.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use trayzero_core::bench::UnitSystem;
use uuid::Uuid;

use super::place::brought;
use super::{CliError, Reply, shop_key, write_json};
use crate::data::store::small_file::{self, Readers};
use crate::record::load::gather_of;
use crate::record::pdf::{Paper, Print};
use crate::record::proof::issue;
use crate::shop::Admitted;
use crate::ui::words::{EN, Language};

/// Arguments of `trayzero record`.
#[derive(Debug, clap::Args)]
pub struct RecordArgs {
    /// A tablet's data folder or the shop folder.
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// The job.
    #[arg(long, value_name = "ID")]
    pub job: Uuid,
    /// The shop's first key, 64 hex digits: only what its members have sealed counts.
    #[arg(long, value_name = "KEY", value_parser = shop_key)]
    pub shop_key: Option<String>,
    /// The file to write: a PDF, or JSON where its name ends in .json.
    #[arg(long, value_name = "FILE", required_unless_present = "json")]
    pub out: Option<PathBuf>,
    /// The paper of the PDF: A4 where none is named, Letter with US units.
    #[arg(long, value_enum)]
    pub paper: Option<Paper>,
    /// The units of the PDF. JSON always has metric ones.
    #[arg(long, value_enum, default_value = "metric")]
    pub units: UnitsArg,
    /// The language of the PDF.
    #[arg(long, value_enum, default_value = "en")]
    pub language: LanguageArg,
    /// Write the record as JSON too: to FILE, or to the output where none is named.
    #[arg(long, value_name = "FILE", num_args = 0..=1)]
    pub json: Option<Option<PathBuf>>,
}

/// A language on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum LanguageArg {
    /// English.
    En,
    /// German.
    De,
}

impl From<LanguageArg> for Language {
    fn from(arg: LanguageArg) -> Self {
        match arg {
            LanguageArg::En => Language::English,
            LanguageArg::De => Language::German,
        }
    }
}

/// Units on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum UnitsArg {
    /// bar, newton metres, millimetres.
    Metric,
    /// Pounds a square inch, pound-force feet, inches.
    Us,
}

impl From<UnitsArg> for UnitSystem {
    fn from(arg: UnitsArg) -> Self {
        match arg {
            UnitsArg::Metric => UnitSystem::Metric,
            UnitsArg::Us => UnitSystem::Us,
        }
    }
}

/// What is said where nobody signs the list within the PDF.
const NOT_SIGNED: &str = "the record is not signed: this is no data folder of a tablet, or its \
                          key cannot be read";

/// Writes what was asked for. The answer is no where the record rests on a journal that
/// does not hold to its end; it is written all the same, and says so.
///
/// # Errors
/// [`CliError::Gather`] where there is no record, [`CliError::Pdf`] where no PDF can be
/// made of it, [`CliError::File`] where a file cannot be written.
pub fn run(args: &RecordArgs, out: &mut dyn Write) -> Result<Reply, CliError> {
    let folder = brought(&args.folder, args.shop_key.as_deref())?;
    let admitted = Admitted::of(&folder, args.shop_key.as_deref())?;
    let mut gathered = gather_of(&folder, args.job, &admitted)?;
    let not_signed = gathered.record.not_signed.iter();
    let told = not_signed.map(|line| EN.not_signed(&line.not_signed));
    gathered.notes.extend(told.chain([admitted.note()]));
    let record = &gathered.record;
    let is_json = |path: &Path| {
        path.extension()
            .is_some_and(|e| e.eq_ignore_ascii_case("json"))
    };
    let mut json_written = false;
    if let Some(path) = &args.out {
        if is_json(path) {
            write_json_file(path, record)?;
            json_written = true;
        } else {
            let system = args.units.into();
            let paper = args.paper.unwrap_or(Paper::usual(system));
            let print = Print {
                language: args.language.into(),
                paper,
                system,
            };
            let signer = Admitted::signer(&folder);
            let pdf = issue(&gathered, signer.as_ref(), print)?;
            write_file(path, &pdf)?;
            if signer.is_none() {
                gathered.notes.push(NOT_SIGNED.to_owned());
            }
        }
    }
    match &args.json {
        Some(Some(path)) => write_json_file(path, record)?,
        Some(None) if !json_written => write_json(out, record)?,
        _ => {}
    }
    let reply = Reply::answer(record.is_whole());
    Ok(reply.with_notes(gathered.notes))
}

fn write_json_file(path: &Path, record: &trayzero_core::record::Record) -> Result<(), CliError> {
    let mut bytes = Vec::new();
    write_json(&mut bytes, record)?;
    write_file(path, &bytes)
}

/// Writes a whole file, or leaves what was there: first beside it, then in its place.
pub(super) fn write_file(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    let failed = |fault| CliError::File {
        path: path.to_owned(),
        fault,
    };
    if path.symlink_metadata().is_ok_and(|known| !known.is_file()) {
        return Err(failed(io::Error::other("it is no plain file")));
    }
    small_file::write(path, bytes, Readers::Usual).map_err(|error| failed(error.cause))
}
