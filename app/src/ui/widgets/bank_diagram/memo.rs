//! What is worked out of an engine's picture once and kept while nothing changes.

use std::sync::Arc;

use egui::{Id, Pos2, Rect, Ui, Vec2};
use trayzero_core::engine::Layout;

use super::{DiagramPlan, DiagramView, plan, text_sizes};
use crate::ui::theme::{Theme, Tone, Type};
use crate::ui::widgets::{cached_shapes, paint as strokes};
use crate::ui::words::Words;

/// A plan, what it was made for, and how many were made before it.
#[derive(Clone)]
pub(super) struct Planned {
    layout: Arc<Layout>,
    key: u64,
    pub(super) number: u64,
    pub(super) plan: Arc<DiagramPlan>,
}

/// The heights that an engine asks for in a width.
#[derive(Clone)]
struct Heights {
    layout: Arc<Layout>,
    key: u64,
    whole: Option<f32>,
    least: f32,
}

impl DiagramView<'_> {
    /// The plan for what is shown now, from the frame before where nothing has changed.
    pub(super) fn planned(&self, ui: &Ui, words: &Words, rect: Rect, id: Id) -> Planned {
        let key = cached_shapes::key((
            writing(ui, words),
            cached_shapes::bits(rect),
            self.valves,
            self.in_hand,
            (self.at_cylinder, self.next_cylinder, self.air_cylinder),
            self.marks,
            self.large_cylinder,
        ));
        let id = id.with("planned");
        let kept: Option<Planned> = ui.data(|d| d.get_temp(id));
        let number = kept.as_ref().map_or(0, |kept| kept.number + 1);
        if let Some(kept) = kept.filter(|kept| kept.key == key && *kept.layout == *self.layout) {
            return kept;
        }
        let sizes = text_sizes(ui, words, self.layout);
        let planned = Planned {
            layout: Arc::new(self.layout.clone()),
            key,
            number,
            plan: Arc::new(plan::plan(self.layout, rect, sizes, self.large())),
        };
        ui.data_mut(|d| d.insert_temp(id, planned.clone()));
        planned
    }

    /// Height below which the engine does not fit into a width, in points.
    pub fn least_height(&self, ui: &Ui, words: &Words, width: f32) -> f32 {
        self.heights(ui, words, width).least
    }

    /// Height from which the whole engine is drawn with every valve taking a tap; `None`
    /// where the width does not allow it.
    pub fn whole_height(&self, ui: &Ui, words: &Words, width: f32) -> Option<f32> {
        self.heights(ui, words, width).whole
    }

    fn heights(&self, ui: &Ui, words: &Words, width: f32) -> Heights {
        let key = cached_shapes::key((writing(ui, words), width.to_bits(), self.large()));
        let id = Id::unique("trayzero engine heights");
        let kept: Option<Heights> = ui.data(|d| d.get_temp(id));
        if let Some(kept) = kept.filter(|kept| kept.key == key && *kept.layout == *self.layout) {
            return kept;
        }
        let sizes = text_sizes(ui, words, self.layout);
        let rect = Rect::from_min_size(Pos2::ZERO, Vec2::new(width, 0.0));
        let heights = Heights {
            layout: Arc::new(self.layout.clone()),
            key,
            whole: plan::whole_height(self.layout, width, sizes),
            least: plan::plan(self.layout, rect, sizes, self.large())
                .rect
                .height(),
        };
        ui.data_mut(|d| d.insert_temp(id, heights.clone()));
        heights
    }
}

/// All that sizes and colours of writing depend on: the language, the theme, and the
/// letters themselves, for fonts serve from a window's second frame on only.
fn writing(ui: &Ui, words: &Words) -> (usize, Tone, [u32; 3]) {
    let theme = Theme::of(ui.ctx());
    let front = strokes::text_line(ui, words.front, Type::Small, theme.colours.ink, 900.0);
    let lengths = [
        theme.scale(),
        front.size().x,
        strokes::line_height(ui, Type::Title),
    ];
    let language = std::ptr::from_ref(words).addr();
    (language, theme.tone, lengths.map(f32::to_bits))
}
