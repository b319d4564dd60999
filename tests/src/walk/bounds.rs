//! What keeps a walk finite. Each bound is a figure here, not a habit of the code.

use trayzero_core::engine::Layout;
use trayzero_core::job::HoldKind;

/// The bounds of one walk.
#[derive(Clone, Debug)]
pub struct Bounds {
    /// Its name in print.
    pub name: &'static str,
    /// The engine.
    pub layout: Layout,
    /// The walk starts with the kit counted in, the seals issued and the plugs out,
    /// instead of before the job is opened.
    pub prepared: bool,
    /// How many drops a job may see, found ones included.
    pub drops_max: usize,
    /// How many locks may be lost or scrapped at a time, and how many new ones issued.
    pub locks_lost_max: u32,
    /// Whether new locks are issued, used, put away and given back.
    pub spare_locks: bool,
    /// How many new seals may be spoiled.
    pub seals_spoiled_max: u32,
    /// Mechanical holds that are tried.
    pub holds: &'static [HoldKind],
    /// Whether air may fall away by itself, and the regulator be read anew.
    pub air_lost: bool,
    /// Whether followers and shims may be swapped, once at a time.
    pub swaps: bool,
    /// Whether the job may rest and go on.
    pub pauses: bool,
    /// Whether the job may be stopped unfinished.
    pub stops: bool,
    /// Whether plugs and covers move at any time, or only where the work needs it: plugs
    /// out at the start and in at the end.
    pub plugs_any_time: bool,
    /// Whether wrong blind counts are tried besides true ones.
    pub wrong_counts: bool,
    /// Whether people also count before the bank is verified, once its plugs are in.
    pub early_counts: bool,
    /// How many of the latest events are tried for taking back in each state.
    pub take_back_depth: usize,
    /// In each state every two events that it takes are also told by two tablets that do
    /// not see each other, in both orders.
    pub two_tablets: bool,
    /// The walk gives up beyond so many states.
    pub states_max: usize,
}

impl Bounds {
    /// Everything on, for an engine of one cylinder.
    pub fn wide(name: &'static str, layout: Layout) -> Self {
        Self {
            name,
            layout,
            prepared: false,
            drops_max: 1,
            locks_lost_max: 1,
            spare_locks: true,
            seals_spoiled_max: 1,
            holds: &[HoldKind::Cord],
            air_lost: false,
            swaps: false,
            pauses: true,
            stops: true,
            plugs_any_time: true,
            wrong_counts: true,
            early_counts: false,
            take_back_depth: usize::MAX,
            two_tablets: false,
            states_max: 5_000_000,
        }
    }
}
