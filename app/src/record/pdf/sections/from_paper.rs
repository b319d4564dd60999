//! What was done on paper and entered later.

use crate::record::pdf::ink::Ink;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by, moment};

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, own) = (context.record, context.own);
    if record.paper.is_empty() {
        return;
    }
    let mut table = PdfTable::new(vec![
        Column::words(own.entered_by, 2.4),
        Column::words(own.done_by_paper, 2.4),
        Column::words("", 1.6),
    ]);
    for line in &record.paper {
        let told = format!("{} / {}", line.came, line.lines);
        let whole = if line.whole {
            TableCell::from(format!("{told}, {}", own.paper_whole))
        } else {
            TableCell::from(format!("{told}, {}", own.paper_not_whole)).ink(Ink::Warn)
        };
        table.row(vec![
            TableCell::from(by(&line.by)).strong(),
            format!("{}, {}", line.done_by, moment(line.done_at)).into(),
            whole,
        ]);
    }
    pages.heading(2, own.from_paper, table.keep(pages) + 30.0);
    pages.paragraph(own.from_paper_note, Style::SMALL);
    table.draw(pages);
}
