//! Drops and how they ended, and the closing of every bank with both counts.

use trayzero_core::job::PictureOf;
use trayzero_core::record::{By, Closing, Ending};

use super::pictures;
use crate::record::pdf::ink::Ink;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by, moment};
use crate::ui::words::record::count_place;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    drops(pages, context);
    closings(pages, context);
    pictures::strip(pages, context, |p| matches!(p.of, PictureOf::Count { .. }));
    other_counts(pages, context);
}

fn drops(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    pages.heading(2, own.drops, 30.0);
    if record.drops.is_empty() {
        pages.paragraph(own.no_drops, Style::BODY);
    }
    let mut table = PdfTable::new(vec![
        Column::words(own.dropped, 1.8),
        Column::words(own.when, 1.8),
        Column::words(own.how_ended, 4.0),
    ]);
    for drop in &record.drops {
        let mut what = words.items_n(&drop.item, drop.count);
        if let Some(valve) = drop.valve {
            what = format!("{what}\n{}", words.valve(valve));
        }
        let end = TableCell::from((own.ending)(words, drop, &moment));
        let end = match drop.ending {
            Ending::Found { .. } => end,
            Ending::Adrift | Ending::Unfound { .. } => end.strong().ink(Ink::Warn),
        };
        table.row(vec![
            TableCell::from(what).strong(),
            by(&drop.by).into(),
            end,
        ]);
    }
    table.draw(pages);
}

fn closings(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    pages.heading(2, own.closings, 60.0);
    if record.closings.is_empty() {
        pages.paragraph(own.no_closings, Style::BODY);
    }
    for closing in &record.closings {
        let table = counts(context, closing);
        pages.heading(3, &words.bank_n(&closing.bank), table.keep(pages) + 20.0);
        let text = format!("{}: {}.", own.cover_signed, by(&closing.by));
        pages.paragraph(&text, Style::BODY);
        if !closing.stands {
            pages.paragraph(own.reopened, Style::BODY.strong());
        }
        pages.skip(3.0);
        table.draw(pages);
    }
}

fn counts(context: &Context, closing: &Closing) -> PdfTable {
    let own = context.own;
    let head = |name: &str, counted: &Option<By>| match counted {
        Some(counted) => format!("{name}\n{}", by(counted)),
        None => name.to_owned(),
    };
    let mut table = PdfTable::new(vec![
        Column::words(own.item, 2.0),
        Column::words(own.place, 1.4),
        Column::figures(&head(own.first_count, &closing.first), 2.0),
        Column::figures(&head(own.second_count, &closing.second), 2.0),
    ]);
    let seen = |count: Option<u32>| count.map_or("–".to_owned(), |n| n.to_string());
    for pair in &closing.lines {
        let (item, place) = count_place(context.words, pair);
        table.row(vec![
            TableCell::from(item).strong(),
            place.into(),
            seen(pair.first).into(),
            seen(pair.second).into(),
        ]);
    }
    table
}

fn other_counts(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    if record.other_counts.is_empty() {
        return;
    }
    pages.heading(3, own.other_counts, 40.0);
    pages.paragraph(own.other_counts_note, Style::SMALL);
    pages.skip(2.0);
    for count in &record.other_counts {
        let lines: Vec<String> = count
            .lines
            .iter()
            .map(|l| {
                let item = words.items_n(&l.item, l.count);
                format!("{item} ({})", words.place(l.place))
            })
            .collect();
        let text = format!("{}: {}", by(&count.by), lines.join(", "));
        pages.paragraph(&text, Style::plain(8.0));
        pages.skip(2.0);
    }
}
