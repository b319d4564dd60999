//! Motion: only where parts move to the tray and back, and none where it is unwanted.

use egui::{Context, Pos2, RawInput, Rect, vec2};
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::widgets::flight::is_under_way;
use trayzero::ui::widgets::{CountersView, DiagramView, ValveView};
use trayzero::ui::words::EN;

use crate::pictures::engine;

struct Screen {
    ctx: Context,
    theme: Theme,
    time: f64,
}

impl Screen {
    fn new(still: bool) -> Self {
        let theme = Theme::new(Tone::ShopLight, 1.0).still(still);
        let ctx = Context::default();
        theme.install(&ctx);
        Self {
            ctx,
            theme,
            time: 0.0,
        }
    }

    /// One frame with so many loose parts; gives whether it asks for another at once.
    fn frame(&mut self, loose: u32, shows_engine: bool) -> bool {
        let layout = engine("inline-4-8v");
        let valves = vec![ValveView::default(); layout.valve_count()];
        self.time += 0.05;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(800.0, 600.0))),
            time: Some(self.time),
            ..RawInput::default()
        };
        let theme = self.theme;
        let output = self.ctx.run_ui(input, |ui| {
            theme.install(ui.ctx());
            let counters = CountersView {
                is_blind: false,
                loose,
                ..CountersView::default()
            };
            counters.ui(ui, &EN, 700.0);
            if shows_engine {
                let view = DiagramView {
                    layout: &layout,
                    valves: &valves,
                    in_hand: layout.valves().next(),
                    at_cylinder: Some(1),
                    next_cylinder: None,
                    air_cylinder: None,
                    marks: &[],
                    large_cylinder: None,
                };
                view.ui(ui, &EN, vec2(700.0, 480.0));
            }
        });
        let again = output
            .viewport_output
            .iter()
            .any(|(_, v)| v.repaint_delay.is_zero());
        output.drop_without_applying_deltas();
        again
    }

    fn settle(&mut self, loose: u32, shows_engine: bool) {
        for _ in 0..20 {
            self.frame(loose, shows_engine);
        }
        assert!(!is_under_way(&self.ctx));
    }
}

#[test]
fn parts_move_to_the_tray_for_a_third_of_a_second() {
    let mut screen = Screen::new(false);
    screen.settle(3, true);
    screen.frame(5, true);
    assert!(is_under_way(&screen.ctx));
    let frames = (0..30).take_while(|_| {
        screen.frame(5, true);
        is_under_way(&screen.ctx)
    });
    let count = frames.count();
    assert!((5..=8).contains(&count), "{count} frames of 50 ms");
}

#[test]
fn nothing_moves_where_motion_is_unwanted() {
    let mut screen = Screen::new(true);
    screen.settle(3, true);
    screen.frame(5, true);
    assert!(!is_under_way(&screen.ctx));
}

#[test]
fn nothing_moves_on_a_screen_without_a_valve_in_hand() {
    let mut screen = Screen::new(false);
    screen.settle(3, false);
    screen.frame(5, false);
    assert!(!is_under_way(&screen.ctx));
}

#[test]
fn nothing_repaints_while_nothing_changes() {
    let mut screen = Screen::new(false);
    screen.settle(3, true);
    let again = (0..5).filter(|_| screen.frame(3, true)).count();
    assert_eq!(again, 0, "a settled screen asked for a repaint");
}
