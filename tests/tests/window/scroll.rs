//! Brings into sight what is to be tapped: by the wheel, or by a finger on the glass.

use std::thread::sleep;
use std::time::Duration;

use egui::{Pos2, vec2};

use super::display::NOTCH;
use super::drive::Drive;

/// What is older gives a list no speed when the finger is lifted.
const THROW: Duration = Duration::from_millis(120);

impl Drive {
    /// Scrolls until the middle of a control is on the screen: first as far as it goes, for
    /// there window and mirror stand alike however far a notch moves either, then back to
    /// where it lies, and the rest notch by notch.
    pub fn bring_into_sight(&mut self, name: &str) -> Pos2 {
        if let Some(at) = self.in_sight(name) {
            return at;
        }
        for tries in 0..60 {
            if self.display.has_glass() {
                self.drag_into_sight(name);
            } else {
                let rect = self.mirror.place(name).unwrap();
                let (at, seen) = (rect.center(), self.mirror.seen_of(rect));
                let over = self.over(at, 0.6);
                let far = match tries {
                    // No list is longer.
                    0 => 120,
                    1 => (((at.y - over.y) / NOTCH).abs().round() as i32).max(1),
                    _ => 1,
                };
                let is_below = at.y > seen.center().y || at.y > over.y;
                let notches = if is_below { far } else { -far };
                self.display.wheel(over, notches);
                self.mirror.wheel(over, notches);
                sleep(Duration::from_millis(60));
            }
            if let Some(at) = self.in_sight(name) {
                if !self.display.has_glass() {
                    // The window glides to where the wheel has sent it.
                    sleep(Duration::from_millis(900));
                }
                self.settle();
                return at;
            }
        }
        self.keep("lost");
        panic!("\"{name}\" does not come into sight");
    }

    /// Over what scrolls beside or below a place.
    fn over(&self, at: Pos2, share: f32) -> Pos2 {
        let x = at.x.clamp(30.0, self.size().x - 30.0);
        Pos2::new(x, self.size().y * share)
    }

    /// The same by a finger, which a list follows to the point: to the top, straight to
    /// where the control lies, and the rest in small drags. Which of two lists, one above
    /// the other, holds it shows when it moves.
    fn drag_into_sight(&mut self, name: &str) {
        let at = |d: &Self| {
            d.mirror
                .place(name)
                .map_or(Pos2::ZERO, |rect| rect.center())
        };
        for share in [0.6, 0.35] {
            let stood = at(self);
            let over = self.over(stood, share);
            self.mirror.wheel(over, -120);
            let up = at(self).y - stood.y;
            if up > 0.5 {
                // What there is, and some more: at the top it ends.
                self.drag(over, -up - 3.0 * NOTCH);
            }
            for _ in 0..20 {
                let y = at(self).y;
                let off = ((y - over.y) / NOTCH).round() as i32;
                if off == 0 || self.in_sight(name).is_some() {
                    break;
                }
                self.mirror.wheel(over, off);
                self.drag(over, off as f32 * NOTCH);
                if at(self).y == y {
                    break;
                }
            }
            if self.in_sight(name).is_some() {
                return;
            }
        }
    }

    /// Drags what lies at a place by so many points, down if positive. The window has seen
    /// all of it before the finger is lifted, so that nothing is thrown.
    pub fn drag(&mut self, over: Pos2, by: f32) {
        let stroke = self.stroke();
        let mut left = by;
        while left.abs() > 0.5 {
            let by = left.clamp(-stroke, stroke);
            left -= by;
            let from = begin(over, by, stroke);
            let to = self.display.glass().drag(1, from, vec2(0.0, -by));
            self.settle();
            sleep(THROW);
            self.display.glass().up(1, to);
        }
    }

    /// Drags it to its top, however far that is: what is thrown goes the same way.
    pub fn drag_to_top(&mut self, over: Pos2) {
        // No list is longer.
        const LONGEST: f32 = 2_400.0;
        let stroke = self.stroke();
        for _ in 0..(LONGEST / stroke).ceil() as usize {
            let from = begin(over, -stroke, stroke);
            let to = self.display.glass().drag(1, from, vec2(0.0, stroke));
            self.display.glass().up(1, to);
            self.display.answers();
        }
    }

    /// The length of one drag: neither the top of the screen nor that of a sheet scrolls.
    fn stroke(&self) -> f32 {
        let is_portrait = self.size().y > self.size().x;
        self.size().y * if is_portrait { 0.22 } else { 0.4 }
    }
}

/// Where a drag begins that lies above or at a place.
fn begin(over: Pos2, by: f32, stroke: f32) -> Pos2 {
    if by > 0.0 {
        over
    } else {
        over - vec2(0.0, stroke)
    }
}
