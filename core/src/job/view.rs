//! What screens, the board and the record ask of a job's state.

use std::sync::Arc;

use uuid::Uuid;

use super::state::HistoryEntry;
use super::{
    BankState, Caution, Conflict, CountTaken, CrankAt, CylinderState, Drop, DropStatus, Event,
    Fact, FindingKind, JobPhase, JobState, Person, Picture, PictureOf, Reading, Refusal,
    SearchPlace, Step, TakeIn, TimedEvent, ValveState,
};
use crate::engine::{Layout, ValveName, wrap_720};
use crate::parts::{Item, Ledger, Place};

/// A leak-down reading of one cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct LeakReading<'a> {
    /// The event that holds it.
    pub fact: &'a Fact,
    /// The cylinder.
    pub cylinder: u8,
    /// Gauge pressure before the tester's orifice, bar.
    pub supply_bar: f64,
    /// Gauge pressure in the cylinder, bar.
    pub cylinder_bar: f64,
    /// Where the leaking air was heard.
    pub heard: &'a [super::HeardAt],
}

impl LeakReading<'_> {
    /// Loss in percent of the supply, as the tester shows it.
    pub fn loss_percent(&self) -> f64 {
        loss_percent(self.supply_bar, self.cylinder_bar)
    }
}

/// Loss in percent: (supply - cylinder) / supply. Both gauge, supply above zero.
pub(super) fn loss_percent(supply_bar: f64, cylinder_bar: f64) -> f64 {
    (supply_bar - cylinder_bar) / supply_bar * 100.0
}

/// Above this loss in percent the leak is to be found first (common practice, no source).
pub const LOSS_LIMIT_PERCENT: f64 = 30.0;

impl JobPhase {
    /// Whether the work is over.
    pub fn is_over(self) -> bool {
        matches!(self, Self::Closed | Self::Stopped)
    }
}

impl JobState {
    /// How far the job as a whole is.
    pub fn phase(&self) -> JobPhase {
        self.phase
    }

    /// The engine; `None` before the job is opened.
    pub fn layout(&self) -> Option<&Layout> {
        self.layout.as_deref()
    }

    /// The engine, shared.
    pub fn layout_arc(&self) -> Option<Arc<Layout>> {
        self.layout.clone()
    }

    /// The vehicle, in the shop's words.
    pub fn vehicle(&self) -> &str {
        &self.vehicle
    }

    /// The customer's or the works order's number, where there is one.
    pub fn order_number(&self) -> Option<&str> {
        self.order_number.as_deref()
    }

    /// The bay.
    pub fn bay(&self) -> &str {
        &self.bay
    }

    /// The technician who has the bay now.
    pub fn technician(&self) -> Option<&Person> {
        self.technician.as_ref()
    }

    /// The tablet that the job was handed to last, or at which a person has taken it over
    /// since.
    pub fn holder(&self) -> Option<Uuid> {
        self.holder
    }

    /// Wall clock in milliseconds when the job was opened.
    pub fn started_ms(&self) -> i64 {
        self.started_ms
    }

    /// Wall clock in milliseconds of the latest event.
    pub fn last_ms(&self) -> i64 {
        self.last_ms
    }

    /// The event that closed or stopped the job; `None` while it is not over.
    pub(super) fn ending(&self) -> Option<&HistoryEntry> {
        let ends = |e: &Event| matches!(e, Event::JobClosed { .. } | Event::JobStopped { .. });
        let mut latest_first = self.history.iter().rev();
        latest_first
            .find(|past| ends(&past.event) && !past.withdrawn)
            .filter(|_| matches!(self.phase, JobPhase::Closed | JobPhase::Stopped))
    }

    /// Wall clock in milliseconds when the job was closed or stopped; `None` while it is not
    /// over.
    pub fn ended_ms(&self) -> Option<i64> {
        self.ending().map(|past| past.at_ms)
    }

    /// Where what fell was found; `None` where it was not.
    pub fn found_at(&self, drop: &Drop) -> Option<SearchPlace> {
        let DropStatus::Found(event) = drop.status else {
            return None;
        };
        match self.event_of(event) {
            Some(Event::PartFound { found_at, .. }) => Some(*found_at),
            _ => None,
        }
    }

    /// Wall clock in milliseconds since when work rests.
    pub fn paused_since_ms(&self) -> Option<i64> {
        self.paused_since_ms
    }

    /// Where the crank stands; `None` until it was turned to a working position, and again
    /// once the engine has run: it stops where it likes.
    pub fn crank(&self) -> Option<CrankAt> {
        self.turned_to.filter(|_| !self.has_run_since_the_turn())
    }

    fn has_run_since_the_turn(&self) -> bool {
        let Some(run) = self.step_seen(Step::FirstStart) else {
            return false;
        };
        let later = self.history.iter().rev().take_while(|p| p.id != run.id);
        let mut standing = later.filter(|p| !p.withdrawn);
        let is_turned_anew = standing.any(|p| matches!(p.event, Event::CrankTurned { .. }));
        // Where something holds the crank after all, told by another tablet, it stands there.
        !is_turned_anew && self.what_stops_the_crank().is_none()
    }

    /// Crank angle in degrees, 0 to 720; `None` while unknown.
    pub fn crank_deg(&self) -> Option<f64> {
        let at = self.crank()?;
        let tdc = self.layout()?.tdc_deg(at.cylinder)?;
        Some(wrap_720(tdc + at.offset_deg))
    }

    /// Whether the wrench is on the crank.
    pub fn wrench_on(&self) -> bool {
        self.wrench_on
    }

    /// What is known of a cylinder, by its number.
    pub fn cylinder(&self, number: u8) -> Option<&CylinderState> {
        self.cylinders.get(self.layout()?.cylinder_index(number)?)
    }

    /// What is known of a valve.
    pub fn valve(&self, name: ValveName) -> Option<&ValveState> {
        self.valves.get(self.layout()?.valve_index(name)?)
    }

    /// Every valve with what is known of it.
    pub fn valves(&self) -> impl Iterator<Item = (ValveName, &ValveState)> {
        self.layout()
            .into_iter()
            .flat_map(Layout::valves)
            .zip(self.valves.iter())
    }

    /// The valves of one cylinder with what is known of them.
    pub fn valves_of(&self, cylinder: u8) -> impl Iterator<Item = (ValveName, &ValveState)> {
        let layout = self.layout();
        layout
            .into_iter()
            .flat_map(move |l| l.valves_of(cylinder))
            .filter_map(|v| self.valve(v).map(|known| (v, known)))
    }

    /// What is known of a bank, by its index.
    pub fn bank(&self, index: usize) -> Option<&BankState> {
        self.banks.get(index)
    }

    /// How many banks there are.
    pub fn bank_count(&self) -> usize {
        self.banks.len()
    }

    /// Whether a bank is closed: its cover went on through the gate.
    pub fn is_bank_closed(&self, index: usize) -> bool {
        self.banks.get(index).is_some_and(|b| b.closed_in.is_some())
    }

    /// How many valves are verified.
    pub fn verified_count(&self) -> usize {
        self.valves.iter().filter(|v| v.is_verified()).count()
    }

    /// Whether all valves of a cylinder are verified.
    pub fn cylinder_verified(&self, cylinder: u8) -> bool {
        self.valves_of(cylinder).all(|(_, v)| v.is_verified())
    }

    /// Whether all valves of a bank are verified.
    pub fn bank_verified(&self, bank: usize) -> bool {
        self.layout()
            .and_then(|l| l.banks.get(bank))
            .is_some_and(|b| b.cylinders.iter().all(|c| self.cylinder_verified(*c)))
    }

    /// The cylinder with air on, and its gauge pressure in bar.
    pub fn air_on(&self) -> Option<(u8, f64)> {
        let layout = self.layout()?;
        layout
            .cylinders()
            .zip(&self.cylinders)
            .find_map(|(number, c)| c.air_bar.map(|bar| (number, bar)))
    }

    /// Wall clock in milliseconds since when air is on in a cylinder. Reading the regulator
    /// anew does not begin it anew.
    pub fn air_since_ms(&self, of: u8) -> Option<i64> {
        self.cylinder(of)?.air_bar?;
        let went_on = |past: &&HistoryEntry| {
            let here = matches!(past.event, Event::AirOn { cylinder, .. } if cylinder == of);
            here && !past.withdrawn
        };
        self.history.iter().rev().find(went_on).map(|p| p.at_ms)
    }

    /// Every valve that only air or a mechanical hold keeps up.
    pub fn unlocked(&self) -> impl Iterator<Item = ValveName> + '_ {
        self.valves()
            .filter(|(_, v)| v.is_unlocked())
            .map(|(name, _)| name)
    }

    /// The parts ledger.
    pub fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// How many parts lie loose in the tray.
    pub fn loose(&self) -> u32 {
        self.ledger.sum_at(Place::Tray)
    }

    /// How many pieces of kit are in or on the engine.
    pub fn aboard(&self) -> u32 {
        self.ledger.sum_at(Place::Aboard)
    }

    /// How many parts are adrift.
    pub fn adrift(&self) -> u32 {
        self.ledger.sum_at(Place::Adrift)
    }

    /// Kit aboard a bank: what is put there, and what sits in its plug holes.
    pub fn aboard_bank(&self, bank: usize) -> impl Iterator<Item = (Item, u32)> + '_ {
        let cylinders = self
            .layout()
            .and_then(|l| l.banks.get(bank))
            .map_or(&[][..], |b| &b.cylinders[..]);
        let count = |test: fn(&CylinderState) -> bool| {
            cylinders
                .iter()
                .filter(|c| self.cylinder(**c).is_some_and(test))
                .count() as u32
        };
        let covers = count(|c| c.vented_cover_in);
        let hoses = count(|c| c.hose_in);
        let holes = [(Item::VentedCover, covers), (Item::Hose, hoses)];
        let put = self.banks.get(bank).into_iter().flat_map(|b| &b.aboard);
        holes
            .into_iter()
            .filter(|(_, n)| *n > 0)
            .chain(put.map(|(i, n)| (i.clone(), *n)))
    }

    /// Every drop, with how it ended.
    pub fn drops(&self) -> &[Drop] {
        &self.drops
    }

    /// Drops not found yet.
    pub fn drops_adrift(&self) -> impl Iterator<Item = &Drop> {
        self.drops.iter().filter(|d| d.status == DropStatus::Adrift)
    }

    /// A drop by the event that reported it.
    pub fn drop_of(&self, id: Uuid) -> Option<&Drop> {
        self.drops.iter().find(|d| d.id == id)
    }

    /// How many changes moved items or valves so far; blind counts lean on it.
    pub fn moves(&self) -> u64 {
        self.moves
    }

    /// Every blind count ever taken.
    pub fn counts(&self) -> &[CountTaken] {
        &self.counts
    }

    /// Conflicts, resolved ones too.
    pub fn conflicts(&self) -> &[Conflict] {
        &self.conflicts
    }

    /// Conflicts that nobody has resolved yet.
    pub fn open_conflicts(&self) -> impl Iterator<Item = &Conflict> {
        self.conflicts.iter().filter(|c| c.resolved_by.is_none())
    }

    /// Things noted, in order.
    pub fn facts(&self) -> &[Fact] {
        &self.facts
    }

    /// The pictures that were added, in order, each with who added it.
    pub fn pictures(&self) -> impl Iterator<Item = (&Fact, &Picture)> {
        self.facts.iter().filter_map(|fact| match &fact.event {
            Event::PictureAdded(picture) => Some((fact, &**picture)),
            _ => None,
        })
    }

    /// The valve that a picture belongs to, also by what was found on it or fell from it.
    pub fn valve_of(&self, picture: &Picture) -> Option<ValveName> {
        match picture.of {
            PictureOf::Valve { valve } => Some(valve),
            PictureOf::Finding { event } => match &self.fact_of(event)?.event {
                Event::FindingNoted(finding) => finding.valve,
                _ => None,
            },
            PictureOf::Drop { event } => self.drop_of(event)?.valve,
            PictureOf::Job {} | PictureOf::TakeIn {} | PictureOf::Count { .. } => None,
        }
    }

    /// The latest take-in.
    pub fn take_in_note(&self) -> Option<&TakeIn> {
        self.facts.iter().rev().find_map(|f| match &f.event {
            Event::TakeInNoted(take_in) => Some(&**take_in),
            _ => None,
        })
    }

    /// The latest leak-down reading of a cylinder.
    pub fn leak(&self, of: u8, reading: Reading) -> Option<LeakReading<'_>> {
        self.facts.iter().rev().find_map(|fact| match &fact.event {
            Event::LeakRead {
                cylinder,
                when,
                supply_bar,
                cylinder_bar,
                heard,
            } if *cylinder == of && *when == reading => Some(LeakReading {
                fact,
                cylinder: of,
                supply_bar: *supply_bar,
                cylinder_bar: *cylinder_bar,
                heard,
            }),
            _ => None,
        })
    }

    /// Whether a cylinder's latest reading is past the limit and no foreman has agreed.
    pub fn foreman_wanted(&self, of: u8) -> Option<f64> {
        let reading = self.leak(of, Reading::Before)?;
        let loss = reading.loss_percent();
        // An agreement covers the reading that the foreman saw, not a later one.
        let agreed = self
            .facts
            .iter()
            .rev()
            .take_while(|f| f.id != reading.fact.id)
            .any(|f| matches!(&f.event, Event::ForemanAgreed { cylinder, .. } if *cylinder == of));
        (loss > LOSS_LIMIT_PERCENT && !agreed).then_some(loss)
    }

    /// Every cylinder that the foreman has to look at, with its loss in percent.
    pub fn foreman_waited_for(&self) -> impl Iterator<Item = (u8, f64)> {
        let cylinders = self.layout().into_iter().flat_map(Layout::cylinders);
        cylinders.filter_map(|cylinder| Some((cylinder, self.foreman_wanted(cylinder)?)))
    }

    /// Whether nobody should walk away from the engine as it stands: a valve is unlocked, a
    /// spring is held, or air is on.
    pub fn stands_open(&self) -> bool {
        let hangs = |valve: &ValveState| valve.is_unlocked() || valve.is_spring_held();
        self.air_on().is_some() || self.valves().any(|(_, valve)| hangs(valve))
    }

    /// Whether an unlocked valve was told to have fallen into its cylinder.
    pub fn valve_fell(&self, valve: ValveName) -> bool {
        let is_told = |fact: &Fact| match &fact.event {
            Event::FindingNoted(finding) => {
                finding.valve == Some(valve) && finding.kind == FindingKind::ValveFell
            }
            _ => false,
        };
        self.valve(valve).is_some_and(ValveState::is_unlocked) && self.facts.iter().any(is_told)
    }

    /// Why a job may not be stopped unfinished as the engine stands, whatever the reason.
    pub fn objection_to_stop(&self) -> Option<Refusal> {
        self.check_stop("").err()
    }

    /// When a step was seen, if it was.
    pub fn step_seen(&self, wanted: Step) -> Option<&Fact> {
        self.facts
            .iter()
            .rev()
            .find(|f| matches!(f.event, Event::StepSeen { step } if step == wanted))
    }

    /// Whether a caution was acknowledged in this job.
    pub fn caution_seen(&self, wanted: Caution) -> bool {
        self.facts
            .iter()
            .any(|f| matches!(f.event, Event::CautionSeen { caution } if caution == wanted))
    }

    /// Breakaway torque in newton metres and whether it was measured: on this job, or
    /// as the layout says.
    pub fn breakaway_nm(&self) -> Option<(f64, bool)> {
        let layout = self.layout()?;
        let measured = self.facts.iter().rev().find_map(|f| match f.event {
            Event::BreakawayMeasured { torque_nm } => Some((torque_nm, true)),
            _ => None,
        });
        Some(measured.unwrap_or((layout.breakaway_torque_nm, layout.breakaway_measured)))
    }

    /// The cylinder that the technician wants next, while it is not verified.
    pub fn wanted(&self) -> Option<u8> {
        let wanted = self.facts.iter().rev().find_map(|f| match f.event {
            Event::CylinderWanted { cylinder } => Some(cylinder),
            _ => None,
        })?;
        (!self.cylinder_verified(wanted)).then_some(wanted)
    }

    /// Cylinders that are put off and not verified yet.
    pub fn put_off(&self) -> Vec<u8> {
        let mut off: Vec<u8> = Vec::new();
        for fact in &self.facts {
            match fact.event {
                Event::CylinderPutOff { cylinder } => off.push(cylinder),
                Event::CylinderWanted { cylinder } => off.retain(|c| *c != cylinder),
                _ => {}
            }
        }
        let cylinders = self.layout().into_iter().flat_map(Layout::cylinders);
        cylinders
            .filter(|c| off.contains(c) && !self.cylinder_verified(*c))
            .collect()
    }

    /// Whether somebody has taken this event in as a fact, by its identity.
    pub fn fact_of(&self, id: Uuid) -> Option<&Fact> {
        self.facts.iter().find(|f| f.id == id)
    }

    /// Every event in order with its time, withdrawn ones included: the time that they
    /// took has passed all the same.
    pub fn timeline(&self) -> impl Iterator<Item = TimedEvent<'_>> {
        self.history.iter().map(|past| TimedEvent {
            at_ms: past.at_ms,
            is_from_paper: past.is_from_paper,
            who: &past.who,
            event: &past.event,
        })
    }

    /// How many events the job holds, withdrawn ones and withdrawals included.
    pub fn event_count(&self) -> usize {
        self.history.len()
    }
}
