//! Leak-down before and after, as a chart and as a table.

use trayzero_core::record::LeakSide;

use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by, leak_chart};
use crate::ui::units;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    pages.heading(2, own.leak_down, leak_chart::HEIGHT + 20.0);
    leak_chart::draw(pages, context);
    let pressure = |side: &LeakSide| {
        let cylinder = units::pressure_figure(side.cylinder_bar, context.figures);
        let supply = units::pressure(side.supply_bar, context.figures);
        format!("{cylinder} / {supply}")
    };
    let mut table = PdfTable::new(vec![
        Column::words(own.cylinder, 0.8),
        Column::words(own.before, 1.3),
        Column::figures(own.loss, 0.7),
        Column::words(own.class, 1.0),
        Column::words(own.heard, 1.8),
        Column::words(own.after, 1.3),
        Column::figures(own.loss, 0.7),
        Column::words(own.class, 1.0),
        Column::words(own.heard, 1.4),
    ]);
    for line in &record.leak_down {
        let mut cells: Vec<TableCell> = vec![TableCell::from(line.cylinder.to_string()).strong()];
        for side in [&line.before, &line.after] {
            cells.extend(match side {
                None => [own.not_read, "", "", ""].map(TableCell::from),
                Some(side) => {
                    let heard: Vec<&str> = side.heard.iter().map(|h| words.heard_at(*h)).collect();
                    [
                        pressure(side),
                        words.percent(side.loss_percent),
                        own.leak_class(words, side.class).to_owned(),
                        heard.join(", "),
                    ]
                    .map(TableCell::from)
                }
            });
        }
        table.row(cells);
    }
    table.draw(pages);
    for line in &record.leak_down {
        if let Some(agreed) = &line.foreman_agreed {
            let text = format!(
                "{}, {}: {}",
                own.foreman,
                words.cylinder_n(line.cylinder),
                by(agreed)
            );
            pages.paragraph(&text, Style::BODY);
        }
    }
    pages.skip(2.0);
    pages.paragraph(own.leak_note, Style::SMALL);
}
