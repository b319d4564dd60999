//! What is worked out once and kept from frame to frame, as long as it is asked for.

use std::hash::{DefaultHasher, Hash, Hasher};

use egui::cache::CacheTrait;
use egui::{Id, IdMap, Ui};

use crate::theme::Theme;

/// A number for everything that a thing depends on.
pub fn key(parts: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    parts.hash(&mut hasher);
    hasher.finish()
}

/// Bits of a rectangle, for [`key`].
pub fn bits(rect: egui::Rect) -> [u32; 4] {
    [rect.min.x, rect.min.y, rect.max.x, rect.max.y].map(f32::to_bits)
}

/// Things of one type from the frame before and this one. What is not asked for in a
/// frame is let go.
struct Kept<T> {
    frame: u64,
    things: IdMap<Thing<T>>,
}

struct Thing<T> {
    asked_in: u64,
    /// How full the fonts' picture was; when it empties, letters have moved in it.
    fill: f32,
    made: T,
}

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Self {
            frame: 0,
            things: IdMap::default(),
        }
    }
}

impl<T: Clone> Kept<T> {
    fn get(&mut self, id: Id, fill: f32) -> Option<T> {
        let thing = self.things.get_mut(&id)?;
        if fill < thing.fill {
            return None;
        }
        (thing.asked_in, thing.fill) = (self.frame, fill);
        Some(thing.made.clone())
    }

    fn put(&mut self, id: Id, fill: f32, made: T) {
        let asked_in = self.frame;
        let thing = Thing {
            asked_in,
            fill,
            made,
        };
        self.things.insert(id, thing);
    }
}

impl<T: Send + Sync + 'static> CacheTrait for Kept<T> {
    fn update(&mut self) {
        let last = self.frame;
        self.things.retain(|_, thing| thing.asked_in == last);
        self.frame += 1;
    }

    fn len(&self) -> usize {
        self.things.len()
    }
}

/// The thing that depends on nothing but `key`, the theme, the scale of the screen and the
/// fonts: from the frame before, or made now.
pub fn kept<T: Clone + Send + Sync + 'static>(ui: &Ui, key: u64, make: impl FnOnce() -> T) -> T {
    // Fonts serve from a window's second frame on only; nothing from before it holds.
    if !Theme::has_fonts(ui.ctx()) {
        return make();
    }
    let theme = Theme::of(ui.ctx());
    let fill = ui.fonts_mut(|f| f.font_atlas_fill_ratio());
    let lengths = [ui.ctx().pixels_per_point(), theme.scale()].map(f32::to_bits);
    let id = Id::NULL.with(self::key((key, theme.tone, lengths)));
    if let Some(made) = ui.memory_mut(|m| m.caches.cache::<Kept<T>>().get(id, fill)) {
        return made;
    }
    let made = make();
    let fill = ui.fonts_mut(|f| f.font_atlas_fill_ratio());
    ui.memory_mut(|m| m.caches.cache::<Kept<T>>().put(id, fill, made.clone()));
    made
}
