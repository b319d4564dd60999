//! The job of a record: the way to its bay, what was found, dropped and counted, and what
//! happened when.

use egui::Ui;
use trayzero_core::job::Entry;
use trayzero_core::record::{Record, Stamp};

use crate::record::opened::OpenedRecord;
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::View;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::note;
use crate::ui::words::capital;
use crate::ui::words::record::count_place;

/// So many events are shown at each asking.
const EVENTS_AT_ONCE: usize = 60;

/// What the screen keeps of it.
#[derive(Default)]
pub struct RecordJob {
    /// How many events somebody has asked to see beyond the first.
    more: usize,
}

impl RecordJob {
    /// Draws it.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, opened: &OpenedRecord, out: &mut Vec<Intent>) {
        let w = v.words;
        let report = &opened.report;
        let (Some(record), Some(job)) = (&report.record, &report.job) else {
            let tint = Theme::of(ui.ctx()).colours.astray;
            return note::ui(ui, w.no_job_in_record, "", tint);
        };
        let title = format!("{} \u{b7} {}", record.bay, record.vehicle);
        frame::line(ui, &title, Type::Title, false);
        let own = w.language.record_words();
        let status = capital((own.job_status)(record.status));
        frame::line(ui, &status, Type::Strong, false);
        let bay = Button::new(w.see_records_bay).more(w.see_records_bay_more);
        if bay.tint(Theme::of(ui.ctx()).colours.now).ui(ui).tapped {
            out.push(Intent::SeeRecordsBay);
        }
        found(ui, v, record);
        dropped(ui, v, record);
        counted(ui, v, record);
        self.happened(ui, v, &job.entries);
    }

    /// What happened, the latest first.
    fn happened(&mut self, ui: &mut Ui, v: &View<'_>, entries: &[Entry]) {
        let w = v.words;
        frame::group(ui, w.what_happened);
        let shown = (EVENTS_AT_ONCE + self.more).min(entries.len());
        for entry in entries.iter().rev().take(shown) {
            let what = capital(&w.deed(&entry.event));
            let at = times::clock(entry.at_ms, entry.offset_min);
            let text = format!("{at} \u{b7} {} \u{b7} {what}", entry.who);
            frame::line(ui, &text, Type::Body, false);
        }
        if shown < entries.len() {
            let more = w.n_of_m(shown, entries.len());
            if Button::new(w.show_earlier).more(&more).ui(ui).tapped {
                self.more += EVENTS_AT_ONCE;
            }
        }
    }
}

fn when(at: Stamp) -> String {
    times::clock(at.at_ms, at.offset_min)
}

fn found(ui: &mut Ui, v: &View<'_>, record: &Record) {
    let w = v.words;
    let own = w.language.record_words();
    frame::group(ui, own.findings);
    if record.findings.is_empty() {
        frame::line(ui, w.none_noted, Type::Body, true);
    }
    for line in &record.findings {
        let place = match line.valve {
            Some(valve) => w.valve(valve),
            None => w.cylinder_n(line.cylinder),
        };
        let what = (own.finding)(v.units, line);
        let (who, at) = (&line.by.who, when(line.by.at));
        let text = format!("{}: {what} ({who}, {at})", capital(&place));
        frame::line(ui, &text, Type::Body, false);
    }
}

fn dropped(ui: &mut Ui, v: &View<'_>, record: &Record) {
    let w = v.words;
    let own = w.language.record_words();
    frame::group(ui, own.drops);
    if record.drops.is_empty() {
        frame::line(ui, own.no_drops, Type::Body, true);
    }
    for drop in &record.drops {
        let what = w.items_n(&drop.item, drop.count);
        let end = (own.ending)(w, drop, &when);
        let text = format!("{what} ({}, {}): {end}", drop.by.who, when(drop.by.at));
        frame::line(ui, &text, Type::Body, false);
    }
}

fn counted(ui: &mut Ui, v: &View<'_>, record: &Record) {
    let w = v.words;
    let own = w.language.record_words();
    frame::group(ui, own.closings);
    if record.closings.is_empty() {
        frame::line(ui, own.no_closings, Type::Body, true);
    }
    for closing in &record.closings {
        let by = format!("{}, {}", closing.by.who, when(closing.by.at));
        let text = format!("{}: {} {by}", w.bank_n(&closing.bank), own.cover_signed);
        frame::line(ui, &capital(&text), Type::Strong, false);
        let seen = |count: Option<u32>| count.map_or("\u{2013}".to_owned(), |n| n.to_string());
        for pair in &closing.lines {
            let (item, place) = count_place(w, pair);
            let text = format!(
                "{item}, {place}: {} / {}",
                seen(pair.first),
                seen(pair.second)
            );
            frame::line(ui, &text, Type::Body, false);
        }
    }
}
