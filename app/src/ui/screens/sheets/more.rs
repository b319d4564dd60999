//! The other things that a bay can do.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, JobPhase};

use super::{Sheet, talk};
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::frame;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// Draws the sheet; gives the one to open next.
pub fn ui(
    ui: &mut Ui,
    v: &View<'_>,
    job: &JobView<'_>,
    valve: Option<ValveName>,
    out: &mut Vec<Intent>,
) -> Option<Sheet> {
    let w = v.words;
    let open = job.state.phase() == JobPhase::Open && job.read_only.is_none();
    let rows: [(&str, Sheet, bool); 14] = [
        (w.dropped_one, Sheet::Drop, open),
        (w.part_changed, Sheet::Part, open),
        (w.you_are_here, Sheet::Card, true),
        (w.crank, Sheet::Crank, true),
        (w.parts, Sheet::Parts, true),
        (w.kit, Sheet::Kit, open),
        (w.finding, Sheet::Finding, open),
        (w.take_in, Sheet::TakeIn, true),
        (w.order_list, Sheet::OrderList, true),
        (w.steps_word, Sheet::Steps, true),
        (w.note, Sheet::Talk(talk::Kind::Note), true),
        (w.pause, Sheet::Talk(talk::Kind::Rest), open),
        (
            w.take_over,
            Sheet::Sign(SignedAct::TakeOver),
            job.read_only.is_none(),
        ),
        (w.hand_over, Sheet::HandOver, job.read_only.is_none()),
    ];
    let mut next = None;
    let width = (ui.available_width() - crate::ui::theme::GAP) / 2.0;
    for row in rows.chunks(2) {
        let height = row
            .iter()
            .map(|(name, _, _)| Button::new(name).height(ui, width))
            .fold(crate::ui::theme::TARGET, f32::max);
        let rects = frame::columns(ui, 2, height);
        for ((name, sheet, enabled), rect) in row.iter().zip(rects) {
            if Button::new(name).enabled(*enabled).at(ui, rect).tapped {
                next = Some(sheet.clone());
            }
        }
    }
    if job.state.open_conflicts().next().is_some() && Button::new(w.conflicts).ui(ui).tapped {
        next = Some(Sheet::Conflicts);
    }
    if let Some(valve) = valve.filter(|_| open) {
        let cylinder = valve.cylinder;
        let name = w.cylinder_n(cylinder);
        if Button::new(w.want_next).more(&name).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::CylinderWanted { cylinder }]));
        }
        if Button::new(w.put_off).more(&name).ui(ui).tapped {
            out.push(Intent::Tap(vec![Event::CylinderPutOff { cylinder }]));
        }
    }
    if Button::new(w.write_record).ui(ui).tapped {
        out.push(Intent::WriteRecord);
    }
    if Button::new(w.lock_screen).ui(ui).tapped {
        out.push(Intent::Lock);
    }
    let stop = Button::new(w.stop_job).enabled(open);
    if stop.ui(ui).tapped {
        next = Some(Sheet::Talk(talk::Kind::Stop));
    }
    next
}
