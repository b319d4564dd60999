//! Screens that are wrong on purpose: each of the walk's findings is made once.

use egui::{Color32, Context, Id, Pos2, Rect, Sense, Ui, Vec2, pos2, vec2};
use trayzero::ui::theme::{Theme, Tone, Type};
use trayzero::ui::widgets::{Button, paint, tap};

use super::check::Seen;
use super::stage::frame_of;

/// What is found on a screen of 600 by 400 points.
fn found(mut ui: impl FnMut(&mut Ui)) -> Seen {
    let ctx = Context::default();
    ctx.enable_accesskit();
    let theme = Theme::new(Tone::ShopLight, 1.0);
    theme.install(&ctx);
    let mut time = 0.0;
    let mut last = None;
    for _ in 0..3 {
        last = Some(frame_of(
            &ctx,
            &mut time,
            vec2(600.0, 400.0),
            Vec::new(),
            |root| {
                root.painter()
                    .rect_filled(root.max_rect(), 0.0, theme.colours.paper);
                ui(root);
            },
        ));
    }
    Seen::of(&last.unwrap())
}

fn assert_found(what: &str, ui: impl FnMut(&mut Ui)) {
    let faults = found(ui).faults();
    assert!(
        faults.iter().any(|f| f.contains(what)),
        "no {what:?} in {faults:?}"
    );
}

fn button(ui: &mut Ui, text: &str, at: Pos2, size: Vec2) {
    Button::new(text).at(ui, Rect::from_min_size(at, size));
}

#[test]
fn a_good_screen_has_no_faults() {
    let seen = found(|ui| {
        button(ui, "First", pos2(20.0, 20.0), vec2(200.0, 56.0));
        button(ui, "Second", pos2(20.0, 84.0), vec2(200.0, 56.0));
    });
    assert_eq!(seen.faults(), Vec::<String>::new());
    assert_eq!(seen.targets.len(), 2);
    assert_eq!(seen.texts.len(), 2);
}

#[test]
fn a_small_target_is_found() {
    assert_found("is [55.0 80.0] points", |ui| {
        button(ui, "x", pos2(20.0, 20.0), vec2(55.0, 80.0));
    });
}

#[test]
fn two_targets_on_one_another_are_found() {
    assert_found("overlap", |ui| {
        button(ui, "First", pos2(20.0, 20.0), vec2(200.0, 60.0));
        button(ui, "Second", pos2(219.0, 20.0), vec2(200.0, 60.0));
    });
}

#[test]
fn a_target_off_the_screen_is_found() {
    assert_found("nothing scrolls to it", |ui| {
        button(ui, "Away", pos2(560.0, 20.0), vec2(100.0, 60.0));
    });
}

#[test]
fn a_target_that_a_list_scrolls_to_is_in_reach_but_not_one_beside_it() {
    let long = |ui: &mut Ui, left: f32| {
        egui::ScrollArea::vertical()
            .scroll_source(egui::containers::scroll_area::ScrollSource::ALL)
            .auto_shrink(false)
            .show(ui, |ui| {
                for i in 0..12 {
                    let (rect, _) = ui.allocate_exact_size(vec2(300.0, 60.0), Sense::hover());
                    let rect = rect.translate(vec2(left, 0.0));
                    ui.push_id(i, |ui| Button::new("Row").at(ui, rect));
                    ui.add_space(8.0);
                }
            });
    };
    assert_eq!(found(|ui| long(ui, 0.0)).faults(), Vec::<String>::new());
    assert_found("nothing scrolls to it", |ui| long(ui, 400.0));
}

#[test]
fn a_target_without_a_name_is_found() {
    assert_found("has no name", |ui| {
        let rect = Rect::from_min_size(pos2(20.0, 20.0), vec2(90.0, 90.0));
        ui.interact(rect, Id::unique("nameless"), Sense::click());
    });
}

#[test]
fn a_text_that_is_cut_or_broken_or_too_wide_is_found() {
    let ink = Theme::default().colours.ink;
    assert_found("ellipsis", |ui| {
        let galley = paint::text_line(ui, "a long line of words", Type::Body, ink, 60.0);
        ui.painter().galley(pos2(20.0, 20.0), galley, ink);
    });
    assert_found("broken within a word", |ui| {
        let galley = paint::text(ui, "Zurücknehmen", Type::Body, ink, 40.0);
        ui.painter().galley(pos2(20.0, 20.0), galley, ink);
    });
    assert_found("wider than its place", |ui| {
        let clip = Rect::from_min_size(pos2(20.0, 20.0), vec2(80.0, 80.0));
        let painter = ui.painter().with_clip_rect(clip);
        let galley = paint::text(ui, "a long line of words", Type::Body, ink, 300.0);
        painter.galley(pos2(20.0, 20.0), galley, ink);
    });
    assert_found("higher than its place", |ui| {
        let clip = Rect::from_min_size(pos2(20.0, 20.0), vec2(200.0, 12.0));
        let painter = ui.painter().with_clip_rect(clip);
        let galley = paint::text(ui, "a line", Type::Body, ink, 300.0);
        painter.galley(pos2(20.0, 20.0), galley, ink);
    });
}

#[test]
fn a_text_that_leaves_its_control_is_found() {
    assert_found("does not fit its control", |ui| {
        let rect = Rect::from_min_size(pos2(200.0, 20.0), vec2(90.0, 60.0));
        tap::area(ui, rect, Id::unique("narrow"), "narrow", true);
        let ink = Theme::default().colours.ink;
        let galley = paint::text_line(ui, "much too wide", Type::Title, ink, 400.0);
        let min = rect.center() - galley.size() / 2.0;
        ui.painter().galley(min, galley, ink);
    });
}

#[test]
fn two_texts_on_one_another_are_found_unless_one_is_covered() {
    let two = |ui: &mut Ui, is_covered: bool| {
        let ink = Theme::default().colours.ink;
        for (i, text) in ["first", "second"].into_iter().enumerate() {
            let galley = paint::text_line(ui, text, Type::Title, ink, 400.0);
            if is_covered && i == 1 {
                let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(300.0, 200.0));
                ui.painter()
                    .rect_filled(rect, 0.0, Theme::default().colours.card);
            }
            ui.painter()
                .galley(pos2(20.0, 20.0 + 4.0 * i as f32), galley, ink);
        }
    };
    assert_found("overlap", |ui| two(ui, false));
    assert_eq!(found(|ui| two(ui, true)).faults(), Vec::<String>::new());
}

#[test]
fn two_parts_of_one_identity_are_found() {
    assert_found("share an identity", |ui| {
        button(ui, "Same", pos2(20.0, 20.0), vec2(100.0, 60.0));
        button(ui, "Same", pos2(20.0, 120.0), vec2(100.0, 60.0));
    });
}

#[test]
fn a_faint_text_is_found_on_what_lies_under_it() {
    let on = |ground: Color32| {
        let seen = found(|ui| {
            let rect = Rect::from_min_size(pos2(10.0, 10.0), vec2(300.0, 80.0));
            ui.painter().rect_filled(rect, 0.0, ground);
            let ink = Color32::from_gray(0x77);
            let galley = paint::text_line(ui, "faint", Type::Title, ink, 400.0);
            ui.painter().galley(pos2(20.0, 20.0), galley, ink);
        });
        seen.least_contrast().unwrap().0
    };
    // #777777 on white has 4.48:1 (widely quoted for the formula of WCAG 2.2).
    assert!(
        (on(Color32::WHITE) - 4.48).abs() < 0.005,
        "{}",
        on(Color32::WHITE)
    );
    assert!(on(Color32::BLACK) < 4.7);
}
