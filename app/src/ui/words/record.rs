//! The words of the record that the screen does not need.
//!
//! [`RecordWords`] is one set: a language that lacks a text does not compile.

use trayzero_core::bench::{Estimate, LeakClass, OilRate, UnitSystem};
use trayzero_core::engine::ValveName;
use trayzero_core::job::Event;
use trayzero_core::record::{
    CountPair, DropLine, EvidenceLine, FindingLine, JobStatus, NoteKind, OpenPoint, OrderListRow,
    Reason, SignatureLine, Suspect,
};

use super::Words;
use crate::ui::units::{self, Figures};

macro_rules! record_words {
    ($($key:ident),* $(,)?) => {
        /// The words of the record in one language. Plain texts are named by their English
        /// text; the others put one thing of the record into a sentence.
        #[allow(missing_docs)]
        pub struct RecordWords {
            /// The language as a tag of BCP 47.
            pub tag: &'static str,
            $(pub $key: &'static str,)*
            pub job_status: fn(JobStatus) -> &'static str,
            pub unfinished_text: fn(JobStatus) -> &'static str,
            pub page_of: fn(usize, usize) -> String,
            pub picture_n: fn(usize) -> String,
            pub times_at: fn(&str) -> String,
            pub journal_fault: fn(&trayzero_core::record::JournalFaultLine) -> String,
            pub check_text: fn(&str) -> String,
            pub proof_text: fn(&ProofTold) -> &'static str,
            pub suspect: fn(Suspect) -> &'static str,
            pub reason: fn(&Words, Figures, &Reason) -> String,
            pub finding: fn(Figures, &FindingLine) -> String,
            pub ending: fn(&Words, &DropLine, &dyn Fn(trayzero_core::record::Stamp) -> String) -> String,
            pub signed_for: fn(&Words, &SignatureLine) -> String,
            pub event_name: fn(&Event) -> &'static str,
            pub open_point: fn(&Words, Figures, &OpenPoint) -> String,
            pub note_kind: fn(NoteKind) -> &'static str,
            pub oil_rate: fn(&Words, Figures, &OilRate) -> String,
            pub diagram_alt: fn(&str, usize, usize) -> String,
            pub chart_alt: fn(usize, usize) -> String,
        }
    };
}

record_words! {
    title, bay, order_number, engine, opened, finished_at, stopped_at, latest, working_time, technicians,
    signed_by, nobody, check_value, times, since, unfinished, breakaway,
    valves_verified, adrift_now, drops_reported, banks_closed, conflicts_open,
    left_open, nothing_open, take_in, complaint, odometer, codes, smokes_when, seen, oil,
    no_take_in, evidence, evidence_note, speaks_for, speaks_against, nothing_speaks, leak_down,
    before, after, cylinder, loss, class, heard, foreman, not_read, leak_note, diagram_note,
    valves, valve, minutes, found_and_done, minutes_note, day, findings, cylinder_findings,
    parts, part, issued, issued_net, caution, used, spoiled, returned, goes_back, scrapped, missing,
    parts_note, order_list, order_name, to_order, counted_as, not_on_list, kit, counted_in,
    in_kit, aboard, drops, no_drops, dropped, how_ended, when, who, closings, closing_of,
    no_closings, item, place, first_count, second_count, cover_signed, reopened, other_counts,
    other_counts_note, signatures, no_signatures, signed_what, steps, step, before_first,
    after_last, not_seen, cautions, notes, conflicts, what_was_done, why_not, stands_instead,
    held_by, held_air, resolved, still_open, withdrawn, taken_back, remark, adaptor, replaced, seals_spoiled, locks_dropped,
    clearance_unknown, litres_per_way, quarts_per_way, service_note, journal_faulty, journal_faulty_text, tablet_key, shop_key, not_signed, not_signed_text, finished_but,
    from_paper, from_paper_note, entered_by, done_by_paper, paper_whole, paper_not_whole,
    pictures, pictures_note, picture_missing, picture_changed,
}

/// What the first page says of the proof within the file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum ProofTold {
    /// There is none.
    #[default]
    Without,
    /// Files go along, and nobody has signed the list of them.
    Unsigned,
    /// A tablet of no shop has signed the list.
    ByTablet(Signer),
    /// A tablet of a shop has signed the list.
    ByMember {
        /// The tablet.
        signer: Signer,
        /// The shop key in short words.
        shop: String,
    },
}

/// Who has signed the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signer {
    /// The tablet's name.
    pub name: String,
    /// Its key in short words.
    pub words: String,
}

impl RecordWords {
    /// The class of a leak-down loss.
    pub fn leak_class(&self, words: &Words, class: LeakClass) -> &'static str {
        match class {
            LeakClass::Good => words.leak_good,
            LeakClass::Usable => words.leak_usable,
            LeakClass::Poor => words.leak_poor,
            LeakClass::FindTheLeak => words.leak_find,
        }
    }

    /// A line of evidence as a sentence.
    pub fn evidence_line(&self, words: &Words, figures: Figures, line: &EvidenceLine) -> String {
        (self.reason)(words, figures, &line.reason)
    }
}

/// An oil rate in the units of the record first, then in the others: the estimate, and its
/// unit.
pub(super) fn oil_ways<'r>(
    own: &RecordWords,
    system: UnitSystem,
    rate: &'r OilRate,
) -> [(&'r Estimate, &'static str); 2] {
    let metric = (&rate.litres_per_1000_km, own.litres_per_way);
    let us = (&rate.quarts_per_1000_mi, own.quarts_per_way);
    match system {
        UnitSystem::Metric => [metric, us],
        UnitSystem::Us => [us, metric],
    }
}

/// Litres per 1,000 km in the units of the record.
pub(super) fn oil_used(own: &RecordWords, words: &Words, figures: Figures, litres: f64) -> String {
    let (used, unit) = match figures.system {
        UnitSystem::Metric => (litres, own.litres_per_way),
        UnitSystem::Us => (units::quarts_per_1000_mi(litres), own.quarts_per_way),
    };
    format!("{} {unit}", words.figure(used, 2))
}

/// Cylinder numbers as a list, such as `1, 3, 5`.
pub(super) fn numbers(cylinders: &[u8]) -> String {
    let texts: Vec<String> = cylinders.iter().map(ToString::to_string).collect();
    texts.join(", ")
}

/// A valve in a table, such as `3 exhaust 2`.
pub fn valve_short(words: &Words, valve: ValveName) -> String {
    format!("{} {}", valve.cylinder, words.valve_within(valve))
}

/// An item and its place in a count.
pub fn count_place(words: &Words, pair: &CountPair) -> (String, &'static str) {
    (words.item(&pair.item), words.place(pair.place))
}

/// The names on the order list that a row stands for.
pub fn order_names(row: &OrderListRow) -> String {
    row.names.join(", ")
}
