//! Working positions, adaptors and remarks: lists of which one line is open at a time.

use egui::Ui;
use trayzero_core::engine::{Side, ValveName};

use super::super::text::{LayoutText, PositionText, ValveText};
use super::Fields;
use crate::ui::screens::frame;
use crate::ui::theme::{GAP, Theme};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::choice_row::choice_row;
use crate::ui::widgets::list_row::ListRow;

/// Paths of the lists whose lines can be opened.
pub(super) const KEYS: [&str; 5] = [
    "working_positions",
    "adaptors",
    "remarks",
    "kit",
    "order_list",
];

/// The list and the line that are open.
pub(super) type Open = Option<(&'static str, usize)>;

/// Draws the three lists.
pub fn ui(ui: &mut Ui, form: &Fields<'_>, text: &mut LayoutText, open: &mut Open) {
    let w = form.v.words;
    let counts = [text.intake_valves, text.exhaust_valves];
    let positions = List {
        key: "working_positions",
        title: w.working_positions,
        add: w.working_position,
        row: &position_row,
    };
    positions.ui(ui, form, open, &mut text.positions, position_fields);
    let adaptors = List {
        key: "adaptors",
        title: w.adaptors,
        add: w.adaptor_word,
        row: &valve_row,
    };
    adaptors.ui(
        ui,
        form,
        open,
        &mut text.adaptors,
        |ui, form, path, line| {
            valve_fields(ui, form, path, line, counts, ("adaptor", w.adaptor_word));
        },
    );
    let remarks = List {
        key: "remarks",
        title: w.remarks,
        add: w.remark,
        row: &valve_row,
    };
    remarks.ui(ui, form, open, &mut text.remarks, |ui, form, path, line| {
        valve_fields(ui, form, path, line, counts, ("text", w.remark));
    });
}

/// A list: its path, its words, and how a closed line reads.
pub(super) struct List<'a, T> {
    pub key: &'static str,
    pub title: &'a str,
    /// What one line is.
    pub add: &'a str,
    /// Title and detail of a line.
    pub row: &'a dyn Fn(&Fields<'_>, &T) -> (String, String),
}

impl<T: Default> List<'_, T> {
    /// Draws the lines, the open one with its fields, and what adds one.
    pub fn ui(
        &self,
        ui: &mut Ui,
        form: &Fields<'_>,
        open: &mut Open,
        lines: &mut Vec<T>,
        mut fields: impl FnMut(&mut Ui, &Fields<'_>, &str, &mut T),
    ) {
        let w = form.v.words;
        let astray = Theme::of(ui.ctx()).colours.astray;
        frame::group(ui, self.title);
        form.own_trouble(ui, self.key);
        let mut gone = None;
        for (i, line) in lines.iter_mut().enumerate() {
            let path = format!("{}[{i}]", self.key);
            let is_open = *open == Some((self.key, i));
            let is_amiss = form.reading.has_in(&path);
            let (title, detail) = (self.row)(form, line);
            let row = ListRow {
                title: if title.is_empty() { self.add } else { &title },
                detail: &detail,
                end: if is_amiss { "!" } else { "" },
                tint: is_amiss.then_some(astray),
                leads_on: true,
                is_chosen: is_open,
            };
            if row.ui(ui).tapped {
                *open = (!is_open).then_some((self.key, i));
            }
            if !is_open {
                continue;
            }
            ui.push_id(&path, |ui| {
                ui.indent("line", |ui| {
                    fields(ui, form, &path, line);
                    if removes(ui, form, &title) {
                        gone = Some(i);
                    }
                });
            });
        }
        if let Some(i) = gone {
            lines.remove(i);
            *open = None;
        }
        let add = format!("{}: {}", w.add, self.add);
        if Button::new(&add).ui(ui).tapped {
            lines.push(T::default());
            *open = Some((self.key, lines.len() - 1));
        }
    }
}

/// Takes a line out, but not at once: where the finger was it is left, beside it goes.
fn removes(ui: &mut Ui, form: &Fields<'_>, title: &str) -> bool {
    let w = form.v.words;
    let asked = ui.scope_id().with("asked");
    let is_asked: bool = ui.data(|d| d.get_temp(asked).unwrap_or_default());
    let spoken = format!("{}: {title}", w.remove);
    let names = if is_asked {
        [w.remove_it, w.cancel]
    } else {
        ["", w.remove]
    };
    let width = (ui.available_width() - GAP) / 2.0;
    let heights = names.map(|name| Button::new(name).height(ui, width));
    let places = frame::columns(ui, 2, heights[0].max(heights[1]));
    let mut is_gone = false;
    for (i, (name, place)) in names.into_iter().zip(places).enumerate() {
        if name.is_empty() {
            continue;
        }
        let button = Button::new(name).named(if is_asked { name } else { &spoken });
        if button.at(ui, place).tapped {
            is_gone = is_asked && i == 0;
            ui.data_mut(|d| d.insert_temp(asked, !is_asked));
        }
    }
    is_gone
}

fn position_row(form: &Fields<'_>, line: &PositionText) -> (String, String) {
    let title = cylinder(form, &line.cylinder);
    let detail = match (line.offsets.is_empty(), line.why.is_empty()) {
        (true, _) => line.why.clone(),
        (false, true) => format!("{}°", line.offsets),
        (false, false) => format!("{}° · {}", line.offsets, line.why),
    };
    (title, detail)
}

fn position_fields(ui: &mut Ui, form: &Fields<'_>, path: &str, line: &mut PositionText) {
    let w = form.v.words;
    let field = |key: &str| format!("{path}.{key}");
    let (cylinder, offsets, why) = (field("cylinder"), field("offsets_deg"), field("why"));
    form.some(
        ui,
        &mut [
            (w.cylinder_word, &cylinder, &mut line.cylinder),
            (w.offsets_deg, &offsets, &mut line.offsets),
        ],
    );
    form.one(ui, (w.why_not_top, &why, &mut line.why));
}

fn valve_row(form: &Fields<'_>, line: &ValveText) -> (String, String) {
    let cylinder = cylinder(form, &line.cylinder);
    let valve = ValveName::parse(1, &line.valve);
    let title = match valve {
        Ok(valve) => format!("{cylinder}, {}", form.v.words.valve_within(valve)),
        Err(_) => cylinder,
    };
    (title, line.text.clone())
}

fn cylinder(form: &Fields<'_>, text: &str) -> String {
    let w = form.v.words;
    match text.trim().parse() {
        Ok(number) => w.cylinder_n(number),
        Err(_) => w.cylinder_word.to_owned(),
    }
}

fn valve_fields(
    ui: &mut Ui,
    form: &Fields<'_>,
    path: &str,
    line: &mut ValveText,
    counts: [u32; 2],
    (key, label): (&str, &str),
) {
    let w = form.v.words;
    let cylinder = format!("{path}.cylinder");
    form.one(ui, (w.cylinder_word, &cylinder, &mut line.cylinder));
    let valves: Vec<ValveName> = [Side::Intake, Side::Exhaust]
        .into_iter()
        .zip(counts)
        .flat_map(|(side, count)| {
            let most = u8::try_from(count).unwrap_or(3).min(3);
            (1..=most).map(move |place| ValveName::new(1, side, place))
        })
        .collect();
    let names: Vec<String> = valves.iter().map(|v| w.valve_within(*v)).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let chosen = valves
        .iter()
        .position(|v| v.within_cylinder() == line.valve);
    if let Some(i) = choice_row(ui, &names, chosen) {
        line.valve = valves[i].within_cylinder();
    }
    form.trouble(ui, &format!("{path}.valve"));
    let text = format!("{path}.{key}");
    form.one(ui, (label, &text, &mut line.text));
}
