//! What is drawn counts in the units of the settings.

use egui::{Context, Pos2, RawInput, Rect, Shape, vec2};
use trayzero::data::settings::{Settings, Units};
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::units::{
    self, DISTANCE, Figures, LENGTH, PRESSURE, TORQUE, VOLUME, pressure_units_per_bar,
};
use trayzero::ui::widgets::WindowChart;
use trayzero::ui::words::EN;
use trayzero_core::bench::BenchError;

fn settings(units: Units) -> Settings {
    Settings {
        units,
        ..Settings::default()
    }
}

/// Texts of the pressure window with the height of their middles.
fn texts(units: Units) -> Vec<(String, f32)> {
    let figures = settings(units).figures();
    let ctx = Context::default();
    let frame = || {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(600.0, 400.0))),
            ..RawInput::default()
        };
        ctx.run_ui(input, |ui| {
            Theme::new(Tone::ShopLight, 1.0).install(ui.ctx());
            WindowChart {
                turns_above: &[(-30.0, 2.0), (0.0, 9.0), (30.0, 2.0)],
                lowest_bar: 1.6,
                rating_bar: 7.0,
                at_deg: 0.0,
                at_bar: None,
                unit: PRESSURE.unit(figures.system),
                units_per_bar: pressure_units_per_bar(figures),
                spoken: "",
            }
            .ui(ui, &EN, 320.0);
        })
    };
    // The fonts serve from the second frame on.
    frame().drop_without_applying_deltas();
    let output = frame();
    let mut found = Vec::new();
    for clipped in &output.shapes {
        collect(&clipped.shape, &mut found);
    }
    output.drop_without_applying_deltas();
    found
}

fn collect(shape: &Shape, into: &mut Vec<(String, f32)>) {
    match shape {
        Shape::Text(text) => {
            let middle = text.pos.y + text.galley.size().y / 2.0;
            into.push((text.galley.text().to_owned(), middle));
        }
        Shape::Vec(all) => all.iter().for_each(|shape| collect(shape, into)),
        _ => {}
    }
}

/// Figures of the pressure axis with their heights.
fn axis(texts: &[(String, f32)]) -> Vec<(f32, f32)> {
    let figure = |(text, y): &(String, f32)| Some((text.parse().ok()?, *y));
    texts.iter().filter_map(figure).collect()
}

#[test]
fn the_pressure_window_counts_in_bar_or_in_psi() {
    let (metric, us) = (texts(Units::Metric), texts(Units::Imperial));
    let has = |texts: &[(String, f32)], unit: &str| texts.iter().any(|(text, _)| text == unit);
    assert!(has(&metric, "bar") && !has(&metric, "psi"));
    assert!(has(&us, "psi") && !has(&us, "bar"));
    let (bars, psis) = (axis(&metric), axis(&us));
    let figures = |axis: &[(f32, f32)]| axis.iter().map(|f| f.0).collect::<Vec<_>>();
    assert_eq!(figures(&bars), [0.0, 2.0, 4.0, 6.0, 8.0]);
    assert_eq!(figures(&psis), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
    // 1 psi is 6.894 757 kPa (NIST Special Publication 811, appendix B).
    let a_bar = (bars[4].1 - bars[0].1) / 8.0;
    for (psi, y) in psis {
        let expected = bars[0].1 + a_bar * psi * 0.068_947_57;
        assert!(
            (y - expected).abs() < 0.1,
            "{psi} psi at {y}, not {expected}"
        );
    }
}

#[test]
fn a_field_reads_a_bare_figure_in_the_unit_of_its_label() {
    // Factors: NIST Special Publication 811, appendix B.
    type Read = fn(&str, Figures) -> Result<f64, BenchError>;
    type Label = fn(Figures) -> String;
    macro_rules! of {
        ($quantity:ident) => {
            (
                |figures| units::field("reading", &$quantity, figures),
                |text, figures| units::read(&$quantity, text, figures),
            )
        };
    }
    let fields: [((Label, Read), [&str; 2], f64); 5] = [
        (of!(PRESSURE), ["bar", "psi"], 0.068_947_57),
        (of!(TORQUE), ["Nm", "lbf ft"], 1.355_818),
        (of!(LENGTH), ["mm", "in"], 25.4),
        (of!(DISTANCE), ["km", "mi"], 1.609_344),
        (of!(VOLUME), ["l", "qt"], 0.946_352_9),
    ];
    for ((label, read), names, us_unit) in fields {
        for (units, name, expected) in [
            (Units::Metric, names[0], 3.0),
            (Units::Imperial, names[1], 3.0 * us_unit),
        ] {
            let figures = settings(units).figures();
            assert_eq!(label(figures), format!("reading ({name})"));
            for typed in ["3".to_owned(), format!("3 {name}")] {
                let got = read(&typed, figures).unwrap();
                let off = (got / expected - 1.0).abs();
                assert!(off < 1e-6, "{typed} is {got}, not {expected}");
            }
        }
    }
}

#[test]
fn figures_worked_out_are_shown_in_us_units() {
    let us = settings(Units::Imperial).figures();
    // 1 lbf is 4.448 222 N, 1 ft lbf is 1.355 818 J, 1 cu ft/min is 28.316 85 l/min (NIST
    // Special Publication 811, appendix B).
    assert_eq!(units::force(4.448_222 * 120.0, us), "120.0 lbf");
    assert_eq!(units::energy(1.355_818 * 2.5, us), "2.5 ft lbf");
    assert_eq!(units::air_flow(28.316_85 * 1.2, us), "1.2 cu ft/min");
    // A quart is 0.946 352 9 l, a mile 1.609 344 km (the same).
    let one_quart = 0.946_352_9 / 1.609_344;
    assert_eq!(units::oil_used(one_quart, us), "1.00 qt / 1000 mi");
}
