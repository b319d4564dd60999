//! Leak-down before and after, as a chart and as a table.

use trayzero_core::record::LeakSide;

use crate::record::pdf::sheet::{Sheet, Style};
use crate::record::pdf::table::{Cell, Column, Table};
use crate::record::pdf::{Telling, by, leak_chart};
use crate::ui::units;

pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    sheet.heading(2, own.leak_down, leak_chart::HEIGHT + 20.0);
    leak_chart::draw(sheet, telling);
    let pressure = |side: &LeakSide| {
        let cylinder = units::pressure_figure(side.cylinder_bar, telling.figures);
        let supply = units::pressure(side.supply_bar, telling.figures);
        format!("{cylinder} / {supply}")
    };
    let mut table = Table::new(vec![
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
        let mut cells: Vec<Cell> = vec![Cell::from(line.cylinder.to_string()).strong()];
        for side in [&line.before, &line.after] {
            cells.extend(match side {
                None => [own.not_read, "", "", ""].map(Cell::from),
                Some(side) => {
                    let heard: Vec<&str> = side.heard.iter().map(|h| words.heard_at(*h)).collect();
                    [
                        pressure(side),
                        words.percent(side.loss_percent),
                        own.leak_class(words, side.class).to_owned(),
                        heard.join(", "),
                    ]
                    .map(Cell::from)
                }
            });
        }
        table.row(cells);
    }
    table.draw(sheet);
    for line in &record.leak_down {
        if let Some(agreed) = &line.foreman_agreed {
            let text = format!(
                "{}, {}: {}",
                own.foreman,
                words.cylinder_n(line.cylinder),
                by(agreed)
            );
            sheet.paragraph(&text, Style::BODY);
        }
    }
    sheet.skip(2.0);
    sheet.paragraph(own.leak_note, Style::SMALL);
}
