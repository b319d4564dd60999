//! Whether a record holds, from its file alone: everything that goes along within it is taken
//! out, read again from the first line on, and held against what the file says.
//!
//! [`verify`] tells line by line what holds, what does not and what nobody can know from the
//! file. Nothing is looked up elsewhere, and nothing in the file is believed that is not
//! checked: only which shop it is, where nobody names the shop's key, is taken on trust, and
//! that is said.

mod attachments;
mod ends;
mod figures;
mod journals;
mod members;
mod printed;

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};
use trayzero_core::journal::Members;
use trayzero_core::record::Record;
use trayzero_core::shop_log::{Proofs, Shop};
use uuid::Uuid;

use super::pdf_file::{NotRead, PdfFile};
use super::proof::Making;
use super::sources::{ReplayedJob, Sources};
use crate::ui::words::EN;
use crate::ui::words::verified::{CalledTablet, VerifySaid};

/// What a line is about. The names are those of the JSON answer, and stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// Whether there is anything to be checked.
    Attached,
    /// One attachment against the list.
    Attachment,
    /// The list of attachments.
    List,
    /// The signature over the list.
    Signature,
    /// How the record says it was made.
    Making,
    /// Which shop it is.
    Shop,
    /// The shop's log.
    Log,
    /// Whose key the list is signed with.
    Signer,
    /// One journal: its links.
    Journal,
    /// One journal: whether its tablet has sealed it to its end.
    Seal,
    /// The ends of all journals, signed by whoever closed the job.
    Ends,
    /// The signatures of people.
    People,
    /// The figures of the record.
    Figures,
    /// The check value.
    Value,
    /// What the pages show.
    Pages,
}

/// What is said of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LineVerdict {
    /// It holds.
    Holds,
    /// It does not.
    DoesNotHold,
    /// The file alone does not say; whoever asks has to look.
    NotKnown,
}

/// One line of the answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VerifyLine {
    /// What it is about.
    pub about: About,
    /// The attachment that is meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub attachment: Option<String>,
    /// Whether it holds.
    pub verdict: LineVerdict,
    /// That in words.
    #[serde(rename = "words", serialize_with = "in_english")]
    pub said: VerifySaid,
}

/// The JSON answer is English.
fn in_english<S: Serializer>(said: &VerifySaid, into: S) -> Result<S::Ok, S::Error> {
    into.serialize_str(&EN.verify_said(said))
}

/// The answer.
#[derive(Clone, Debug, Default)]
pub struct VerifyReport {
    /// Line by line.
    pub lines: Vec<VerifyLine>,
    /// The record as its journals tell it, where they tell one.
    pub record: Option<Box<Record>>,
    /// Its job as a bay shows it, from the same lines.
    pub job: Option<Box<ReplayedJob>>,
    /// How the file says that it was made.
    pub making: Option<Making>,
    /// The key that the list is signed with, 64 hex digits, where that signature holds.
    pub signer: Option<String>,
    /// The key of the shop that was checked, 64 hex digits.
    pub shop: Option<String>,
    /// Every attachment with its bytes.
    pub attachments: Vec<(String, u64)>,
}

impl VerifyReport {
    /// How many things do not hold.
    pub fn failures(&self) -> usize {
        let fails = |line: &&VerifyLine| line.verdict == LineVerdict::DoesNotHold;
        self.lines.iter().filter(fails).count()
    }

    /// Whether everything that can be checked holds.
    pub fn holds(&self) -> bool {
        !self.lines.is_empty() && self.failures() == 0
    }

    fn say(
        &mut self,
        about: About,
        attachment: Option<&str>,
        verdict: LineVerdict,
        said: VerifySaid,
    ) {
        self.lines.push(VerifyLine {
            about,
            attachment: attachment.map(str::to_owned),
            verdict,
            said,
        });
    }

    fn holds_that(&mut self, about: About, attachment: Option<&str>, said: VerifySaid) {
        self.say(about, attachment, LineVerdict::Holds, said);
    }

    fn fails_in(&mut self, about: About, attachment: Option<&str>, said: VerifySaid) {
        self.say(about, attachment, LineVerdict::DoesNotHold, said);
    }

    fn leaves_open(&mut self, about: About, attachment: Option<&str>, said: VerifySaid) {
        self.say(about, attachment, LineVerdict::NotKnown, said);
    }
}

/// The attachments by name.
type Files = BTreeMap<String, Vec<u8>>;

/// Checks a record. `shop_key` is the shop's first key as the person who asks knows it, 64 hex
/// digits.
///
/// # Errors
/// [`NotRead`] where the file cannot be taken apart at all.
pub fn verify(pdf: &[u8], shop_key: Option<&str>) -> Result<VerifyReport, NotRead> {
    let file = PdfFile::open(pdf)?;
    let mut report = VerifyReport::default();
    let files = attachments::take_out(&file, &mut report)?;
    if files.is_empty() && !report.lines.is_empty() {
        // There is something, and none of it can be taken out; that was said.
        return Ok(report);
    }
    if files.is_empty() {
        report.fails_in(About::Attached, None, VerifySaid::NothingAttached);
        return Ok(report);
    }
    attachments::against_list(&files, &mut report);
    let signer = attachments::signature(&files, &mut report);
    let Some(making) = attachments::making(&files, &mut report) else {
        return Ok(report);
    };
    let shop = members::shop(&files, &making, shop_key, &mut report);
    let members = members::members(shop.as_ref(), &making);
    members::signer(shop.as_ref(), &making, signer.as_deref(), &mut report);
    let mut sources = journals::sources(&files, &making, &mut report);
    let read = journals::check(&sources, &members, &mut report);
    let proofs = Proofs::of(shop.as_ref(), making.own_folder);
    journals::people(making.job, read, shop.as_ref(), &mut report);
    let record = replayed(&mut sources, &members, &proofs, &mut report);
    ends::check(
        &files,
        making.job,
        record.as_ref(),
        shop.as_ref(),
        &mut report,
    );
    if let Some(record) = record {
        journals::pictures(&sources, &record, &mut report);
        figures::compare(&files, &record, &making, &mut report);
        printed::compare(&file, pdf, &files, &record, &making, &mut report);
        report.record = Some(Box::new(record));
    }
    report.shop = shop.map(|shop| shop.key.to_string());
    report.signer = signer;
    report.making = Some(making);
    Ok(report)
}

/// The record made again.
fn replayed(
    sources: &mut Sources,
    members: &Members,
    proofs: &Proofs,
    report: &mut VerifyReport,
) -> Option<Record> {
    let made = sources.record(members, proofs);
    report.job = Some(Box::new(made.job));
    if made.record.is_none() {
        report.job = None;
        report.fails_in(About::Figures, None, VerifySaid::NeverOpened);
    }
    made.record
}

/// The tablet that an attachment with these two ends in its name is of.
fn tablet_in(name: &str, before: &str, after: &str) -> Option<Uuid> {
    let text = name.strip_prefix(before)?.strip_suffix(after)?;
    let tablet = Uuid::parse_str(text).ok()?;
    (tablet.to_string() == text).then_some(tablet)
}

/// How a tablet is called.
fn called(shop: Option<&Shop>, tablet: Uuid) -> CalledTablet {
    let known = shop.and_then(|shop| shop.tablets.get(&tablet));
    let name = known.map(|known| known.name.clone());
    CalledTablet { name, tablet }
}
