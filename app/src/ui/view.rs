//! What the screens see: borrowed, read-only, made anew for every frame.

use std::sync::Arc;

use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, Event, JobState, Milestone, NextStep, Person};
use trayzero_core::plan::WorkingOrder;
use uuid::Uuid;

use crate::data::layouts::LayoutLibrary;
use crate::data::settings::Settings;
use crate::data::store::ListedJob;
use crate::shop::{Card, ShopStatus};
use crate::ui::intent::Screen;
use crate::ui::units::Figures;
use crate::ui::words::Words;

/// After so many minutes without a tap at the open bay its card shows by itself (common
/// practice, no source).
pub const RETURN_AFTER_MIN: i64 = 20;

/// A message that stays until it is read or the next tap is taken.
#[derive(Clone, Debug, PartialEq)]
pub enum Notice {
    /// A step was refused: why, the way out, the permanent code.
    Refused {
        /// Why.
        why: String,
        /// The way out.
        way_out: String,
        /// The permanent code.
        code: &'static str,
    },
    /// Something else went wrong and nothing was taken.
    Fault {
        /// What.
        what: String,
        /// The way out.
        way_out: String,
    },
    /// Something was done that is not seen elsewhere.
    Said(String),
}

/// A person of the crew, as screens see them.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// Who.
    pub person: Person,
    /// Whether a foreman.
    pub is_foreman: bool,
    /// Whether they have a code.
    pub has_code: bool,
}

/// The open job.
pub struct JobView<'a> {
    /// Its identity.
    pub id: Uuid,
    /// Its state.
    pub state: &'a JobState,
    /// The one next step.
    pub next: &'a NextStep,
    /// The rest of the working order.
    pub order: Option<&'a WorkingOrder>,
    /// The end announced by the last tap.
    pub milestone: Option<Milestone>,
    /// What an undo would take back.
    pub undo: Option<(Uuid, &'a Event)>,
    /// Why the job can only be read.
    pub read_only: Option<&'a str>,
}

impl JobView<'_> {
    /// The engine, which an open job always has.
    pub fn layout(&self) -> Option<&Layout> {
        self.state.layout()
    }

    /// The next stop of the working order that is not where the crank stands.
    pub fn next_stop(&self) -> Option<CrankAt> {
        self.order?
            .stops
            .iter()
            .map(|stop| CrankAt {
                cylinder: stop.cylinder,
                offset_deg: stop.offset_deg,
            })
            .find(|stop| Some(*stop) != self.state.crank())
    }
}

/// Everything that screens see.
pub struct View<'a> {
    /// The words of the language.
    pub words: &'a Words,
    /// The tablet's settings.
    pub settings: &'a Settings,
    /// The name of this tablet.
    pub tablet_name: &'a str,
    /// Its public key, 64 hex digits.
    pub tablet_key: &'a str,
    /// How figures are written.
    pub units: Figures,
    /// Wall clock in milliseconds.
    pub now_ms: i64,
    /// Its offset from UTC in minutes.
    pub offset_min: i16,
    /// The screen shown.
    pub screen: Screen,
    /// The screen is locked for wiping.
    pub is_locked: bool,
    /// Finished jobs, as many as somebody has asked to see, the latest first.
    pub finished: &'a [Arc<Card>],
    /// How many finished jobs there are.
    pub finished_count: usize,
    /// The jobs of this tablet that are not over.
    pub jobs: &'a [ListedJob],
    /// The open job.
    pub job: Option<JobView<'a>>,
    /// The crew.
    pub crew: &'a [Member],
    /// The engine layouts.
    pub library: &'a LayoutLibrary,
    /// The cards of the board.
    pub cards: &'a [Arc<Card>],
    /// How the shop folder is.
    pub shop: &'a ShopStatus,
    /// Other tablets of the shop: identity and name.
    pub tablets: &'a [(Uuid, String)],
    /// A message.
    pub notice: Option<&'a Notice>,
}
