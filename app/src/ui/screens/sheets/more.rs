//! The other things that a bay can do, by what they are about.

use egui::Ui;
use trayzero_core::engine::ValveName;
use trayzero_core::job::{Event, JobPhase, PictureOf, Reading};

use super::{Sheet, TalkKind};
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::bay::told;
use crate::ui::screens::frame;
use crate::ui::theme::{GAP, TARGET};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::words::capital;

/// What a button leads to.
enum MoreWay {
    /// Another sheet.
    Opens(Sheet),
    /// Asks for something at once.
    Asks(Intent),
}

/// A button: its word, where it leads, and why it may not, where it is so.
type MoreRow<'a> = (&'a str, MoreWay, Option<&'a str>);

/// Draws the sheet; gives the one to open next.
pub fn ui(
    ui: &mut Ui,
    v: &View<'_>,
    job: &JobView<'_>,
    valve: Option<ValveName>,
    out: &mut Vec<Intent>,
) -> Option<Sheet> {
    let w = v.words;
    let open = told::why_not_open(v, job);
    let mut next = None;
    let title = valve.map_or_else(
        || w.this_valve.to_owned(),
        |valve| format!("{}: {}", w.this_valve, w.valve(valve)),
    );
    group(ui, &title, of_valve(v, job, valve, open), &mut next, out);
    let cylinder = valve
        .map(|valve| valve.cylinder)
        .or_else(|| job.state.crank().map(|at| at.cylinder));
    if let Some(cylinder) = cylinder {
        let title = format!("{}: {cylinder}", w.this_cylinder);
        group(
            ui,
            &title,
            of_cylinder(v, job, cylinder, open),
            &mut next,
            out,
        );
    }
    group(ui, w.parts, of_parts(v, open), &mut next, out);
    group(ui, w.people_word, of_people(v, job), &mut next, out);
    group(ui, w.job_word, of_job(v, job, open), &mut next, out);
    next
}

fn of_valve<'a>(
    v: &View<'a>,
    job: &JobView<'_>,
    valve: Option<ValveName>,
    open: Option<&'a str>,
) -> Vec<MoreRow<'a>> {
    let w = v.words;
    let of = valve.map_or(PictureOf::Job {}, |valve| PictureOf::Valve { valve });
    let writable = job.read_only.map(|_| w.read_only);
    vec![
        (w.dropped_one, MoreWay::Opens(Sheet::Drop), open),
        (w.part_changed, MoreWay::Opens(Sheet::Part), open),
        (w.finding, MoreWay::Opens(Sheet::Finding), open),
        (w.add_picture, MoreWay::Opens(Sheet::Picture(of)), writable),
    ]
}

fn of_cylinder<'a>(
    v: &View<'a>,
    job: &JobView<'_>,
    cylinder: u8,
    open: Option<&'a str>,
) -> Vec<MoreRow<'a>> {
    let w = v.words;
    let tap = |event| MoreWay::Asks(Intent::Tap(vec![event]));
    let is_done = job.state.cylinder_verified(cylinder);
    let when = if is_done {
        Reading::After
    } else {
        Reading::Before
    };
    let leak = Sheet::Leak(cylinder, when);
    vec![
        (w.crank, MoreWay::Opens(Sheet::Crank), None),
        (w.air, MoreWay::Opens(Sheet::Air(cylinder)), open),
        (w.leak_test, MoreWay::Opens(leak), open),
        (w.want_next, tap(Event::CylinderWanted { cylinder }), open),
        (w.put_off, tap(Event::CylinderPutOff { cylinder }), open),
    ]
}

fn of_parts<'a>(v: &View<'a>, open: Option<&'a str>) -> Vec<MoreRow<'a>> {
    let w = v.words;
    vec![
        (w.parts, MoreWay::Opens(Sheet::Parts), None),
        (w.kit, MoreWay::Opens(Sheet::Kit), open),
        (w.order_list, MoreWay::Opens(Sheet::OrderList), None),
    ]
}

fn of_people<'a>(v: &View<'a>, job: &JobView<'_>) -> Vec<MoreRow<'a>> {
    let w = v.words;
    let writable = job.read_only.map(|_| w.read_only);
    let take_over = Sheet::Sign(SignedAct::TakeOver);
    vec![
        (w.you_are_here, MoreWay::Opens(Sheet::Card), None),
        (w.take_over, MoreWay::Opens(take_over), writable),
        (w.hand_over, MoreWay::Opens(Sheet::HandOver), writable),
    ]
}

fn of_job<'a>(v: &View<'a>, job: &JobView<'_>, open: Option<&'a str>) -> Vec<MoreRow<'a>> {
    let w = v.words;
    let talk = |kind| MoreWay::Opens(Sheet::Talk(kind));
    let of_record = job.is_record.then_some(w.read_only);
    let mut rows = vec![
        (w.take_in, MoreWay::Opens(Sheet::TakeIn), None),
        (w.steps_word, MoreWay::Opens(Sheet::Steps), None),
        (w.where_time_goes, MoreWay::Opens(Sheet::Hours), None),
        (w.pictures_word, MoreWay::Opens(Sheet::Pictures), None),
        (w.note, talk(TalkKind::Note), of_record),
        (w.pause, talk(TalkKind::Rest), open),
        (
            w.write_record,
            MoreWay::Asks(Intent::WriteRecord),
            of_record,
        ),
        (
            w.write_sheet,
            MoreWay::Asks(Intent::WriteWorkSheet),
            of_record,
        ),
        (w.enter_paper, MoreWay::Opens(Sheet::Paper), open),
        (w.lock_screen, MoreWay::Asks(Intent::Lock), None),
    ];
    if job.state.phase() == JobPhase::Closed {
        let writable = job.read_only.map(|_| w.read_only);
        rows.insert(0, (w.follow_up, MoreWay::Opens(Sheet::FollowUp), writable));
    }
    if job.state.open_conflicts().next().is_some() {
        rows.push((w.conflicts, MoreWay::Opens(Sheet::Conflicts), None));
    }
    // What ends the job stands last, with nothing behind it.
    rows.push((w.stop_job, talk(TalkKind::Stop), open));
    rows
}

/// A group of buttons, two beside each other, under its name.
fn group(
    ui: &mut Ui,
    title: &str,
    rows: Vec<MoreRow<'_>>,
    next: &mut Option<Sheet>,
    out: &mut Vec<Intent>,
) {
    frame::group(ui, title);
    let width = (ui.available_width() - GAP) / 2.0;
    let words: Vec<String> = rows.iter().map(|(name, ..)| capital(name)).collect();
    let mut rows = rows.into_iter().zip(&words).peekable();
    while rows.peek().is_some() {
        let pair: Vec<_> = rows.by_ref().take(2).collect();
        let height = pair
            .iter()
            .map(|((.., why_not), word)| {
                let more = why_not.unwrap_or_default();
                Button::new(word).more(more).height(ui, width)
            })
            .fold(TARGET, f32::max);
        let places = frame::columns(ui, 2, height);
        for (((name, way, why_not), word), rect) in pair.into_iter().zip(places) {
            let button = Button::new(word).named(name);
            let button = button.wants(why_not.unwrap_or_default(), why_not.is_some());
            if !ui.push_id(title, |ui| button.at(ui, rect)).inner.tapped {
                continue;
            }
            match way {
                MoreWay::Opens(sheet) => *next = Some(sheet),
                MoreWay::Asks(intent) => out.push(intent),
            }
        }
    }
}
