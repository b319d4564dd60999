//! The working order of the open job and its next step, worked out after each change.

use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, JobPhase, JobState};
use trayzero_core::plan::{OrderQuestion, WorkingOrder, working_order};

use super::CurrentJob;

/// What the working order depends on besides the layout.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct OrderKey {
    crank_deg: Option<f64>,
    done: Vec<u8>,
    put_off: Vec<u8>,
    wanted: Option<u8>,
    adaptor: Option<String>,
}

impl CurrentJob {
    /// Works out the order and the next step anew. The order is only looked for again
    /// when what it rests on has changed.
    pub(super) fn work_out(&mut self) {
        let state = self.job.state();
        let key = OrderKey::of(state);
        if self.order_key.as_ref() != Some(&key) {
            self.order = order_of(state, &key);
            self.order_key = Some(key);
        }
        let stop = self.order.as_ref().and_then(|o| o.stops.first());
        let at = stop.map(|s| CrankAt {
            cylinder: s.cylinder,
            offset_deg: s.offset_deg,
        });
        let adaptors = stop.map_or(&[][..], |s| &s.adaptors);
        self.next = self.job.state().next_step_with(at, adaptors);
    }
}

impl OrderKey {
    fn of(state: &JobState) -> Self {
        let done = state
            .layout()
            .into_iter()
            .flat_map(Layout::cylinders)
            .filter(|c| state.cylinder_verified(*c))
            .collect();
        Self {
            crank_deg: state.crank_deg(),
            done,
            put_off: state.put_off(),
            wanted: state.wanted(),
            adaptor: state.adaptor_in_use().map(str::to_owned),
        }
    }
}

fn order_of(state: &JobState, key: &OrderKey) -> Option<WorkingOrder> {
    let layout = state.layout()?;
    if state.phase() != JobPhase::Open && state.phase() != JobPhase::Paused {
        return None;
    }
    let question = OrderQuestion {
        from_deg: key.crank_deg.unwrap_or(0.0),
        from_bank: state.crank().and_then(|c| layout.bank_of(c.cylinder)),
        from_adaptor: key.adaptor.as_deref(),
        done: &key.done,
        put_off: &key.put_off,
        wanted_next: key.wanted,
        ..OrderQuestion::at_start(layout)
    };
    working_order(&question).ok()
}
