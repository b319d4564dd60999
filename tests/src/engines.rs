//! Engines small enough that everything about them can be tried.

use trayzero_core::engine::{
    AdaptorRule, Bank, Follower, KitLine, Layout, WorkingPosition, shipped,
};
use trayzero_core::parts::Item;

/// A shipped layout by its key.
///
/// # Panics
/// If there is none of that key, or it has faults.
pub fn shipped_engine(key: &str) -> Layout {
    let found = shipped().iter().find(|s| s.key == key);
    let shipped = found.unwrap_or_else(|| panic!("no shipped layout {key}"));
    Layout::from_json(key, shipped.json.as_bytes())
        .unwrap_or_else(|faults| panic!("{key}: {faults:?}"))
}

/// An engine with an intake and an exhaust valve a cylinder, two locks and one spring
/// a valve, finger followers, and one stopper a bank if `stoppers`. Each bank is given
/// by its cylinders; the firing order is the order in which they are given.
///
/// # Panics
/// If the engine so described has faults.
pub fn small_engine(banks: &[&[u8]], stoppers: bool) -> Layout {
    let mut layout = shipped_engine("inline-4-8v");
    "Small engine".clone_into(&mut layout.name);
    layout.follower = Follower::Finger;
    layout.springs_per_valve = 1;
    layout.banks = banks
        .iter()
        .zip(["A", "B", "C"])
        .map(|(cylinders, name)| Bank {
            name: name.to_owned(),
            cylinders: cylinders.to_vec(),
        })
        .collect();
    layout.bank_angle_deg = if banks.len() > 1 { 90.0 } else { 0.0 };
    layout.firing_order = banks.concat();
    let cylinders = layout.firing_order.len() as u32;
    layout.kit = vec![KitLine {
        item: Item::VentedCover,
        count: cylinders,
        bank: None,
    }];
    if stoppers {
        layout.kit.extend(layout.banks.iter().map(|bank| KitLine {
            item: Item::Stopper,
            count: 1,
            bank: Some(bank.name.clone()),
        }));
    }
    let faults = layout.faults("small engine");
    assert!(faults.is_empty(), "{faults:?}");
    layout
}

/// One cylinder with two valves, one stopper.
pub fn one_cylinder() -> Layout {
    small_engine(&[&[1]], true)
}

/// One cylinder with two valves under bucket followers with a shim each, no stopper.
pub fn bucket_cylinder() -> Layout {
    let mut layout = small_engine(&[&[1]], false);
    layout.follower = Follower::Bucket;
    layout
}

/// Two cylinders in one bank, two valves each, no stoppers.
pub fn two_cylinders() -> Layout {
    small_engine(&[&[1, 2]], false)
}

/// Two banks of one cylinder, two valves each, no stoppers.
pub fn two_banks() -> Layout {
    small_engine(&[&[1], &[2]], false)
}

/// A shipped engine in which every cylinder has so many working offsets, and every
/// second valve pair another adaptor if asked.
///
/// # Panics
/// As [`shipped_engine`].
pub fn with_offsets(key: &str, offsets: usize, adaptors: bool) -> Layout {
    let mut layout = shipped_engine(key);
    let cylinders: Vec<u8> = layout.cylinders().collect();
    layout.working_positions = cylinders
        .iter()
        .map(|c| WorkingPosition {
            cylinder: *c,
            offsets_deg: (0..offsets)
                .map(|i| f64::from(*c) + 12.0 * i as f64 - 12.0)
                .collect(),
            why: "something is in the way".to_owned(),
        })
        .collect();
    layout.adaptors.clear();
    if adaptors {
        for cylinder in cylinders {
            for (valve, adaptor) in [("intake 1", "short"), ("exhaust 2", "angled")] {
                layout.adaptors.push(AdaptorRule {
                    cylinder,
                    valve: valve.to_owned(),
                    adaptor: adaptor.to_owned(),
                });
            }
        }
    }
    layout
}
