//! One picture as large as the screen lets it be, with what is known of it.

use egui::{Rect, Ui, pos2, vec2};
use uuid::Uuid;

use super::Bay;
use crate::ui::intent::Intent;
use crate::ui::screens::sheets::Sheet;
use crate::ui::screens::{frame, notice, pictures};
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::times;
use crate::ui::view::{JobView, Shown, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::{note, thumb};

/// Draws it in the place of engine and panel.
pub fn ui(
    bay: &mut Bay,
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    event: Uuid,
    out: &mut Vec<Intent>,
) {
    let inner = frame::card(ui, rect.shrink2(vec2(frame::MARGIN, GAP)));
    let all: Vec<_> = job
        .state
        .pictures()
        .filter(|(_, p)| pictures::may_be_seen(job, p))
        .collect();
    let Some(at) = all.iter().position(|(fact, _)| fact.id == event) else {
        // It was taken back, here or elsewhere.
        bay.sheets.open(Sheet::Pictures);
        return;
    };
    let (fact, picture) = all[at];
    let large = v.pictures.large.as_ref();
    let shown = large
        .filter(|(name, _)| *name == picture.copy_sha256)
        .map(|(_, shown)| shown);
    if shown.is_none() {
        out.push(Intent::EnlargePicture(Box::new(picture.clone())));
    }
    let when = times::clock(fact.at_ms, fact.offset_min);
    let who = format!("{} \u{b7} {when}", fact.who);
    let head = Rect::from_min_max(
        inner.min,
        pos2(
            inner.right(),
            inner.bottom() - feet_height(ui, inner, v) - GAP,
        ),
    );
    let mut area = frame::child(ui, head, "photograph");
    notice::ui(&mut area, v);
    frame::line(
        &mut area,
        &pictures::belongs(v, job, picture.of),
        Type::Title,
        false,
    );
    if !picture.remark.is_empty() {
        frame::line(&mut area, &picture.remark, Type::Strong, false);
    }
    frame::line(&mut area, &who, Type::Body, true);
    large_picture(&mut area, v, &picture.copy_sha256, shown);
    feet(
        bay,
        ui,
        inner,
        v,
        job,
        (at, &all.iter().map(|(f, _)| f.id).collect::<Vec<_>>()),
        out,
    );
}

/// The picture itself, or what is said in its place.
fn large_picture(ui: &mut Ui, v: &View<'_>, name: &str, shown: Option<&Shown>) {
    let w = v.words;
    let room = ui.available_rect_before_wrap();
    let seen = pictures::rgb(name, shown);
    if let Some(rgb) = &seen {
        let place = thumb::contained(ui, rgb, room);
        let response = ui.allocate_rect(place, egui::Sense::hover());
        response.widget_info(|| {
            egui::WidgetInfo::labeled(egui::accesskit::Role::Image, true, w.picture_word)
        });
    } else {
        let colours = Theme::of(ui.ctx()).colours;
        let is_asked = matches!(shown, None | Some(Shown::Asked));
        let tint = if is_asked {
            colours.now
        } else {
            colours.astray
        };
        note::ui(ui, &pictures::instead(v, shown), "", tint);
    }
}

/// In how many columns the feet stand, and how high each is.
fn feet_places(ui: &Ui, inner: Rect, v: &View<'_>) -> (usize, f32) {
    let w = v.words;
    let is_wide = inner.width() >= 640.0 * Theme::of(ui.ctx()).scale();
    let columns = if is_wide { 4 } else { 2 };
    let width = (inner.width() - GAP * (columns as f32 - 1.0)) / columns as f32;
    let names = [
        (w.take_back, ""),
        (w.picture_before, w.none_before),
        (w.picture_after, w.none_after),
        (w.close, ""),
    ];
    let heights = names.map(|(name, why_not)| {
        let height = |text| Button::new(text).height(ui, width);
        height(name).max(height(why_not))
    });
    (columns, heights.into_iter().fold(TARGET, f32::max))
}

fn feet_height(ui: &Ui, inner: Rect, v: &View<'_>) -> f32 {
    let (columns, height) = feet_places(ui, inner, v);
    let rows = 4.0 / columns as f32;
    rows * height + (rows - 1.0) * GAP
}

/// Taking it back, the ones before and after it, and the way out.
fn feet(
    bay: &mut Bay,
    ui: &mut Ui,
    inner: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    (at, all): (usize, &[Uuid]),
    out: &mut Vec<Intent>,
) {
    let w = v.words;
    let top = inner.bottom() - feet_height(ui, inner, v);
    let row = Rect::from_min_max(pos2(inner.left(), top), inner.max);
    let mut area = frame::child(ui, row, "photograph feet");
    let ui = &mut area;
    ui.spacing_mut().item_spacing.y = GAP;
    let is_mine = job.read_only.is_none() && job.state.may_withdraw(all[at]).is_ok();
    let before = at.checked_sub(1).map(|i| all[i]);
    let after = all.get(at + 1).copied();
    let (columns, height) = feet_places(ui, inner, v);
    let mut places = Vec::new();
    while places.len() < 4 {
        places.extend(frame::columns(ui, columns, height));
    }
    let buttons = [
        (w.take_back, w.nothing_to_take_back, is_mine),
        (w.picture_before, w.none_before, before.is_some()),
        (w.picture_after, w.none_after, after.is_some()),
        (w.close, "", true),
    ];
    for (i, ((name, why_not, is_live), rect)) in buttons.into_iter().zip(places).enumerate() {
        // It says in its own place why it takes no tap.
        let spoken = format!("{name}: {why_not}");
        let button = if is_live {
            Button::new(name)
        } else {
            let shown = if i == 0 { name } else { why_not };
            Button::new(shown).named(&spoken).enabled(false)
        };
        if !button.at(ui, rect).tapped {
            continue;
        }
        match (i, before, after) {
            (0, ..) => out.push(Intent::TakeBack(all[at])),
            (1, Some(event), _) | (2, _, Some(event)) => bay.sheets.open(Sheet::Enlarged(event)),
            (3, ..) => bay.sheets.close(),
            _ => {}
        }
    }
}
