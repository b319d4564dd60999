//! What may happen at the engine: covers, plug holes, the crank, air and holds.

use super::{Verdict, demand};
use crate::engine::{Layout, ValveName, wrap_720};
use crate::job::{CrankAt, CylinderState, Event, HoldKind, JobState, Refusal};
use crate::parts::Item;

impl JobState {
    #[inline(never)]
    pub(super) fn check_engine(&self, layout: &Layout, event: &Event) -> Verdict {
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
    pub(super) fn known(&self, cylinder: u8) -> &CylinderState {
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

    pub(super) fn check_no_air(&self) -> Verdict {
        match self.air_on() {
            Some((cylinder, _)) => Err(Refusal::AirStillOn { cylinder }),
            None => Ok(()),
        }
    }

    pub(super) fn check_crank_here(&self, cylinder: u8) -> Verdict {
        let here = self.crank.is_some_and(|at| at.cylinder == cylinder);
        demand(here, || Refusal::CrankElsewhere {
            cylinder,
            at: self.crank,
        })
    }

    /// What stands in the way of any turn of the crank (invariant *still*).
    pub(in crate::job) fn what_stops_the_crank(&self) -> Option<Refusal> {
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

    pub(super) fn check_foreman(&self, cylinder: u8) -> Verdict {
        match self.foreman_wanted(cylinder) {
            Some(loss_percent) => Err(Refusal::ForemanMustSee {
                cylinder,
                loss_percent,
            }),
            None => Ok(()),
        }
    }
}

/// Whether a mechanical hold reaches into the cylinder through its plug hole.
fn goes_through_the_hole(hold: HoldKind) -> bool {
    match hold {
        HoldKind::Cord | HoldKind::Prop => true,
        HoldKind::Piston => false,
    }
}
