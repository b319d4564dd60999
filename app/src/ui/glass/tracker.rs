//! What each finger on the glass does, as plain data: no window, no widgets, no clock.
//!
//! Every touch is followed alone. One that rests, is long, comes from the edge or comes as
//! part of a patch of skin does nothing and disables nothing. Two touches at once do one
//! thing at most. The lengths and times below are common practice, no source.

use egui::{Id, Pos2, Rect, Vec2};

use super::throw::{Speed, Throw};

/// How far a tap may slide, in points: 24, and what a glass rounds to its own steps.
pub const TAP_SLIDE: f32 = 24.1;
/// How long a tap may last, in seconds. What lies longer is a palm or a sleeve.
pub const TAP_S: f64 = 1.5;
/// A touch that begins this near to the edge of the glass, in points, is the hand that
/// holds the tablet.
pub const EDGE: f32 = 6.0;
/// Two touches that come down this near to each other, in points, at the same time are
/// one patch of skin.
pub const PATCH: f32 = 48.0;
/// At the same time means within so many seconds.
const SAME_S: f64 = 0.15;
/// Two touches that come within so many seconds may pinch.
const PAIR_S: f64 = 0.4;
/// How much the distance of two fingers must change before it is a pinch, in points.
const PINCH: f32 = 24.0;
/// How far each of the two must have moved then, in points.
const PINCH_EACH: f32 = 8.0;

/// What the fingers have asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Act {
    /// A tap at a place.
    Tap(Pos2),
    /// What lies at a place is dragged by so many points.
    Scroll {
        /// Where the finger came down.
        at: Pos2,
        /// How far the content goes.
        by: Vec2,
    },
    /// What lies between two fingers grows by a factor.
    Pinch {
        /// The middle between the fingers.
        at: Pos2,
        /// Above 1 it grows.
        factor: f32,
    },
}

/// What one touch does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Does {
    /// It may become a tap, a scroll or half of a pinch.
    Waits,
    /// It drags a list.
    Scrolls,
    /// It pinches with another.
    Pinches,
    /// Nothing, until it is lifted.
    Nothing,
}

/// One finger, palm or sleeve.
#[derive(Clone, Debug)]
struct Touch {
    id: u64,
    began_at: Pos2,
    began_s: f64,
    at: Pos2,
    target: Option<Id>,
    does: Does,
    /// On a key, where the next finger may come before this one has gone.
    is_on_key: bool,
    speed: Speed,
}

impl Touch {
    fn moved(&self) -> f32 {
        self.at.distance(self.began_at)
    }

    fn is_palm(&self, now_s: f64) -> bool {
        self.does == Does::Nothing || (self.does == Does::Waits && now_s - self.began_s > TAP_S)
    }
}

/// A touch as it comes down.
#[derive(Clone, Copy, Debug)]
pub struct Down {
    /// Tells it from the others until it is lifted.
    pub id: u64,
    /// Where.
    pub at: Pos2,
    /// When, in seconds.
    pub now_s: f64,
    /// What takes a tap there.
    pub target: Option<Id>,
    /// Whether that is a key of the keys on the glass: there the next finger may come
    /// before this one has gone.
    pub is_on_key: bool,
}

/// Follows every touch.
#[derive(Clone, Debug, Default)]
pub struct Tracker {
    touches: Vec<Touch>,
    throw: Option<Throw>,
}

impl Tracker {
    /// Whether anything touches the glass.
    pub fn is_touched(&self) -> bool {
        !self.touches.is_empty()
    }

    /// Whether a list still runs from a throw.
    pub fn is_thrown(&self) -> bool {
        self.throw.is_some()
    }

    /// Where fingers press now that may still become taps, and since when.
    pub fn pressed(&self, now_s: f64) -> impl Iterator<Item = (Pos2, f64)> + '_ {
        let may =
            move |t: &&Touch| t.does == Does::Waits && t.moved() <= TAP_SLIDE && !t.is_palm(now_s);
        self.touches
            .iter()
            .filter(may)
            .map(|t| (t.began_at, t.began_s))
    }

    /// A touch comes down on a screen.
    pub fn begins(&mut self, down: Down, screen: Rect) {
        self.touches.retain(|t| t.id != down.id);
        let is_stop = self.throw.take().is_some();
        let is_edge = !screen.shrink(EDGE).contains(down.at);
        let near = |t: &Touch| t.at.distance(down.at) < PATCH && down.now_s - t.began_s < SAME_S;
        let is_patch = self.touches.iter().any(near);
        for touch in self.touches.iter_mut().filter(|t| near(t)) {
            touch.does = Does::Nothing;
        }
        // A finger that stops a list does no more than that.
        let is_nothing = is_edge || is_patch;
        let does = if is_nothing {
            Does::Nothing
        } else {
            Does::Waits
        };
        self.touches.push(Touch {
            id: down.id,
            began_at: down.at,
            began_s: down.now_s,
            at: down.at,
            target: if is_stop { None } else { down.target },
            does,
            is_on_key: down.is_on_key,
            speed: Speed::default(),
        });
        if is_stop && let Some(touch) = self.touches.last_mut() {
            // It may drag the list on, but it is no tap any more.
            touch.began_s -= TAP_S;
            touch.does = if is_nothing {
                Does::Nothing
            } else {
                Does::Scrolls
            };
        }
    }

    /// A touch moves.
    pub fn moves(&mut self, id: u64, at: Pos2, now_s: f64) -> Option<Act> {
        let index = self.touches.iter().position(|t| t.id == id)?;
        if let Some(other) = self.partner(index) {
            return self.moves_in_pair(index, other, at);
        }
        let is_palm = self.touches[index].is_palm(now_s);
        let is_busy = self
            .touches
            .iter()
            .enumerate()
            .any(|(i, t)| i != index && matches!(t.does, Does::Scrolls | Does::Pinches));
        let touch = &mut self.touches[index];
        let from = touch.at;
        touch.at = at;
        if is_palm {
            touch.does = Does::Nothing;
            return None;
        }
        if touch.does == Does::Waits {
            if touch.moved() <= TAP_SLIDE {
                return None;
            }
            touch.does = if is_busy {
                Does::Nothing
            } else {
                Does::Scrolls
            };
        }
        if touch.does != Does::Scrolls || at == from {
            return None;
        }
        let by = at - from;
        touch.speed.take(by, now_s);
        let at = touch.began_at;
        for other in &mut self.touches {
            // While a list is dragged, a second finger takes no tap.
            if other.id != id && other.does == Does::Waits {
                other.does = Does::Nothing;
            }
        }
        Some(Act::Scroll { at, by })
    }

    /// The other touch of a pair that may pinch or does so.
    fn partner(&self, index: usize) -> Option<usize> {
        let this = &self.touches[index];
        let pairs = |t: &Touch| match (this.does, t.does) {
            (Does::Pinches, Does::Pinches) => true,
            (Does::Waits, Does::Waits) => {
                (this.began_s - t.began_s).abs() < PAIR_S
                    && !this.is_on_key
                    && !t.is_on_key
                    && t.moved().max(this.moved()) >= PINCH_EACH
            }
            _ => false,
        };
        let mut others = self.touches.iter().enumerate();
        others
            .find(|(i, t)| *i != index && pairs(t))
            .map(|(i, _)| i)
    }

    fn moves_in_pair(&mut self, index: usize, other: usize, at: Pos2) -> Option<Act> {
        let far = self.touches[other].at;
        let before = self.touches[index].at.distance(far).max(1.0);
        self.touches[index].at = at;
        let (this, that) = (&self.touches[index], &self.touches[other]);
        if this.does == Does::Pinches {
            let factor = at.distance(far).max(1.0) / before;
            return Some(Act::Pinch {
                at: at + (far - at) / 2.0,
                factor,
            });
        }
        let first = this.began_at.distance(that.began_at);
        let is_pinch = (at.distance(far) - first).abs() >= PINCH
            && this.moved() >= PINCH_EACH
            && that.moved() >= PINCH_EACH;
        if is_pinch {
            let factor = at.distance(far).max(1.0) / first.max(1.0);
            for i in [index, other] {
                self.touches[i].does = Does::Pinches;
            }
            return Some(Act::Pinch {
                at: at + (far - at) / 2.0,
                factor,
            });
        }
        // One finger that moves beside one that rests drags as if it were alone.
        if this.moved() > TAP_SLIDE && that.moved() < PINCH_EACH {
            self.touches[index].does = Does::Scrolls;
            self.touches[other].does = Does::Nothing;
        } else if this.moved() > 2.0 * TAP_SLIDE {
            // Two that go the same way do nothing.
            self.touches[index].does = Does::Nothing;
            self.touches[other].does = Does::Nothing;
        }
        None
    }

    /// A touch is lifted, where `target` takes a tap at the place where it came down as
    /// well as where it is lifted; otherwise `None`.
    pub fn ends(&mut self, id: u64, now_s: f64, target: Option<Id>) -> Option<Act> {
        let index = self.touches.iter().position(|t| t.id == id)?;
        let touch = self.touches.remove(index);
        match touch.does {
            Does::Nothing => None,
            Does::Pinches => {
                for other in &mut self.touches {
                    other.does = Does::Nothing;
                }
                None
            }
            Does::Scrolls => {
                self.throw = touch.speed.throw(touch.began_at, now_s);
                None
            }
            Does::Waits => {
                let is_tap = touch.moved() <= TAP_SLIDE
                    && now_s - touch.began_s <= TAP_S
                    && touch.target == target;
                if !is_tap {
                    return None;
                }
                for other in &mut self.touches {
                    // Keys are struck faster than fingers are lifted.
                    let is_next_key = other.is_on_key && touch.is_on_key;
                    if other.does == Does::Waits && !is_next_key {
                        other.does = Does::Nothing;
                    }
                }
                Some(Act::Tap(touch.began_at))
            }
        }
    }

    /// The system has taken a touch away.
    pub fn is_cancelled(&mut self, id: u64) {
        self.touches.retain(|t| t.id != id);
    }

    /// Where a touch came down, and where it is.
    pub fn places(&self, id: u64) -> Option<(Pos2, Pos2)> {
        let touch = self.touches.iter().find(|t| t.id == id)?;
        Some((touch.began_at, touch.at))
    }

    /// Lets a thrown list run on.
    pub fn runs_on(&mut self, now_s: f64) -> Option<Act> {
        let throw = self.throw.as_mut()?;
        let by = throw.runs_on(now_s);
        let at = throw.at;
        if by.is_none() {
            self.throw = None;
        }
        Some(Act::Scroll { at, by: by? })
    }
}

#[cfg(test)]
mod tests;
