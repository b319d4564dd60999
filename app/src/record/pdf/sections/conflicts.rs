//! What two tablets disagreed on, what was taken back, and what the check value says.

use trayzero_core::record::Deed;

use crate::record::pdf::ink::Ink;
use crate::record::pdf::sheet::{Sheet, Style};
use crate::record::pdf::table::{Cell, Column, Table};
use crate::record::pdf::{Telling, by, check_groups};

pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    conflicts(sheet, telling);
    withdrawn(sheet, telling);
    sheet.skip(14.0);
    let value = check_groups(&telling.record.check_value);
    sheet.paragraph(&(telling.own.check_text)(&value), Style::SMALL);
}

/// What an event was, with what it concerned.
fn deed(telling: &Telling, deed: &Deed) -> String {
    let words = telling.words;
    let mut text = (telling.own.deed)(&deed.event).to_owned();
    if let Some(stage) = deed.stage {
        text = format!("{text}: {}", words.stage(stage));
    }
    if let Some(item) = &deed.item {
        text = format!("{text}: {}", words.items_n(item, deed.count.unwrap_or(1)));
    }
    let place = match (deed.valve, deed.cylinder, &deed.bank) {
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

fn conflicts(sheet: &mut Sheet, telling: &Telling) {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    if record.conflicts.is_empty() {
        return;
    }
    sheet.heading(2, own.conflicts, 60.0);
    let mut table = Table::new(vec![
        Column::words(own.what_was_done, 2.2),
        Column::words(own.why_not, 2.2),
        Column::words(own.stands_instead, 2.2),
        Column::words(own.resolved, 2.2),
    ]);
    for line in &record.conflicts {
        let against = line
            .against
            .as_ref()
            .map(|a| format!("{}\n{}", deed(telling, &a.deed), by(&a.by)));
        let resolved = match &line.resolved {
            Some(resolved) => Cell::from(format!("{}\n{}", by(&resolved.by), resolved.note)),
            None => Cell::from(own.still_open).strong().ink(Ink::Warn),
        };
        table.row(vec![
            Cell::from(format!("{}\n{}", deed(telling, &line.deed), by(&line.by))),
            words
                .refusal_why_in(&line.because.0, telling.figures)
                .into(),
            against.unwrap_or_default().into(),
            resolved,
        ]);
    }
    table.draw(sheet);
}

fn withdrawn(sheet: &mut Sheet, telling: &Telling) {
    let (record, own) = (telling.record, telling.own);
    if record.withdrawn.is_empty() {
        return;
    }
    sheet.heading(2, own.withdrawn, 50.0);
    let mut table = Table::new(vec![
        Column::words(own.what_was_done, 3.0),
        Column::words(own.when, 2.0),
        Column::words(own.taken_back, 2.0),
    ]);
    for line in &record.withdrawn {
        table.row(vec![
            deed(telling, &line.deed).into(),
            by(&line.by).into(),
            by(&line.taken_back).into(),
        ]);
    }
    table.draw(sheet);
}
