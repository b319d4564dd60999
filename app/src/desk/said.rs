//! What the desk says in the words of whoever reads it: what does not hold at the start, and
//! why a tap was not taken.

use std::path::Path;

use trayzero_core::job::Refusal;

use crate::data::crew::Crew;
use crate::data::settings::SettingsFile;
use crate::data::store::{DiskTrouble, JobList, ProposeError, Store};
use crate::record::load::GatherError;
use crate::record::pdf::PdfError;
use crate::ui::units::Figures;
use crate::ui::view::Notice;
use crate::ui::words::Words;

/// What is wrong with the folder from the start, and what the person at the tablet should
/// know of it, each on a line of its own.
pub(super) fn said_at_the_start(
    store: &Store,
    settings: &SettingsFile,
    crew: &Crew,
    jobs: &JobList,
) -> Option<Notice> {
    let words = settings.settings.language.words();
    let holds_not = |fault| format!("{}: {}", words.crew_does_not_hold, words.error(fault));
    let crew_lines = crew.fault().map(holds_not).into_iter();
    let settings_lines = settings.faults.iter().map(|fault| fault.said(words));
    let new = store.goes_on_as_new().map(|new| words.error(new));
    let tries = crew.tries_fault();
    let tries = tries.map(|fault| words.tries_changed(&words.error(fault)));
    let lines = crew_lines.chain(settings_lines).chain(new).chain(tries);
    let of_jobs = jobs.faults.iter().map(|fault| words.error(&**fault));
    let lines: Vec<String> = lines.chain(of_jobs).collect();
    (!lines.is_empty()).then(|| Notice::Fault {
        what: lines.join("\n"),
        way_out: String::new(),
    })
}

pub(super) fn refused(words: &Words, figures: Figures, refusal: &Refusal) -> Notice {
    Notice::Refused {
        why: words.refusal_why_in(refusal, figures),
        way_out: words.refusal_way_out(refusal),
        code: refusal.code(),
    }
}

pub(super) fn notice_of(words: &Words, figures: Figures, error: &ProposeError) -> Notice {
    match error {
        ProposeError::Refused { refusal, .. } => refused(words, figures, refusal),
        ProposeError::Disk { why, trouble } => Notice::Fault {
            what: format!("{} ({})", words.disk_fault, words.error(&**why)),
            way_out: match trouble {
                DiskTrouble::Full => words.disk_fault_way,
                DiskTrouble::ReadOnly => words.disk_read_only_way,
                DiskTrouble::Gone => words.disk_gone_way,
                DiskTrouble::Other => words.disk_other_way,
            }
            .to_owned(),
        },
        ProposeError::ReadOnly(why) => Notice::Fault {
            what: format!("{}: {}", words.read_only, words.error(&**why)),
            way_out: String::new(),
        },
    }
}

/// Why there is no record of a job.
pub(super) fn not_gathered(words: &Words, error: &GatherError) -> String {
    let shown = |path: &Path| path.display().to_string();
    match error {
        GatherError::Folder { folder, cause } => {
            words.folder_not_listed(&shown(folder), &cause.to_string())
        }
        GatherError::Journal(error) => words.error(error),
        GatherError::NoSuchJob { folder, job, .. } => {
            words.no_job_in(&shown(folder), &job.to_string())
        }
        GatherError::NeverOpened { folder, .. } => words.never_opened(&shown(folder)),
    }
}

/// Why a PDF cannot be made.
pub(super) fn no_pdf(words: &Words, error: &PdfError) -> String {
    match error {
        PdfError::Font { name } => words.font_unread(name),
        PdfError::Write { why } => words.pdf_unwritten(why),
    }
}
