//! Name, banks, firing order, note.

use egui::Ui;
use trayzero_core::engine::Tops;

use super::super::text::{BankText, LayoutText};
use super::Fields;
use crate::ui::screens::frame;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::choice_row::tick_row;
use crate::ui::widgets::text_field::TextField;

/// Draws the fields.
pub fn ui(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    form.one(ui, (w.name_word, "name", &mut text.name));
    banks(ui, form, text);
    frame::group(ui, w.firing_order);
    form.one(
        ui,
        (w.order_as_typed, "firing_order", &mut text.firing_order),
    );
    let intervals = &mut text.firing_intervals;
    form.one(
        ui,
        (w.intervals_as_typed, "firing_intervals_deg", intervals),
    );
    let is_either = text.tops == Tops::Either;
    if tick_row(ui, w.tops_either, is_either).tapped {
        text.tops = if is_either {
            Tops::Compression
        } else {
            Tops::Either
        };
    }
    if tick_row(ui, w.may_turn_back, text.may_turn_back).tapped {
        text.may_turn_back = !text.may_turn_back;
    }
    // Banks and firing order have to be there; a note may be.
    TextField::new(w.note, &mut text.note)
        .salt("note")
        .rows(3)
        .ui(ui, w);
    form.trouble(ui, "note");
}

fn banks(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    frame::group(ui, w.banks);
    form.own_trouble(ui, "banks");
    let several = text.banks.len() > 1;
    let mut gone = None;
    for (i, bank) in text.banks.iter_mut().enumerate() {
        let (name, cylinders) = (format!("banks[{i}].name"), format!("banks[{i}].cylinders"));
        let title = format!("{} {}", w.bank_name, w.nth(i + 1));
        form.some(
            ui,
            &mut [
                (&title, &name, &mut bank.name),
                (w.cylinders_front_back, &cylinders, &mut bank.cylinders),
            ],
        );
        let spoken = format!("{}: {}", w.remove_bank, bank.name);
        let remove = Button::new(w.remove_bank).named(&spoken);
        if several && ui.push_id(("bank", i), |ui| remove.ui(ui)).inner.tapped {
            gone = Some(i);
        }
    }
    if let Some(i) = gone {
        text.remove_bank(i);
    }
    if Button::new(w.add_bank).ui(ui).tapped {
        text.banks.push(BankText {
            name: next_name(&text.banks),
            cylinders: String::new(),
        });
    }
    if several {
        form.one(
            ui,
            (w.bank_angle_deg, "bank_angle_deg", &mut text.bank_angle),
        );
    } else {
        form.trouble(ui, "bank_angle_deg");
    }
}

/// The first letter that no bank has yet.
fn next_name(banks: &[BankText]) -> String {
    ('A'..='Z')
        .map(String::from)
        .find(|name| banks.iter().all(|b| b.name.trim() != name))
        .unwrap_or_default()
}
