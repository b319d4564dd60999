//! Pictures of the building blocks in both themes, for the eye.

use std::path::PathBuf;

use egui::{Ui, vec2};
use trayzero::ui::picture::{Image, picture};
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::widgets::text_field::TextField;
use trayzero::ui::widgets::{
    AirView, BigBar, Button, CountersView, CrankDial, CrankStrip, DiagramView, DialMark,
    FingerNote, FiringRing, LeakPair, ListRow, StageList, StripStop, ValveView, WindowChart,
    button_row, caution_line, choice_row, keys, leak_bars, tick_row, valve_mark,
};
use trayzero::ui::words::{EN, Language};
use trayzero_core::engine::{Layout, Side, ValveName, shipped};
use trayzero_core::job::Stage;

fn folder() -> PathBuf {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/pictures");
    std::fs::create_dir_all(&path).unwrap();
    path
}

/// Draws in both themes, saves both, and gives the number of colours in the first: a
/// picture in which nothing was drawn has one.
fn both(name: &str, width: f32, height: f32, mut ui: impl FnMut(&mut Ui)) -> usize {
    let mut colours = 0;
    for (tone, ending) in [(Tone::ShopLight, "light"), (Tone::Night, "night")] {
        let image = picture(Theme::new(tone, 1.0), vec2(width, height), 1.0, 3, &mut ui);
        image
            .save_png(&folder().join(format!("{name}-{ending}.png")))
            .unwrap();
        colours = colours.max(count_colours(&image));
    }
    colours
}

fn count_colours(image: &Image) -> usize {
    let mut all: Vec<&[u8]> = image.rgba.chunks(4).collect();
    all.sort_unstable();
    all.dedup();
    all.len()
}

pub fn engine(key: &str) -> Layout {
    let layout = shipped().iter().find(|s| s.key == key).unwrap();
    Layout::from_json(key, layout.json.as_bytes()).unwrap()
}

/// Valves as they stand in the middle of a job: some verified, one of every stage.
fn midway(layout: &Layout, done: usize) -> Vec<ValveView> {
    let mut valves = vec![ValveView::default(); layout.valve_count()];
    for (i, valve) in valves.iter_mut().enumerate() {
        valve.stage = match i.checked_sub(done) {
            None => Some(Stage::Verified),
            Some(n) if n < layout.valves_per_cylinder() => Stage::ALL.get(3 - n.min(3)).copied(),
            Some(_) => None,
        };
    }
    valves
}

#[test]
fn every_stage_has_its_picture() {
    let colours = both("stages", 900.0, 320.0, |ui| {
        let c = Theme::of(ui.ctx()).colours;
        let stages = [None].into_iter().chain(Stage::ALL.map(Some));
        for (i, stage) in stages.enumerate() {
            let x = 70.0 + i as f32 * 125.0;
            for (y, radius) in [(80.0, 50.0), (180.0, 28.0), (240.0, 20.0)] {
                let colours = valve_mark::MarkColours::of(&c, stage);
                valve_mark::paint(ui.painter(), egui::pos2(x, y), radius, stage, colours);
            }
            valve_mark::paint_small(ui.painter(), egui::pos2(x, 290.0), 12.0, stage, &c);
        }
    });
    assert!(colours > 20, "only {colours} colours were painted");
}

fn diagram(name: &str, key: &str, width: f32, height: f32, done: usize) {
    let layout = engine(key);
    let valves = midway(&layout, done);
    let open = layout.valves().nth(done).unwrap();
    let next = layout
        .cylinders()
        .nth(done / layout.valves_per_cylinder() + 1);
    let colours = both(name, width, height, |ui| {
        let view = DiagramView {
            layout: &layout,
            valves: &valves,
            in_hand: Some(open),
            at_cylinder: Some(open.cylinder),
            next_cylinder: next,
            air_cylinder: Some(open.cylinder),
            marks: &[],
            large_cylinder: None,
        };
        view.ui(ui, &EN, vec2(width, height));
    });
    assert!(colours > 20, "{name}: only {colours} colours were painted");
}

#[test]
fn every_kind_of_engine_has_its_picture() {
    for key in ["inline-4-8v", "v6-60-24v", "flat-6-24v", "v16-45-64v"] {
        diagram(&format!("engine-{key}"), key, 720.0, 500.0, 5);
    }
}

#[test]
fn the_bay_has_its_picture() {
    let layout = engine("v6-60-24v");
    let mut valves = midway(&layout, 9);
    valves[11].is_astray = true;
    valves[14].has_remark = true;
    let in_hand = ValveName::new(layout.cylinders().nth(2).unwrap(), Side::Intake, 2);
    for language in Language::ALL {
        let words = language.words();
        both(
            &format!("bay-{}", language.own_name()),
            1280.0,
            800.0,
            |ui| {
                let counters = CountersView {
                    is_blind: false,
                    loose: 7,
                    aboard: 11,
                    adrift: 0,
                    air: Some(AirView {
                        is_several: false,
                        bay: None,
                        cylinder: 3,
                        reading: Some(("3.4 bar".to_owned(), Some(6))),
                    }),
                    low_battery: None,
                };
                counters.ui(ui, words, 600.0);
                ui.horizontal_top(|ui| {
                    let view = DiagramView {
                        layout: &layout,
                        valves: &valves,
                        in_hand: Some(in_hand),
                        at_cylinder: Some(in_hand.cylinder),
                        next_cylinder: Some(6),
                        air_cylinder: Some(in_hand.cylinder),
                        marks: &[],
                        large_cylinder: None,
                    };
                    view.ui(ui, words, vec2(740.0, 560.0));
                    ui.vertical(|ui| {
                        let list = StageList {
                            seen: 3,
                            locks_dropped: 0,
                            locks: 2,
                            has_follower: true,
                        };
                        list.ui(ui, words);
                        ui.add_space(40.0);
                        let (title, more) = words.seen(Stage::SealFitted, 2, true);
                        BigBar::new(&title, more).ui(ui);
                    });
                });
            },
        );
    }
}

/// The widgets of the bay at twice the size of text on the smallest screen.
#[test]
fn large_text_has_its_picture() {
    let layout = engine("v8-cross-plane-32v");
    let valves = midway(&layout, 9);
    let open = layout.valves().nth(9).unwrap();
    let words = Language::German.words();
    let theme = Theme::new(Tone::ShopLight, 2.0);
    let image = picture(theme, vec2(1024.0, 600.0), 1.0, 3, |ui| {
        let counters = CountersView {
            is_blind: false,
            loose: 7,
            aboard: 11,
            adrift: 1,
            air: Some(AirView {
                is_several: false,
                bay: None,
                cylinder: 3,
                reading: Some(("3.4 bar".to_owned(), Some(6))),
            }),
            low_battery: None,
        };
        counters.ui(ui, words, 1024.0);
        ui.horizontal_top(|ui| {
            let view = DiagramView {
                layout: &layout,
                valves: &valves,
                in_hand: Some(open),
                at_cylinder: Some(open.cylinder),
                next_cylinder: None,
                air_cylinder: None,
                marks: &[],
                large_cylinder: None,
            };
            view.ui(ui, words, vec2(600.0, 480.0));
            ui.vertical(|ui| {
                caution_line::ui(ui, words.only_air_holds, Theme::of(ui.ctx()).colours.open);
                let (title, more) = words.seen(Stage::SealFitted, 2, true);
                BigBar::new(&title, more).ui(ui);
            });
        });
    });
    image.save_png(&folder().join("large-text.png")).unwrap();
    assert!(count_colours(&image) > 20);
}

fn padded(ui: &mut Ui, content: impl FnMut(&mut Ui)) {
    egui::Frame::new().inner_margin(16.0).show(ui, content);
}

#[test]
fn the_crank_has_its_pictures() {
    let layout = engine("v6-60-24v");
    let stops: Vec<StripStop> = layout
        .cylinders()
        .map(|cylinder| StripStop {
            cylinder,
            at_deg: layout.working_deg(cylinder, 0.0).unwrap(),
            is_done: cylinder < 3,
        })
        .collect();
    let marks: Vec<DialMark> = stops
        .iter()
        .map(|s| DialMark {
            cylinder: s.cylinder,
            at_deg: s.at_deg,
            is_done: s.is_done,
        })
        .collect();
    let here = layout.working_deg(3, 0.0).unwrap();
    let next = layout.working_deg(4, 0.0).unwrap();
    let turn = (next - here).rem_euclid(720.0);
    let colours = both("crank", 720.0, 700.0, |ui| {
        padded(ui, |ui| {
            let more = EN.turn_then(4, turn, Some("168 mm"));
            CrankStrip {
                stops: &stops,
                crank_deg: Some(here),
                next: Some((next, false)),
                title: &EN.crank_at(3, 0.0),
                more: &more,
                is_low: false,
                short: "",
            }
            .ui(ui);
            ui.horizontal(|ui| {
                CrankDial {
                    marks: &marks,
                    crank_deg: here,
                    turn_deg: Some(turn),
                    title: &EN.degrees(turn),
                    more: "168 mm on the rim",
                    spoken: &more,
                }
                .ui(ui, 460.0);
                FiringRing {
                    order: &layout.firing_order,
                    intervals_deg: layout.firing_intervals_deg.as_deref(),
                    amiss: &[],
                    title: EN.firing_order,
                }
                .ui(ui, 200.0);
            });
        });
    });
    assert!(colours > 20, "only {colours} colours were painted");
}

#[test]
fn the_charts_have_their_pictures() {
    let curve: Vec<(f64, f64)> = (-15..=15)
        .map(|i| {
            let deg = f64::from(i) * 2.0;
            (deg, 24.0 / deg.abs().max(0.1))
        })
        .collect();
    let pairs: Vec<LeakPair> = [
        (1, 8.0),
        (2, 12.0),
        (3, 34.0),
        (4, 7.0),
        (5, 9.0),
        (6, 11.0),
    ]
    .into_iter()
    .map(|(cylinder, before)| LeakPair {
        cylinder,
        before: Some(before),
        after: (cylinder != 5).then_some(before * 0.8),
    })
    .collect();
    let colours = both("charts", 720.0, 640.0, |ui| {
        padded(ui, |ui| {
            WindowChart {
                turns_above: &curve,
                lowest_bar: 1.6,
                rating_bar: 7.0,
                at_deg: -6.0,
                at_bar: Some(2.6),
                unit: "bar",
                units_per_bar: 1.0,
                spoken: "",
            }
            .ui(ui, &EN, 320.0);
            leak_bars(ui, &EN, &pairs, 260.0);
        });
    });
    assert!(colours > 20, "only {colours} colours were painted");
}

#[test]
fn the_controls_have_their_pictures() {
    let words = Language::German.words();
    let colours = both("controls", 900.0, 900.0, |ui| {
        padded(ui, |ui| {
            ui.columns(2, |columns| {
                let ui = &mut columns[0];
                caution_line::ui(ui, words.only_air_holds, Theme::of(ui.ctx()).colours.open);
                let bar = words.seen(Stage::Verified, 2, true);
                BigBar::new(&bar.0, bar.1).ui(ui);
                button_row(
                    ui,
                    &[words.take_back, words.dropped_one, words.part_changed],
                );
                choice_row(ui, &[words.shop_light, words.night], Some(0));
                tick_row(ui, words.stays_still, true);
                Button::new(words.sign).chosen(true).ui(ui);
                Button::new(words.sign_unfound)
                    .tint(Theme::of(ui.ctx()).colours.astray)
                    .ui(ui);
                let c = Theme::of(ui.ctx()).colours;
                for (title, end, tint) in [
                    ("Halle 1", "4 von 24", None),
                    ("Halle 2", "vermisst 1", Some(c.astray)),
                ] {
                    ListRow {
                        title,
                        detail: "Kehrmaschine 07, Sechszylinder",
                        end,
                        tint,
                        leads_on: true,
                        is_chosen: tint.is_none(),
                    }
                    .ui(ui);
                }
                let ui = &mut columns[1];
                let mut typed = "2,5".to_owned();
                keys::figure(ui, words, &mut typed);
                let mut text = "Blauer Rauch nach dem Leerlauf".to_owned();
                TextField::new(words.complaint, &mut text).ui(ui, words);
                let note = FingerNote {
                    what: "Auf Zylinder 3 ist Luft.",
                    way_out: "Jedes offene Ventil verkeilen, dann Luft abstellen.",
                    tint: Theme::of(ui.ctx()).colours.astray,
                    has_sign: true,
                };
                note.ui(ui, egui::pos2(640.0, 860.0), ui.ctx().content_rect());
            });
        });
    });
    assert!(colours > 20, "only {colours} colours were painted");
}
