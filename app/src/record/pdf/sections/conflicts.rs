//! What two tablets disagreed on, what was taken back, and what the check value says.

use trayzero_core::record::{EventSummary, Resolved};

use crate::record::pdf::ink::Ink;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by, check_groups};
use crate::ui::words::capital;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    conflicts(pages, context);
    withdrawn(pages, context);
    pages.skip(14.0);
    let value = check_groups(&context.record.check_value);
    pages.paragraph(&(context.own.check_text)(&value), Style::SMALL);
}

/// What an event was, with what it concerned.
fn event_summary(context: &Context, summary: &EventSummary) -> String {
    let words = context.words;
    let mut text = (context.own.event_name)(&summary.event).to_owned();
    if let Some(stage) = summary.stage {
        text = format!("{text}: {}", words.stage(stage));
    }
    if let Some(item) = &summary.item {
        text = format!(
            "{text}: {}",
            words.items_n(item, summary.count.unwrap_or(1))
        );
    }
    let place = match (summary.valve, summary.cylinder, &summary.bank) {
        (Some(valve), _, _) => Some(words.valve(valve)),
        (None, Some(cylinder), _) => Some(words.cylinder_n(cylinder)),
        (None, None, Some(bank)) => Some(words.bank_n(bank)),
        (None, None, None) => None,
    };
    match place {
        Some(place) => format!("{text}, {place}"),
        None => text,
    }
}

/// Who looked, what they saw and what they noted, each on a line of its own.
fn resolved_words(context: &Context, resolved: &Resolved) -> String {
    let (words, banks) = (context.words, &context.record.layout.banks);
    let mut lines = vec![by(&resolved.by)];
    lines.extend(resolved.second.as_ref().map(ToString::to_string));
    let seen = resolved.seen.iter();
    lines.extend(seen.map(|s| capital(&words.sight(s, banks, context.figures))));
    lines.extend(Some(resolved.note.clone()).filter(|note| !note.is_empty()));
    lines.join("\n")
}

fn conflicts(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    if record.conflicts.is_empty() {
        return;
    }
    pages.heading(2, own.conflicts, 60.0);
    let mut table = PdfTable::new(vec![
        Column::words(own.what_was_done, 2.2),
        Column::words(own.why_not, 2.2),
        Column::words(own.stands_instead, 2.2),
        Column::words(own.resolved, 2.2),
    ]);
    for line in &record.conflicts {
        let against = line
            .against
            .as_ref()
            .map(|a| format!("{}\n{}", event_summary(context, &a.summary), by(&a.by)));
        let resolved = match &line.resolved {
            Some(resolved) => TableCell::from(resolved_words(context, resolved)),
            None => TableCell::from(own.still_open).strong().ink(Ink::Warn),
        };
        table.row(vec![
            TableCell::from(format!(
                "{}\n{}",
                event_summary(context, &line.summary),
                by(&line.by)
            )),
            words
                .refusal_why_in(&line.because.refusal, context.figures)
                .into(),
            against.unwrap_or_default().into(),
            resolved,
        ]);
    }
    table.draw(pages);
}

fn withdrawn(pages: &mut Pages, context: &Context) {
    let (record, own) = (context.record, context.own);
    if record.withdrawn.is_empty() {
        return;
    }
    pages.heading(2, own.withdrawn, 50.0);
    let mut table = PdfTable::new(vec![
        Column::words(own.what_was_done, 3.0),
        Column::words(own.when, 2.0),
        Column::words(own.taken_back, 2.0),
    ]);
    for line in &record.withdrawn {
        table.row(vec![
            event_summary(context, &line.summary).into(),
            by(&line.by).into(),
            by(&line.taken_back).into(),
        ]);
    }
    table.draw(pages);
}
