//! What is ticked and written while a sheet of paper is entered, and the sheet that it makes.

use std::collections::{BTreeMap, BTreeSet};

use trayzero_core::engine::ValveName;
use trayzero_core::job::{
    HeardAt, HoldKind, PaperBox, PaperDrop, PaperLeak, PaperSheet, Person, Reading, SearchPlace,
    Stage, Step,
};
use trayzero_core::parts::Item;
use uuid::Uuid;

use crate::ui::units::{self, PRESSURE};
use crate::ui::view::View;

/// Both gauges of a cylinder, and where leaking air was heard.
#[derive(Default)]
pub struct GaugesTyped {
    /// Before the tester's orifice.
    pub supply: String,
    /// In the cylinder.
    pub cylinder: String,
    /// Where it was heard.
    pub heard: Vec<HeardAt>,
}

/// A line of what fell.
pub struct FallTyped {
    /// What.
    pub item: Item,
    /// How many.
    pub count: u32,
    /// From which valve.
    pub valve: Option<ValveName>,
    /// Where it was found.
    pub found_at: Option<SearchPlace>,
}

/// All of it. Nothing is there that nobody has ticked or written.
#[derive(Default)]
pub struct PaperTyped {
    /// Short steps.
    pub steps: BTreeSet<Step>,
    /// Kit counted in.
    pub kit: BTreeSet<Item>,
    /// New seals.
    pub seals: String,
    /// Leak-down readings.
    pub leaks: BTreeMap<(u8, Reading), GaugesTyped>,
    /// The regulator at each cylinder.
    pub air: BTreeMap<u8, String>,
    /// What else held a cylinder.
    pub holds: BTreeMap<u8, HoldKind>,
    /// Boxes of the valves.
    pub stages: BTreeSet<(ValveName, Stage)>,
    /// What fell.
    pub drops: Vec<FallTyped>,
    /// What was found that was adrift before.
    pub finds: BTreeMap<Uuid, SearchPlace>,
    /// Who did it.
    pub done_by: Option<Person>,
    /// The day, year first.
    pub day: Option<String>,
    /// Hours and minutes.
    pub time: String,
}

impl PaperTyped {
    /// The sheet; else the box whose figure cannot be read, and why.
    pub fn sheet(&self, v: &View<'_>) -> Result<PaperSheet, String> {
        let w = v.words;
        let mut sheet = PaperSheet {
            steps: self.steps.clone(),
            kit: self.kit.clone(),
            holds: self.holds.clone(),
            stages: self.stages.clone(),
            finds: self.finds.iter().map(|(id, at)| (*id, *at)).collect(),
            ..PaperSheet::default()
        };
        let named = |at: &PaperBox, why: &str| format!("{}: {why}", w.paper_box(at));
        if !self.seals.trim().is_empty() {
            let count = self.seals.trim().parse();
            let count = count.map_err(|_| named(&PaperBox::Seals, &self.seals))?;
            sheet.seals = Some(count);
        }
        for ((cylinder, when), typed) in &self.leaks {
            if typed.supply.trim().is_empty() && typed.cylinder.trim().is_empty() {
                continue;
            }
            let at = PaperBox::Leak(*cylinder, *when);
            let read = |text| units::read(&PRESSURE, text, v.units);
            let missing = |_| named(&at, w.paper_figure_missing);
            sheet.leaks.push(PaperLeak {
                cylinder: *cylinder,
                when: *when,
                supply_bar: read(&typed.supply).map_err(missing)?,
                cylinder_bar: read(&typed.cylinder).map_err(missing)?,
                heard: typed.heard.clone(),
            });
        }
        for (cylinder, text) in &self.air {
            if text.trim().is_empty() {
                continue;
            }
            let bar = units::read(&PRESSURE, text, v.units);
            let bar = bar.map_err(|why| named(&PaperBox::Holds(*cylinder), &w.error(&why)))?;
            sheet.air_bar.insert(*cylinder, bar);
        }
        let drops = self.drops.iter().filter(|fell| fell.count > 0);
        sheet.drops.extend(drops.map(|fell| PaperDrop {
            item: fell.item.clone(),
            count: fell.count,
            valve: fell.valve,
            found_at: fell.found_at,
        }));
        Ok(sheet)
    }

    /// Hours and minutes as written; `None` for what are none.
    pub fn minute_of_day(&self) -> Option<i64> {
        let groups = self.time.split(|c: char| !c.is_ascii_digit());
        let groups: Vec<&str> = groups.filter(|group| !group.is_empty()).collect();
        let (hours, minutes) = match groups[..] {
            [hours, minutes] if minutes.len() == 2 => (hours, minutes),
            [all] if (3..=4).contains(&all.len()) => all.split_at(all.len() - 2),
            _ => return None,
        };
        let (hours, minutes): (i64, i64) = (hours.parse().ok()?, minutes.parse().ok()?);
        (hours < 24 && minutes < 60).then_some(hours * 60 + minutes)
    }
}
