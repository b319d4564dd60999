//! How a job stands, as far as its script needs to know.

use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, JobState, NextStep, Reading, Stage};

/// The first bank that is to be cleared before it can be counted.
pub fn uncleared_bank(state: &JobState) -> Option<u8> {
    let cylinders = |bank: usize| {
        let layout = state.layout();
        layout.map_or(&[][..], |l: &Layout| &l.banks[bank].cylinders[..])
    };
    let plugs_out = |bank: usize| {
        let mut all = cylinders(bank).iter();
        all.any(|c| state.cylinder(*c).is_some_and(|k| k.plug_out))
    };
    (0..state.bank_count())
        .find(|bank| plugs_out(*bank) || state.aboard_bank(*bank).next().is_some())
        .map(|bank| bank as u8)
}

/// Whether nothing is open, and work may rest.
pub fn is_calm(state: &JobState) -> bool {
    let hose_in = state
        .crank()
        .and_then(|at| state.cylinder(at.cylinder))
        .is_some_and(|c| c.hose_in);
    let open = state.valves().any(|(_, v)| v.is_open());
    !(hose_in || open || state.wrench_on() || state.air_on().is_some())
}

/// How many valves have their new seal.
pub fn seals_fitted(state: &JobState) -> usize {
    let fitted = |seen: u8| usize::from(seen) > Stage::SealFitted.index();
    state
        .valves()
        .filter(|(_, v)| fitted(v.stages_seen))
        .count()
}

/// The first leak-down goes through all cylinders, whatever the script wants later.
pub fn is_being_read(state: &JobState) -> bool {
    let mut cylinders = state.layout().into_iter().flat_map(Layout::cylinders);
    state.verified_count() == 0 && cylinders.any(|c| state.leak(c, Reading::Before).is_none())
}

/// The turn to a cylinder's first working position; none where the crank stands there.
pub fn to_cylinder(state: &JobState, cylinder: u8) -> Option<NextStep> {
    let offset_deg = *state.layout()?.offsets_deg(cylinder).first()?;
    let to = CrankAt {
        cylinder,
        offset_deg,
    };
    (state.crank() != Some(to)).then(|| NextStep::Turn {
        to,
        turn_deg: state.turn_to(to),
    })
}
