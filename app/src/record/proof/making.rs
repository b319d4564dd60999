//! How a record was made: enough to make the same one again from its attachments.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use trayzero_core::bench::UnitSystem;
use trayzero_core::shop_log::{Deed, read_log};
use uuid::Uuid;

use super::keys_met;
use crate::data::store::Tablet;
use crate::record::load::Gathered;
use crate::record::pdf::{Paper, Print};
use crate::record::sources::LinesTold;
use crate::ui::words::Language;

/// Version of these fields.
pub const MAKING_FORMAT: u32 = 1;

/// How a record was made. A field that a newer program adds is passed over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Making {
    /// Version of these fields, [`MAKING_FORMAT`].
    pub format: u32,
    /// Version of the program.
    pub program: String,
    /// The job.
    pub job: Uuid,
    /// The tablet that made and signed it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tablet: Option<Uuid>,
    /// Its name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tablet_name: Option<String>,
    /// The shop key, 64 hex digits, where there is a shop log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<String>,
    /// Every journal was taken as it stood, for the tablet had weighed it before.
    pub whole_journals: bool,
    /// The tablet whose own folder it was made from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_folder: Option<Uuid>,
    /// Without a shop log: the keys that each journal is sealed with.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub keys: BTreeMap<Uuid, Vec<String>>,
    /// Pictures in whose place something else lay when the record was made, by the SHA-256 of
    /// their copies.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changed_pictures: Vec<String>,
    /// Language, as a tag of BCP 47.
    pub language: String,
    /// `a4` or `letter`.
    pub paper: String,
    /// `metric` or `us`.
    pub units: String,
    /// What each page shows, as a hash.
    pub pages: Vec<String>,
}

impl Making {
    /// How a record is made now; without its pages.
    pub(super) fn of(gathered: &Gathered, signer: Option<&Tablet>, print: Print) -> Self {
        let footing = &gathered.sources.footing;
        let changed = &gathered.sources.changed_pictures;
        Self {
            format: MAKING_FORMAT,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            job: gathered.sources.job,
            tablet: signer.map(Tablet::id),
            tablet_name: signer.map(|tablet| tablet.name().to_owned()),
            shop: shop_of(gathered),
            whole_journals: footing.is_whole,
            own_folder: footing.own,
            keys: keys_of(gathered, signer),
            changed_pictures: changed.iter().cloned().collect(),
            language: print.language.record_words().tag.to_owned(),
            paper: paper_name(print.paper).to_owned(),
            units: units_name(print.system).to_owned(),
            pages: Vec::new(),
        }
    }

    /// How it was printed; `None` where this program knows no such language, paper or units.
    pub fn print(&self) -> Option<Print> {
        let language = Language::ALL.into_iter();
        let paper = [Paper::A4, Paper::Letter].into_iter();
        let system = [UnitSystem::Metric, UnitSystem::Us].into_iter();
        Some(Print {
            language: { language }.find(|one| one.record_words().tag == self.language)?,
            paper: { paper }.find(|one| paper_name(*one) == self.paper)?,
            system: { system }.find(|one| units_name(*one) == self.units)?,
        })
    }

    /// Which lines were told.
    pub fn footing(&self) -> LinesTold {
        LinesTold {
            is_whole: self.whole_journals,
            own: self.own_folder,
        }
    }

    /// Whether this very program made it.
    pub fn is_of_this_program(&self) -> bool {
        self.program == env!("CARGO_PKG_VERSION")
    }
}

fn paper_name(paper: Paper) -> &'static str {
    match paper {
        Paper::A4 => "a4",
        Paper::Letter => "letter",
    }
}

fn units_name(system: UnitSystem) -> &'static str {
    match system {
        UnitSystem::Metric => "metric",
        UnitSystem::Us => "us",
    }
}

/// The key of the shop whose log goes along; `None` where there are none, or two.
fn shop_of(gathered: &Gathered) -> Option<String> {
    let firsts = gathered.logs.iter().filter_map(|(tablet, log)| {
        let end = log.iter().position(|b| *b == b'\n')? + 1;
        let first = read_log(&log[..end], *tablet, &[]).lines.pop()?;
        let is_founding = matches!(first.body().deed, Deed::Founded { .. });
        is_founding.then(|| first.link().to_string())
    });
    let keys: Vec<String> = firsts.collect();
    match &keys[..] {
        [key] => Some(key.clone()),
        _ => None,
    }
}

fn keys_of(gathered: &Gathered, signer: Option<&Tablet>) -> BTreeMap<Uuid, Vec<String>> {
    if !gathered.logs.is_empty() {
        return BTreeMap::new();
    }
    let keys_of = |tablet: Uuid| -> Vec<String> {
        if let Some(own) = signer.filter(|own| own.id() == tablet) {
            return vec![own.public_key()];
        }
        let known: Vec<String> = gathered
            .members
            .keys_of(tablet)
            .map(str::to_owned)
            .collect();
        if known.is_empty() {
            keys_met(&gathered.sources, tablet)
        } else {
            known
        }
    };
    let tablets = gathered.sources.journals.keys();
    tablets.map(|tablet| (*tablet, keys_of(*tablet))).collect()
}
