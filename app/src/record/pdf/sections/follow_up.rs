//! What was seen after the vehicle left, beside what it was before.

use trayzero_core::bench::OilWent;

use crate::record::pdf::ink::Ink;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by};
use crate::ui::units;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    if record.follow_ups.is_empty() {
        return;
    }
    let mut table = PdfTable::new(vec![
        Column::words(own.when, 1.3),
        Column::words(own.oil, 2.4),
        Column::words(own.smokes_when, 1.5),
        Column::words(own.codes, 1.1),
        Column::words(own.who, 1.7),
    ]);
    let figures = context.figures;
    let smokes = |smoke: &[trayzero_core::job::Smoke]| {
        let all: Vec<&str> = smoke.iter().map(|s| words.smoke(*s)).collect();
        all.join(", ")
    };
    let note = record.take_in.as_ref().map(|taken| &taken.note);
    let oil = record.oil_before.as_ref();
    let oil = oil.map(|oil| units::oil_since(oil, figures));
    table.row(vec![
        TableCell::from(own.before).strong(),
        oil.unwrap_or_else(|| words.follow_up_oil_unknown.to_owned())
            .into(),
        note.map(|n| smokes(&n.smoke)).unwrap_or_default().into(),
        note.map(|n| n.codes.join("; ")).unwrap_or_default().into(),
        "".into(),
    ]);
    for line in &record.follow_ups {
        let way = units::distance(line.seen.distance_km, figures);
        let poured = units::volume(line.seen.litres, figures);
        let rate = line.oil.as_ref().map(|oil| units::oil_since(oil, figures));
        let went = words.oil_went(line.oil_went);
        let oil = format!("{poured}: {}\n{went}", rate.unwrap_or_default());
        let oil = match line.oil_went {
            Some(OilWent::Up) => TableCell::from(oil).ink(Ink::Warn),
            _ => TableCell::from(oil),
        };
        let codes = match &line.seen.codes {
            None => own.not_read.to_owned(),
            Some(codes) if codes.is_empty() => words.follow_up_no_codes.to_owned(),
            Some(codes) => codes.join("; "),
        };
        let who = if line.seen.text.is_empty() {
            by(&line.by)
        } else {
            format!("{}\n{}", by(&line.by), line.seen.text)
        };
        table.row(vec![
            TableCell::from(words.follow_up_after(&way)).strong(),
            oil,
            smokes(&line.seen.smoke).into(),
            codes.into(),
            who.into(),
        ]);
    }
    pages.heading(2, words.follow_up, table.keep(pages) + 30.0);
    pages.paragraph(words.follow_up_errors, Style::SMALL);
    table.draw(pages);
}
