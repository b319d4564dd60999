//! Where the time of this job went so far.

use egui::Ui;
use trayzero_core::phases::JobClock;

use crate::ui::screens::where_time_goes;
use crate::ui::view::{JobView, View};

/// Draws the sheet. The clock is cut anew in each frame: nothing moves while it lies open.
pub fn ui(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>) {
    where_time_goes::of_job(ui, v, &JobClock::of(job.state).hours);
}
