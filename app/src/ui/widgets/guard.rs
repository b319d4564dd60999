//! What lies under a finger.
//!
//! A hand in a glove taps the same place again without looking. If a tap has put another
//! control there, the second tap would do something that nobody has read. So whatever lies
//! where another control lay before the last tap is deaf for [`DEAF_S`], counted from the
//! first picture in which it is seen. The same control in its old place is not, and neither
//! is one that has come to where only paper was.

use egui::{Context, Id, Pos2, Rect};

/// How long a control is deaf where another one lay before the last tap, in seconds.
pub const DEAF_S: f64 = 1.2;

/// A control and what is seen of it.
#[derive(Clone, Copy)]
struct Lies {
    target: Id,
    seen: Rect,
}

/// What lay on the screen when a tap was taken.
#[derive(Clone)]
struct Before {
    controls: Vec<Lies>,
    /// The frame of the tap; what it changes is seen in a later one.
    frame: u64,
    /// When the first later frame was drawn, in seconds.
    changed_s: Option<f64>,
}

#[derive(Clone, Default)]
struct TouchGround {
    pass: u64,
    /// The controls of this pass as far as they are drawn.
    now: Vec<Lies>,
    /// All controls of the pass before: what the finger saw.
    last: Vec<Lies>,
    before: Vec<Before>,
    /// The control that a finger came down on while it was deaf: it stays so when the
    /// finger leaves it.
    pressed_deaf: Option<Id>,
}

impl TouchGround {
    /// Begins a new pass, if one has begun, and lets go of what is over.
    fn follow(&mut self, pass: u64, frame: u64, now_s: f64) {
        if self.pass != pass {
            self.pass = pass;
            self.last = std::mem::take(&mut self.now);
        }
        for before in &mut self.before {
            if before.changed_s.is_none() && before.frame != frame {
                before.changed_s = Some(now_s);
            }
        }
        let is_over = |since: f64| !(0.0..DEAF_S).contains(&(now_s - since));
        self.before
            .retain(|b| b.changed_s.is_none_or(|since| !is_over(since)));
    }
}

impl Before {
    /// Whether another control than this one lay at a place.
    fn had_another(&self, target: Id, at: Pos2) -> bool {
        let mut there = self
            .controls
            .iter()
            .filter(|c| c.seen.contains(at))
            .peekable();
        there.peek().is_some() && there.all(|c| c.target != target)
    }
}

fn with<T>(ctx: &Context, act: impl FnOnce(&mut TouchGround) -> T) -> T {
    let now_s = ctx.input(|i| i.time);
    let (pass, frame) = (ctx.cumulative_pass_nr(), ctx.cumulative_frame_nr());
    ctx.data_mut(|data| {
        let ground =
            data.get_temp_mut_or_default::<TouchGround>(Id::unique("trayzero under the finger"));
        ground.follow(pass, frame, now_s);
        act(ground)
    })
}

/// Notes where a control lies in this pass. `seen` is what is not clipped away.
pub fn note(ctx: &Context, target: Id, seen: Rect) {
    with(ctx, |ground| ground.now.push(Lies { target, seen }));
}

/// Whether a control is deaf at a place, for another one lay there before the last tap.
pub fn is_deaf(ctx: &Context, target: Id, at: Pos2) -> bool {
    with(ctx, |ground| {
        ground.before.iter().any(|b| b.had_another(target, at))
    })
}

/// A finger has come down on a control: it is judged now, not when it leaves.
pub fn press(ctx: &Context, target: Id, at: Pos2) {
    let deaf = is_deaf(ctx, target, at);
    with(ctx, |ground| ground.pressed_deaf = deaf.then_some(target));
}

/// Whether a finger came down on this control while it was deaf.
pub fn was_deaf(ctx: &Context, target: Id) -> bool {
    with(ctx, |ground| ground.pressed_deaf == Some(target))
}

/// A tap was taken: what lies there now is remembered for the next one.
pub fn mark(ctx: &Context) {
    let frame = ctx.cumulative_frame_nr();
    with(ctx, |ground| {
        let controls = ground.last.clone();
        ground.before.push(Before {
            controls,
            frame,
            changed_s: None,
        });
    });
}
