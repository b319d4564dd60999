//! The six stages told apart by shape alone: every mark is painted black on white.

use egui::{Color32, pos2, vec2};
use trayzero::ui::picture::picture;
use trayzero::ui::theme::Theme;
use trayzero::ui::widgets::valve_mark::{self, MarkColours};
use trayzero_core::job::Stage;

const SIDE: usize = 96;

/// Which pixels of a mark are dark, painted without any colour.
fn dark(stage: Option<Stage>, figure_only: bool) -> Vec<bool> {
    let colours = MarkColours {
        mark: Color32::BLACK,
        bare: Color32::BLACK,
        ground: Color32::WHITE,
    };
    let side = SIDE as f32;
    let image = picture(Theme::default(), vec2(side, side), 1.0, 1, |ui| {
        let painter = ui.painter();
        painter.rect_filled(ui.max_rect(), 0.0, Color32::WHITE);
        let center = pos2(side / 2.0, side / 2.0);
        if figure_only {
            valve_mark::paint_figure(painter, center, side / 2.0, stage, colours);
        } else {
            valve_mark::paint(painter, center, side / 2.0, stage, colours);
        }
    });
    image.rgba.chunks(4).map(|p| p[0] < 128).collect()
}

/// Share of the pixels dark in either that are dark in one only: 0 same, 1 nothing shared.
fn apart(a: &[bool], b: &[bool]) -> f64 {
    let either = a.iter().zip(b).filter(|(a, b)| **a || **b).count();
    let one = a.iter().zip(b).filter(|(a, b)| a != b).count();
    one as f64 / either.max(1) as f64
}

fn stages() -> Vec<Option<Stage>> {
    [None].into_iter().chain(Stage::ALL.map(Some)).collect()
}

#[test]
fn every_two_figures_differ_by_shape_alone() {
    let drawn: Vec<_> = stages().into_iter().map(|s| (s, dark(s, true))).collect();
    for (i, (a, first)) in drawn.iter().enumerate() {
        assert!(first.iter().any(|d| *d), "{a:?} is empty");
        for (b, second) in &drawn[..i] {
            let apart = apart(first, second);
            assert!(apart > 0.35, "{a:?} and {b:?} differ in {apart:.2} only");
        }
    }
}

#[test]
fn the_rim_fills_with_the_stages() {
    let mut before = 0;
    for stage in stages() {
        let all = dark(stage, false).iter().filter(|d| **d).count();
        let figure = dark(stage, true).iter().filter(|d| **d).count();
        let rim = all - figure;
        assert!(rim > before, "{stage:?}: rim of {rim} after {before}");
        before = rim;
    }
}

#[test]
fn an_unlocked_valve_is_unlike_any_other_in_the_overview() {
    let small = |stage| {
        let side = 40.0;
        let image = picture(Theme::default(), vec2(side, side), 2.0, 1, |ui| {
            let c = Theme::of(ui.ctx()).colours;
            valve_mark::paint_small(ui.painter(), pos2(20.0, 20.0), 14.0, stage, &c);
        });
        let c = Theme::default().colours;
        let is_mark = |p: &[u8]| {
            let off = |a: u8, b: u8| i32::from(a).abs_diff(i32::from(b));
            off(p[0], c.paper.r()) + off(p[1], c.paper.g()) + off(p[2], c.paper.b()) > 240
        };
        image.rgba.chunks(4).map(is_mark).collect::<Vec<bool>>()
    };
    let open = small(Some(Stage::LocksOut));
    for other in stages() {
        if !matches!(other, Some(Stage::LocksOut | Stage::SealFitted)) {
            let apart = apart(&open, &small(other));
            assert!(apart > 0.2, "{other:?} differs in {apart:.2} only");
        }
    }
}
