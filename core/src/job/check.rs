//! Whether an event may be taken now. Every rule is one short function.

use super::postings::Postings;
use super::state::signatures;
use super::{
    CrankAt, Entry, Event, FindingKind, HoldKind, JobPhase, JobState, Opening, Refusal, Seal,
    SearchPlace, Stage, TEXT_CHARS_MAX,
};
use crate::engine::{Layout, ValveName, wrap_720};
use crate::parts::{Item, Place};

/// The most of one item that one event moves.
const COUNT_MAX: u32 = 9_999;
/// The most of one item that a job can hold over all places.
const TOTAL_MAX: u32 = 999_999;

type Verdict = Result<(), Refusal>;

fn demand(condition: bool, refusal: impl FnOnce() -> Refusal) -> Verdict {
    if condition { Ok(()) } else { Err(refusal()) }
}

impl JobState {
    pub(super) fn check(&self, entry: &Entry) -> Verdict {
        let event = &entry.event;
        self.check_phase(event)?;
        check_texts(event)?;
        self.check_signatures(event)?;
        if let Event::JobOpened(opening) = event {
            return check_opening(opening);
        }
        let Some(layout) = self.layout() else {
            return Err(Refusal::NotOpened);
        };
        check_names(layout, event)?;
        self.check_engine(layout, event)?;
        self.check_stage(layout, event)?;
        self.check_parts(layout, event)?;
        self.check_notes(event)?;
        self.check_ends(event)?;
        self.check_balances(entry)
    }

    fn check_phase(&self, event: &Event) -> Verdict {
        let opening = matches!(event, Event::JobOpened(_));
        match self.phase {
            JobPhase::Unopened => demand(opening, || Refusal::NotOpened),
            _ if opening => Err(Refusal::AlreadyOpened),
            JobPhase::Open => demand(!matches!(event, Event::Resumed {}), || Refusal::NotPaused),
            JobPhase::Paused => demand(may_happen_paused(event), || Refusal::JobIsPaused),
            JobPhase::Closed | JobPhase::Stopped => {
                demand(may_happen_after(event), || Refusal::JobIsOver)
            }
        }
    }

    fn check_signatures(&self, event: &Event) -> Verdict {
        for sign in signatures(event) {
            demand(!self.enterings.contains(&sign.entering), || {
                Refusal::SignatureUsed {
                    person: sign.person.clone(),
                }
            })?;
        }
        match event {
            Event::SearchSigned { first, second, .. } => {
                demand(first.person != second.person, || Refusal::SamePerson {
                    person: first.person.clone(),
                })?;
                demand(first.entering != second.entering, || {
                    Refusal::SignatureUsed {
                        person: second.person.clone(),
                    }
                })
            }
            Event::BlindCount { by, .. } => {
                let first = self.round_counts();
                let same = first.len() == 1 && first[0].by == by.person;
                demand(!same, || Refusal::SamePerson {
                    person: by.person.clone(),
                })
            }
            _ => Ok(()),
        }
    }

    // --- the engine

    fn check_engine(&self, layout: &Layout, event: &Event) -> Verdict {
        match event {
            Event::CoverOff { bank } => demand(!self.banks[usize::from(*bank)].cover_off, || {
                Refusal::CoverAlreadyOff { bank: *bank }
            }),
            Event::PlugOut { .. }
            | Event::PlugIn { .. }
            | Event::VentedCoverIn { .. }
            | Event::VentedCoverOut { .. }
            | Event::HoseIn { .. }
            | Event::HoseOut { .. } => self.check_hole(layout, event),
            Event::WrenchOn {} => {
                demand(!self.wrench_on, || Refusal::WrenchStillOn)?;
                self.check_no_air()
            }
            Event::WrenchOff {} => demand(self.wrench_on, || Refusal::WrenchNotOn),
            Event::CrankTurned { from, to, turn_deg } => {
                self.check_turn(layout, *from, *to, *turn_deg)
            }
            Event::AirOn { cylinder, bar } => self.check_air_on(layout, *cylinder, *bar),
            Event::AirOff { cylinder, bar } => self.check_air_off(*cylinder, *bar),
            Event::HoldDeclared { cylinder, hold } => self.check_hold(layout, *cylinder, *hold),
            Event::HoldReleased { cylinder, hold } => {
                demand(self.known(*cylinder).hold == Some(*hold), || {
                    Refusal::HoldNotIn {
                        cylinder: *cylinder,
                    }
                })?;
                if self.known(*cylinder).air_bar.is_some() {
                    return Ok(());
                }
                self.check_nothing_pressed(*cylinder)
            }
            Event::CylinderPutOff { cylinder } | Event::CylinderWanted { cylinder } => {
                demand(!self.cylinder_verified(*cylinder), || {
                    Refusal::AlreadyVerified {
                        cylinder: *cylinder,
                    }
                })
            }
            _ => Ok(()),
        }
    }

    /// A cylinder that [`check_names`] has found to exist.
    fn known(&self, cylinder: u8) -> &super::CylinderState {
        let index = self
            .layout()
            .and_then(|l| l.cylinder_index(cylinder))
            .unwrap_or_default();
        &self.cylinders[index]
    }

    /// What goes into a plug hole and comes out of it.
    fn check_hole(&self, layout: &Layout, event: &Event) -> Verdict {
        let not_in = |cylinder, item| Refusal::NotInPlugHole { cylinder, item };
        match *event {
            Event::PlugOut { cylinder } => {
                demand(!self.known(cylinder).plug_out, || Refusal::PlugAlreadyOut {
                    cylinder,
                })?;
                self.check_bank_locked(layout, cylinder)
            }
            Event::PlugIn { cylinder } => {
                self.check_hole_free(cylinder)?;
                match self.known(cylinder).hold {
                    Some(hold) if goes_through_the_hole(hold) => {
                        Err(Refusal::HoldStillIn { cylinder, hold })
                    }
                    _ => Ok(()),
                }
            }
            Event::VentedCoverIn { cylinder } | Event::HoseIn { cylinder } => {
                self.check_hole_free(cylinder)
            }
            Event::VentedCoverOut { cylinder } => {
                demand(self.known(cylinder).vented_cover_in, || {
                    not_in(cylinder, Item::VentedCover)
                })?;
                self.check_bank_locked(layout, cylinder)
            }
            Event::HoseOut { cylinder } => {
                demand(self.known(cylinder).hose_in, || {
                    not_in(cylinder, Item::Hose)
                })?;
                demand(self.known(cylinder).air_bar.is_none(), || {
                    Refusal::HoseInUse { cylinder }
                })?;
                self.check_bank_locked(layout, cylinder)
            }
            _ => Ok(()),
        }
    }

    /// No hole is opened in a bank while one of its valves is unlocked: a lock that
    /// slips then has nowhere to fall.
    fn check_bank_locked(&self, layout: &Layout, cylinder: u8) -> Verdict {
        let bank = layout.bank_of(cylinder).unwrap_or_default();
        match self.unlocked_in(layout, bank) {
            Some(valve) => Err(Refusal::ValveUnlocked { valve }),
            None => Ok(()),
        }
    }

    fn unlocked_in(&self, layout: &Layout, bank: usize) -> Option<ValveName> {
        self.unlocked()
            .find(|v| layout.bank_of(v.cylinder) == Some(bank))
    }

    /// The first open way down into the engine in a bank with an unlocked valve: a plug
    /// hole that gapes, or a stopper that is missing.
    pub(super) fn open_way_down(&self) -> Option<Refusal> {
        let layout = self.layout()?;
        (0..layout.banks.len())
            .filter(|bank| self.unlocked_in(layout, *bank).is_some())
            .find_map(|bank| {
                self.check_holes_shut(layout, bank)
                    .and_then(|()| self.check_stoppers(layout, bank))
                    .err()
            })
    }

    fn check_hold(&self, layout: &Layout, cylinder: u8, hold: HoldKind) -> Verdict {
        let known = self.known(cylinder);
        if let Some(hold) = known.hold {
            return Err(Refusal::HoldStillIn { cylinder, hold });
        }
        demand(known.plug_out || !goes_through_the_hole(hold), || {
            Refusal::PlugStillIn { cylinder }
        })?;
        let bank = layout.bank_of(cylinder).unwrap_or_default();
        demand(!self.is_bank_closed(bank), || Refusal::CoverStillOn {
            bank: bank as u8,
        })?;
        self.check_crank_here(cylinder)
    }

    fn check_hole_free(&self, cylinder: u8) -> Verdict {
        let known = self.known(cylinder);
        demand(known.plug_out, || Refusal::PlugStillIn { cylinder })?;
        let by = if known.vented_cover_in {
            Item::VentedCover
        } else if known.hose_in {
            Item::Hose
        } else {
            return Ok(());
        };
        Err(Refusal::PlugHoleTaken { cylinder, by })
    }

    fn check_no_air(&self) -> Verdict {
        match self.air_on() {
            Some((cylinder, _)) => Err(Refusal::AirStillOn { cylinder }),
            None => Ok(()),
        }
    }

    fn check_crank_here(&self, cylinder: u8) -> Verdict {
        let here = self.crank.is_some_and(|at| at.cylinder == cylinder);
        demand(here, || Refusal::CrankElsewhere {
            cylinder,
            at: self.crank,
        })
    }

    /// What stands in the way of any turn of the crank (invariant *still*).
    pub(super) fn what_stops_the_crank(&self) -> Option<Refusal> {
        if let Some((cylinder, _)) = self.air_on() {
            return Some(Refusal::AirStillOn { cylinder });
        }
        for (valve, known) in self.valves() {
            if known.is_unlocked() {
                return Some(Refusal::ValveUnlocked { valve });
            }
            if known.is_spring_held() {
                return Some(Refusal::SpringHeldNow { valve });
            }
        }
        let layout = self.layout()?;
        layout
            .cylinders()
            .zip(&self.cylinders)
            .find_map(|(cylinder, c)| c.hold.map(|hold| Refusal::HoldStillIn { cylinder, hold }))
    }

    fn check_turn(
        &self,
        layout: &Layout,
        from: Option<CrankAt>,
        to: CrankAt,
        turn_deg: f64,
    ) -> Verdict {
        demand(turn_deg.is_finite() && turn_deg.abs() <= 1440.0, || {
            Refusal::BadFigure {
                field: "turn_deg",
                value: turn_deg.to_string(),
                rule: "an angle of at most two turns",
            }
        })?;
        demand(self.crank == from, || Refusal::CrankMoved {
            at: self.crank,
        })?;
        let known_position = layout
            .offsets_deg(to.cylinder)
            .iter()
            .any(|o| (o - to.offset_deg).abs() < 1e-9);
        demand(known_position, || Refusal::NotAWorkingPosition { at: to })?;
        demand(self.wrench_on, || Refusal::WrenchNotOn)?;
        if let Some(refusal) = self.what_stops_the_crank() {
            return Err(refusal);
        }
        demand(turn_deg >= 0.0 || layout.may_turn_back, || {
            Refusal::TurnsBack { turn_deg }
        })?;
        self.check_turn_leads(layout, to, turn_deg)
    }

    fn check_turn_leads(&self, layout: &Layout, to: CrankAt, turn_deg: f64) -> Verdict {
        let (Some(from_deg), Some(to_deg)) = (
            self.crank_deg(),
            layout.working_deg(to.cylinder, to.offset_deg),
        ) else {
            return Ok(());
        };
        let wanted_deg = wrap_720(to_deg - from_deg);
        let off = wrap_720(turn_deg - wanted_deg);
        demand(off.min(720.0 - off) < 1e-6, || Refusal::TurnDoesNotLead {
            turn_deg,
            wanted_deg,
        })
    }

    fn check_air_on(&self, layout: &Layout, cylinder: u8, bar: f64) -> Verdict {
        demand(bar.is_finite() && bar > 0.0, || Refusal::BadFigure {
            field: "bar",
            value: bar.to_string(),
            rule: "a gauge pressure above zero",
        })?;
        let known = self.known(cylinder);
        demand(known.air_bar.is_none(), || Refusal::AirStillOn { cylinder })?;
        demand(known.hose_in, || Refusal::HoseNotIn { cylinder })?;
        demand(!self.wrench_on, || Refusal::WrenchStillOn)?;
        self.check_crank_here(cylinder)?;
        demand(bar <= layout.pressure_rating_bar, || Refusal::OverRating {
            bar,
            rating_bar: layout.pressure_rating_bar,
        })?;
        self.check_foreman(cylinder)
    }

    fn check_air_off(&self, cylinder: u8, bar: f64) -> Verdict {
        let known = self.known(cylinder);
        demand(known.air_bar == Some(bar), || Refusal::AirNotOn {
            cylinder,
        })?;
        if known.hold.is_some() {
            return Ok(());
        }
        self.check_nothing_pressed(cylinder)
    }

    /// No valve of the cylinder hangs on what holds it (invariant *held*).
    fn check_nothing_pressed(&self, cylinder: u8) -> Verdict {
        for (valve, known) in self.valves_of(cylinder) {
            demand(!known.is_unlocked(), || Refusal::ValveUnlocked { valve })?;
            demand(!known.is_spring_held(), || Refusal::SpringHeldNow { valve })?;
        }
        Ok(())
    }

    fn check_foreman(&self, cylinder: u8) -> Verdict {
        match self.foreman_wanted(cylinder) {
            Some(loss_percent) => Err(Refusal::ForemanMustSee {
                cylinder,
                loss_percent,
            }),
            None => Ok(()),
        }
    }

    // --- the valve

    fn check_stage(&self, layout: &Layout, event: &Event) -> Verdict {
        let Event::StageSeen {
            valve,
            stage,
            strays,
            nicked,
        } = event
        else {
            return Ok(());
        };
        let (valve, stage) = (*valve, *stage);
        let next = self.valve(valve).and_then(super::ValveState::next_stage);
        demand(next == Some(stage), || Refusal::OutOfTurn {
            valve,
            asked: stage,
            next,
        })?;
        let most = if stage == Stage::LocksOut {
            layout.locks_per_valve
        } else {
            0
        };
        demand(*strays <= most, || Refusal::TooManyStrays {
            strays: *strays,
            most,
        })?;
        let nicked_most = if stage == Stage::SealFitted { 9 } else { 0 };
        demand(*nicked <= nicked_most, || Refusal::BadCount {
            count: u32::from(*nicked),
        })?;
        let bank = layout.bank_of(valve.cylinder).unwrap_or_default();
        demand(self.banks[bank].cover_off, || Refusal::CoverStillOn {
            bank: bank as u8,
        })?;
        self.check_crank_here(valve.cylinder)?;
        self.check_stage_hold(layout, valve, stage, bank)
    }

    fn check_stage_hold(
        &self,
        layout: &Layout,
        valve: ValveName,
        stage: Stage,
        bank: usize,
    ) -> Verdict {
        let known = self.known(valve.cylinder);
        match stage {
            Stage::Positioned => self.check_foreman(valve.cylinder),
            Stage::SpringHeld | Stage::SealFitted | Stage::LocksIn => {
                demand(known.is_held(), || Refusal::NothingHolds { valve })
            }
            Stage::LocksOut => {
                demand(known.is_held(), || Refusal::NothingHolds { valve })?;
                self.check_holes_shut(layout, bank)?;
                self.check_stoppers(layout, bank)
            }
            Stage::Verified => demand(known.air_bar.is_none(), || Refusal::AirStillOn {
                cylinder: valve.cylinder,
            }),
        }
    }

    /// No plug hole of the bank gapes while locks come out.
    fn check_holes_shut(&self, layout: &Layout, bank: usize) -> Verdict {
        for cylinder in &layout.banks[bank].cylinders {
            let known = self.known(*cylinder);
            let open = known.plug_out && !known.vented_cover_in && !known.hose_in;
            demand(!open, || Refusal::HoleOpen {
                cylinder: *cylinder,
            })?;
        }
        Ok(())
    }

    /// The stoppers that the layout lists for the bank are in.
    fn check_stoppers(&self, layout: &Layout, bank: usize) -> Verdict {
        let wanted = stoppers_of(layout, bank);
        let aboard = self.banks[bank]
            .aboard
            .get(&Item::Stopper)
            .copied()
            .unwrap_or_default();
        demand(aboard >= wanted, || Refusal::StopperMissing {
            bank: bank as u8,
            wanted,
            aboard,
        })
    }

    // --- parts

    fn check_parts(&self, layout: &Layout, event: &Event) -> Verdict {
        check_count_of(event)?;
        match event {
            Event::KitCounted { item, count } => {
                demand(item.is_kit(), || Refusal::NotKit { item: item.clone() })?;
                self.check_room(item, *count)
            }
            Event::PutAboard { item, bank, .. } => {
                check_goes_aboard(item)?;
                demand(self.banks[usize::from(*bank)].cover_off, || {
                    Refusal::CoverStillOn { bank: *bank }
                })
            }
            Event::TakenOff { item, bank, count } => {
                check_goes_aboard(item)?;
                self.check_stopper_off(layout, item, *bank, *count)
            }
            Event::StockIssued { item, count } => {
                check_from_store(item)?;
                self.check_room(item, *count)
            }
            Event::StockReturned { item, .. } => check_from_store(item),
            Event::TakenFromStock { item, .. } => {
                demand(goes_through_the_tray(item) || is_laid_aside(item), || {
                    Refusal::NotReplaceable { item: item.clone() }
                })
            }
            Event::PartUsed { item, .. } => demand(matches!(item, Item::Other(_)), || {
                Refusal::NotReplaceable { item: item.clone() }
            }),
            Event::PutAway { item, to, .. } => {
                let good = matches!(to, Place::Scrap | Place::Stock);
                demand(good, || Refusal::BadMove {
                    item: item.clone(),
                    from: Place::Tray,
                    to: *to,
                })
            }
            Event::PartReplaced { valve, item, count } => self.check_replaced(*valve, item, *count),
            Event::PartDropped {
                item, from, bank, ..
            } => check_drop(item, *from, *bank),
            Event::PartFound { dropped, to, .. } => {
                let drop = self.check_adrift(*dropped)?;
                let good = may_be_found_into(&drop.item, *to);
                demand(good, || Refusal::BadMove {
                    item: drop.item.clone(),
                    from: Place::Adrift,
                    to: *to,
                })
            }
            Event::SearchSigned {
                dropped, places, ..
            } => {
                self.check_adrift(*dropped)?;
                let missing = SearchPlace::LIST
                    .iter()
                    .filter(|p| !places.contains(p))
                    .count();
                demand(missing == 0, || Refusal::SearchIncomplete { missing })
            }
            _ => Ok(()),
        }
    }

    /// The ledger of one item stays within what it can add up.
    fn check_room(&self, item: &Item, count: u32) -> Verdict {
        let total = self.ledger.account(item).total();
        demand(total.saturating_add(count) <= TOTAL_MAX, || {
            Refusal::BadCount { count }
        })
    }

    /// Stoppers that the layout wants stay in while a valve of the bank is unlocked.
    fn check_stopper_off(&self, layout: &Layout, item: &Item, bank: u8, count: u32) -> Verdict {
        let index = usize::from(bank);
        let aboard = &self.banks[index].aboard;
        let there = aboard.get(item).copied().unwrap_or_default();
        if *item != Item::Stopper || there.saturating_sub(count) >= stoppers_of(layout, index) {
            return Ok(());
        }
        match self.unlocked_in(layout, index) {
            Some(valve) => Err(Refusal::ValveUnlocked { valve }),
            None => Ok(()),
        }
    }

    fn check_adrift(&self, dropped: uuid::Uuid) -> Result<&super::Drop, Refusal> {
        let drop = self
            .drop_of(dropped)
            .ok_or(Refusal::NoSuchDrop { dropped })?;
        if drop.status == super::DropStatus::Adrift {
            Ok(drop)
        } else {
            Err(Refusal::NotAdrift { dropped })
        }
    }

    fn check_replaced(&self, valve: ValveName, item: &Item, count: u32) -> Verdict {
        let Some((known, layout)) = self.valve(valve).zip(self.layout()) else {
            return Ok(());
        };
        let (most, loose) = match item {
            Item::Lock => (u32::from(layout.locks_per_valve), known.is_unlocked()),
            Item::Retainer => (1, known.is_unlocked()),
            Item::Spring => (u32::from(layout.springs_per_valve), known.is_unlocked()),
            Item::Follower => (1, known.is_open()),
            Item::NewSeal => (1, known.stage() == Some(Stage::SealFitted)),
            _ => return Err(Refusal::NotReplaceable { item: item.clone() }),
        };
        demand(loose, || Refusal::PartIsHome {
            item: item.clone(),
            valve,
        })?;
        demand(count <= most, || Refusal::BadCount { count })
    }

    /// Every move finds enough where it starts.
    fn check_balances(&self, entry: &Entry) -> Verdict {
        let postings: Postings = self.postings(entry.id, &entry.event);
        if let Some(shortfall) = self.shortfall_of(&postings) {
            return Err(Refusal::Short { shortfall });
        }
        let (bank, item, count) = match &entry.event {
            Event::TakenOff { bank, item, count } => (*bank, item, *count),
            Event::PartDropped {
                item,
                count,
                from: Place::Aboard,
                bank: Some(bank),
                ..
            } => (*bank, item, *count),
            _ => return Ok(()),
        };
        let aboard = &self.banks[usize::from(bank)].aboard;
        let there = aboard.get(item).copied().unwrap_or_default();
        demand(there >= count, || Refusal::Short {
            shortfall: crate::parts::Shortfall {
                item: item.clone(),
                place: Place::Aboard,
                wanted: count,
                there,
            },
        })
    }

    // --- notes and ends

    fn check_notes(&self, event: &Event) -> Verdict {
        match event {
            Event::LeakRead {
                supply_bar,
                cylinder_bar,
                ..
            } => check_leak(*supply_bar, *cylinder_bar),
            Event::BreakawayMeasured { torque_nm } => figure(
                "torque_nm",
                *torque_nm,
                0.5..=500.0,
                "a torque from 0.5 to 500 newton metres",
            ),
            Event::OilToppedUp {
                odometer_km,
                litres,
                ..
            } => {
                figure(
                    "odometer_km",
                    *odometer_km,
                    0.0..=10_000_000.0,
                    "kilometres from 0 to 10 million",
                )?;
                figure("litres", *litres, 0.0..=100.0, "litres from 0 to 100")
            }
            Event::TakeInNoted(take_in) => match take_in.odometer_km {
                Some(km) => figure(
                    "odometer_km",
                    km,
                    0.0..=10_000_000.0,
                    "kilometres from 0 to 10 million",
                ),
                None => Ok(()),
            },
            Event::FindingNoted(finding) => check_finding(finding),
            Event::ForemanAgreed { cylinder, .. } => {
                demand(self.foreman_wanted(*cylinder).is_some(), || {
                    Refusal::NothingToAgree {
                        cylinder: *cylinder,
                    }
                })
            }
            Event::Sealed(seal) => check_seal(seal),
            Event::BlindCount { lines, .. } => {
                for line in lines {
                    demand(line.count <= COUNT_MAX, || Refusal::BadCount {
                        count: line.count,
                    })?;
                }
                Ok(())
            }
            Event::ConflictResolved { conflict, .. } => {
                // Lines that arrive late may let the event stand after all, or two people
                // may resolve the same conflict; both are harmless.
                demand(self.knows(*conflict), || Refusal::NoSuchConflict {
                    conflict: *conflict,
                })
            }
            _ => Ok(()),
        }
    }

    fn check_ends(&self, event: &Event) -> Verdict {
        match event {
            Event::BankClosed { bank, .. } => {
                match self.gate(usize::from(*bank)).into_iter().next() {
                    Some(refusal) => Err(refusal),
                    None => Ok(()),
                }
            }
            Event::JobClosed { .. } => match self.job_gate().into_iter().next() {
                Some(refusal) => Err(refusal),
                None => Ok(()),
            },
            Event::JobStopped { .. } => {
                for (valve, known) in self.valves() {
                    demand(!known.is_unlocked(), || Refusal::ValveUnlocked { valve })?;
                    demand(!known.is_spring_held(), || Refusal::SpringHeldNow { valve })?;
                }
                self.check_no_air()
            }
            _ => Ok(()),
        }
    }
}

/// How many stoppers the layout wants in a bank: those listed for it, and where the
/// list names no bank, all of them on a one-bank engine.
pub(super) fn stoppers_of(layout: &Layout, bank: usize) -> u32 {
    let name = &layout.banks[bank].name;
    layout
        .kit
        .iter()
        .filter(|k| k.item == Item::Stopper)
        .filter(|k| match &k.bank {
            Some(b) => b == name,
            None => layout.banks.len() == 1,
        })
        .map(|k| k.count)
        .sum()
}

/// Whether a mechanical hold reaches into the cylinder through its plug hole.
fn goes_through_the_hole(hold: HoldKind) -> bool {
    match hold {
        HoldKind::Cord | HoldKind::Prop => true,
        HoldKind::Piston => false,
    }
}

fn may_happen_paused(event: &Event) -> bool {
    matches!(
        event,
        Event::Resumed {}
            | Event::Noted { .. }
            | Event::TakenOver { .. }
            | Event::HandedOver { .. }
            | Event::Sealed(_)
            | Event::ConflictResolved { .. }
            | Event::PartFound { .. }
    )
}

fn may_happen_after(event: &Event) -> bool {
    matches!(
        event,
        Event::Noted { .. } | Event::Sealed(_) | Event::HandedOver { .. } | Event::Withdrawn { .. }
    )
}

fn check_opening(opening: &Opening) -> Verdict {
    let faults = opening.layout.faults("layout");
    match faults.first() {
        Some(first) => Err(Refusal::BadLayout {
            faults: faults.len(),
            first: first.to_string(),
        }),
        None => Ok(()),
    }
}

fn check_texts(event: &Event) -> Verdict {
    let chars = match event {
        Event::JobOpened(o) => {
            let names = [o.vehicle.as_str(), o.bay.as_str(), &o.technician.0];
            names.iter().map(|t| t.chars().count()).max().unwrap_or(0)
        }
        Event::Paused { why } | Event::JobStopped { why, .. } => why.chars().count(),
        Event::Noted { text } => text.chars().count(),
        Event::ConflictResolved { note, .. } => note.chars().count(),
        Event::TakeInNoted(t) => {
            let codes = t.codes.iter().map(|c| c.chars().count()).sum::<usize>();
            t.complaint
                .chars()
                .count()
                .max(t.seen.chars().count())
                .max(codes)
        }
        Event::OilToppedUp { on, .. } => on.chars().count(),
        Event::FindingNoted(f) => f.text.chars().count(),
        _ => 0,
    };
    demand(chars <= TEXT_CHARS_MAX, || Refusal::TextTooLong { chars })
}

/// Cylinders, valves and banks that an event names exist.
fn check_names(layout: &Layout, event: &Event) -> Verdict {
    let cylinder = match event {
        Event::LeakRead { cylinder, .. }
        | Event::ForemanAgreed { cylinder, .. }
        | Event::PlugOut { cylinder }
        | Event::PlugIn { cylinder }
        | Event::VentedCoverIn { cylinder }
        | Event::VentedCoverOut { cylinder }
        | Event::HoseIn { cylinder }
        | Event::HoseOut { cylinder }
        | Event::AirOn { cylinder, .. }
        | Event::AirOff { cylinder, .. }
        | Event::HoldDeclared { cylinder, .. }
        | Event::HoldReleased { cylinder, .. }
        | Event::CylinderPutOff { cylinder }
        | Event::CylinderWanted { cylinder } => Some(*cylinder),
        Event::CrankTurned { to, .. } => Some(to.cylinder),
        Event::FindingNoted(finding) => Some(finding.cylinder),
        _ => None,
    };
    if let Some(cylinder) = cylinder {
        demand(layout.cylinder_index(cylinder).is_some(), || {
            Refusal::NoSuchCylinder { cylinder }
        })?;
    }
    let valve = match event {
        Event::StageSeen { valve, .. } | Event::PartReplaced { valve, .. } => Some(*valve),
        Event::PartDropped { valve, .. } => *valve,
        Event::FindingNoted(finding) => finding.valve,
        _ => None,
    };
    if let Some(valve) = valve {
        demand(layout.valve_index(valve).is_some(), || {
            Refusal::NoSuchValve { valve }
        })?;
    }
    let bank = match event {
        Event::CoverOff { bank }
        | Event::BankClosed { bank, .. }
        | Event::PutAboard { bank, .. }
        | Event::TakenOff { bank, .. } => Some(*bank),
        Event::PartDropped { bank, .. } => *bank,
        _ => None,
    };
    match bank {
        Some(bank) => demand(usize::from(bank) < layout.banks.len(), || {
            Refusal::NoSuchBank { bank }
        }),
        None => Ok(()),
    }
}

fn check_count_of(event: &Event) -> Verdict {
    let count = match event {
        Event::KitCounted { count, .. }
        | Event::StockIssued { count, .. }
        | Event::StockReturned { count, .. }
        | Event::TakenFromStock { count, .. }
        | Event::PartUsed { count, .. }
        | Event::PutAway { count, .. }
        | Event::PutAboard { count, .. }
        | Event::TakenOff { count, .. }
        | Event::PartReplaced { count, .. }
        | Event::PartDropped { count, .. } => *count,
        _ => return Ok(()),
    };
    demand((1..=COUNT_MAX).contains(&count), || Refusal::BadCount {
        count,
    })
}

fn check_goes_aboard(item: &Item) -> Verdict {
    demand(item.is_kit(), || Refusal::NotKit { item: item.clone() })?;
    let own_event = matches!(item, Item::VentedCover | Item::Hose | Item::Wrench);
    demand(!own_event, || Refusal::BadMove {
        item: item.clone(),
        from: Place::Kit,
        to: Place::Aboard,
    })
}

fn check_from_store(item: &Item) -> Verdict {
    let comes_new = goes_through_the_tray(item)
        || is_laid_aside(item)
        || matches!(item, Item::NewSeal | Item::Other(_));
    demand(comes_new, || Refusal::NotReplaceable { item: item.clone() })
}

/// Covers and plugs wait on the bench, not in the tray; a lost or cracked one is
/// replaced from the store like any other part.
pub(super) fn is_laid_aside(item: &Item) -> bool {
    matches!(item, Item::Cover | Item::Plug)
}

fn goes_through_the_tray(item: &Item) -> bool {
    matches!(
        item,
        Item::Lock | Item::Retainer | Item::Spring | Item::Follower
    )
}

fn check_drop(item: &Item, from: Place, bank: Option<u8>) -> Verdict {
    let own_event = matches!(item, Item::VentedCover | Item::Hose | Item::Wrench);
    let good = match from {
        Place::Tray | Place::Aside | Place::Scrap | Place::Stock | Place::Kit => true,
        Place::Aboard => bank.is_some() && !own_event,
        Place::Home | Place::Adrift | Place::Unfound => false,
    };
    demand(good, || Refusal::BadMove {
        item: item.clone(),
        from,
        to: Place::Adrift,
    })
}

/// Where a found item may go: not back home, for what was lost is looked at first.
fn may_be_found_into(item: &Item, to: Place) -> bool {
    match item {
        Item::Lock | Item::Retainer | Item::Spring | Item::Follower => {
            matches!(to, Place::Tray | Place::Scrap)
        }
        Item::OldSeal | Item::SealPiece => to == Place::Scrap,
        Item::NewSeal => matches!(to, Place::Stock | Place::Scrap),
        Item::Cover | Item::Plug => matches!(to, Place::Aside | Place::Scrap),
        Item::Other(_) => matches!(to, Place::Kit | Place::Stock | Place::Scrap),
        _ => to == Place::Kit,
    }
}

fn figure(
    field: &'static str,
    value: f64,
    range: std::ops::RangeInclusive<f64>,
    rule: &'static str,
) -> Verdict {
    demand(value.is_finite() && range.contains(&value), || {
        Refusal::BadFigure {
            field,
            value: value.to_string(),
            rule,
        }
    })
}

fn check_leak(supply_bar: f64, cylinder_bar: f64) -> Verdict {
    figure(
        "supply_bar",
        supply_bar,
        0.1..=40.0,
        "a gauge pressure from 0.1 to 40 bar",
    )?;
    figure(
        "cylinder_bar",
        cylinder_bar,
        0.0..=supply_bar,
        "from zero to the supply pressure",
    )
}

fn check_finding(finding: &super::Finding) -> Verdict {
    if let Some(valve) = finding.valve {
        demand(valve.cylinder == finding.cylinder, || {
            Refusal::NoSuchValve { valve }
        })?;
    }
    match finding.kind {
        FindingKind::WornGuide { rock_mm } => {
            figure("rock_mm", rock_mm, 0.0..=20.0, "millimetres from 0 to 20")
        }
        FindingKind::ShortSpring { length_mm } => figure(
            "length_mm",
            length_mm,
            1.0..=300.0,
            "millimetres from 1 to 300",
        ),
        FindingKind::SealTorn { missing } => {
            demand(missing <= 9, || Refusal::BadCount { count: missing })
        }
        _ => Ok(()),
    }
}

fn check_seal(seal: &Seal) -> Verdict {
    let hex = |text: &str, digits: usize| {
        text.len() == digits && text.bytes().all(|b| b.is_ascii_hexdigit())
    };
    demand(hex(&seal.key, 64) && hex(&seal.signature, 128), || {
        Refusal::BadSeal
    })
}
