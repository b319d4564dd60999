//! Dimensions, torque, pressure and times.

use egui::Ui;

use super::super::text::LayoutText;
use super::Fields;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::widgets::choice_row::tick_row;

/// Draws the fields.
pub fn ui(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    frame::line(ui, w.examples_only, Type::Body, true);
    let rim = format!("{}, {}", w.rim_mm, w.if_known);
    form.some(
        ui,
        &mut [
            (w.bore_mm, "bore_mm", &mut text.bore),
            (w.stroke_mm, "stroke_mm", &mut text.stroke),
            (w.rod_mm, "rod_mm", &mut text.rod),
            (&rim, "rim_diameter_mm", &mut text.rim),
        ],
    );
    frame::group(ui, w.pressure);
    form.some(
        ui,
        &mut [
            (w.breakaway_nm, "breakaway_torque_nm", &mut text.breakaway),
            (w.rating_bar, "pressure_rating_bar", &mut text.rating),
            (w.push_n, "fitting_push_n", &mut text.push),
        ],
    );
    if tick_row(ui, w.torque_is_measured, text.breakaway_measured).tapped {
        text.breakaway_measured = !text.breakaway_measured;
    }
    frame::group(ui, w.handling_times);
    let [turn, bank, adaptor] = &mut text.handling;
    form.some(
        ui,
        &mut [
            (w.turn_360, "handling_min.turn_360", turn),
            (w.bank_change, "handling_min.bank_change", bank),
            (w.adaptor_change, "handling_min.adaptor_change", adaptor),
        ],
    );
}
