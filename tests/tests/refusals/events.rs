//! The events that are refused.

use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    CrankAt, Event, Finding, FindingKind, FollowUp, MediaType, NextStep, PaperBatch, Person,
    Picture, PictureOf, Reading, SearchPlace, Sight, Stage,
};
use trayzero_core::parts::{Item, Place};
use trayzero_tests::bay::{Bay, FIRST, SECOND, true_lines};
use uuid::Uuid;

pub const NOWHERE: Uuid = Uuid::from_u128(7);
pub const INTAKE: ValveName = ValveName::new(1, Side::Intake, 1);
pub const AT_1: CrankAt = CrankAt {
    cylinder: 1,
    offset_deg: 0.0,
};
pub const AT_2: CrankAt = CrankAt {
    cylinder: 2,
    offset_deg: 0.0,
};

pub fn close_bank(bay: &mut Bay) -> Event {
    Event::BankClosed {
        bank: 0,
        by: bay.scribe.sign(FIRST),
    }
}

pub fn close_job(bay: &mut Bay) -> Event {
    Event::JobClosed {
        by: bay.scribe.sign(FIRST),
    }
}

pub fn seen(valve: ValveName, stage: Stage, locks_dropped: u8) -> Event {
    Event::StageSeen {
        valve,
        stage,
        locks_dropped,
        seals_spoiled: 0,
    }
}

pub fn next_stage(bay: &mut Bay) -> Event {
    let NextStep::SeeStage { valve, stage } = bay.job.next_step(None) else {
        panic!("{:?}", bay.job.next_step(None));
    };
    seen(valve, stage, 0)
}

pub fn turn(from: Option<CrankAt>, to: CrankAt, turn_deg: f64) -> Event {
    Event::CrankTurned { from, to, turn_deg }
}

pub fn leak(cylinder_bar: f64) -> Event {
    Event::LeakRead {
        cylinder: 1,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar,
        heard: Vec::new(),
    }
}

pub fn found(dropped: Uuid) -> Event {
    Event::PartFound {
        dropped,
        found_at: SearchPlace::Sump,
        to: Place::Kit,
    }
}

pub fn drop_stopper() -> Event {
    Event::PartDropped {
        item: Item::Stopper,
        count: 1,
        from: Place::Kit,
        bank: None,
        valve: None,
    }
}

/// A resolution of the first conflict.
pub fn resolution(bay: &mut Bay, seen: Vec<Sight>) -> Event {
    Event::ConflictResolved {
        conflict: bay.job.conflicts()[0].entry.id,
        by: bay.scribe.sign(FIRST),
        note: String::new(),
        seen,
        second: None,
    }
}

pub fn last(bay: &Bay) -> Uuid {
    bay.entries.last().unwrap().id
}

/// Two counts, each with so many more than the truth on the first line.
pub fn counted(bay: &mut Bay, more: [u32; 2]) {
    for (person, more) in [FIRST, SECOND].into_iter().zip(more) {
        let mut lines = true_lines(&bay.job);
        lines[0].count += more;
        let by = bay.scribe.sign(person);
        bay.must(Event::BlindCount { by, lines });
    }
}

pub fn shims_swapped() -> Event {
    Event::PartsSwapped {
        item: Item::Shim,
        valve: INTAKE,
        own: ValveName::new(1, Side::Exhaust, 1),
    }
}

pub const HASH: &str = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";

/// A picture of the job under a name.
pub fn picture(sha256: &str) -> Event {
    Event::PictureAdded(Box::new(Picture {
        sha256: sha256.into(),
        bytes: 1_000,
        media: MediaType::Jpeg,
        copy_sha256: HASH.into(),
        copy_bytes: 100,
        of: PictureOf::Job {},
        remark: String::new(),
    }))
}

/// Seen so many kilometres after the work.
pub fn followed_up(bay: &mut Bay, distance_km: f64) -> Event {
    Event::FollowedUp {
        by: bay.scribe.sign(FIRST),
        seen: Box::new(FollowUp {
            distance_km,
            litres: 0.2,
            ..FollowUp::default()
        }),
    }
}

/// One line from paper, done up to that time.
pub fn paper(bay: &mut Bay, done_ms: i64) -> Event {
    Event::EnteredFromPaper(Box::new(PaperBatch {
        lines: 1,
        sha256: HASH.into(),
        done_by: Person::new(SECOND),
        done_ms,
        done_offset_min: 60,
        by: bay.scribe.sign(FIRST),
    }))
}

/// A valve that fell into its cylinder.
pub fn fell(valve: ValveName) -> Event {
    Event::FindingNoted(Box::new(Finding {
        cylinder: valve.cylinder,
        valve: Some(valve),
        kind: FindingKind::ValveFell,
        text: String::new(),
    }))
}

/// A good reading of a cylinder before the work.
pub fn leak_of(cylinder: u8) -> Event {
    Event::LeakRead {
        cylinder,
        when: Reading::Before,
        supply_bar: 6.0,
        cylinder_bar: 5.7,
        heard: Vec::new(),
    }
}
