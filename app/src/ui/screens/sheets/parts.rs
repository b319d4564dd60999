//! Where everything is: the ledger, kind by kind.

use egui::{Sense, Ui, pos2, vec2};
use trayzero_core::parts::{Account, Item, Place};

use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::paint;
use crate::ui::words::capital;

/// Draws the sheet.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let state = job.state;
    for (item, account) in state.ledger().accounts() {
        row(ui, v, &item, account);
    }
    if let Some(layout) = job.layout() {
        for (index, bank) in layout.banks.iter().enumerate() {
            let aboard: Vec<String> = state
                .aboard_bank(index)
                .map(|(item, n)| w.items_n(&item, n))
                .collect();
            if !aboard.is_empty() {
                let text = format!("{}: {}", w.bank_n(&bank.name), aboard.join(", "));
                frame::line(ui, &text, Type::Body, true);
            }
        }
    }
    compartments(ui, v, job);
}

/// What lies in the tray for one valve alone.
fn compartments(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let all = job.state.tray_by_valve();
    if all.is_empty() {
        return;
    }
    frame::group(ui, w.tray_by_valve);
    for (valve, parts) in all {
        let parts: Vec<String> = parts.iter().map(|(item, n)| w.items_n(item, *n)).collect();
        let parts = match parts.as_slice() {
            [] => w.none.to_owned(),
            some => some.join(", "),
        };
        let text = format!("{}: {parts}", capital(&w.valve(valve)));
        frame::line(ui, &text, Type::Body, false);
    }
}

/// One kind: its name, and every place that holds some.
fn row(ui: &mut Ui, v: &View<'_>, item: &Item, account: Account) {
    let w = v.words;
    let colours = Theme::of(ui.ctx()).colours;
    let places: Vec<String> = Place::ALL
        .iter()
        .filter(|p| account.at(**p) > 0)
        .map(|p| format!("{} {}", account.at(*p), w.place(*p)))
        .collect();
    let loose = account.at(Place::Tray) > 0;
    let astray = account.at(Place::Adrift) > 0;
    let ink = if astray {
        colours.astray.mark
    } else if loose {
        colours.open.mark
    } else {
        colours.ink
    };
    let width = ui.available_width();
    let name = paint::text(ui, &w.item(item), Type::Strong, ink, width * 0.36);
    let text = paint::text(ui, &places.join(" · "), Type::Body, ink, width * 0.60);
    let height = name.size().y.max(text.size().y) + 8.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| {
        let spoken = format!("{}: {}", w.item(item), places.join(", "));
        egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, spoken)
    });
    ui.painter().galley(rect.min + vec2(0.0, 4.0), name, ink);
    let at = pos2(rect.left() + width * 0.40, rect.top() + 4.0);
    ui.painter().galley(at, text, ink);
}
