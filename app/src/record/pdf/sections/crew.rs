//! Signatures, steps before and after, cautions and notes.

use crate::record::pdf::ink::Ink;
use crate::record::pdf::sheet::{Sheet, Style};
use crate::record::pdf::table::{Cell, Column, Table};
use crate::record::pdf::{Telling, by, moment};

/// Height of the check value below the signatures, which would stand lonely on a page.
const CHECK_ROOM: f32 = 44.0;

pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    steps(sheet, telling);
    notes(sheet, telling);
    signatures(sheet, telling);
}

fn signatures(sheet: &mut Sheet, telling: &Telling) {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    let mut table = Table::new(vec![
        Column::words(own.who, 1.6),
        Column::words(own.signed_what, 3.2),
        Column::words(own.when, 1.6),
    ]);
    for line in &record.signatures {
        table.row(vec![
            Cell::from(line.by.who.to_string()).strong(),
            (own.signed_for)(words, line).into(),
            moment(line.by.at).into(),
        ]);
    }
    sheet.heading(2, own.signatures, table.keep(sheet) + CHECK_ROOM);
    if table.is_empty() {
        sheet.paragraph(own.no_signatures, Style::BODY);
    }
    table.draw(sheet);
}

fn steps(sheet: &mut Sheet, telling: &Telling) {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    sheet.heading(2, own.steps, 60.0);
    for (before, title) in [(true, own.before_first), (false, own.after_last)] {
        let mut table = Table::new(vec![
            Column::words(own.step, 3.4),
            Column::words(own.who, 1.6),
            Column::words(own.when, 1.6),
        ]);
        for step in record.steps.iter().filter(|s| s.before == before) {
            let what = Cell::from(words.step(step.step));
            table.row(match &step.seen {
                Some(by) => vec![what, by.who.to_string().into(), moment(by.at).into()],
                None => vec![what, Cell::from(own.not_seen).ink(Ink::Warn), "".into()],
            });
        }
        sheet.heading(3, title, table.keep(sheet));
        table.draw(sheet);
    }
    if record.cautions.is_empty() {
        return;
    }
    let mut table = Table::new(vec![
        Column::words(own.caution, 3.4),
        Column::words(own.who, 1.6),
        Column::words(own.when, 1.6),
    ]);
    for line in &record.cautions {
        table.row(vec![
            words.caution(line.caution).into(),
            line.by.who.to_string().into(),
            moment(line.by.at).into(),
        ]);
    }
    sheet.heading(3, own.cautions, table.keep(sheet));
    table.draw(sheet);
    sheet.paragraph(own.service_note, Style::SMALL);
}

fn notes(sheet: &mut Sheet, telling: &Telling) {
    let (record, own) = (telling.record, telling.own);
    if record.notes.is_empty() {
        return;
    }
    sheet.heading(2, own.notes, 30.0);
    for note in &record.notes {
        let head = format!("{} · {}", by(&note.by), (own.note_kind)(note.kind));
        sheet.need(30.0);
        sheet.paragraph(&head, Style::SMALL);
        sheet.paragraph(&note.text, Style::BODY);
        sheet.skip(4.0);
    }
}
