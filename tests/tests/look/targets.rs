//! Where a finger can go: sizes, dead room, the guard against a second tap.

use egui::{Context, Event, Key, Modifiers, PointerButton, Pos2, RawInput, Rect, Vec2, pos2, vec2};
use trayzero::ui::picture::{HeadlessScreen, Image};
use trayzero::ui::theme::{TARGET, Theme, Tone};
use trayzero::ui::widgets::bank_diagram::{DiagramPlan, TextSizes, plan};
use trayzero::ui::widgets::{BigBar, DiagramTap, DiagramView, ValveView};
use trayzero::ui::words::EN;
use trayzero_core::engine::{Layout, shipped};
use trayzero_core::job::Stage;

use crate::pictures::engine;

fn targets(plan: &DiagramPlan) -> Vec<(String, Rect)> {
    let valves = plan
        .valves
        .iter()
        .filter_map(|v| v.target.map(|t| (v.valve.to_string(), t)));
    let cylinders = plan
        .cylinders
        .iter()
        .filter(|c| c.is_target)
        .map(|c| (format!("card of cylinder {}", c.cylinder), c.rect));
    valves.chain(cylinders).collect()
}

fn check(layout: &Layout, name: &str, room: Vec2, text: TextSizes) -> bool {
    let rect = Rect::from_min_size(pos2(10.0, 90.0), room);
    let plan = plan(layout, rect, text, None);
    let all = targets(&plan);
    let is_usual = layout.cylinder_count() <= 12;
    if text.number < 40.0 && is_usual {
        let grown = plan.rect.size() - room;
        assert!(
            grown.x < 0.5 && grown.y < 0.5,
            "{name} {room:?}: too large by {grown:?}"
        );
    }
    for (i, (a, first)) in all.iter().enumerate() {
        let side = first.width().min(first.height());
        assert!(side >= TARGET - 0.01, "{name} {room:?}: {a} is {side} wide");
        assert!(
            plan.rect.expand(0.5).contains_rect(*first),
            "{name} {room:?}: {a} lies outside"
        );
        for (b, second) in &all[..i] {
            let shared = first.intersect(*second);
            let apart = shared.width() < 0.01 || shared.height() < 0.01;
            assert!(apart, "{name} {room:?}: {a} and {b} overlap");
        }
    }
    if plan.is_overview {
        let large = plan.valves.iter().filter(|v| v.target.is_some()).count();
        assert_eq!(
            large,
            layout.valves_per_cylinder(),
            "{name}: valves of the large cylinder"
        );
        let cards = plan.cylinders.iter().filter(|c| c.is_target).count();
        assert_eq!(
            cards,
            layout.cylinder_count(),
            "{name}: every cylinder can be chosen"
        );
    } else {
        assert_eq!(
            all.len(),
            layout.valve_count(),
            "{name}: every valve takes a tap"
        );
    }
    plan.is_overview
}

/// Room for text at a scale.
fn text_sizes(scale: f32) -> TextSizes {
    TextSizes {
        number: 30.0 * scale,
        side: 20.0 * scale,
        front: 60.0 * scale,
        side_width: 60.0 * scale,
    }
}

#[test]
fn every_target_is_large_enough_and_none_overlap_on_any_engine() {
    let rooms = [
        vec2(560.0, 340.0),
        vec2(560.0, 390.0),
        vec2(740.0, 520.0),
        vec2(780.0, 360.0),
        vec2(1500.0, 1200.0),
    ];
    let (mut whole, mut overviews) = (0, 0);
    for shipped in shipped() {
        let layout = engine(shipped.key);
        for room in rooms {
            for scale in [1.0, 2.0] {
                if check(&layout, shipped.key, room, text_sizes(scale)) {
                    overviews += 1;
                } else {
                    whole += 1;
                }
            }
        }
    }
    println!("{whole} pictures of the whole engine, {overviews} overviews");
    assert!(
        whole > 20 && overviews > 20,
        "both ways of drawing were tried"
    );
}

#[test]
fn the_name_of_a_side_stands_clear_of_the_ports() {
    for shipped in shipped() {
        let layout = engine(shipped.key);
        for room in [vec2(740.0, 520.0), vec2(1500.0, 1200.0)] {
            for scale in [1.0, 2.0] {
                let text = text_sizes(scale);
                let rect = Rect::from_min_size(Pos2::ZERO, room);
                let plan = plan(&layout, rect, text, None);
                let ports: Vec<Rect> = plan
                    .slabs
                    .iter()
                    .flat_map(|slab| plan.ports(slab))
                    .map(|port| port.rect)
                    .collect();
                for name in &plan.sides {
                    let (key, side) = (shipped.key, name.side);
                    assert_eq!(name.rect.size(), vec2(text.side_width, text.side));
                    for port in &ports {
                        let is_clear = !port.intersects(name.rect);
                        assert!(is_clear, "{key}, {side:?}: {:?} on {port:?}", name.rect);
                    }
                }
            }
        }
    }
    // Where a gap between two ports is wide enough, no port has to go for a name.
    let layout = engine("inline-4-16v");
    let rect = Rect::from_min_size(Pos2::ZERO, vec2(740.0, 520.0));
    let text = TextSizes {
        side_width: 52.0,
        ..text_sizes(1.0)
    };
    let plan = plan(&layout, rect, text, None);
    let ports = plan.slabs.iter().flat_map(|slab| plan.ports(slab));
    assert_eq!((plan.sides.len(), ports.count()), (2, 16));
}

/// A context that is tapped at given times.
struct Finger {
    ctx: Context,
    size: Vec2,
}

impl Finger {
    fn new(size: Vec2) -> Self {
        let ctx = Context::default();
        Theme::new(Tone::ShopLight, 1.0).install(&ctx);
        Self { ctx, size }
    }

    fn frame<T>(&self, time: f64, events: Vec<Event>, mut ui: impl FnMut(&mut egui::Ui) -> T) -> T {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, self.size)),
            time: Some(time),
            events,
            ..RawInput::default()
        };
        let mut got = None;
        self.ctx
            .run_ui(input, |root| got = Some(ui(root)))
            .drop_without_applying_deltas();
        got.unwrap()
    }

    /// Presses and lets go at a place; gives what the second frame gave.
    fn tap<T>(&self, time: f64, at: Pos2, mut ui: impl FnMut(&mut egui::Ui) -> T) -> T {
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(time, vec![Event::PointerMoved(at), button(true)], &mut ui);
        self.frame(time + 0.05, vec![button(false)], &mut ui)
    }
}

#[test]
fn a_second_tap_within_600_ms_does_nothing() {
    let finger = Finger::new(vec2(600.0, 300.0));
    let mut bar = |ui: &mut egui::Ui| BigBar::new("New seal is home", "").ui(ui).tapped;
    finger.frame(0.0, Vec::new(), &mut bar);
    let at = pos2(300.0, 60.0);
    assert!(finger.tap(1.0, at, &mut bar), "the first tap counts");
    assert!(!finger.tap(1.3, at, &mut bar), "300 ms later it does not");
    assert!(!finger.tap(1.5, at, &mut bar), "500 ms later it does not");
    assert!(finger.tap(1.7, at, &mut bar), "700 ms later it counts");
}

#[test]
fn a_bar_shows_the_finger_in_the_very_frame_it_comes_down() {
    let theme = Theme::new(Tone::ShopLight, 1.0);
    let mut screen = HeadlessScreen::new(theme, vec2(400.0, 160.0), 1.0);
    let mut bar = |ui: &mut egui::Ui| {
        BigBar::new("New seal is home", "").ui(ui);
    };
    let corner = |image: &Image| {
        let start = (100 * image.width + 380) * 4;
        image.rgba[start..start + 3].to_vec()
    };
    screen.frame(Vec::new(), &mut bar);
    screen.frame(Vec::new(), &mut bar);
    let calm = theme.colours.now.ground;
    assert_eq!(corner(&screen.image()), [calm.r(), calm.g(), calm.b()]);
    let at = pos2(200.0, 60.0);
    let down = Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed: true,
        modifiers: Modifiers::NONE,
    };
    screen.frame(vec![Event::PointerMoved(at), down], &mut bar);
    let pressed = theme.colours.now_pressed.ground;
    let is = corner(&screen.image());
    assert_eq!(is, [pressed.r(), pressed.g(), pressed.b()]);
}

#[test]
fn the_keyboard_reaches_every_valve_and_takes_it() {
    let layout = engine("inline-4-8v");
    let valves = vec![ValveView::default(); layout.valve_count()];
    let finger = Finger::new(vec2(800.0, 600.0));
    let view = DiagramView {
        layout: &layout,
        valves: &valves,
        in_hand: None,
        at_cylinder: None,
        next_cylinder: None,
        air_cylinder: None,
        marks: &[],
        large_cylinder: None,
    };
    let key = |key| Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    let mut ui = |ui: &mut egui::Ui| view.ui(ui, &EN, vec2(740.0, 520.0));
    finger.frame(0.0, Vec::new(), &mut ui);
    let mut reached = std::collections::BTreeSet::new();
    for step in 0..layout.valve_count() {
        let time = 1.0 + step as f64;
        finger.frame(time, vec![key(Key::Tab)], &mut ui);
        match finger.frame(time + 0.1, vec![key(Key::Enter)], &mut ui) {
            Some(DiagramTap::Valve(valve)) => reached.insert(valve),
            other => panic!("step {step} of the keyboard gave {other:?}"),
        };
    }
    assert_eq!(reached, layout.valves().collect());
}

#[test]
fn a_screen_reader_hears_each_valve_with_its_stage() {
    let layout = engine("inline-4-8v");
    let mut valves = vec![ValveView::default(); layout.valve_count()];
    valves[0].stage = Some(Stage::LocksOut);
    valves[1].stage = Some(Stage::Verified);
    let in_hand = layout.valves().next();
    let view = DiagramView {
        layout: &layout,
        valves: &valves,
        in_hand,
        at_cylinder: Some(1),
        next_cylinder: None,
        air_cylinder: None,
        marks: &[],
        large_cylinder: None,
    };
    let ctx = Context::default();
    Theme::new(Tone::ShopLight, 1.0).install(&ctx);
    ctx.enable_accesskit();
    let mut labels = Vec::new();
    for _ in 0..2 {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(800.0, 600.0))),
            ..RawInput::default()
        };
        let mut output = ctx.run_ui(input, |ui| {
            view.ui(ui, &EN, vec2(740.0, 520.0));
        });
        if let Some(update) = output.platform_output.accesskit_update.take() {
            labels = update
                .nodes
                .iter()
                .filter(|(_, node)| node.role() == egui::accesskit::Role::Button)
                .filter_map(|(_, node)| node.label().map(str::to_owned))
                .collect();
        }
        output.drop_without_applying_deltas();
    }
    assert_eq!(labels.len(), layout.valve_count(), "{labels:?}");
    let has = |text: &str| labels.iter().any(|l| l == text);
    assert!(
        has("cylinder 1, intake 1: locks out, in hand"),
        "{labels:?}"
    );
    assert!(has("cylinder 1, exhaust 1: verified"), "{labels:?}");
    assert!(has("cylinder 4, exhaust 1: not begun"), "{labels:?}");
}

#[test]
fn a_tap_that_began_elsewhere_does_not_count() {
    let finger = Finger::new(vec2(600.0, 300.0));
    let mut bar = |ui: &mut egui::Ui| BigBar::new("New seal is home", "").ui(ui).tapped;
    finger.frame(0.0, Vec::new(), &mut bar);
    let button = |pos, pressed| Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    let outside = pos2(300.0, 280.0);
    let inside = pos2(300.0, 60.0);
    finger.frame(
        1.0,
        vec![Event::PointerMoved(outside), button(outside, true)],
        &mut bar,
    );
    let events = vec![Event::PointerMoved(inside), button(inside, false)];
    assert!(!finger.frame(1.1, events, &mut bar));
}

#[test]
fn a_tap_between_two_valves_means_neither() {
    let layout = engine("v6-60-24v");
    let valves = vec![ValveView::default(); layout.valve_count()];
    let finger = Finger::new(vec2(800.0, 600.0));
    let view = DiagramView {
        layout: &layout,
        valves: &valves,
        in_hand: None,
        at_cylinder: None,
        next_cylinder: None,
        air_cylinder: None,
        marks: &[],
        large_cylinder: None,
    };
    let size = vec2(740.0, 520.0);
    let mut ui = |ui: &mut egui::Ui| view.ui(ui, &EN, size);
    finger.frame(0.0, Vec::new(), &mut ui);
    finger.frame(0.1, Vec::new(), &mut ui);
    let mut hits = 0;
    let mut misses = 0;
    let mut time = 1.0;
    for x in (20..740).step_by(23) {
        for y in [70.0_f32, 130.0, 190.0, 340.0, 400.0, 460.0] {
            time += 1.0;
            match finger.tap(time, pos2(x as f32, y), &mut ui) {
                Some(DiagramTap::Valve(_)) => hits += 1,
                Some(DiagramTap::Cylinder(c)) => panic!("cylinder {c} took a tap"),
                None => misses += 1,
            }
        }
    }
    println!("{hits} taps met a valve, {misses} met none");
    assert!(hits > 20 && misses > 20);
    // Halfway between the first two valves of the first cylinder there is dead room.
    let rect = Rect::from_min_size(Pos2::ZERO, size);
    let plan = plan(&layout, rect, text_sizes(1.0), None);
    let [a, b] = [0, 1].map(|i| plan.valves[i].target.unwrap());
    assert!(b.left() - a.right() >= 8.0 - 0.01, "{a:?} {b:?}");
}
