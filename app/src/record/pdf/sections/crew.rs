//! Signatures, steps before and after, cautions and notes.

use crate::record::pdf::ink::Ink;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by, when};

/// Height of the check value below the signatures, which would stand lonely on a page.
const CHECK_ROOM: f32 = 44.0;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    steps(pages, context);
    notes(pages, context);
    signatures(pages, context);
}

fn signatures(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    let mut table = PdfTable::new(vec![
        Column::words(own.who, 1.6),
        Column::words(own.signed_what, 3.2),
        Column::words(own.when, 1.6),
    ]);
    for line in &record.signatures {
        table.row(vec![
            TableCell::from(line.by.who.to_string()).strong(),
            (own.signed_for)(words, line).into(),
            when(&line.by).into(),
        ]);
    }
    pages.heading(2, own.signatures, table.keep(pages) + CHECK_ROOM);
    if table.is_empty() {
        pages.paragraph(own.no_signatures, Style::BODY);
    }
    table.draw(pages);
}

fn steps(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    pages.heading(2, own.steps, 60.0);
    for (before, title) in [(true, own.before_first), (false, own.after_last)] {
        let mut table = PdfTable::new(vec![
            Column::words(own.step, 3.4),
            Column::words(own.who, 1.6),
            Column::words(own.when, 1.6),
        ]);
        for step in record.steps.iter().filter(|s| s.before == before) {
            let what = TableCell::from(words.step(step.step));
            table.row(match &step.seen {
                Some(by) => vec![what, by.who.to_string().into(), when(by).into()],
                None => vec![
                    what,
                    TableCell::from(own.not_seen).ink(Ink::Warn),
                    "".into(),
                ],
            });
        }
        pages.heading(3, title, table.keep(pages));
        table.draw(pages);
    }
    if record.cautions.is_empty() {
        return;
    }
    let mut table = PdfTable::new(vec![
        Column::words(own.caution, 3.4),
        Column::words(own.who, 1.6),
        Column::words(own.when, 1.6),
    ]);
    for line in &record.cautions {
        table.row(vec![
            words.caution(line.caution).into(),
            line.by.who.to_string().into(),
            when(&line.by).into(),
        ]);
    }
    pages.heading(3, own.cautions, table.keep(pages));
    table.draw(pages);
    pages.paragraph(own.service_note, Style::SMALL);
}

fn notes(pages: &mut Pages, context: &Context) {
    let (record, own) = (context.record, context.own);
    if record.notes.is_empty() {
        return;
    }
    pages.heading(2, own.notes, 30.0);
    for note in &record.notes {
        let head = format!("{} · {}", by(&note.by), (own.note_kind)(note.kind));
        pages.need(30.0);
        pages.paragraph(&head, Style::SMALL);
        pages.paragraph(&note.text, Style::BODY);
        pages.skip(4.0);
    }
}
