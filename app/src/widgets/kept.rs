//! What is worked out once and kept from frame to frame, as long as it is asked for.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

use egui::Ui;
use egui::cache::CacheTrait;

use crate::theme::Theme;

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
struct Kept<T> {
    frame: u64,
    things: HashMap<u64, Thing<T>, BuildHasherDefault<AsItIs>>,
}

struct Thing<T> {
    asked_in: u64,
    made: T,
}

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Self {
            frame: 0,
            things: HashMap::default(),
        }
    }
}

impl<T: Clone> Kept<T> {
    fn get(&mut self, id: u64) -> Option<T> {
        let thing = self.things.get_mut(&id)?;
        thing.asked_in = self.frame;
        Some(thing.made.clone())
    }

    fn put(&mut self, id: u64, made: T) {
        let asked_in = self.frame;
        self.things.insert(id, Thing { asked_in, made });
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
    let pixels = ui.pixels_per_point().to_bits();
    let before = ui.memory_mut(|m| {
        let ground = Theme::ground(&m.data)?;
        let id = self::key((key, ground, pixels));
        Some((id, m.caches.cache::<Kept<T>>().get(id)))
    });
    match before {
        Some((_, Some(made))) => made,
        Some((id, None)) => {
            let made = make();
            ui.memory_mut(|m| m.caches.cache::<Kept<T>>().put(id, made.clone()));
            made
        }
        // Nothing from before the fonts serve holds.
        None => make(),
    }
}
