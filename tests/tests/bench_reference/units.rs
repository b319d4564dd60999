//! Reading and writing units, against NIST Special Publication 811, appendix B.

use trayzero_core::bench::{
    UnitSystem::{Metric, Us},
    format_distance, format_force, format_length, format_pressure, format_torque, format_volume,
    parse_angle, parse_distance, parse_force, parse_length, parse_pressure, parse_torque,
    parse_volume,
};
use uom::si::angle::degree;
use uom::si::force::newton;
use uom::si::length::{kilometer, millimeter};
use uom::si::pressure::{bar, kilopascal};
use uom::si::torque::newton_meter;
use uom::si::volume::liter;

use crate::agree;

/// NIST SP 811, appendix B.8: the factors as printed, to seven digits.
#[test]
fn us_units_have_the_factors_of_nist_sp_811() {
    let psi = parse_pressure("1 psi", Metric).unwrap();
    agree(psi.get::<kilopascal>(), 6.894_757, 1e-7);
    let inch = parse_length("1 in", Metric).unwrap();
    agree(inch.get::<millimeter>(), 25.4, 1e-15);
    let pound = parse_force("1 lbf", Metric).unwrap();
    agree(pound.get::<newton>(), 4.448_222, 1e-7);
    let pound_foot = parse_torque("1 lbf ft", Metric).unwrap();
    agree(pound_foot.get::<newton_meter>(), 1.355_818, 1e-7);
    let one_bar = parse_pressure("1 bar", Us).unwrap();
    agree(one_bar.get::<kilopascal>(), 100.0, 1e-15);
    let mile = parse_distance("1 mi", Metric).unwrap();
    agree(mile.get::<kilometer>(), 1.609_344, 1e-15);
    let quart = parse_volume("1 qt", Metric).unwrap();
    agree(quart.get::<liter>(), 0.946_352_9, 1e-7);
}

#[test]
fn entries_are_read_as_people_write_them() {
    let pressures = [
        ("60 psi", 4.136_854_2),
        ("60psi", 4.136_854_2),
        ("  4.1 bar ", 4.1),
        ("4.1 BAR", 4.1),
        ("4,1 bar", 4.1),
        ("400 kPa", 4.0),
        ("0.4 MPa", 4.0),
        ("4.1", 4.1),
        ("-1 bar", -1.0),
        (".5 bar", 0.5),
    ];
    for (text, expected) in pressures {
        let read = parse_pressure(text, Metric).unwrap();
        agree(read.get::<bar>(), expected, 1e-9);
    }
    let bare = parse_pressure("60", Us).unwrap();
    agree(bare.get::<bar>(), 4.136_854_2, 1e-9);
    for text in ["12 mm", "1.2 cm", "0.472440944881890 in", "12"] {
        agree(
            parse_length(text, Metric).unwrap().get::<millimeter>(),
            12.0,
            1e-12,
        );
    }
    agree(
        parse_length("0.5\"", Metric).unwrap().get::<millimeter>(),
        12.7,
        1e-12,
    );
    agree(
        parse_length("0.5", Us).unwrap().get::<millimeter>(),
        12.7,
        1e-12,
    );
    for text in ["18 Nm", "18 N m", "18 N·m", "18"] {
        agree(
            parse_torque(text, Metric).unwrap().get::<newton_meter>(),
            18.0,
            1e-12,
        );
    }
    for text in ["13 lbf ft", "13 ft-lbf", "13 lb-ft", "13 LBF FT"] {
        agree(
            parse_torque(text, Metric).unwrap().get::<newton_meter>(),
            17.625_63,
            1e-6,
        );
    }
    agree(
        parse_distance("120000", Metric).unwrap().get::<kilometer>(),
        120_000.0,
        1e-12,
    );
    agree(
        parse_distance("1000", Us).unwrap().get::<kilometer>(),
        1_609.344,
        1e-12,
    );
    agree(
        parse_volume("0,8 l", Us).unwrap().get::<liter>(),
        0.8,
        1e-12,
    );
    for text in ["-12", "-12°", "−12 deg"] {
        agree(parse_angle(text).unwrap().get::<degree>(), -12.0, 1e-12);
    }
}

#[test]
fn what_cannot_be_read_is_named_with_an_example() {
    let texts = [
        "",
        " ",
        "bar",
        "4.1 furlong",
        "4..1 bar",
        "nan",
        "inf bar",
        "1e999 bar",
        "4 1 bar",
        "--4 bar",
        "4,125 bar",
        "1,000,000 bar",
        "1.000,5 bar",
        "4, bar",
        "999999999999999 bar",
        "½ bar",
        "4.1 mm",
    ];
    for text in texts {
        let fault = parse_pressure(text, Metric).unwrap_err().to_string();
        let expected =
            format!("pressure \"{text}\" cannot be read: write 4.1 bar, 60 psi or 400 kPa");
        assert_eq!(fault, expected);
    }
    let long = "9".repeat(5_000);
    assert!(parse_length(&long, Metric).unwrap_err().to_string().len() < 150);
    // A long text of wide letters is cut between letters.
    assert!(parse_length(&"é".repeat(5_000), Metric).is_err());
}

#[test]
fn figures_are_written_in_either_system_and_read_back() {
    let p = parse_pressure("4.1 bar", Metric).unwrap();
    assert_eq!(format_pressure(p, Metric), "4.10 bar");
    assert_eq!(format_pressure(p, Us), "59.5 psi");
    let d = parse_length("27 mm", Metric).unwrap();
    assert_eq!(format_length(d, Metric), "27.00 mm");
    assert_eq!(format_length(d, Us), "1.063 in");
    let t = parse_torque("18 Nm", Metric).unwrap();
    assert_eq!(format_torque(t, Metric), "18.0 Nm");
    assert_eq!(format_torque(t, Us), "13.3 lbf ft");
    let f = parse_force("60 N", Metric).unwrap();
    assert_eq!(format_force(f, Metric), "60 N");
    assert_eq!(format_force(f, Us), "13.5 lbf");
    let km = parse_distance("120000 km", Metric).unwrap();
    assert_eq!(format_distance(km, Metric), "120000 km");
    assert_eq!(format_distance(km, Us), "74565 mi");
    let oil = parse_volume("0.8 l", Metric).unwrap();
    assert_eq!(format_volume(oil, Metric), "0.80 l");
    assert_eq!(format_volume(oil, Us), "0.85 qt");
    for system in [Metric, Us] {
        let again = parse_pressure(&format_pressure(p, system), Metric).unwrap();
        agree(again.get::<bar>(), 4.1, 1e-3);
        let again = parse_torque(&format_torque(t, system), Metric).unwrap();
        agree(again.get::<newton_meter>(), 18.0, 3e-3);
    }
    let nothing = parse_pressure("-0.001 bar", Metric).unwrap();
    assert_eq!(format_pressure(nothing, Metric), "0.00 bar");
}
