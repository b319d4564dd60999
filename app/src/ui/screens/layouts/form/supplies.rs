//! The kit to count in, and the parts to order for one job.

use egui::Ui;
use trayzero_core::parts::Item;

use super::super::text::{KitText, LayoutText, OrderText};
use super::Fields;
use super::lists::{List, Open};
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::widgets::choice_row::choice_row;

/// Draws the two lists.
pub fn ui(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText, open: &mut Open) {
    let w = form.v.words;
    let banks: Vec<String> = text.banks.iter().map(|b| w.bank_n(&b.name)).collect();
    let kit = List {
        key: "kit",
        title: w.kit_list,
        add: w.item_word,
        row: &|form: &Fields<'_>, line: &KitText| kit_row(form, line, &banks),
    };
    kit.ui(ui, form, open, &mut text.kit, |ui, form, path, line| {
        kit_fields(ui, form, path, line, &banks);
    });
    let orders = List {
        key: "order_list",
        title: w.order_list,
        add: w.order_list,
        row: &|_: &Fields<'_>, line: &OrderText| (counted(&line.count, &line.item), String::new()),
    };
    orders.ui(ui, form, open, &mut text.order_list, order_fields);
}

fn counted(count: &str, item: &str) -> String {
    format!("{count} {item}").trim().to_owned()
}

/// The kinds of the tool kit that have a word of their own.
fn kinds() -> impl Iterator<Item = Item> {
    Item::FIXED.into_iter().filter(Item::is_kit)
}

fn item_name(form: &Fields<'_>, word: &str) -> String {
    kinds()
        .find(|item| item.word() == word)
        .map_or_else(|| word.to_owned(), |item| form.v.words.item(&item))
}

fn kit_row(form: &Fields<'_>, line: &KitText, banks: &[String]) -> (String, String) {
    let known = kinds().find(|item| item.word() == line.item);
    let title = match (line.count.trim().parse(), known) {
        (Ok(count), Some(item)) => form.v.words.items_n(&item, count),
        _ => counted(&line.count, &item_name(form, &line.item)),
    };
    let bank = line.bank.and_then(|b| banks.get(b));
    (title, bank.cloned().unwrap_or_default())
}

fn kit_fields(ui: &mut Ui, form: &Fields<'_>, path: &str, line: &mut KitText, banks: &[String]) {
    let w = form.v.words;
    let kinds: Vec<Item> = kinds().collect();
    let mut names: Vec<String> = kinds.iter().map(|i| w.item(i)).collect();
    names.push(w.other_item.to_owned());
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let known = kinds.iter().position(|i| i.word() == line.item);
    if let Some(i) = choice_row(ui, &names, known.or(Some(kinds.len()))) {
        line.item = kinds
            .get(i)
            .map_or_else(String::new, |k| k.word().to_owned());
    }
    let (item, count) = (format!("{path}.item"), format!("{path}.count"));
    if known.is_none() {
        form.one(ui, (w.name_word, &item, &mut line.item));
    } else {
        form.trouble(ui, &item);
    }
    form.one(ui, (w.how_many, &count, &mut line.count));
    if banks.len() < 2 && line.bank.is_none() {
        return;
    }
    frame::line(ui, w.bank_word, Type::Body, true);
    let mut places = vec![w.whole_engine];
    places.extend(banks.iter().map(String::as_str));
    let chosen = line.bank.map_or(0, |b| b + 1);
    if let Some(i) = choice_row(ui, &places, Some(chosen)) {
        line.bank = i.checked_sub(1);
    }
    form.trouble(ui, &format!("{path}.bank"));
}

fn order_fields(ui: &mut Ui, form: &Fields<'_>, path: &str, line: &mut OrderText) {
    let w = form.v.words;
    let (item, count) = (format!("{path}.item"), format!("{path}.count"));
    form.some(
        ui,
        &mut [
            (w.item_word, &item, &mut line.item),
            (w.how_many, &count, &mut line.count),
        ],
    );
}
