//! What is worked out once and kept from frame to frame, as long as it is asked for.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

use egui::Ui;
use egui::cache::CacheTrait;

/// A number for everything that a thing depends on.
pub fn key(parts: impl Hash) -> u64 {
    egui::epaint::util::hash(parts)
}

/// Bits of a rectangle, for [`key`].
pub fn bits(rect: egui::Rect) -> [u32; 4] {
    [rect.min.x, rect.min.y, rect.max.x, rect.max.y].map(f32::to_bits)
}

/// A number from [`key`] serves as its own hash. An [`egui::Id`] would, too, but in a debug
/// build egui notes down for good what each one was made of.
#[derive(Clone, Copy, Default)]
struct AsItIs(u64);

impl Hasher for AsItIs {
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = self.0.rotate_left(8) ^ u64::from(*byte);
        }
    }

    fn write_u64(&mut self, number: u64) {
        self.0 = number;
    }

    fn finish(&self) -> u64 {
        self.0
    }
}

/// Things of one type from the frame before and this one. What is not asked for in a
/// frame is let go.
struct Memo<T> {
    frame: u64,
    things: HashMap<u64, Thing<T>, BuildHasherDefault<AsItIs>>,
}

struct Thing<T> {
    asked_in: u64,
    made: T,
}

impl<T> Default for Memo<T> {
    fn default() -> Self {
        Self {
            frame: 0,
            things: HashMap::default(),
        }
    }
}

impl<T: Clone> Memo<T> {
    fn get(&mut self, key: u64) -> Option<T> {
        let thing = self.things.get_mut(&key)?;
        thing.asked_in = self.frame;
        Some(thing.made.clone())
    }

    fn put(&mut self, key: u64, made: T) {
        let asked_in = self.frame;
        self.things.insert(key, Thing { asked_in, made });
    }
}

impl<T: Send + Sync + 'static> CacheTrait for Memo<T> {
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
/// fonts: from the frame before, or made now. When one of the latter changes,
/// [`Theme::install`] empties the cache.
///
/// [`Theme::install`]: crate::ui::theme::Theme::install
pub fn memo<T: Clone + Send + Sync + 'static>(ui: &Ui, key: u64, make: impl FnOnce() -> T) -> T {
    let before = ui.memory_mut(|m| m.caches.cache::<Memo<T>>().get(key));
    before.unwrap_or_else(|| {
        let made = make();
        ui.memory_mut(|m| m.caches.cache::<Memo<T>>().put(key, made.clone()));
        made
    })
}
