//! Air in mid-valve: what the regulator reads now, and that its pressure has fallen away.

use super::engine::check_pressure;
use super::{Allowed, ensure};
use crate::engine::Layout;
use crate::job::{JobState, Refusal};

impl JobState {
    pub(super) fn check_air_anew(
        &self,
        layout: &Layout,
        cylinder: u8,
        was_bar: f64,
        bar: f64,
    ) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        ensure(state.air_bar == Some(was_bar), || Refusal::AirNotOn {
            cylinder,
        })?;
        check_pressure(layout, bar)
    }

    /// Whoever says that the pressure is gone is believed, whatever hangs on it.
    pub(super) fn check_air_lost(&self, layout: &Layout, cylinder: u8) -> Allowed {
        let state = self.existing_cylinder(layout, cylinder)?;
        ensure(state.air_bar.is_some(), || Refusal::AirNotOn { cylinder })
    }
}
