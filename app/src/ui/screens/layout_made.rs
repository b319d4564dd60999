//! Where a layout came from: said wherever somebody chooses an engine, and before they rely on
//! its figures.

use egui::Ui;

use super::frame;
use crate::data::layouts::LayoutMade;
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::View;
use crate::ui::widgets::note;
use crate::ui::words::capital;

/// Who made it, on which tablet and when.
pub fn line(v: &View<'_>, made: &LayoutMade) -> String {
    let when = when(v, made.at_ms);
    if made.is_own {
        v.words.layout_kept_here(&made.who, &when)
    } else {
        v.words.layout_from(&made.tablet, &made.who, &when)
    }
}

/// The same over the width that is there, with what else was made from the same one apart.
pub fn ui(ui: &mut Ui, v: &View<'_>, made: Option<&LayoutMade>) {
    let Some(made) = made else { return };
    let c = Theme::of(ui.ctx()).colours;
    // On the take-in nothing else says that it is about the layout.
    let says = v.words.layout_that(&line(v, made));
    if made.is_own {
        frame::line(ui, &says, Type::Body, true);
    } else {
        note::ui(ui, &says, v.words.layout_from_more, c.open);
    }
    if made.apart.is_empty() {
        return;
    }
    let others = made
        .apart
        .iter()
        .map(|(who, tablet, at_ms)| v.words.layout_from(tablet, who, &when(v, *at_ms)));
    let others: Vec<String> = others.collect();
    let others = capital(&others.join(" · "));
    let more = format!("{others}. {}", v.words.layout_apart_more);
    note::ui(ui, v.words.layout_apart, &more, c.astray);
}

/// With its day: a layout stays for years.
fn when(v: &View<'_>, at_ms: i64) -> String {
    times::clock(at_ms, v.offset_min)
}
