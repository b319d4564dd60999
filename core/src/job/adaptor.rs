//! Which adaptor is on the tool, and which spring is pressed next so that it is changed no
//! more often than planned.

use super::{Event, JobState, Stage};
use crate::engine::{Layout, ValveName};

impl JobState {
    /// The adaptor on the tool: that of the spring pressed last. `None` before the first.
    pub fn adaptor_in_use(&self) -> Option<&str> {
        let layout = self.layout()?;
        let pressed = self
            .history
            .iter()
            .rev()
            .find_map(|past| match past.event {
                Event::StageSeen {
                    valve,
                    stage: Stage::SpringHeld,
                    ..
                } => Some(valve),
                _ => None,
            })?;
        Some(layout.adaptor_of(pressed))
    }

    /// The positioned valve whose spring is pressed next: adaptor by adaptor as planned,
    /// or else with the one on the tool first.
    pub(super) fn next_to_press(
        &self,
        layout: &Layout,
        cylinder: u8,
        adaptors: &[String],
    ) -> Option<ValveName> {
        let in_use = self.adaptor_in_use();
        let place = |valve: &ValveName| {
            let needed = layout.adaptor_of(*valve);
            let planned = adaptors.iter().position(|a| a == needed);
            (planned.unwrap_or(usize::MAX), Some(needed) != in_use)
        };
        self.valves_of(cylinder)
            .filter(|(_, known)| known.stage() == Some(Stage::Positioned))
            .map(|(valve, _)| valve)
            .min_by_key(place)
    }
}
