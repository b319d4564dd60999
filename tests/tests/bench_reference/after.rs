//! Oil used after the work with its uncertainty, and a share of few jobs, against figures from
//! outside.

use trayzero_core::bench::wilson_interval;
use trayzero_core::bench::{OilSince, OilWent, TopUp, oil_before, oil_rate, oil_since};

/// `uncertainties` 3.2 (E. O. Lebigot), which carries the GUM's law of propagation out for any
/// formula; script in `tests/reference/oil_after.py`. Distance in km, litres, litres per
/// 1,000 km, standard uncertainty.
const BY_UNCERTAINTIES: [(f64, f64, f64, f64); 5] = [
    (1_000.0, 0.1, 0.100_000_000, 0.081_708_833),
    (1_000.0, 0.0, 0.000_000_000, 0.081_649_658),
    (5_000.0, 0.8, 0.160_000_000, 0.017_070_833),
    (812.0, 1.25, 1.539_408_867, 0.111_363_580),
    (120.0, 0.3, 2.500_000_000, 0.684_839_127),
];

#[test]
fn what_reading_errors_do_to_a_rate_agrees_with_a_program_of_the_gums_law() {
    for (km, litres, rate, uncertainty) in BY_UNCERTAINTIES {
        let since = oil_since(km, litres).unwrap();
        assert!(
            (since.litres_per_1000_km - rate).abs() < 1e-8,
            "{km} {litres}"
        );
        let own = since.standard_uncertainty.unwrap();
        assert!((own - uncertainty).abs() < 1e-8, "{km} {litres}: {own}");
        assert!((since.high - rate - 2.0 * uncertainty).abs() < 1e-8);
        assert!((since.low - (rate - 2.0 * own).max(0.0)).abs() < 1e-8);
    }
}

/// Published values of the score interval: R. G. Newcombe, Statistics in Medicine 17 (1998),
/// p. 857, table I, method 3 (from memory); and to nine digits `scipy` 1.x,
/// `binomtest(...).proportion_ci(method="wilson")`, same script.
#[test]
fn the_interval_of_a_share_agrees_with_the_printed_table_and_with_scipy() {
    let table = [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ];
    for (of, all, low, high) in table {
        let own = wilson_interval(of, all).unwrap();
        assert!(
            (own.0 - low).abs() < 5.1e-5 && (own.1 - high).abs() < 5.1e-5,
            "{own:?}"
        );
    }
    let by_scipy = [
        (81, 263, 0.255_288_520, 0.366_209_577),
        (15, 148, 0.062_386_400, 0.160_487_242),
        (0, 20, 0.0, 0.161_125_158),
        (1, 29, 0.006_113_214, 0.171_755_219),
        (5, 5, 0.565_517_535, 1.0),
        (3, 7, 0.158_219_855, 0.749_541_635),
    ];
    for (of, all, low, high) in by_scipy {
        let own = wilson_interval(of, all).unwrap();
        assert!(
            (own.0 - low).abs() < 1e-8 && (own.1 - high).abs() < 1e-8,
            "{own:?}"
        );
    }
    assert_eq!(wilson_interval(0, 0), None);
    assert_eq!(wilson_interval(3, 2), None);
}

#[test]
fn nothing_is_said_to_have_changed_while_the_intervals_overlap() {
    let at = |low, high| OilSince {
        litres_per_1000_km: f64::midpoint(low, high),
        standard_uncertainty: None,
        low,
        high,
    };
    let before = at(0.4, 0.9);
    assert_eq!(at(0.0, 0.39).went_since(&before), OilWent::Down);
    assert_eq!(at(0.0, 0.4).went_since(&before), OilWent::NotClear);
    assert_eq!(at(0.5, 0.6).went_since(&before), OilWent::NotClear);
    assert_eq!(at(0.91, 2.0).went_since(&before), OilWent::Up);
    // Half as much by the figures alone, and nothing that can be said of it over 200 km.
    let fell = oil_since(200.0, 0.05).unwrap();
    assert_eq!(fell.went_since(&at(0.3, 0.7)), OilWent::NotClear);
}

#[test]
fn before_the_work_the_wider_of_two_intervals_counts() {
    let top_up = |odometer_km, litres| TopUp {
        odometer_km,
        litres,
    };
    // Two top-ups: the scatter says nothing, reading errors do.
    let rate = oil_rate(&[top_up(0.0, 0.0), top_up(1_000.0, 0.8)]).unwrap();
    let two = oil_before(&rate, 1_000.0).unwrap();
    assert_eq!(two, oil_since(1_000.0, 0.8).unwrap());
    // Fills that scatter widen it.
    let fills = [(0.0, 0.0), (1_000.0, 0.4), (2_000.0, 1.2), (3_000.0, 0.5)];
    let rate = oil_rate(&fills.map(|(km, litres)| top_up(km, litres))).unwrap();
    let (low, high) = rate.litres_per_1000_km.interval.unwrap();
    let wide = oil_before(&rate, 3_000.0).unwrap();
    assert!(wide.low <= low.max(0.0) && wide.high >= high);
    assert!(oil_since(10.0, 0.1).is_err() && oil_since(1_000.0, -0.1).is_err());
}
