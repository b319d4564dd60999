//! Valves, locks, springs, followers, seats and guides.

use egui::Ui;
use trayzero_core::engine::Follower;

use super::super::text::LayoutText;
use super::Fields;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::widgets::choice_row::{choice_row, tick_row};
use crate::ui::widgets::stepper;

/// What the form offers: a kind of follower, and the shims under one.
const FOLLOWERS: [(Follower, Option<u8>); 5] = [
    (Follower::Finger, None),
    (Follower::Rocker, None),
    (Follower::Bucket, None),
    (Follower::Bucket, Some(0)),
    (Follower::None, None),
];

/// Draws the fields.
pub fn ui(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    let counts = [
        (w.intake_valves, "intake_valves", &mut text.intake_valves, 3),
        (
            w.exhaust_valves,
            "exhaust_valves",
            &mut text.exhaust_valves,
            3,
        ),
        (w.locks_per_valve, "locks_per_valve", &mut text.locks, 4),
        (
            w.springs_per_valve,
            "springs_per_valve",
            &mut text.springs,
            3,
        ),
    ];
    for (name, path, count, most) in counts {
        if let Some(new) = stepper::ui(ui, w, name, *count, most) {
            *count = new.max(1);
        }
        form.trouble(ui, path);
    }
    frame::line(ui, w.follower_kind, Type::Body, true);
    let names = [
        w.follower_finger,
        w.follower_rocker,
        w.follower_bucket_shim,
        w.follower_bucket,
        w.follower_none,
    ];
    // One shim is what a bucket has where the file does not say.
    let shims = text.shims.filter(|count| *count == 0);
    let chosen = FOLLOWERS.iter().position(|f| *f == (text.follower, shims));
    if let Some(i) = choice_row(ui, &names, chosen) {
        (text.follower, text.shims) = FOLLOWERS[i];
    }
    seats(ui, form, text);
    spring(ui, form, text);
    guide(ui, form, text);
}

fn seats(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    let label = |seat: &str| format!("{seat}, {}", w.if_known);
    let (intake, exhaust) = (label(w.seat_intake_mm), label(w.seat_exhaust_mm));
    form.some(
        ui,
        &mut [
            (&intake, "intake_seat_mm", &mut text.intake_seat),
            (&exhaust, "exhaust_seat_mm", &mut text.exhaust_seat),
        ],
    );
}

fn spring(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    frame::group(ui, w.spring_word);
    if tick_row(ui, w.spring_known, text.has_spring).tapped {
        text.has_spring = !text.has_spring;
    }
    if !text.has_spring {
        return;
    }
    let [load, rate, seated, solid, travel] = &mut text.spring;
    form.some(
        ui,
        &mut [
            (w.seated_load_n, "spring.seated_load_n", load),
            (w.spring_rate, "spring.rate_n_per_mm", rate),
            (w.seated_height_mm, "spring.seated_height_mm", seated),
            (w.solid_height_mm, "spring.solid_height_mm", solid),
            (w.travel_to_locks_mm, "spring.travel_to_locks_mm", travel),
        ],
    );
}

fn guide(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText) {
    let w = form.v.words;
    frame::group(ui, w.guide_word);
    if tick_row(ui, w.guide_known, text.has_guide).tapped {
        text.has_guide = !text.has_guide;
    }
    if !text.has_guide {
        return;
    }
    let [length, tip] = &mut text.guide;
    form.some(
        ui,
        &mut [
            (w.guide_length_mm, "guide.length_mm", length),
            (w.tip_above_mm, "guide.tip_above_mm", tip),
        ],
    );
}
