//! The record of a job: everything a person reads when the customer comes back, as data.
//!
//! [`Record::of`] gathers it from the state and the entries behind it; it is rendered
//! elsewhere. Its JSON has stable snake-case names with units in them; the JSON Schema
//! in `assets/schema/record.schema.json` describes it field for field. Sentences are the
//! readers' business, with two exceptions: a conflict carries its reason in English, and
//! so does an oil rate that cannot be given.
//!
//! [`evidence()`], [`order_list()`] and [`open_points()`] need no entries and serve screens too.

mod closings;
mod conflicts;
mod drops;
mod event_summary;
mod evidence;
mod findings;
mod follow_up;
mod held;
mod leak_down;
mod not_signed;
mod open_points;
mod order_list;
mod paper;
mod parts;
mod pictures;
mod signatures;
mod stamp;
mod take_in;
mod time_spent;
mod timeline;
mod valves;

use serde::Serialize;
use uuid::Uuid;

pub use closings::{Closing, CountPair, OtherCount};
pub use conflicts::{Against, Because, ConflictLine, Resolved, WithdrawnLine};
pub use drops::{DropLine, Ending};
pub use event_summary::EventSummary;
pub use evidence::{EvidenceLine, Reason, Speaks, Suspect, evidence};
pub use findings::{FindingLine, FindingName, clearance_mm};
pub use follow_up::{FollowUpLine, follow_ups, oil_before_work};
pub use held::HeldBy;
pub use leak_down::{LeakLine, LeakSide};
pub use not_signed::NotSignedLine;
pub use open_points::{OpenPoint, open_points};
pub use order_list::{OrderListRow, counted_as, order_list};
pub use paper::PaperLine;
pub use parts::{KitRow, PartLine};
pub use pictures::{PictureFound, PictureLine};
pub use signatures::{SignatureLine, SignedFor};
pub use stamp::{By, Stamp};
pub use take_in::{OilUse, TakeInLine, TopUpLine, oil_use};
pub use time_spent::{PhaseLine, TimeSpent};
pub use valves::{Replaced, StageLine, ValveLine};

use crate::bench::OilSince;
use crate::engine::{Bank, Layout};
use crate::job::{Caution, Entry, Event, JobPhase, JobState, Person, Refusal, Step};
use crate::journal::JournalWhy;
use crate::phases::JobClock;
use crate::shop_log::NotSigned;
use timeline::Timeline;

/// Version of the record's JSON.
pub const RECORD_FORMAT: u32 = 1;

/// Hex digits of the check value.
pub const CHECK_DIGITS: usize = 12;

/// How the job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum JobStatus {
    /// Work goes on.
    UnderWay,
    /// Work rests.
    Resting,
    /// Finished: every bank is closed and somebody signed for the whole job.
    Finished,
    /// Ended unfinished.
    Stopped,
}

impl JobStatus {
    /// Whether the record is that of a whole job.
    pub fn is_finished(self) -> bool {
        self == JobStatus::Finished
    }
}

/// What a reader has to know of the layout.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LayoutLine {
    /// Its name.
    pub name: String,
    /// Its banks, cylinders front to back.
    pub banks: Vec<Bank>,
    /// Angle between the banks, degrees.
    pub bank_angle_deg: f64,
    /// Firing order.
    pub firing_order: Vec<u8>,
    /// Intake valves of a cylinder.
    pub intake_valves: u8,
    /// Exhaust valves of a cylinder.
    pub exhaust_valves: u8,
}

impl LayoutLine {
    fn of(layout: &Layout) -> Self {
        Self {
            name: layout.name.clone(),
            banks: layout.banks.clone(),
            bank_angle_deg: layout.bank_angle_deg,
            firing_order: layout.firing_order.clone(),
            intake_valves: layout.intake_valves,
            exhaust_valves: layout.exhaust_valves,
        }
    }
}

/// The people of the job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct People {
    /// Technicians of the bay, each from when on.
    pub technicians: Vec<By>,
    /// Everyone who signed anything, in the order of the first signature.
    pub signers: Vec<Person>,
}

/// A short step and who saw it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepLine {
    /// The step.
    pub step: Step,
    /// Whether it comes before the first valve; the others come after the last.
    pub before: bool,
    /// Who saw it, and when; `None` while nobody has.
    pub seen: Option<By>,
}

/// A caution and who acknowledged it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CautionLine {
    /// The caution.
    pub caution: Caution,
    /// Who, and when.
    #[serde(flatten)]
    pub by: By,
}

/// Something said in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NoteLine {
    /// Which kind of words.
    pub kind: NoteKind,
    /// The words.
    pub text: String,
    /// Who, and when.
    #[serde(flatten)]
    pub by: By,
}

/// Kinds of words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoteKind {
    /// A note.
    Noted,
    /// Why work rested.
    Paused,
    /// Why the job was stopped.
    Stopped,
}

/// Breakaway torque of the engine as the job had it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BreakawayLine {
    /// Torque that just moves the crank with the plugs out, newton metres.
    pub torque_nm: f64,
    /// Whether it was read on a wrench; assumed otherwise.
    pub measured: bool,
}

/// A journal that does not hold to its end: the record rests on its good lines alone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct JournalFaultLine {
    /// The tablet that wrote it.
    pub tablet: Uuid,
    /// The first line that does not hold, counted from 1.
    pub line: u64,
    /// The field at fault; empty where the line as a whole is meant.
    pub field: String,
    /// What is wrong with it; in files in English.
    pub why: JournalWhy,
}

/// The record of one job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Record {
    /// Version of these fields, [`RECORD_FORMAT`].
    pub format: u32,
    /// First digits of the journal's last link: equal values, equal journals.
    pub check_value: String,
    /// How the job stands.
    #[serde(rename = "standing")]
    pub status: JobStatus,
    /// Whether the job is finished; every reader must be told where it is not.
    pub finished: bool,
    /// Journals that do not hold to their end; set by whoever has read them.
    pub journal_faults: Vec<JournalFaultLine>,
    /// Events that are not in the record, because a signature on them does not count; set by
    /// whoever has judged them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_signed: Vec<NotSignedLine>,
    /// The vehicle, in the shop's words.
    pub vehicle: String,
    /// The customer's or the works order's number, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order_number: Option<String>,
    /// The bay.
    pub bay: String,
    /// The engine.
    pub layout: LayoutLine,
    /// When the job was opened.
    pub opened: Option<Stamp>,
    /// When it was finished or stopped.
    pub ended: Option<Stamp>,
    /// The latest event.
    pub latest: Option<Stamp>,
    /// Working minutes of the whole job: the sum of its phases, rests left out.
    pub working_min: f64,
    /// Where they went.
    pub time_spent: TimeSpent,
    /// The people.
    pub crew: People,
    /// The latest take-in note.
    pub take_in: Option<TakeInLine>,
    /// Oil topped up, and the rate.
    pub oil: OilUse,
    /// The evidence at take-in, never a diagnosis.
    pub evidence: Vec<EvidenceLine>,
    /// Breakaway torque.
    pub breakaway: BreakawayLine,
    /// Leak-down of every cylinder.
    pub leak_down: Vec<LeakLine>,
    /// Every valve.
    pub valves: Vec<ValveLine>,
    /// Every finding, on valves and cylinders, in the order noted.
    pub findings: Vec<FindingLine>,
    /// The order list.
    pub order_list: Vec<OrderListRow>,
    /// Parts: issued, used, spoiled, returned, left, scrapped.
    pub parts: Vec<PartLine>,
    /// Kit.
    pub kit: Vec<KitRow>,
    /// Every drop.
    pub drops: Vec<DropLine>,
    /// Every closing of a bank, with both counts.
    pub closings: Vec<Closing>,
    /// Counts that led to no closing.
    pub other_counts: Vec<OtherCount>,
    /// Every signature.
    pub signatures: Vec<SignatureLine>,
    /// Cautions acknowledged.
    pub cautions: Vec<CautionLine>,
    /// Short steps before and after.
    pub steps: Vec<StepLine>,
    /// Notes and reasons in words.
    pub notes: Vec<NoteLine>,
    /// Every picture, in the order added.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pictures: Vec<PictureLine>,
    /// What was done on paper and entered later, in the order entered.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub paper: Vec<PaperLine>,
    /// Oil used before the work, with errors of reading; only where something was seen after.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub oil_before: Option<OilSince>,
    /// What was seen after the vehicle left, the shortest way first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub follow_ups: Vec<FollowUpLine>,
    /// Conflicts, resolved ones too.
    pub conflicts: Vec<ConflictLine>,
    /// What is not as it is at the end of a whole job.
    pub open_points: Vec<OpenPoint>,
    /// What was taken back.
    pub withdrawn: Vec<WithdrawnLine>,
}

impl Record {
    /// Gathers the record of a job. `entries` are all entries that the state was folded
    /// from, in that order; `last_link` is the hex of the journal's last link; `why` says a
    /// refusal in English. `None` for a job that was never opened.
    pub fn of(
        state: &JobState,
        entries: &[Entry],
        last_link: &str,
        why: impl Fn(&Refusal) -> String,
    ) -> Option<Record> {
        let layout = state.layout()?;
        let timeline = Timeline::of(state, entries);
        let signatures = signatures::signature_lines(&timeline, layout);
        let (closings, other_counts) = closings::closings(&timeline, layout);
        let status = standing_of(state);
        let ended = moment(&timeline, |e| {
            matches!(e, Event::JobClosed { .. } | Event::JobStopped { .. })
        });
        let clock = JobClock::of(state);
        let followed = follow_ups(state);
        let (torque_nm, measured) = state.breakaway_nm().unwrap_or_default();
        Some(Record {
            format: RECORD_FORMAT,
            check_value: last_link.chars().take(CHECK_DIGITS).collect(),
            status,
            finished: status.is_finished(),
            journal_faults: Vec::new(),
            not_signed: Vec::new(),
            vehicle: state.vehicle().to_owned(),
            order_number: state.order_number().map(str::to_owned),
            bay: state.bay().to_owned(),
            layout: LayoutLine::of(layout),
            opened: moment(&timeline, |e| matches!(e, Event::JobOpened(_))),
            ended,
            latest: entries.iter().map(Stamp::of).max_by_key(|s| s.at_ms),
            working_min: clock.hours.total(),
            time_spent: time_spent::time_spent(&clock),
            crew: crew(&timeline, &signatures),
            take_in: take_in::take_in_line(state),
            oil: oil_use(state),
            evidence: evidence(state),
            breakaway: BreakawayLine {
                torque_nm,
                measured,
            },
            leak_down: leak_down::leak_lines(state, layout),
            valves: valves::valve_lines(&timeline, layout, &clock),
            findings: findings::findings_of(&timeline, layout),
            order_list: order_list(state),
            parts: parts::part_lines(&timeline),
            kit: parts::kit_lines(&timeline),
            drops: drops::drop_lines(&timeline),
            closings,
            other_counts,
            signatures,
            cautions: cautions(&timeline),
            steps: steps(state),
            notes: notes(&timeline),
            pictures: pictures::picture_lines(state),
            paper: paper::paper_lines(state),
            oil_before: oil_before_work(state).filter(|_| !followed.is_empty()),
            follow_ups: followed.into_iter().map(|(_, line)| line).collect(),
            conflicts: conflicts::conflict_lines(&timeline, layout, why),
            open_points: open_points(state),
            withdrawn: conflicts::withdrawn_lines(&timeline, layout),
        })
    }

    /// Tells of events that the state was not folded from, because a signature on them does
    /// not count.
    pub fn tell_not_signed(&mut self, state: &JobState, not_signed: &[NotSigned]) {
        if let Some(layout) = state.layout() {
            let lines = not_signed.iter().map(|n| NotSignedLine::of(layout, n));
            self.not_signed = lines.collect();
        }
    }

    /// Whether it rests on journals that hold, and everything in them counts.
    pub fn is_whole(&self) -> bool {
        self.journal_faults.is_empty() && self.not_signed.is_empty()
    }
}

/// The moment of the latest standing event of a kind.
fn moment(timeline: &Timeline, is_kind: impl Fn(&Event) -> bool) -> Option<Stamp> {
    let mut latest_first = timeline.standing.iter().rev();
    let entry = latest_first.find(|e| is_kind(&e.event))?;
    Some(Stamp::of(entry))
}

/// The name of a bank by its index; empty for one that the engine does not have.
fn bank_name(layout: &Layout, index: usize) -> String {
    layout
        .banks
        .get(index)
        .map(|b| b.name.clone())
        .unwrap_or_default()
}

fn standing_of(state: &JobState) -> JobStatus {
    match state.phase() {
        JobPhase::Unopened | JobPhase::Open => JobStatus::UnderWay,
        JobPhase::Paused => JobStatus::Resting,
        JobPhase::Closed => JobStatus::Finished,
        JobPhase::Stopped => JobStatus::Stopped,
    }
}

fn crew(timeline: &Timeline, signatures: &[SignatureLine]) -> People {
    let technicians = timeline.standing.iter().filter_map(|e| match &e.event {
        Event::JobOpened(opening) => Some(By::signed(e, &opening.technician)),
        Event::TakenOver { by } => Some(By::signed(e, &by.person)),
        _ => None,
    });
    let mut signers: Vec<Person> = Vec::new();
    for signature in signatures {
        if !signers.contains(&signature.by.who) {
            signers.push(signature.by.who.clone());
        }
    }
    People {
        technicians: technicians.collect(),
        signers,
    }
}

fn cautions(timeline: &Timeline) -> Vec<CautionLine> {
    let seen = timeline.standing.iter().filter_map(|e| match e.event {
        Event::CautionSeen { caution } => Some(CautionLine {
            caution,
            by: By::of(e),
        }),
        _ => None,
    });
    seen.collect()
}

fn steps(state: &JobState) -> Vec<StepLine> {
    let before = Step::BEFORE.into_iter().map(|s| (s, true));
    let after = Step::AFTER.into_iter().map(|s| (s, false));
    before
        .chain(after)
        .map(|(step, before)| StepLine {
            step,
            before,
            seen: state.step_seen(step).map(By::of_fact),
        })
        .collect()
}

fn notes(timeline: &Timeline) -> Vec<NoteLine> {
    let said = timeline.standing.iter().filter_map(|e| {
        let (kind, text) = match &e.event {
            Event::Noted { text } => (NoteKind::Noted, text),
            Event::Paused { why } => (NoteKind::Paused, why),
            Event::JobStopped { why, .. } => (NoteKind::Stopped, why),
            _ => return None,
        };
        Some(NoteLine {
            kind,
            text: text.clone(),
            by: By::of(e),
        })
    });
    said.collect()
}
