//! Choices in columns of equal height: some on, some off.

use egui::Ui;

use crate::ui::screens::frame;
use crate::ui::theme::{GAP, TARGET};
use crate::ui::widgets::button::Button;

/// Draws names in `columns` columns, the chosen ones marked; gives the one tapped.
pub fn ui(
    ui: &mut Ui,
    names: &[String],
    columns: usize,
    chosen: impl Fn(usize) -> bool,
) -> Option<usize> {
    let width = (ui.available_width() - GAP * (columns as f32 - 1.0)) / columns as f32;
    let height = names
        .iter()
        .map(|n| Button::new(n).height(ui, width))
        .fold(TARGET, f32::max);
    let mut taken = None;
    for (row, some) in names.chunks(columns).enumerate() {
        let rects = frame::columns(ui, columns, height);
        for (place, (name, rect)) in some.iter().zip(rects).enumerate() {
            let index = row * columns + place;
            if Button::new(name).chosen(chosen(index)).at(ui, rect).tapped {
                taken = Some(index);
            }
        }
    }
    taken
}
