//! The first page: the vehicle, how the job stands, and the engine at a glance.

use trayzero_core::record::{OpenPoint, Standing};

use crate::record::pdf::ink::Ink;
use crate::record::pdf::lines::capital;
use crate::record::pdf::sheet::{MARGIN_SIDE, Sheet, Style};
use crate::record::pdf::tags::Part;
use crate::record::pdf::{Telling, bank_diagram, check_groups, moment, offset};
use crate::ui::units;

const LABEL: f32 = 84.0;
const GAP: f32 = 18.0;

pub(super) fn tell(sheet: &mut Sheet, telling: &Telling) {
    let (record, own) = (telling.record, telling.own);
    sheet.heading(1, own.title, 60.0);
    sheet.paragraph(&record.vehicle, Style::plain(12.5).strong());
    sheet.skip(8.0);
    if !record.journal_faults.is_empty() {
        let faults = record.journal_faults.iter().map(own.journal_fault);
        let faults: Vec<String> = faults.collect();
        let text = format!("{}\n{}", own.journal_faulty_text, faults.join("\n"));
        sheet.warning(own.journal_faulty, &text);
        sheet.skip(8.0);
    }
    if !record.finished {
        let title = (own.standing)(record.standing);
        sheet.warning(title, (own.unfinished_text)(record.standing));
        sheet.skip(8.0);
    }
    facts(sheet, &facts_of(telling));
    sheet.skip(6.0);
    sheet.paragraph(&summary(telling), Style::BODY.strong());
    sheet.skip(8.0);
    bank_diagram::draw(sheet, telling);
    sheet.heading(2, own.left_open, 16.0);
    if record.open_points.is_empty() {
        sheet.paragraph(own.nothing_open, Style::BODY);
    }
    for point in &record.open_points {
        let text = capital(&(own.open_point)(telling.words, telling.figures, point));
        let text = format!("•  {text}");
        sheet.paragraph(&text, style_of(point));
    }
}

/// What could hurt somebody or the engine stands out.
fn style_of(point: &OpenPoint) -> Style {
    if point.is_grave() {
        Style::BODY.strong().ink(Ink::Warn)
    } else {
        Style::BODY
    }
}

fn facts_of(telling: &Telling) -> Vec<(&'static str, String)> {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    let mut facts = vec![
        (own.bay, record.bay.clone()),
        (own.engine, record.layout.name.clone()),
    ];
    let mut add = |label, at: Option<_>| {
        if let Some(at) = at {
            facts.push((label, moment(at)));
        }
    };
    add(own.opened, record.opened);
    match record.standing {
        Standing::Finished => add(own.finished_at, record.ended),
        Standing::Stopped => add(own.stopped_at, record.ended),
        Standing::UnderWay | Standing::Resting => add(own.latest, record.latest),
    }
    let technicians = record.crew.technicians.iter().enumerate();
    let technicians: Vec<String> = technicians
        .map(|(i, by)| match i {
            0 => by.who.to_string(),
            _ => format!("{} ({} {})", by.who, own.since, moment(by.at)),
        })
        .collect();
    facts.push((own.technicians, technicians.join(", ")));
    let signers: Vec<&str> = record.crew.signers.iter().map(|p| &*p.0).collect();
    let signers = if signers.is_empty() {
        own.nobody.to_owned()
    } else {
        signers.join(", ")
    };
    facts.push((own.signed_by, signers));
    facts.push((
        own.working_time,
        words.hours_minutes(record.working_min.round() as i64),
    ));
    let torque = &record.breakaway;
    let basis = if torque.measured {
        words.measured
    } else {
        words.assumed
    };
    let figure = units::torque(torque.torque_nm, telling.figures);
    facts.push((own.breakaway, format!("{figure}, {basis}")));
    facts.push((own.check_value, check_groups(&record.check_value)));
    if let Some(opened) = record.opened {
        facts.push((own.times, (own.times_at)(&offset(opened))));
    }
    facts
}

/// Facts in two columns, label before value; one that is too long takes the whole width.
fn facts(sheet: &mut Sheet, facts: &[(&str, String)]) {
    let column = (sheet.measure() - GAP) / 2.0;
    let leading = Style::BODY.leading();
    let mut pair: Vec<(&str, Vec<String>)> = Vec::new();
    for (label, value) in facts {
        let lines = sheet.broken(value, Style::BODY, column - LABEL);
        if lines.len() > 8 {
            facts_row(sheet, &pair, column);
            pair.clear();
            labelled(sheet, label, value);
            continue;
        }
        pair.push((label, lines));
        if pair.len() == 2 {
            facts_row(sheet, &pair, column);
            pair.clear();
        }
    }
    facts_row(sheet, &pair, column);
    sheet.skip(leading * 0.2);
}

fn facts_row(sheet: &mut Sheet, pair: &[(&str, Vec<String>)], column: f32) {
    let lines = pair.iter().map(|(_, l)| l.len()).max().unwrap_or(0);
    if lines == 0 {
        return;
    }
    let height = lines as f32 * Style::BODY.leading() + 3.0;
    sheet.need(height);
    let top = sheet.y();
    for (index, (label, lines)) in pair.iter().enumerate() {
        let x = MARGIN_SIDE + index as f32 * (column + GAP);
        let y = top + Style::BODY.ascent();
        sheet.part(Part::Paragraph, |s| {
            s.content(|s| s.text_at(x, y, Style::SMALL, label));
            s.content(|s| {
                for (i, text) in lines.iter().enumerate() {
                    let y = y + i as f32 * Style::BODY.leading();
                    s.text_at(x + LABEL, y, Style::BODY, text);
                }
            });
        });
    }
    sheet.move_to(top + height);
}

/// A label with running text beside it, over pages if need be.
pub(super) fn labelled(sheet: &mut Sheet, label: &str, text: &str) {
    sheet.need(Style::BODY.leading() * 2.0);
    let (x, y) = (MARGIN_SIDE, sheet.y() + Style::BODY.ascent());
    sheet.part(Part::Paragraph, |s| {
        s.content(|s| s.text_at(x, y, Style::SMALL, label));
    });
    let width = sheet.measure() - LABEL;
    sheet.paragraph_in(text, Style::BODY, x + LABEL, width);
    sheet.skip(3.0);
}

/// The job in one line of figures.
fn summary(telling: &Telling) -> String {
    let (record, own, words) = (telling.record, telling.own, telling.words);
    let verified = record
        .valves
        .iter()
        .filter(|v| v.stage == Some(trayzero_core::job::Stage::Verified))
        .count();
    let adrift: u32 = record.parts.iter().map(|p| p.adrift).sum::<u32>()
        + record.kit.iter().map(|k| k.adrift).sum::<u32>();
    let closed = record.closings.iter().filter(|c| c.stands).count();
    let open = record
        .conflicts
        .iter()
        .filter(|c| c.resolved.is_none())
        .count();
    let of = |n: usize, m: usize| words.n_of_m(n, m);
    [
        (own.valves_verified, of(verified, record.valves.len())),
        (own.banks_closed, of(closed, record.layout.banks.len())),
        (own.drops_reported, record.drops.len().to_string()),
        (own.adrift_now, adrift.to_string()),
        (own.conflicts_open, open.to_string()),
    ]
    .map(|(label, figure)| format!("{label}: {figure}"))
    .join("  ·  ")
}
