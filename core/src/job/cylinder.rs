//! What is known of one cylinder, and where the crank stands.

use serde::{Deserialize, Serialize};

/// The crank at a cylinder's working position.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrankAt {
    /// The cylinder.
    pub cylinder: u8,
    /// Degrees after its compression TDC; negative before.
    pub offset_deg: f64,
}

impl CrankAt {
    /// Degrees after the nearer of the cylinder's two tops, -180 to 180: the piston
    /// stands alike at both.
    pub fn off_top_deg(&self) -> f64 {
        let after = self.offset_deg.rem_euclid(360.0);
        if after > 180.0 { after - 360.0 } else { after }
    }
}

/// What a plug hole has in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlugHole {
    /// Its plug.
    Plug,
    /// A vented cover.
    VentedCover,
    /// The air hose.
    Hose,
    /// Nothing: it gapes.
    Nothing,
}

/// What holds the valves of a cylinder instead of air.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HoldKind {
    /// A soft cord fed into the cylinder, piston turned up against it.
    Cord,
    /// The piston itself at its top, close under the valves.
    Piston,
    /// A prop through the plug hole.
    Prop,
}

/// What is known of one cylinder.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CylinderState {
    /// Its plug is out.
    pub plug_out: bool,
    /// A vented cover is in its plug hole.
    pub vented_cover_in: bool,
    /// The air hose is in its plug hole.
    pub hose_in: bool,
    /// Gauge pressure in bar while air is on.
    pub air_bar: Option<f64>,
    /// The pressure was told to have fallen away, and nothing has taken over since.
    pub air_lost: bool,
    /// Mechanical hold as declared.
    pub hold: Option<HoldKind>,
}

impl CylinderState {
    /// What is in its plug hole.
    pub fn plug_hole(&self) -> PlugHole {
        match (self.plug_out, self.vented_cover_in, self.hose_in) {
            (false, ..) => PlugHole::Plug,
            (true, true, _) => PlugHole::VentedCover,
            (true, false, true) => PlugHole::Hose,
            (true, false, false) => PlugHole::Nothing,
        }
    }

    /// Whether something holds the valves up.
    pub fn is_held(&self) -> bool {
        self.air_bar.is_some() || self.hold.is_some()
    }
}
