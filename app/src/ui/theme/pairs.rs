//! Which colours stand on which, for the contrast test.

use egui::Color32;

use super::Colours;

/// What stands on the ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PairKind {
    /// Text: at least 4.5 : 1.
    Text,
    /// A mark or an outline that tells something: at least 3 : 1.
    Mark,
}

/// One pair in use: its name, what stands on the ground, the ground, and the kind.
pub type Pair = (
    &'static str,
    fn(&Colours) -> Color32,
    fn(&Colours) -> Color32,
    PairKind,
);

use PairKind::{Mark, Text};

/// Every pair in use. A widget that sets a new pair adds it here.
pub const PAIRS_IN_USE: [Pair; 47] = [
    ("ink on paper", |c| c.ink, |c| c.paper, Text),
    ("ink on card", |c| c.ink, |c| c.card, Text),
    ("ink on metal", |c| c.ink, |c| c.metal, Text),
    ("ink on pressed", |c| c.ink, |c| c.pressed, Text),
    ("soft ink on paper", |c| c.ink_soft, |c| c.paper, Text),
    ("soft ink on card", |c| c.ink_soft, |c| c.card, Text),
    ("soft ink on metal", |c| c.ink_soft, |c| c.metal, Text),
    ("soft ink on pressed", |c| c.ink_soft, |c| c.pressed, Text),
    ("edge on paper", |c| c.edge, |c| c.paper, Mark),
    ("edge on card", |c| c.edge, |c| c.card, Mark),
    ("edge on metal", |c| c.edge, |c| c.metal, Mark),
    ("now bar", |c| c.now.mark, |c| c.now.ground, Text),
    (
        "now bar, pressed",
        |c| c.now_pressed.mark,
        |c| c.now_pressed.ground,
        Text,
    ),
    ("now bar on paper", |c| c.now.ground, |c| c.paper, Mark),
    ("now bar on card", |c| c.now.ground, |c| c.card, Mark),
    ("now on paper", |c| c.now_mark, |c| c.paper, Text),
    ("now on card", |c| c.now_mark, |c| c.card, Text),
    ("now on metal", |c| c.now_mark, |c| c.metal, Mark),
    ("open", |c| c.open.mark, |c| c.open.ground, Text),
    ("open on paper", |c| c.open.mark, |c| c.paper, Text),
    ("open on card", |c| c.open.mark, |c| c.card, Text),
    ("open on metal", |c| c.open.mark, |c| c.metal, Mark),
    ("ink on open", |c| c.ink, |c| c.open.ground, Text),
    ("astray", |c| c.astray.mark, |c| c.astray.ground, Text),
    ("astray on paper", |c| c.astray.mark, |c| c.paper, Text),
    ("astray on card", |c| c.astray.mark, |c| c.card, Text),
    ("astray on metal", |c| c.astray.mark, |c| c.metal, Mark),
    ("ink on astray", |c| c.ink, |c| c.astray.ground, Text),
    ("air", |c| c.air.mark, |c| c.air.ground, Text),
    ("air on paper", |c| c.air.mark, |c| c.paper, Text),
    ("air on card", |c| c.air.mark, |c| c.card, Text),
    ("air on metal", |c| c.air.mark, |c| c.metal, Mark),
    ("ink on air", |c| c.ink, |c| c.air.ground, Text),
    ("done", |c| c.done.mark, |c| c.done.ground, Text),
    ("done on paper", |c| c.done.mark, |c| c.paper, Text),
    ("done on card", |c| c.done.mark, |c| c.card, Text),
    ("done on metal", |c| c.done.mark, |c| c.metal, Mark),
    ("positioned on card", |c| c.stages[0], |c| c.card, Mark),
    ("spring held on card", |c| c.stages[1], |c| c.card, Mark),
    (
        "locks out on open",
        |c| c.stages[2],
        |c| c.open.ground,
        Mark,
    ),
    (
        "seal fitted on open",
        |c| c.stages[3],
        |c| c.open.ground,
        Mark,
    ),
    ("locks in on card", |c| c.stages[4], |c| c.card, Mark),
    ("verified on done", |c| c.stages[5], |c| c.done.ground, Mark),
    ("ink on line", |c| c.ink, |c| c.line, Text),
    ("edge on line", |c| c.edge, |c| c.line, Mark),
    ("edge on open", |c| c.edge, |c| c.open.ground, Mark),
    ("edge on done", |c| c.edge, |c| c.done.ground, Mark),
];
