//! The short lists before the first valve and after the last, each with who and when.

use egui::Ui;
use trayzero_core::job::{Event, Step};

use crate::intent::Intent;
use crate::screens::frame;
use crate::times;
use crate::view::{JobView, View};
use crate::widgets::button::Button;

/// Draws the sheet.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
    let w = v.words;
    let groups: [(&str, &[Step]); 2] = [
        (w.before_first_valve, &Step::BEFORE),
        (w.after_last_valve, &Step::AFTER),
    ];
    for (name, steps) in groups {
        frame::group(ui, name);
        for step in steps {
            let seen = job.state.step_seen(*step);
            let more = match seen {
                Some(fact) => {
                    let when = times::clock(fact.at_ms, fact.offset_min);
                    format!("{} · {when}", fact.who)
                }
                None => w.not_yet.to_owned(),
            };
            let button = Button::new(w.step(*step))
                .more(&more)
                .chosen(seen.is_some());
            let open = seen.is_none() && job.read_only.is_none();
            if button.enabled(open).ui(ui).tapped {
                out.push(Intent::Tap(vec![Event::StepSeen { step: *step }]));
            }
        }
    }
}
