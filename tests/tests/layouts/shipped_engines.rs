//! The layouts that come with the program.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use trayzero_core::engine::{Follower, Layout, Side, ValveName, shipped};

use crate::{lines, load};

#[test]
fn every_shipped_layout_is_without_fault_and_comes_back_as_written() {
    assert!(shipped().len() >= 14, "{} layouts", shipped().len());
    for s in shipped() {
        let layout = Layout::from_json(s.key, s.json.as_bytes())
            .unwrap_or_else(|faults| panic!("{}", lines(&faults)));
        assert_eq!(layout.faults(s.key), Vec::new());
        let text = layout.to_json_pretty().unwrap();
        assert_eq!(Layout::from_json(s.key, text.as_bytes()), Ok(layout));
        assert!(text.ends_with("}\n"));
    }
}

#[test]
fn shipped_keys_and_names_are_each_used_once_and_every_file_is_embedded() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../assets/engines");
    let mut on_disk: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .collect();
    on_disk.sort();
    let mut keys: Vec<String> = shipped()
        .iter()
        .map(|s| format!("{}.json", s.key))
        .collect();
    keys.sort();
    assert_eq!(keys, on_disk);
    let names: BTreeMap<String, &str> = shipped()
        .iter()
        .map(|s| (load(s.key).name, s.key))
        .collect();
    assert_eq!(names.len(), shipped().len());
}

#[test]
fn every_shipped_note_says_that_the_figures_are_examples() {
    for s in shipped() {
        let layout = load(s.key);
        assert!(layout.note.contains("examples"), "{}", s.key);
        assert!(
            layout.note.contains("not those of any maker's engine"),
            "{}",
            s.key
        );
    }
}

/// Firing orders as textbooks list them (Bosch Automotive Handbook, from memory), for
/// the numbering that each layout has. The V16 has none: none is known.
/// V8 1-5-4-8-6-3-7-2 with 1 to 4 on one bank: common practice, no source.
#[test]
fn firing_orders_are_those_of_the_textbooks() {
    let textbook: [(&str, &[u8]); 17] = [
        ("inline-3-12v", &[1, 2, 3]),
        ("inline-4-8v", &[1, 3, 4, 2]),
        ("inline-4-16v", &[1, 3, 4, 2]),
        ("inline-4-16v-bucket", &[1, 3, 4, 2]),
        ("inline-5-20v", &[1, 2, 4, 5, 3]),
        ("inline-6-12v", &[1, 5, 3, 6, 2, 4]),
        ("inline-6-24v", &[1, 5, 3, 6, 2, 4]),
        ("v6-60-24v", &[1, 4, 2, 5, 3, 6]),
        ("v6-90-18v", &[1, 6, 5, 4, 3, 2]),
        ("v6-90-odd-fire-12v", &[1, 6, 5, 4, 3, 2]),
        ("v8-cross-plane-16v", &[1, 8, 4, 3, 6, 5, 7, 2]),
        ("v8-cross-plane-32v", &[1, 5, 4, 8, 6, 3, 7, 2]),
        ("v8-flat-plane-32v", &[1, 8, 3, 6, 4, 5, 2, 7]),
        ("flat-4-16v", &[1, 3, 2, 4]),
        ("flat-6-24v", &[1, 6, 2, 4, 3, 5]),
        ("v10-72-40v", &[1, 6, 5, 10, 2, 7, 3, 8, 4, 9]),
        ("v12-60-48v", &[1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10]),
    ];
    for (key, order) in textbook {
        assert_eq!(load(key).firing_order, order, "{key}");
    }
    assert_eq!(
        textbook.len() + 1,
        shipped().len(),
        "a layout has no row here"
    );
}

/// What the crank looks like decides when its cylinders are at the top: a cylinder at
/// the top has one partner or none at the top with it (360 degrees on), and each bank's
/// pattern is that of its own crank. Geometry of the crank, no source needed:
/// flat-plane banks fire every 180 degrees, cross-plane banks 90, 180, 180 and 270
/// apart; opposed pistons of a flat engine reach the top together.
#[test]
fn tops_fit_the_crank_of_each_engine() {
    let gaps = |layout: &Layout, bank: usize| {
        let cylinders = layout.banks[bank].cylinders.iter();
        let mut tops: Vec<f64> = cylinders.map(|c| layout.tdc_deg(*c).unwrap()).collect();
        tops.sort_by(f64::total_cmp);
        let next = tops.iter().skip(1).copied().chain([tops[0] + 720.0]);
        let mut gaps: Vec<f64> = tops.iter().zip(next).map(|(a, b)| b - a).collect();
        gaps.sort_by(f64::total_cmp);
        gaps
    };
    for bank in [0, 1] {
        let cross = vec![90.0, 180.0, 180.0, 270.0];
        assert_eq!(gaps(&load("v8-cross-plane-16v"), bank), cross);
        assert_eq!(gaps(&load("v8-cross-plane-32v"), bank), cross);
        assert_eq!(gaps(&load("v8-flat-plane-32v"), bank), vec![180.0; 4]);
        assert_eq!(gaps(&load("v6-90-odd-fire-12v"), bank), vec![240.0; 3]);
        assert_eq!(gaps(&load("v12-60-48v"), bank), vec![120.0; 6]);
    }
    for (key, pairs) in [
        ("flat-4-16v", [(1, 2), (3, 4)].as_slice()),
        ("flat-6-24v", [(1, 4), (2, 5), (3, 6)].as_slice()),
    ] {
        let layout = load(key);
        for (a, b) in pairs {
            let apart = layout.tdc_deg(*a).unwrap() - layout.tdc_deg(*b).unwrap();
            assert_eq!(apart.abs(), 360.0, "{key} {a} and {b}");
        }
    }
}

/// Common practice, no source: with 1-5-4-8-6-3-7-2 and cylinders 1 to 4 on one bank,
/// cylinder 4 is the next at the top on that bank after cylinder 1; and 32 valves with
/// two locks each make 64 locks to count.
#[test]
fn the_v8_with_32_valves_is_as_the_trade_knows_it() {
    let v8 = load("v8-cross-plane-32v");
    assert_eq!(v8.banks[0].cylinders, [1, 2, 3, 4]);
    let next = [2, 3, 4]
        .into_iter()
        .min_by(|a, b| v8.tdc_deg(*a).unwrap().total_cmp(&v8.tdc_deg(*b).unwrap()));
    assert_eq!(next, Some(4));
    assert_eq!(v8.tdc_deg(4), Some(180.0));
    assert_eq!(v8.valve_count(), 32);
    assert_eq!(v8.valve_count() * usize::from(v8.locks_per_valve), 64);
    assert!(
        v8.working_positions
            .iter()
            .any(|w| w.offsets_deg == [-12.0, 12.0])
    );
}

#[test]
fn tops_follow_the_intervals_and_go_once_round_in_720_degrees() {
    for s in shipped() {
        let layout = load(s.key);
        let n = layout.firing_order.len();
        let even = vec![720.0 / n as f64; n];
        let intervals = layout.firing_intervals_deg.as_ref().unwrap_or(&even);
        let mut angle = layout.tdc_deg(layout.firing_order[0]).unwrap();
        for (i, interval) in intervals.iter().enumerate() {
            let here = layout.tdc_deg(layout.firing_order[i]).unwrap();
            assert!((here - angle % 720.0).abs() < 1e-9, "{} firing {i}", s.key);
            angle += interval;
        }
        assert!((intervals.iter().sum::<f64>() - 720.0).abs() < 1e-6);
        assert_eq!(layout.tdc_deg(1), Some(0.0), "{}", s.key);
    }
    let odd = load("v6-90-odd-fire-12v");
    let tops: Vec<f64> = odd
        .firing_order
        .iter()
        .map(|c| odd.tdc_deg(*c).unwrap())
        .collect();
    assert_eq!(tops, [0.0, 150.0, 240.0, 390.0, 480.0, 630.0]);
}

#[test]
fn the_shipped_layouts_differ_in_everything_that_the_program_has_to_cope_with() {
    let all: Vec<Layout> = shipped().iter().map(|s| load(s.key)).collect();
    let any = |what: &str, holds: &dyn Fn(&Layout) -> bool| {
        assert!(all.iter().any(holds), "no shipped layout: {what}");
    };
    for (intake, exhaust) in [(1, 1), (2, 1), (2, 2)] {
        any("valves", &|l| {
            (l.intake_valves, l.exhaust_valves) == (intake, exhaust)
        });
    }
    for follower in [
        Follower::Finger,
        Follower::Rocker,
        Follower::Bucket,
        Follower::None,
    ] {
        any("follower", &|l| l.follower == follower);
    }
    for springs in [1, 2] {
        any("springs", &|l| l.springs_per_valve == springs);
    }
    any("no spring, rim, guide", &|l| {
        l.spring.is_none() && l.rim_diameter_mm.is_none() && l.guide.is_none()
    });
    any("64 valves", &|l| l.valve_count() == 64);
    any("turning back", &|l| l.may_turn_back);
    any("uneven firing", &|l| l.firing_intervals_deg.is_some());
    any("remarks", &|l| l.remarks.is_some());
    any("several offsets", &|l| {
        l.working_positions.iter().any(|w| w.offsets_deg.len() > 1)
    });
    any("adaptors", &|l| l.adaptors.len() > 3);
}

#[test]
fn valve_names_and_their_places_agree_in_every_shipped_layout() {
    for s in shipped() {
        let layout = load(s.key);
        let valves: Vec<ValveName> = layout.valves().collect();
        assert_eq!(valves.len(), layout.valve_count());
        for (i, valve) in valves.iter().enumerate() {
            assert_eq!(layout.valve_index(*valve), Some(i));
            let again = ValveName::parse(valve.cylinder, &valve.within_cylinder());
            assert_eq!(again, Ok(*valve));
        }
        let absent = ValveName::new(1, Side::Exhaust, layout.exhaust_valves + 1);
        assert_eq!(layout.valve_index(absent), None);
    }
}
