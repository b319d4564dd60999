//! Where in the 720 degrees of a cycle every cylinder is at its top.

use super::Layout;

/// An angle brought into 0 (included) to 720 (excluded) degrees.
pub fn wrap_720(deg: f64) -> f64 {
    let wrapped = deg.rem_euclid(720.0);
    // A tiny negative angle rounds up to 720 itself, which is 0 again.
    if wrapped >= 720.0 { 0.0 } else { wrapped }
}

impl Layout {
    /// Crank angle of a cylinder's compression TDC in degrees, cylinder 1's (or the
    /// lowest number's, if there is no 1) being 0. `None` if the firing order lacks it.
    pub fn tdc_deg(&self, cylinder: u8) -> Option<f64> {
        let zero = self.cylinders().min()?;
        Some(wrap_720(
            self.firing_angle_deg(cylinder)? - self.firing_angle_deg(zero)?,
        ))
    }

    /// Angle from the first firing of the list to this cylinder's.
    fn firing_angle_deg(&self, cylinder: u8) -> Option<f64> {
        let place = self.firing_order.iter().position(|c| *c == cylinder)?;
        let even = 720.0 / self.firing_order.len() as f64;
        Some(match &self.firing_intervals_deg {
            Some(intervals) => intervals.iter().take(place).sum(),
            None => even * place as f64,
        })
    }

    /// Crank angle in degrees at which a cylinder is worked at the given offset.
    pub fn working_deg(&self, cylinder: u8, offset_deg: f64) -> Option<f64> {
        Some(wrap_720(self.tdc_deg(cylinder)? + offset_deg))
    }
}
