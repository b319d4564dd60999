//! Parts, the order list and the kit.

use crate::record::pdf::Context;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::ui::words::record::order_names;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let own = context.own;
    let parts = parts(context);
    pages.heading(2, own.parts, parts.keep(pages));
    parts.draw(pages);
    pages.paragraph(own.parts_note, Style::SMALL);
    let order_list = order_list(context);
    if !order_list.is_empty() {
        pages.heading(3, own.order_list, order_list.keep(pages));
        order_list.draw(pages);
    }
    let kit = kit(context);
    if !kit.is_empty() {
        pages.heading(3, own.kit, kit.keep(pages));
        kit.draw(pages);
    }
}

fn figure(count: u32) -> TableCell {
    count.to_string().into()
}

fn parts(context: &Context) -> PdfTable {
    let own = context.own;
    let mut table = PdfTable::new(vec![
        Column::words(own.part, 2.2),
        Column::figures(own.issued, 1.0),
        Column::figures(own.used, 1.0),
        Column::figures(own.spoiled, 1.0),
        Column::figures(own.returned, 1.0),
        Column::figures(own.goes_back, 1.0),
        Column::figures(own.scrapped, 1.0),
        Column::figures(own.missing, 1.0),
    ]);
    for part in &context.record.parts {
        table.row(vec![
            TableCell::from(context.words.item(&part.item)).strong(),
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

fn order_list(context: &Context) -> PdfTable {
    let own = context.own;
    let mut table = PdfTable::new(vec![
        Column::words(own.counted_as, 1.6),
        Column::words(own.order_name, 3.0),
        Column::figures(own.to_order, 1.0),
        Column::figures(own.issued_net, 1.0),
        Column::figures(own.used, 1.0),
        Column::figures(own.goes_back, 1.0),
    ]);
    for row in &context.record.order_list {
        let names = order_names(row);
        let names = if names.is_empty() {
            own.not_on_list.to_owned()
        } else {
            names
        };
        table.row(vec![
            TableCell::from(context.words.item(&row.counted_as)).strong(),
            names.into(),
            figure(row.to_order),
            figure(row.issued),
            figure(row.used),
            figure(row.goes_back),
        ]);
    }
    table
}

fn kit(context: &Context) -> PdfTable {
    let own = context.own;
    let mut table = PdfTable::new(vec![
        Column::words(own.item, 2.2),
        Column::figures(own.counted_in, 1.0),
        Column::figures(own.in_kit, 1.0),
        Column::figures(own.aboard, 1.0),
        Column::figures(own.missing, 1.0),
    ]);
    for line in &context.record.kit {
        table.row(vec![
            TableCell::from(context.words.item(&line.item)).strong(),
            figure(line.counted_in),
            figure(line.in_kit),
            figure(line.aboard),
            figure(line.adrift + line.unfound),
        ]);
    }
    table
}
