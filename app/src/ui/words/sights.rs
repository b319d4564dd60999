//! What is to be looked at when two tablets disagree, and what was seen, in words.

use trayzero_core::engine::Bank;
use trayzero_core::job::{Danger, PlugHole, Sight};

use super::Words;
use crate::ui::units::{self, Figures};

impl Words {
    /// What two tablets disagree about, as the question to answer at the engine.
    pub fn danger(&self, danger: Danger) -> String {
        match danger {
            Danger::Air { cylinder } => self.danger_air(cylinder),
            Danger::Hold { cylinder } => self.danger_hold(cylinder),
            Danger::Wrench => self.danger_wrench.to_owned(),
            Danger::Crank => self.danger_crank.to_owned(),
            Danger::Valve { valve } => self.danger_valve(&self.valve(valve)),
        }
    }

    /// All that two tablets disagree about, one question after another.
    pub fn dangers(&self, dangers: &[Danger]) -> String {
        let asked = dangers.iter().map(|danger| self.danger(*danger));
        asked.collect::<Vec<_>>().join(" · ")
    }

    /// What was seen, such as `no air on cyl 2` or `2 locks: tray`.
    pub fn sight(&self, sight: &Sight, banks: &[Bank], figures: Figures) -> String {
        let bank_name = |bank: u8| {
            let named = banks.get(usize::from(bank));
            named.map_or_else(|| (bank + 1).to_string(), |b| b.name.clone())
        };
        match sight {
            Sight::Air {
                cylinder,
                bar: None,
            } => self.no_air_on(*cylinder),
            Sight::Air {
                cylinder,
                bar: Some(bar),
            } => {
                let figure = units::pressure(*bar, figures);
                format!("{}, {figure}", self.air_on_cylinder(*cylinder))
            }
            Sight::Hold {
                cylinder,
                hold: None,
            } => self.no_hold_in(*cylinder),
            Sight::Hold {
                cylinder,
                hold: Some(hold),
            } => format!("{}: {}", self.cylinder_n(*cylinder), self.hold(*hold)),
            Sight::Wrench { on: true } => self.wrench_on.to_owned(),
            Sight::Wrench { on: false } => self.wrench_off.to_owned(),
            Sight::Crank { at: None } => self.crank_nowhere.to_owned(),
            Sight::Crank { at: Some(at) } => self.crank_at(at.cylinder, at.offset_deg),
            Sight::Valve { valve, stage } => {
                format!(
                    "{}: {}",
                    self.valve(*valve),
                    self.stage_or_untouched(*stage)
                )
            }
            Sight::PlugHole { cylinder, with } => {
                let with = match with {
                    PlugHole::Plug => self.hole_plug,
                    PlugHole::VentedCover => self.hole_vented,
                    PlugHole::Hose => self.hole_hose,
                    PlugHole::Nothing => self.hole_open,
                };
                format!("{}: {with}", self.cylinder_n(*cylinder))
            }
            Sight::Cover { bank, off } => {
                let seen = if *off {
                    self.cover_seen_off
                } else {
                    self.cover_seen_on
                };
                format!("{}: {seen}", self.bank_n(&bank_name(*bank)))
            }
            Sight::Aboard { bank, item, count } => format!(
                "{}: {} {}",
                self.bank_n(&bank_name(*bank)),
                self.items_n(item, *count),
                self.aboard
            ),
            Sight::LaidOut { item, place, count } => {
                format!("{}: {}", self.items_n(item, *count), self.place(*place))
            }
            Sight::Missing { count, .. } => self.still_missing(*count),
            Sight::Read {} => self.both_read.to_owned(),
        }
    }
}
