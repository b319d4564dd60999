//! The boxes and lines of a sheet of paper, in the order in which the paper has them.

use egui::Ui;
use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{CrankAt, HoldKind, Reading, SearchPlace, Stage, Step};
use trayzero_core::parts::Item;

use super::chips;
use super::paper_typed::{FallTyped, PaperTyped};
use crate::ui::screens::frame;
use crate::ui::theme::{GAP, TARGET, Type};
use crate::ui::units::{self, PRESSURE};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::choice_row::tick_row;
use crate::ui::widgets::keyboard::Keys;
use crate::ui::widgets::stepper;
use crate::ui::widgets::text_field::TextField;
use crate::ui::words::capital;

/// Boxes of a valve in a row.
const COLUMNS: usize = 3;

const HOLDS: [HoldKind; 3] = [HoldKind::Piston, HoldKind::Cord, HoldKind::Prop];

const PLACES: [SearchPlace; 7] = [
    SearchPlace::PlugHole,
    SearchPlace::OilReturn,
    SearchPlace::Sump,
    SearchPlace::TimingCavity,
    SearchPlace::BenchAndFloor,
    SearchPlace::OnTheHead,
    SearchPlace::OnThePerson,
];

/// Short steps that nobody has seen on a tablet.
pub fn steps(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, typed: &mut PaperTyped, all: &[Step]) {
    for step in all.iter().filter(|s| job.state.step_seen(**s).is_none()) {
        let is_on = typed.steps.contains(step);
        if tick_row(ui, v.words.step(*step), is_on).tapped && !typed.steps.remove(step) {
            typed.steps.insert(*step);
        }
    }
}

/// The kit that is not counted in, and the new seals that are short.
pub fn kit(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, typed: &mut PaperTyped) {
    let w = v.words;
    let missing = job.state.kit_missing();
    let is_short = job.state.seals_short() > 0;
    if missing.is_empty() && !is_short {
        return;
    }
    frame::group(ui, w.kit_list);
    for (item, count) in missing {
        let is_on = typed.kit.contains(&item);
        let name = w.items_n(&item, count);
        if tick_row(ui, &name, is_on).tapped && !typed.kit.remove(&item) {
            typed.kit.insert(item);
        }
    }
    if is_short {
        let name = capital(w.paper_new_seals);
        let field = TextField::new(&name, &mut typed.seals).salt("paper seals");
        field.keys(Keys::Whole).ui(ui, w);
    }
}

/// Readings of the cylinders that have none.
pub fn leaks(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, typed: &mut PaperTyped, when: Reading) {
    let w = v.words;
    let cylinders = job.layout().into_iter().flat_map(Layout::cylinders);
    let unread: Vec<u8> = cylinders
        .filter(|c| job.state.leak(*c, when).is_none())
        .collect();
    if unread.is_empty() {
        return;
    }
    let phase = match when {
        Reading::Before => w.before_work,
        Reading::After => w.after_work,
    };
    frame::group(ui, &format!("{} ({phase})", w.leak_test));
    for cylinder in unread {
        let gauges = typed.leaks.entry((cylinder, when)).or_default();
        let of = capital(&w.cylinder_n(cylinder));
        let label = |name| format!("{of}: {}", units::field(name, &PRESSURE, v.units));
        let fields = [
            ("supply", label(w.supply), &mut gauges.supply),
            ("cylinder", label(w.in_cylinder), &mut gauges.cylinder),
        ];
        ui.columns(2, |columns| {
            for (ui, (salt, label, text)) in columns.iter_mut().zip(fields) {
                let salt = format!("paper {salt} {cylinder} {phase}");
                TextField::new(&label, text)
                    .salt(&salt)
                    .keys(Keys::Figure)
                    .ui(ui, w);
            }
        });
    }
}

/// One stop: what held it, and the boxes of its valves that are not seen.
pub fn stop(
    ui: &mut Ui,
    v: &View<'_>,
    job: &JobView<'_>,
    typed: &mut PaperTyped,
    (place, at): (usize, CrankAt),
) {
    let (w, cylinder) = (v.words, at.cylinder);
    let Some(layout) = job
        .layout()
        .filter(|_| !job.state.cylinder_verified(cylinder))
    else {
        return;
    };
    let name = capital(&w.cylinder_n(cylinder));
    frame::group(
        ui,
        &format!("{place}. {name} · {}", w.offset_text(at.offset_deg)),
    );
    if job.state.cylinder(cylinder).is_some_and(|c| !c.is_held()) {
        let label = units::field(w.paper_regulator, &PRESSURE, v.units);
        let label = format!("{name}: {label}");
        let salt = format!("paper air {cylinder}");
        let text = typed.air.entry(cylinder).or_default();
        TextField::new(&label, text)
            .salt(&salt)
            .keys(Keys::Figure)
            .ui(ui, w);
        frame::line(ui, w.paper_or_held, Type::Small, true);
        let names = HOLDS.map(|hold| w.hold(hold).to_owned());
        let is_on = |i: usize| typed.holds.get(&cylinder) == Some(&HOLDS[i]);
        let tapped = ui.push_id(("holds", cylinder), |ui| {
            chips::ui(ui, &names, COLUMNS, is_on)
        });
        if let Some(i) = tapped.inner
            && typed.holds.insert(cylinder, HOLDS[i]) == Some(HOLDS[i])
        {
            typed.holds.remove(&cylinder);
        }
    }
    let valves: Vec<ValveName> = layout.valves_of(cylinder).collect();
    for valve in valves {
        boxes(ui, v, job, typed, valve);
    }
}

/// The six boxes of a valve; those that a tablet has seen are ticked and stay so.
fn boxes(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, typed: &mut PaperTyped, valve: ValveName) {
    let w = v.words;
    let seen = job
        .state
        .valve(valve)
        .map_or(0, |k| usize::from(k.stages_seen));
    let open = || Stage::ALL.into_iter().skip(seen);
    if open().next().is_none() {
        return;
    }
    let name = w.valve(valve);
    let all = format!("{}: {}", capital(&w.valve_within(valve)), w.paper_all_six);
    let named = format!("{name}: {}", w.paper_all_six);
    let has_all = open().all(|stage| typed.stages.contains(&(valve, stage)));
    if Button::new(&all)
        .named(&named)
        .chosen(has_all)
        .ui(ui)
        .tapped
    {
        for stage in open() {
            if has_all {
                typed.stages.remove(&(valve, stage));
            } else {
                typed.stages.insert((valve, stage));
            }
        }
    }
    let width = (ui.available_width() - GAP * (COLUMNS as f32 - 1.0)) / COLUMNS as f32;
    let heights = Stage::ALL.map(|s| Button::new(w.stage(s)).height(ui, width));
    let height = heights.into_iter().fold(TARGET, f32::max);
    for row in Stage::ALL.chunks(COLUMNS) {
        for (stage, rect) in row.iter().zip(frame::columns(ui, COLUMNS, height)) {
            let is_seen = stage.index() < seen;
            let is_on = is_seen || typed.stages.contains(&(valve, *stage));
            let said = format!("{name}: {}", w.stage(*stage));
            let button = Button::new(w.stage(*stage)).named(&said).chosen(is_on);
            if button.enabled(!is_seen).at(ui, rect).tapped
                && !typed.stages.remove(&(valve, *stage))
            {
                typed.stages.insert((valve, *stage));
            }
        }
    }
}

/// What fell, line by line, and where what was adrift before was found.
pub fn drops(ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, typed: &mut PaperTyped) {
    let w = v.words;
    frame::group(ui, w.paper_fell);
    for drop in job.state.drops_adrift() {
        let name = format!("{}: {}", w.items_n(&drop.item, drop.count), w.paper_found);
        frame::line(ui, &capital(&name), Type::Body, false);
        let mut found = typed.finds.get(&drop.id).copied();
        ui.push_id(drop.id, |ui| places(ui, v, &mut found));
        match found {
            Some(place) => typed.finds.insert(drop.id, place),
            None => typed.finds.remove(&drop.id),
        };
    }
    let Some(layout) = job.layout() else {
        return;
    };
    let items = may_fall(layout);
    let valves: Vec<ValveName> = layout
        .valves()
        .filter(|v| typed.stages.iter().any(|(of, _)| of == v) || is_open(job, *v))
        .collect();
    let mut gone = None;
    for (line, fell) in typed.drops.iter_mut().enumerate() {
        ui.push_id(("fell", line), |ui| {
            if fall(ui, v, (line, fell), &items, &valves) {
                gone = Some(line);
            }
        });
    }
    if let Some(line) = gone {
        typed.drops.remove(line);
    }
    if Button::new(w.paper_add_drop).ui(ui).tapped {
        typed.drops.push(FallTyped {
            item: Item::Lock,
            count: 1,
            valve: None,
            found_at: None,
        });
    }
}

fn is_open(job: &JobView<'_>, valve: ValveName) -> bool {
    let known = job.state.valve(valve);
    known.is_some_and(trayzero_core::job::ValveState::is_open)
}

/// What may fall at an engine: parts of its valves, seals, and its kit.
fn may_fall(layout: &Layout) -> Vec<Item> {
    let mut items = vec![Item::Lock, Item::Retainer, Item::Spring];
    if layout.followers() > 0 {
        items.push(Item::Follower);
    }
    if layout.shims() > 0 {
        items.push(Item::Shim);
    }
    items.extend([Item::NewSeal, Item::OldSeal]);
    let own_event = [Item::VentedCover, Item::Hose, Item::Wrench];
    let kit = layout.kit_list().into_iter().map(|line| line.item);
    for item in kit.filter(|item| !own_event.contains(item)) {
        if !items.contains(&item) {
            items.push(item);
        }
    }
    items
}

/// One line of what fell; true where it is to go again.
fn fall(
    ui: &mut Ui,
    v: &View<'_>,
    (line, fell): (usize, &mut FallTyped),
    items: &[Item],
    valves: &[ValveName],
) -> bool {
    let w = v.words;
    frame::line(ui, &capital(&w.paper_drop_n(line + 1)), Type::Strong, false);
    let names: Vec<String> = items.iter().map(|item| w.item(item)).collect();
    if let Some(i) = chips::ui(ui, &names, COLUMNS, |i| items[i] == fell.item) {
        fell.item = items[i].clone();
    }
    let name = w.item(&fell.item);
    if let Some(count) = stepper::ui(ui, w, &name, fell.count, 99) {
        fell.count = count;
    }
    let is_of_valve = matches!(
        fell.item,
        Item::Lock | Item::Retainer | Item::Spring | Item::Follower | Item::Shim | Item::OldSeal
    );
    if is_of_valve {
        frame::line(ui, w.paper_of_valve, Type::Small, true);
        let names: Vec<String> = valves.iter().map(|valve| w.valve(*valve)).collect();
        if let Some(i) = chips::ui(ui, &names, COLUMNS, |i| Some(valves[i]) == fell.valve) {
            fell.valve = Some(valves[i]);
        }
    } else {
        fell.valve = None;
    }
    frame::line(ui, w.paper_found, Type::Small, true);
    places(ui, v, &mut fell.found_at);
    Button::new(w.remove).ui(ui).tapped
}

/// Where something was found, or that nothing is written.
fn places(ui: &mut Ui, v: &View<'_>, found: &mut Option<SearchPlace>) {
    let w = v.words;
    let mut names = vec![w.paper_not_found.to_owned()];
    names.extend(PLACES.map(|place| w.search_place(place).to_owned()));
    let at = |i: usize| i.checked_sub(1).map(|i| PLACES[i]);
    if let Some(i) = chips::ui(ui, &names, 2, |i| at(i) == *found) {
        *found = at(i);
    }
}
