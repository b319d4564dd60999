//! What leads to a refusal: bays at some point of the work.

use trayzero_core::job::{Event, NextStep, PICTURES_MAX, Reading, Stage};
use trayzero_tests::bay::{Bay, SECOND};
use trayzero_tests::engines::{bucket_cylinder, one_cylinder, two_cylinders, with_offsets};

use super::events::{HASH, picture};

pub fn empty() -> Bay {
    Bay::empty()
}

pub fn opened() -> Bay {
    Bay::open(one_cylinder())
}

/// A job with as many pictures as there may be.
pub fn full_of_pictures() -> Bay {
    let mut bay = opened();
    for _ in 0..PICTURES_MAX {
        bay.must(picture(HASH));
    }
    bay
}

pub fn opened_two() -> Bay {
    Bay::open(two_cylinders())
}

/// The kit is counted in as well.
pub fn kitted() -> Bay {
    let mut bay = opened_two();
    bay.work_until(|_, step| matches!(step, NextStep::PlugsOut { .. }));
    bay
}

/// The crank stands at the top at which the first leak-down is read.
pub fn at_first_top() -> Bay {
    let mut bay = opened();
    bay.work_until(|_, step| matches!(step, NextStep::ReadLeak { .. }));
    bay
}

/// Cylinder 1 is read; the crank is to be turned to the next one.
pub fn read_through_one_hole() -> Bay {
    let mut bay = opened_two();
    bay.work_until(|job, _| job.leak(1, Reading::Before).is_some());
    bay
}

/// The crank stands where a cylinder is worked, off its top.
pub fn off_its_top() -> Bay {
    let mut bay = Bay::open(with_offsets("inline-4-8v", 1, false));
    bay.work_until(|_, step| matches!(step, NextStep::HoseIn { .. }));
    bay
}

/// Works until a stage of any valve comes next.
pub fn before(mut bay: Bay, wanted: Stage) -> Bay {
    bay.work_until(|_, step| matches!(step, NextStep::SeeStage { stage, .. } if *stage == wanted));
    bay
}

pub fn before_spring_held() -> Bay {
    before(opened(), Stage::SpringHeld)
}

pub fn before_locks_out() -> Bay {
    before(opened(), Stage::LocksOut)
}

pub fn unlocked() -> Bay {
    before(opened(), Stage::SealFitted)
}

/// The first valve is to be verified, and its shim lies with the other one.
pub fn swapped() -> Bay {
    let bay = before(Bay::open(bucket_cylinder()), Stage::Verified);
    with(bay, [super::events::shims_swapped()])
}

/// Everything is verified, and clearing the bank comes next.
pub fn before_clearing() -> Bay {
    let mut bay = opened();
    bay.work_until(|_, step| matches!(step, NextStep::ClearBank { .. }));
    bay
}

/// The bank is clear, and the counts come next.
pub fn at_the_gate() -> Bay {
    let mut bay = opened();
    bay.work_until(|_, step| matches!(step, NextStep::Gate { .. }));
    bay
}

pub fn bank_closed() -> Bay {
    let mut bay = opened();
    bay.work_until(|job, _| job.is_bank_closed(0));
    bay
}

pub fn closed() -> Bay {
    let mut bay = opened();
    bay.work_to_the_end();
    bay
}

/// Another tablet has told that a hose came out where none was in.
pub fn hose_told() -> Bay {
    told(opened(), Event::HoseOut { cylinder: 1 })
}

/// Another tablet has told that the wrench came off where it was not on.
pub fn wrench_told() -> Bay {
    told(kitted(), Event::WrenchOff {})
}

/// Another tablet has told what cannot stand here.
pub fn told(mut bay: Bay, event: Event) -> Bay {
    let told = trayzero_tests::entries::Scribe::new(2, SECOND).entry(event);
    assert_eq!(bay.job.fold(&told), None);
    bay
}

pub fn with(mut bay: Bay, events: impl IntoIterator<Item = Event>) -> Bay {
    for event in events {
        bay.must(event);
    }
    bay
}
