//! What the customer and the vehicle said, and the evidence side by side.

use trayzero_core::record::{Speaks, Suspect};

use super::head::labelled;
use crate::record::pdf::Telling;
use crate::record::pdf::sheet::{Sheet, Style};
use crate::record::pdf::table::{Cell, Column, Table};
use crate::ui::units;

pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    sheet.heading(2, own.take_in, 40.0);
    match &record.take_in {
        None => sheet.paragraph(own.no_take_in, Style::BODY),
        Some(taken) => {
            let note = &taken.note;
            let mut say = |label: &str, text: &str| {
                if !text.is_empty() {
                    labelled(sheet, label, text);
                }
            };
            say(own.complaint, &note.complaint);
            if let Some(km) = note.odometer_km {
                say(own.odometer, &units::distance(km, telling.figures));
            }
            say(own.codes, &note.codes.join("; "));
            let smoke: Vec<&str> = note.smoke.iter().map(|s| words.smoke(*s)).collect();
            say(own.smokes_when, &smoke.join(", "));
            say(own.seen, &note.seen);
        }
    }
    oil(sheet, telling);
    evidence(sheet, telling);
}

fn oil(sheet: &mut Sheet, telling: &Telling) {
    let (oil, own, words) = (&telling.record.oil, telling.own, telling.words);
    if oil.top_ups.is_empty() {
        return;
    }
    let rate = oil
        .rate
        .as_ref()
        .map(|r| (own.oil_rate)(words, telling.figures, r));
    let text = rate.or_else(|| oil.no_rate_because.clone());
    labelled(sheet, own.oil, &text.unwrap_or_default());
    let top_ups: Vec<String> = oil
        .top_ups
        .iter()
        .map(|t| {
            let volume = units::volume(t.litres, telling.figures);
            let distance = units::distance(t.odometer_km, telling.figures);
            format!("{}: {volume}, {distance}", t.on).replace(' ', "\u{a0}")
        })
        .collect();
    labelled(sheet, "", &top_ups.join("\u{a0} · "));
}

fn evidence(sheet: &mut Sheet, telling: &Telling) {
    let (record, own) = (telling.record, telling.own);
    sheet.heading(3, own.evidence, 60.0);
    sheet.paragraph(own.evidence_note, Style::SMALL);
    sheet.skip(4.0);
    let mut table = Table::new(vec![
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
                .map(|l| own.evidence_line(telling.words, telling.figures, l))
                .collect();
            if texts.is_empty() {
                own.nothing_speaks.to_owned()
            } else {
                texts.join("\n")
            }
        };
        table.row(vec![
            Cell::from((own.suspect)(about)).strong(),
            side(Speaks::For).into(),
            side(Speaks::Against).into(),
        ]);
    }
    table.draw(sheet);
}
