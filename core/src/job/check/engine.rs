//! What may happen at the engine: covers, plug holes, the crank, air and holds.

use super::{Allowed, ensure};
use crate::engine::{Layout, ValveName, wrap_720};
use crate::job::{CrankAt, Danger, HoldKind, JobState, NotedFigure, Refusal};
use crate::parts::Item;

impl JobState {
    pub(super) fn check_plug_out(&self, layout: &Layout, number: u8) -> Allowed {
        let cylinder = self.existing_cylinder(layout, number)?;
        ensure(!cylinder.plug_out, || Refusal::PlugAlreadyOut {
            cylinder: number,
        })?;
        self.check_bank_locked(layout, number)
    }

    pub(super) fn check_plug_in(&self, layout: &Layout, number: u8) -> Allowed {
        self.check_hole_free(layout, number)?;
        match self.existing_cylinder(layout, number)?.hold {
            Some(hold) if goes_through_the_hole(hold) => Err(Refusal::HoldStillIn {
                cylinder: number,
                hold,
            }),
            Some(_) | None => Ok(()),
        }
    }

    pub(super) fn check_vented_cover_out(&self, layout: &Layout, number: u8) -> Allowed {
        let cylinder = self.existing_cylinder(layout, number)?;
        ensure(cylinder.vented_cover_in, || Refusal::NotInPlugHole {
            cylinder: number,
            item: Item::VentedCover,
        })?;
        self.check_bank_locked(layout, number)
    }

    pub(super) fn check_hose_out(&self, layout: &Layout, number: u8) -> Allowed {
        let cylinder = self.existing_cylinder(layout, number)?;
        ensure(cylinder.hose_in, || Refusal::NotInPlugHole {
            cylinder: number,
            item: Item::Hose,
        })?;
        ensure(cylinder.air_bar.is_none(), || Refusal::HoseInUse {
            cylinder: number,
        })?;
        self.check_looked_at(|danger| danger == Danger::Air { cylinder: number })?;
        self.check_bank_locked(layout, number)
    }

    /// No hole is opened in a bank while one of its valves is unlocked: a lock that
    /// slips then has nowhere to fall.
    fn check_bank_locked(&self, layout: &Layout, cylinder: u8) -> Allowed {
        let bank = layout.bank_of(cylinder).unwrap_or_default();
        match self.unlocked_in(layout, bank) {
            Some(valve) => Err(Refusal::ValveUnlocked { valve }),
            None => Ok(()),
        }
    }

    pub(super) fn unlocked_in(&self, layout: &Layout, bank: usize) -> Option<ValveName> {
        self.unlocked()
            .find(|v| layout.bank_of(v.cylinder) == Some(bank))
    }

    /// The first open way down into the engine in a bank with an unlocked valve: a plug
    /// hole that gapes, or a stopper that is missing.
    pub(in crate::job) fn open_way_down(&self) -> Option<Refusal> {
        let layout = self.layout()?;
        (0..layout.banks.len())
            .filter(|bank| self.unlocked_in(layout, *bank).is_some())
            .find_map(|bank| {
                self.check_holes_shut(layout, bank)
                    .and_then(|()| self.check_stoppers(layout, bank))
                    .err()
            })
    }

    pub(super) fn check_hold(&self, layout: &Layout, cylinder: u8, hold: HoldKind) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        if let Some(hold) = state.hold {
            return Err(Refusal::HoldStillIn { cylinder, hold });
        }
        ensure(state.plug_out || !goes_through_the_hole(hold), || {
            Refusal::PlugStillIn { cylinder }
        })?;
        let bank = layout.bank_of(cylinder).unwrap_or_default();
        ensure(!self.is_bank_closed(bank), || Refusal::CoverStillOn {
            bank: bank as u8,
        })?;
        self.check_crank_here(cylinder)
    }

    pub(super) fn check_release(&self, layout: &Layout, cylinder: u8, hold: HoldKind) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        ensure(state.hold == Some(hold), || Refusal::HoldNotIn { cylinder })?;
        if state.air_bar.is_some() {
            return Ok(());
        }
        self.check_nothing_pressed(cylinder)?;
        self.check_valves_looked_at(cylinder)
    }

    pub(super) fn check_hole_free(&self, layout: &Layout, cylinder: u8) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        ensure(state.plug_out, || Refusal::PlugStillIn { cylinder })?;
        let by = if state.vented_cover_in {
            Item::VentedCover
        } else if state.hose_in {
            Item::Hose
        } else {
            return Ok(());
        };
        Err(Refusal::PlugHoleTaken { cylinder, by })
    }

    pub(super) fn check_no_air(&self) -> Allowed {
        match self.air_on() {
            Some((cylinder, _)) => Err(Refusal::AirStillOn { cylinder }),
            None => Ok(()),
        }
    }

    pub(super) fn check_crank_here(&self, cylinder: u8) -> Allowed {
        let here = self.turned_to.is_some_and(|at| at.cylinder == cylinder);
        ensure(here, || Refusal::CrankElsewhere {
            cylinder,
            at: self.turned_to,
        })
    }

    /// The crank is where the valves of a cylinder are worked.
    pub(super) fn check_crank_works(&self, layout: &Layout, cylinder: u8) -> Allowed {
        self.check_crank_here(cylinder)?;
        match self.turned_to.filter(|at| !is_worked_at(layout, *at)) {
            Some(at) => Err(Refusal::NotAWorkingPosition { at }),
            None => Ok(()),
        }
    }

    /// What stands in the way of any turn of the crank (invariant *still*).
    pub(in crate::job) fn what_stops_the_crank(&self) -> Option<Refusal> {
        if let Some((cylinder, _)) = self.air_on() {
            return Some(Refusal::AirStillOn { cylinder });
        }
        for (valve, state) in self.valves() {
            if state.is_unlocked() {
                return Some(Refusal::ValveUnlocked { valve });
            }
            if state.is_spring_held() {
                return Some(Refusal::SpringHeldNow { valve });
            }
        }
        let layout = self.layout()?;
        layout
            .cylinders()
            .zip(&self.cylinders)
            .find_map(|(cylinder, c)| c.hold.map(|hold| Refusal::HoldStillIn { cylinder, hold }))
    }

    pub(super) fn check_turn(
        &self,
        layout: &Layout,
        from: Option<CrankAt>,
        to: CrankAt,
        turn_deg: f64,
    ) -> Allowed {
        self.existing_cylinder(layout, to.cylinder)?;
        ensure(turn_deg.is_finite() && turn_deg.abs() <= 1440.0, || {
            Refusal::BadFigure {
                figure: NotedFigure::TurnDeg,
                value: turn_deg.to_string(),
            }
        })?;
        // Programs of before took the crank to stand still while the engine ran.
        let is_known = from == self.crank() || from == self.turned_to;
        ensure(is_known, || Refusal::CrankMoved { at: self.crank() })?;
        ensure(may_stand_at(layout, to), || Refusal::NotAWorkingPosition {
            at: to,
        })?;
        ensure(self.wrench_on, || Refusal::WrenchNotOn)?;
        if let Some(refusal) = self.what_stops_the_crank() {
            return Err(refusal);
        }
        ensure(turn_deg >= 0.0 || layout.may_turn_back, || {
            Refusal::TurnsBack { turn_deg }
        })?;
        self.check_turn_leads(layout, to, turn_deg)?;
        self.check_looked_at(|_| true)
    }

    fn check_turn_leads(&self, layout: &Layout, to: CrankAt, turn_deg: f64) -> Allowed {
        let (Some(from_deg), Some(to_deg)) = (
            self.crank_deg(),
            layout.working_deg(to.cylinder, to.offset_deg),
        ) else {
            return Ok(());
        };
        let wanted_deg = wrap_720(to_deg - from_deg);
        let off = wrap_720(turn_deg - wanted_deg);
        ensure(off.min(720.0 - off) < 1e-6, || Refusal::TurnDoesNotLead {
            turn_deg,
            wanted_deg,
        })
    }

    pub(super) fn check_air_on(&self, layout: &Layout, cylinder: u8, bar: f64) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        check_pressure(layout, bar)?;
        ensure(state.air_bar.is_none(), || Refusal::AirStillOn { cylinder })?;
        ensure(state.hose_in, || Refusal::HoseNotIn { cylinder })?;
        ensure(!self.wrench_on, || Refusal::WrenchStillOn)?;
        self.check_crank_here(cylinder)?;
        self.check_foreman(cylinder)?;
        self.check_looked_at(|_| true)
    }

    pub(super) fn check_air_off(&self, layout: &Layout, cylinder: u8, bar: f64) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        ensure(state.air_bar == Some(bar), || Refusal::AirNotOn {
            cylinder,
        })?;
        if state.hold.is_some() {
            return Ok(());
        }
        self.check_nothing_pressed(cylinder)?;
        self.check_valves_looked_at(cylinder)
    }

    /// No valve of the cylinder hangs on what holds it (invariant *held*).
    fn check_nothing_pressed(&self, cylinder: u8) -> Allowed {
        for (valve, state) in self.valves_of(cylinder) {
            ensure(!state.is_unlocked(), || Refusal::ValveUnlocked { valve })?;
            ensure(!state.is_spring_held(), || Refusal::SpringHeldNow { valve })?;
        }
        Ok(())
    }

    pub(super) fn check_foreman(&self, cylinder: u8) -> Allowed {
        match self.foreman_wanted(cylinder) {
            Some(loss_percent) => Err(Refusal::ForemanMustSee {
                cylinder,
                loss_percent,
            }),
            None => Ok(()),
        }
    }
}

/// A reading of the regulator within what hose, regulator and tester stand.
pub(super) fn check_pressure(layout: &Layout, bar: f64) -> Allowed {
    ensure(bar.is_finite() && bar > 0.0, || Refusal::BadFigure {
        figure: NotedFigure::Bar,
        value: bar.to_string(),
    })?;
    ensure(bar <= layout.pressure_rating_bar, || Refusal::OverRating {
        bar,
        rating_bar: layout.pressure_rating_bar,
    })
}

/// Whether the crank is turned to such a position: to a cylinder's working position, or to
/// its top, where the leak-down is read wherever the cylinder is worked.
pub(in crate::job) fn may_stand_at(layout: &Layout, at: CrankAt) -> bool {
    let is_there = layout.cylinder_index(at.cylinder).is_some();
    is_there && (at.offset_deg == 0.0 || is_worked_at(layout, at))
}

fn is_worked_at(layout: &Layout, at: CrankAt) -> bool {
    let mut offsets = layout.offsets_deg(at.cylinder).into_iter();
    offsets.any(|deg| (deg - at.offset_deg).abs() < 1e-9)
}

/// Whether a mechanical hold reaches into the cylinder through its plug hole.
fn goes_through_the_hole(hold: HoldKind) -> bool {
    match hold {
        HoldKind::Cord | HoldKind::Prop => true,
        HoldKind::Piston => false,
    }
}
