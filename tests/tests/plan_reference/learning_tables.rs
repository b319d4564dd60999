//! A shop that learns as the printed tables say is forecast as they say.
//!
//! Source: Wright (1936), unit tables as printed in operations textbooks; from memory.

use trayzero_core::plan::{JobHours, ShopPace, ValveHours, ValveKind, ValveToDo, WorkLeft};

/// Time of the n-th unit as a share of the first one's.
const EIGHTY_PERCENT: [f64; 10] = [
    1.0, 0.8, 0.7021, 0.64, 0.5956, 0.5617, 0.5345, 0.512, 0.4929, 0.4765,
];

const KIND: ValveKind = ValveKind {
    exhaust: Some(false),
    opens_cylinder: false,
    day: 0,
    hand: 0,
};

fn job(first_min: f64, valves: usize) -> JobHours {
    let valve = |share: &f64| ValveHours {
        minutes: first_min * share,
        kind: KIND,
    };
    JobHours {
        engine: "one".to_owned(),
        hands: vec!["one".to_owned()],
        valves: EIGHTY_PERCENT[..valves].iter().map(valve).collect(),
        ..JobHours::default()
    }
}

#[test]
fn the_80_percent_curve_is_carried_on_as_printed() {
    let past: Vec<JobHours> = (0..6).map(|n| job(18.0 + f64::from(n), 10)).collect();
    let past: Vec<&JobHours> = past.iter().collect();
    let pace = ShopPace::learn(&past, &[]);
    let to_do = ValveToDo {
        kind: KIND,
        stages_seen: 0,
    };
    for done in [2, 5, 8] {
        let left = WorkLeft {
            valves: vec![to_do; 10 - done],
            ..WorkLeft::default()
        };
        let said = pace.forecast(&job(20.0, done), &left);
        let printed: f64 = 20.0 * EIGHTY_PERCENT[done..].iter().sum::<f64>();
        let off = said.about_min / printed - 1.0;
        println!(
            "after {done}: {:.1} min, printed {printed:.1}",
            said.about_min
        );
        assert!(
            off.abs() < 0.03,
            "after {done}: {said:?}, printed {printed}"
        );
        assert!(said.low_min < printed && printed < said.high_min);
    }
}
