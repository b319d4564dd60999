//! Reading and writing units, against NIST Special Publication 811, appendix B.

use trayzero_core::bench::{
    ANGLE, DISTANCE, FORCE, LENGTH, PRESSURE, TORQUE,
    UnitSystem::{Metric, Us},
    VOLUME,
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
    let psi = PRESSURE.parse("1 psi", Metric).unwrap();
    agree(psi.get::<kilopascal>(), 6.894_757, 1e-7);
    let inch = LENGTH.parse("1 in", Metric).unwrap();
    agree(inch.get::<millimeter>(), 25.4, 1e-15);
    let pound = FORCE.parse("1 lbf", Metric).unwrap();
    agree(pound.get::<newton>(), 4.448_222, 1e-7);
    let pound_foot = TORQUE.parse("1 lbf ft", Metric).unwrap();
    agree(pound_foot.get::<newton_meter>(), 1.355_818, 1e-7);
    let one_bar = PRESSURE.parse("1 bar", Us).unwrap();
    agree(one_bar.get::<kilopascal>(), 100.0, 1e-15);
    let mile = DISTANCE.parse("1 mi", Metric).unwrap();
    agree(mile.get::<kilometer>(), 1.609_344, 1e-15);
    let quart = VOLUME.parse("1 qt", Metric).unwrap();
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
        let read = PRESSURE.parse(text, Metric).unwrap();
        agree(read.get::<bar>(), expected, 1e-9);
    }
    let bare = PRESSURE.parse("60", Us).unwrap();
    agree(bare.get::<bar>(), 4.136_854_2, 1e-9);
    let mm = |text, system| LENGTH.parse(text, system).unwrap().get::<millimeter>();
    for text in ["12 mm", "1.2 cm", "0.472440944881890 in", "12"] {
        agree(mm(text, Metric), 12.0, 1e-12);
    }
    agree(mm("0.5\"", Metric), 12.7, 1e-12);
    agree(mm("0.5", Us), 12.7, 1e-12);
    let nm = |text| {
        let read = TORQUE.parse(text, Metric).unwrap();
        read.get::<newton_meter>()
    };
    for text in ["18 Nm", "18 N m", "18 N·m", "18"] {
        agree(nm(text), 18.0, 1e-12);
    }
    for text in ["13 lbf ft", "13 ft-lbf", "13 lb-ft", "13 LBF FT"] {
        agree(nm(text), 17.625_63, 1e-6);
    }
    let km = |text, system| DISTANCE.parse(text, system).unwrap().get::<kilometer>();
    agree(km("120000", Metric), 120_000.0, 1e-12);
    agree(km("1000", Us), 1_609.344, 1e-12);
    let litres = VOLUME.parse("0,8 l", Us).unwrap();
    agree(litres.get::<liter>(), 0.8, 1e-12);
    for text in ["-12", "-12°", "−12 deg"] {
        let read = ANGLE.parse(text, Metric).unwrap();
        agree(read.get::<degree>(), -12.0, 1e-12);
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
        let fault = PRESSURE.parse(text, Metric).unwrap_err().to_string();
        let expected =
            format!("pressure \"{text}\" cannot be read: write 4.1 bar, 60 psi or 400 kPa");
        assert_eq!(fault, expected);
    }
    let long = "9".repeat(5_000);
    assert!(LENGTH.parse(&long, Metric).unwrap_err().to_string().len() < 150);
    // A long text of wide letters is cut between letters.
    assert!(LENGTH.parse(&"é".repeat(5_000), Metric).is_err());
}

#[test]
fn figures_are_written_in_either_system_and_read_back() {
    let p = PRESSURE.parse("4.1 bar", Metric).unwrap();
    assert_eq!(PRESSURE.format(&p, Metric), "4.10 bar");
    assert_eq!(PRESSURE.format(&p, Us), "59.5 psi");
    let d = LENGTH.parse("27 mm", Metric).unwrap();
    assert_eq!(LENGTH.format(&d, Metric), "27.00 mm");
    assert_eq!(LENGTH.format(&d, Us), "1.063 in");
    let t = TORQUE.parse("18 Nm", Metric).unwrap();
    assert_eq!(TORQUE.format(&t, Metric), "18.0 Nm");
    assert_eq!(TORQUE.format(&t, Us), "13.3 lbf ft");
    let f = FORCE.parse("60 N", Metric).unwrap();
    assert_eq!(FORCE.format(&f, Metric), "60 N");
    assert_eq!(FORCE.format(&f, Us), "13.5 lbf");
    let km = DISTANCE.parse("120000 km", Metric).unwrap();
    assert_eq!(DISTANCE.format(&km, Metric), "120000 km");
    assert_eq!(DISTANCE.format(&km, Us), "74565 mi");
    let oil = VOLUME.parse("0.8 l", Metric).unwrap();
    assert_eq!(VOLUME.format(&oil, Metric), "0.80 l");
    assert_eq!(VOLUME.format(&oil, Us), "0.85 qt");
    for system in [Metric, Us] {
        let again = PRESSURE
            .parse(&PRESSURE.format(&p, system), Metric)
            .unwrap();
        agree(again.get::<bar>(), 4.1, 1e-3);
        let again = TORQUE.parse(&TORQUE.format(&t, system), Metric).unwrap();
        agree(again.get::<newton_meter>(), 18.0, 3e-3);
    }
    let nothing = PRESSURE.parse("-0.001 bar", Metric).unwrap();
    assert_eq!(PRESSURE.format(&nothing, Metric), "0.00 bar");
}
