//! Every valve with the time of each stage, its minutes and what was found.

use trayzero_core::engine::ValveName;
use trayzero_core::job::Stage;
use trayzero_core::record::{HeldBy, StageLine, ValveLine};

use super::pictures;
use crate::record::pdf::ink::Ink;
use crate::record::pdf::lines::capital;
use crate::record::pdf::pages::{Pages, Style};
use crate::record::pdf::table::{Column, PdfTable, TableCell};
use crate::record::pdf::{Context, by, clock, date, paper_mark};
use crate::ui::units;
use crate::ui::words::record::valve_short;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, own, words) = (context.record, context.own, context.words);
    pages.heading(2, own.valves, 80.0);
    pages.paragraph(own.minutes_note, Style::SMALL);
    for bank in &record.layout.banks {
        pages.heading(3, &words.bank_n(&bank.name), 50.0);
        let mut columns = vec![Column::words(own.valve, 1.7), Column::words(own.day, 1.46)];
        let stages = Stage::ALL.map(|s| Column::words(words.stage(s), 1.0));
        columns.extend(stages);
        columns.push(Column::figures(own.minutes, 0.65));
        columns.push(Column::words(own.found_and_done, 3.02));
        let mut table = PdfTable::new(columns);
        let here = |v: &&ValveLine| bank.cylinders.contains(&v.valve.cylinder);
        for valve in record.valves.iter().filter(here) {
            table.row(row(context, valve));
        }
        table.draw(pages);
        let is_here = |v: ValveName| bank.cylinders.contains(&v.cylinder);
        pictures::strip(pages, context, |p| p.valve.is_some_and(is_here));
    }
    let mut on_cylinders = record
        .findings
        .iter()
        .filter(|f| f.valve.is_none())
        .peekable();
    if on_cylinders.peek().is_some() {
        pages.heading(3, own.cylinder_findings, 20.0);
    }
    for finding in on_cylinders {
        let text = format!(
            "{}: {} ({})",
            capital(&words.cylinder_n(finding.cylinder)),
            (own.finding)(context.figures, finding),
            by(&finding.by)
        );
        pages.paragraph(&text, Style::BODY);
    }
}

fn row(context: &Context, valve: &ValveLine) -> Vec<TableCell> {
    let words = context.words;
    let day = valve.stages.last().map(|s| date(s.by.at));
    let mut cells = vec![
        TableCell::from(valve_short(words, valve.valve)).strong(),
        day.clone().unwrap_or_default().into(),
    ];
    for stage in Stage::ALL {
        let seen = valve.stages.iter().find(|s| s.stage == stage);
        cells.push(match seen {
            Some(line) => time(line, day.as_deref()).into(),
            None => TableCell::from("–").ink(Ink::Soft),
        });
    }
    let minutes = valve.working_min.map(|m| words.figure(m, 1));
    cells.push(minutes.unwrap_or_default().into());
    cells.push(remarks(context, valve).into());
    cells
}

/// The time of day, with the date where it is another day.
fn time(line: &StageLine, day: Option<&str>) -> String {
    let own_day = date(line.by.at);
    let time = format!("{}{}", clock(line.by.at), paper_mark(&line.by));
    if Some(own_day.as_str()) == day {
        time
    } else {
        format!("{time}\n{}", own_day.get(5..).unwrap_or_default())
    }
}

fn remarks(context: &Context, valve: &ValveLine) -> String {
    let (own, words) = (context.own, context.words);
    let mut lines: Vec<String> = valve
        .findings
        .iter()
        .map(|f| (own.finding)(context.figures, f))
        .collect();
    if !valve.held_by.is_empty() {
        let by = valve.held_by.iter().map(|by| match by {
            HeldBy::Air { bar } => {
                let pressure = units::pressure(*bar, context.figures);
                format!("{} {pressure}", own.held_air)
            }
            HeldBy::Hold { hold } => words.hold(*hold).to_owned(),
        });
        let by: Vec<String> = by.collect();
        lines.push(format!("{} {}", own.held_by, by.join(", ")));
    }
    for replaced in &valve.replaced {
        let what = words.items_n(&replaced.item, replaced.count);
        lines.push(format!("{} {what}", own.replaced));
    }
    if valve.locks_dropped > 0 {
        lines.push(format!("{} {}", own.locks_dropped, valve.locks_dropped));
    }
    if valve.seals_spoiled > 0 {
        lines.push(format!("{} {}", own.seals_spoiled, valve.seals_spoiled));
    }
    if let Some(adaptor) = &valve.adaptor {
        lines.push(format!("{}: {adaptor}", own.adaptor));
    }
    if let Some(remark) = &valve.remark {
        lines.push(format!("{}: {remark}", own.remark));
    }
    lines.join("\n")
}
