//! Parts, the order list and the kit.

use crate::record::pdf::Telling;
use crate::record::pdf::sheet::{Sheet, Style};
use crate::record::pdf::table::{Cell, Column, Table};
use crate::ui::words::record::order_names;

pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    let own = telling.own;
    let parts = parts(telling);
    sheet.heading(2, own.parts, parts.keep(sheet));
    parts.draw(sheet);
    sheet.paragraph(own.parts_note, Style::SMALL);
    let order_list = order_list(telling);
    if !order_list.is_empty() {
        sheet.heading(3, own.order_list, order_list.keep(sheet));
        order_list.draw(sheet);
    }
    let kit = kit(telling);
    if !kit.is_empty() {
        sheet.heading(3, own.kit, kit.keep(sheet));
        kit.draw(sheet);
    }
}

fn figure(count: u32) -> Cell {
    count.to_string().into()
}

fn parts(telling: &Telling) -> Table {
    let own = telling.own;
    let mut table = Table::new(vec![
        Column::words(own.part, 2.2),
        Column::figures(own.issued, 1.0),
        Column::figures(own.used, 1.0),
        Column::figures(own.spoiled, 1.0),
        Column::figures(own.returned, 1.0),
        Column::figures(own.goes_back, 1.0),
        Column::figures(own.scrapped, 1.0),
        Column::figures(own.missing, 1.0),
    ]);
    for part in &telling.record.parts {
        table.row(vec![
            Cell::from(telling.words.item(&part.item)).strong(),
            figure(part.issued),
            figure(part.used),
            figure(part.spoiled),
            figure(part.returned),
            figure(part.left),
            figure(part.scrapped),
            figure(part.adrift + part.unfound),
        ]);
    }
    table
}

fn order_list(telling: &Telling) -> Table {
    let own = telling.own;
    let mut table = Table::new(vec![
        Column::words(own.counted_as, 1.6),
        Column::words(own.order_name, 3.0),
        Column::figures(own.to_order, 1.0),
        Column::figures(own.issued_net, 1.0),
        Column::figures(own.used, 1.0),
        Column::figures(own.goes_back, 1.0),
    ]);
    for row in &telling.record.order_list {
        let names = order_names(row);
        let names = if names.is_empty() {
            own.not_on_list.to_owned()
        } else {
            names
        };
        table.row(vec![
            Cell::from(telling.words.item(&row.counted_as)).strong(),
            names.into(),
            figure(row.to_order),
            figure(row.issued),
            figure(row.used),
            figure(row.goes_back),
        ]);
    }
    table
}

fn kit(telling: &Telling) -> Table {
    let own = telling.own;
    let mut table = Table::new(vec![
        Column::words(own.item, 2.2),
        Column::figures(own.counted_in, 1.0),
        Column::figures(own.in_kit, 1.0),
        Column::figures(own.aboard, 1.0),
        Column::figures(own.missing, 1.0),
    ]);
    for line in &telling.record.kit {
        table.row(vec![
            Cell::from(telling.words.item(&line.item)).strong(),
            figure(line.counted_in),
            figure(line.in_kit),
            figure(line.aboard),
            figure(line.adrift + line.unfound),
        ]);
    }
    table
}
