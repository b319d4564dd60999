//! What the screens see: borrowed, read-only, made anew for every frame.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero_core::engine::Layout;
use trayzero_core::job::{CrankAt, Event, JobState, Milestone, NextStep};
use trayzero_core::journal::passed_min;
use trayzero_core::plan::{OrderQuestion, ShopPace, Stop, WorkingOrder, working_order};
use trayzero_core::shop_log::{Refused, TabletCard};
use uuid::Uuid;

use crate::data::crew::CrewFault;
pub use crate::data::crew::{CrewMember, TakeOverOffer};
use crate::data::layouts::LayoutLibrary;
use crate::data::pictures::{BadPicture, Pixels, Taken};
use crate::data::settings::Settings;
use crate::data::store::{AnyFault, ListedJob};
use crate::data::written::Written;
use crate::power::PowerView;
use crate::record::opened::{NotOpened, OpenedRecord};
use crate::record::pdf_file::NotRead;
use crate::shop::{Card, History, ShopStatus};
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

/// A tablet of the shop, as screens see it.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopTablet {
    /// Its identity.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// When it was struck off, wall clock in milliseconds.
    pub struck_from_ms: Option<i64>,
    /// It is this one.
    pub is_own: bool,
}

/// A tablet that lies in the shop folder and is no member under the key it shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Asking {
    /// What it says of itself.
    pub card: TabletCard,
    /// The words that it shows too.
    pub words: String,
    /// It is a member under another key.
    pub is_known: bool,
}

/// How this tablet stands in its shop.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MembershipView {
    /// The tablets of the shop.
    pub tablets: Vec<ShopTablet>,
    /// Tablets that wait for a foreman.
    pub asking: Vec<Asking>,
    /// Shops that could be joined.
    pub offers: Vec<TakeOverOffer>,
    /// It has a shop.
    pub has_shop: bool,
    /// This tablet's key in short words, as records show it.
    pub key_words: String,
    /// The shop's key in the same way.
    pub shop_words: Option<String>,
    /// It is a member of it.
    pub is_member: bool,
    /// Its key was struck off.
    pub is_struck_off: bool,
    /// The crew is one of the version before.
    pub wants_taking_over: bool,
    /// Codes of four and five characters may be set.
    pub short_codes: bool,
    /// Why nobody can sign.
    pub fault: Option<CrewFault>,
    /// What in the shop folder does not hold.
    pub folder_faults: Vec<CrewFault>,
    /// Lines of the shop log that count for nothing, with their files.
    pub refused_lines: Vec<(PathBuf, Refused)>,
}

/// A folder that somebody looks into to choose from it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Looked {
    /// The folder.
    pub at: PathBuf,
    /// The one above it.
    pub above: Option<PathBuf>,
    /// Other places to begin from.
    pub elsewhere: Vec<PathBuf>,
    /// Names of the folders in it.
    pub folders: Vec<String>,
    /// Names of the layouts' files in it.
    pub files: Vec<String>,
    /// Names of the pictures in it.
    pub pictures: Vec<String>,
    /// Names of the files in it that may be records.
    pub records: Vec<String>,
    /// Why it could not be looked into.
    pub fault: Option<String>,
}

/// What there is to be seen of a picture.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// It is being read.
    Asked,
    /// The picture.
    There(Arc<Pixels>),
    /// It is not on this tablet.
    Missing,
    /// What is there is not what its event names: it is not shown.
    Changed,
    /// It is none that can be shown.
    Bad(BadPicture),
}

/// A picture that the camera has left, to be added.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureOffer {
    /// The file.
    pub taken: Taken,
    /// What there is to be seen of it.
    pub shown: Shown,
}

/// Pictures at hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pictures {
    /// The newest ones in the camera's folder, the latest first, once it was looked into.
    pub offers: Option<Vec<PictureOffer>>,
    /// That folder is being looked into.
    pub is_watched: bool,
    /// Why that folder could not be looked into.
    pub folder_fault: Option<String>,
    /// How many are being kept just now.
    pub being_kept: usize,
    /// Small ones of the open job, by the hash of their copy.
    pub small: BTreeMap<String, Shown>,
    /// The large one that was asked for last.
    pub large: Option<(String, Shown)>,
}

/// A record from a file, as screens see it.
#[derive(Debug)]
pub struct RecordView {
    /// The file.
    pub path: PathBuf,
    /// What came of reading it; none while it is being read.
    pub read: Option<Result<Box<OpenedRecord>, NotOpened>>,
    /// The page that was asked for last, counted from 0, and how many pixels wide.
    pub asked: Option<(usize, u16)>,
    /// The page that was drawn last, counted from 0, and what came of it.
    pub page: Option<(usize, DrawnPage)>,
    /// It is being written, printed or shown elsewhere.
    pub is_being_handed_on: bool,
    /// The printers, once they were asked for.
    pub printers: Option<Result<Vec<String>, String>>,
}

impl RecordView {
    /// The record, where it could be read.
    pub fn opened(&self) -> Option<&OpenedRecord> {
        self.read.as_ref()?.as_ref().ok().map(|opened| &**opened)
    }
}

/// A page of a record.
#[derive(Clone, Debug, PartialEq)]
pub enum DrawnPage {
    /// Its picture.
    There(Arc<Pixels>),
    /// Why it is not drawn.
    Not(NotRead),
}

/// Why a job can only be read.
#[derive(Clone, Copy, Debug)]
pub enum ReadOnly<'a> {
    /// It is another tablet's, or none that is here at all.
    NotHere,
    /// Its files do not let themselves be written.
    Because(&'a AnyFault),
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
    pub read_only: Option<ReadOnly<'a>>,
    /// It is the job of a record, as it was, and no engine is meant.
    pub is_record: bool,
    /// Other tablets that have told of it, or have it, and when each told something last,
    /// wall clock in milliseconds.
    pub others: Vec<(Uuid, Option<i64>)>,
}

/// The working order of an engine as its paper prints it, with the tool ends of each stop;
/// empty for one that has none.
pub fn order_on_paper(layout: &Layout) -> Vec<(CrankAt, Vec<String>)> {
    let order = working_order(&OrderQuestion::at_start(layout));
    let stops = order.map(|order| order.stops).unwrap_or_default();
    let at = |stop: &Stop| CrankAt {
        cylinder: stop.cylinder,
        offset_deg: stop.offset_deg,
    };
    let with_ends = stops.into_iter().map(|stop| (at(&stop), stop.adaptors));
    with_ends.collect()
}

impl View<'_> {
    /// Whole minutes since a time that a tablet told; none where a clock was wrong and nobody
    /// knows.
    pub fn minutes_since(&self, at_ms: i64) -> Option<i64> {
        passed_min(at_ms, self.now_ms)
    }
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
    /// Its identity.
    pub tablet: Uuid,
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
    pub crew: &'a [CrewMember],
    /// How this tablet stands in its shop.
    pub membership: &'a MembershipView,
    /// The engine layouts.
    pub library: &'a LayoutLibrary,
    /// The cards of the board.
    pub cards: &'a [Arc<Card>],
    /// What the shop has learned of its hours, where that is known yet.
    pub pace: Option<&'a ShopPace>,
    /// The finished jobs by week, once somebody has asked for them.
    pub history: Option<&'a History>,
    /// How the shop folder is.
    pub shop: &'a ShopStatus,
    /// Other tablets of the shop: identity and name.
    pub tablets: &'a [(Uuid, String)],
    /// The battery, and whether the screen is kept on.
    pub power: PowerView,
    /// Pictures of the open job, and those of the camera.
    pub pictures: &'a Pictures,
    /// What was written into fields before.
    pub written: &'a Written,
    /// The folder that is looked into.
    pub looked: Option<&'a Looked>,
    /// This tablet's data folder.
    pub data: &'a Path,
    /// The record that is open.
    pub record: Option<&'a RecordView>,
    /// A message.
    pub notice: Option<&'a Notice>,
}
