//! What the customer and the vehicle said, and the evidence side by side.

use trayzero_core::job::PictureOf;
use trayzero_core::record::{Speaks, Suspect};

use super::head::labelled;
use super::pictures;
use crate::record::pdf::Context;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::ui::units;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    pages.heading(2, own.take_in, 40.0);
    match &record.take_in {
        None => pages.paragraph(own.no_take_in, Style::BODY),
        Some(taken) => {
            let note = &taken.note;
            let mut say = |label: &str, text: &str| {
                if !text.is_empty() {
                    labelled(pages, label, text);
                }
            };
            say(own.complaint, &note.complaint);
            if let Some(km) = note.odometer_km {
                say(own.odometer, &units::distance(km, context.figures));
            }
            say(own.codes, &note.codes.join("; "));
            let smoke: Vec<&str> = note.smoke.iter().map(|s| words.smoke(*s)).collect();
            say(own.smokes_when, &smoke.join(", "));
            say(own.seen, &note.seen);
        }
    }
    pictures::strip(pages, context, |p| p.of == PictureOf::TakeIn {});
    oil(pages, context);
    evidence(pages, context);
}

fn oil(pages: &mut Pages, context: &Context) {
    let (oil, own, words) = (&context.record.oil, context.own, context.words);
    if oil.top_ups.is_empty() {
        return;
    }
    let rate = oil
        .rate
        .as_ref()
        .map(|r| (own.oil_rate)(words, context.figures, r));
    let text = rate.or_else(|| oil.no_rate_because.as_ref().map(|why| words.error(why)));
    labelled(pages, own.oil, &text.unwrap_or_default());
    let top_ups: Vec<String> = oil
        .top_ups
        .iter()
        .map(|t| {
            let volume = units::volume(t.litres, context.figures);
            let distance = units::distance(t.odometer_km, context.figures);
            format!("{}: {volume}, {distance}", t.on).replace(' ', "\u{a0}")
        })
        .collect();
    labelled(pages, "", &top_ups.join("\u{a0} · "));
}

fn evidence(pages: &mut Pages, context: &Context) {
    let (record, own) = (context.record, context.own);
    pages.heading(3, own.evidence, 60.0);
    pages.paragraph(own.evidence_note, Style::SMALL);
    pages.skip(4.0);
    let mut table = PdfTable::new(vec![
        Column::words("", 1.4),
        Column::words(own.speaks_for, 2.6),
        Column::words(own.speaks_against, 2.6),
    ]);
    for about in [Suspect::Seals, Suspect::Rings, Suspect::Elsewhere] {
        let side = |speaks: Speaks| {
            let lines = record
                .evidence
                .iter()
                .filter(|l| l.about == about && l.speaks == speaks);
            let texts: Vec<String> = lines
                .map(|l| own.evidence_line(context.words, context.figures, l))
                .collect();
            if texts.is_empty() {
                own.nothing_speaks.to_owned()
            } else {
                texts.join("\n")
            }
        };
        table.row(vec![
            TableCell::from((own.suspect)(about)).strong(),
            side(Speaks::For).into(),
            side(Speaks::Against).into(),
        ]);
    }
    table.draw(pages);
}
