//! A sheet of paper with a pen, and a bay into which it is entered.

use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{
    CrankAt, Event, JobState, PaperBatch, PaperLeak, PaperRefusal, PaperSheet, PaperWalk, Person,
    Reading, Refusal, Stage, Step, paper_hash,
};
use trayzero_core::plan::{OrderQuestion, working_order};
use trayzero_tests::bay::{Bay, SECOND};
use trayzero_tests::entries::id_of;
use uuid::Uuid;

/// The working order as the sheet prints it.
pub fn order_of(layout: &Layout) -> Vec<(CrankAt, Vec<String>)> {
    let order = working_order(&OrderQuestion::at_start(layout)).unwrap();
    let stops = order.stops.into_iter().map(|stop| {
        let at = CrankAt {
            cylinder: stop.cylinder,
            offset_deg: stop.offset_deg,
        };
        (at, stop.adaptors)
    });
    stops.collect()
}

/// Everything ticked and written up to the gate, with what the job lacks of it.
pub fn all_ticked(job: &JobState) -> PaperSheet {
    let layout = job.layout().unwrap();
    let mut sheet = PaperSheet::default();
    sheet.steps.extend(Step::BEFORE);
    sheet
        .kit
        .extend(layout.kit_list().into_iter().map(|l| l.item));
    sheet.seals = Some(job.seals_short()).filter(|short| *short > 0);
    for cylinder in layout.cylinders() {
        if job.leak(cylinder, Reading::Before).is_none() {
            sheet.leaks.push(leak(cylinder, Reading::Before));
        }
        if !job.cylinder_verified(cylinder) && job.air_on().is_none_or(|(on, _)| on != cylinder) {
            sheet.air_bar.insert(cylinder, 3.5);
        }
    }
    for valve in layout.valves() {
        tick_up_to(&mut sheet, valve, Stage::Verified);
    }
    sheet
}

pub fn leak(cylinder: u8, when: Reading) -> PaperLeak {
    PaperLeak {
        cylinder,
        when,
        supply_bar: 6.0,
        cylinder_bar: 5.5,
        heard: Vec::new(),
    }
}

pub fn tick_up_to(sheet: &mut PaperSheet, valve: ValveName, last: Stage) {
    let stages = Stage::ALL.into_iter().filter(|stage| *stage <= last);
    sheet.stages.extend(stages.map(|stage| (valve, stage)));
}

pub fn walk(job: &JobState, sheet: &PaperSheet) -> Result<PaperWalk, PaperRefusal> {
    let order = order_of(job.layout().unwrap());
    let mut number = job.event_count() as u64 * 10_000;
    job.walk_paper(sheet, &order, || {
        number += 1;
        id_of(1 << 45 | number)
    })
}

/// The event that opens a batch of these lines, done up to now.
pub fn opener(bay: &mut Bay, lines: &[(Uuid, Event)]) -> Event {
    Event::EnteredFromPaper(Box::new(PaperBatch {
        lines: lines.len() as u32,
        sha256: paper_hash(lines.iter().map(|(_, event)| event)).unwrap(),
        done_by: Person::new(SECOND),
        done_ms: bay.scribe.at_ms,
        done_offset_min: 60,
        by: bay.scribe.sign(SECOND),
    }))
}

/// Enters lines under an opener; gives the identity of the batch.
pub fn enter_under(bay: &mut Bay, opener: Event, lines: &[(Uuid, Event)]) -> Result<Uuid, Refusal> {
    let batch = bay.must(opener);
    bay.scribe.paper = Some(batch);
    for (id, event) in lines {
        bay.scribe.next = Some(*id);
        bay.propose(event.clone())?;
    }
    bay.scribe.paper = None;
    Ok(batch)
}

/// Enters a sheet; gives the batch.
pub fn enter(bay: &mut Bay, sheet: &PaperSheet) -> Uuid {
    let walk = walk(&bay.job, sheet).unwrap();
    let opener = opener(bay, &walk.lines);
    enter_under(bay, opener, &walk.lines).unwrap()
}

/// Who enters and takes back.
pub fn by_whom() -> &'static str {
    SECOND
}
