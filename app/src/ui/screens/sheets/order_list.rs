//! The order list: what this job needs, what was issued and used, what goes back.

use egui::Ui;
use trayzero_core::job::Event;
use trayzero_core::parts::Item;
use trayzero_core::record::order_list;

use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// Draws the sheet.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    let open = job.read_only.is_none();
    for row in order_list(job.state) {
        let name = match row.names.first() {
            Some(name) => name.clone(),
            None => w.item(&row.counted_as),
        };
        frame::group(ui, &name);
        let text = format!(
            "{} {} · {} {} · {} {} · {} {}",
            w.to_order,
            row.to_order,
            w.issued,
            row.issued,
            w.used,
            row.used,
            w.goes_back,
            row.goes_back
        );
        frame::line(ui, &text, Type::Body, false);
        let item = row.counted_as;
        let short = row.to_order.saturating_sub(row.issued);
        let issue = format!("{}: {} {name}", w.issue_parts, short);
        if short > 0 && Button::new(&issue).enabled(open).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::StockIssued {
                item: item.clone(),
                count: short,
            }]));
        }
        let is_other = matches!(item, Item::Other(_));
        let fitted = format!("{}: {name}", w.fitted);
        if is_other && row.goes_back > 0 && Button::new(&fitted).enabled(open).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::PartUsed {
                item: item.clone(),
                count: 1,
            }]));
        }
        let back = format!("{}: {} {name}", w.return_parts, row.goes_back);
        let over = row.goes_back > 0 && job.state.verified_count() == job.state.valves().count();
        if over && Button::new(&back).enabled(open).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::StockReturned {
                item,
                count: row.goes_back,
            }]));
        }
    }
}
