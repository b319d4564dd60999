//! Leak-down of every cylinder before and after the work side by side, and which of them
//! lie past the limit.

use egui::Ui;
use trayzero_core::engine::Layout;
use trayzero_core::job::{Event, JobState, LOSS_LIMIT_PERCENT, Reading};

use crate::ui::screens::frame;
use crate::ui::theme::Theme;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::{LeakPair, leak_bars, note};

/// Height of the chart at the usual text size, in points.
const HEIGHT: f32 = 200.0;

/// Draws the chart, once anything was read.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    let w = v.words;
    let pairs = pairs(job);
    if pairs
        .iter()
        .all(|p| p.before.is_none() && p.after.is_none())
    {
        return;
    }
    frame::group(ui, w.leak_test);
    let height = HEIGHT * Theme::of(ui.ctx()).scale();
    leak_bars(ui, w, &pairs, height);
    let c = Theme::of(ui.ctx()).colours;
    for pair in &pairs {
        let cylinder = pair.cylinder;
        let past = |loss: Option<f64>| loss.filter(|l| *l > LOSS_LIMIT_PERCENT);
        let Some(loss) = past(pair.after).or_else(|| past(pair.before)) else {
            continue;
        };
        let text = format!("{}: {}", w.cylinder_n(cylinder), w.percent(loss));
        let more = match agreed_by(job.state, cylinder) {
            _ if job.state.foreman_wanted(cylinder).is_some() => w.bar_foreman.to_owned(),
            Some(who) => format!("{}: {who}", w.foreman_agrees),
            None => w.leak_find.to_owned(),
        };
        note::ui(ui, &text, &more, c.astray);
    }
}

fn pairs(job: &JobView<'_>) -> Vec<LeakPair> {
    let loss = |cylinder, when| job.state.leak(cylinder, when).map(|l| l.loss_percent());
    let cylinders = job.layout().into_iter().flat_map(Layout::cylinders);
    cylinders
        .map(|cylinder| LeakPair {
            cylinder,
            before: loss(cylinder, Reading::Before),
            after: loss(cylinder, Reading::After),
        })
        .collect()
}

/// The foreman who has let the work on a cylinder go on.
fn agreed_by(state: &JobState, of: u8) -> Option<String> {
    state
        .facts()
        .iter()
        .rev()
        .find_map(|fact| match &fact.event {
            Event::ForemanAgreed { cylinder, by } if *cylinder == of => Some(by.person.to_string()),
            _ => None,
        })
}
