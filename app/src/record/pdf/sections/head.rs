//! The first page: the vehicle, how the job stands, and the engine at a glance.

use trayzero_core::record::{JobStatus, OpenPoint};

use crate::record::pdf::ink::Ink;
use crate::record::pdf::lines::capital;
use crate::record::pdf::pages::{MARGIN_SIDE, Pages, Style};
use crate::record::pdf::tags::TaggedPart;
use crate::record::pdf::{Context, bank_diagram, check_groups, moment, offset};
use crate::ui::units;
use crate::ui::words::record::{ProofTold, Signer};

const LABEL: f32 = 84.0;
const GAP: f32 = 18.0;

pub(super) fn tell(pages: &mut Pages, context: &Context) {
    let (record, own) = (context.record, context.own);
    pages.heading(1, own.title, 60.0);
    pages.paragraph(&record.vehicle, Style::plain(12.5).strong());
    pages.skip(8.0);
    if !record.journal_faults.is_empty() {
        let faults = record.journal_faults.iter().map(own.journal_fault);
        let faults: Vec<String> = faults.collect();
        let text = format!("{}\n{}", own.journal_faulty_text, faults.join("\n"));
        pages.warning(own.journal_faulty, &text);
        pages.skip(8.0);
    }
    if !record.not_signed.is_empty() {
        let lines = record.not_signed.iter();
        let lines: Vec<String> = lines
            .map(|line| {
                let text = capital(&context.words.not_signed(&line.not_signed));
                format!("{text} ({})", moment(line.by.at))
            })
            .collect();
        let text = format!("{}\n{}", own.not_signed_text, lines.join("\n"));
        pages.warning(own.not_signed, &text);
        pages.skip(8.0);
    }
    if !record.finished {
        let title = (own.job_status)(record.status);
        pages.warning(title, (own.unfinished_text)(record.status));
        pages.skip(8.0);
    }
    facts(pages, &facts_of(context));
    pages.skip(6.0);
    pages.paragraph(&summary(context), Style::BODY.strong());
    pages.skip(6.0);
    pages.paragraph((context.own.proof_text)(context.proof), Style::SMALL);
    pages.skip(8.0);
    bank_diagram::draw(pages, context);
    pages.heading(2, own.left_open, 16.0);
    if record.open_points.is_empty() {
        pages.paragraph(own.nothing_open, Style::BODY);
    }
    for point in &record.open_points {
        let text = capital(&(own.open_point)(context.words, context.figures, point));
        let text = format!("•  {text}");
        pages.paragraph(&text, style_of(point));
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

fn facts_of(context: &Context) -> Vec<(&'static str, String)> {
    let (record, own, words) = (context.record, context.own, context.words);
    let mut facts = vec![(own.bay, record.bay.clone())];
    let number = record.order_number.iter();
    facts.extend(number.map(|number| (own.order_number, number.clone())));
    facts.push((own.engine, record.layout.name.clone()));
    let mut add = |label, at: Option<_>| {
        if let Some(at) = at {
            facts.push((label, moment(at)));
        }
    };
    add(own.opened, record.opened);
    match record.status {
        JobStatus::Finished => add(own.finished_at, record.ended),
        JobStatus::Stopped => add(own.stopped_at, record.ended),
        JobStatus::UnderWay | JobStatus::Resting => add(own.latest, record.latest),
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
    let figure = units::torque(torque.torque_nm, context.figures);
    facts.push((own.breakaway, format!("{figure}, {basis}")));
    facts.push((own.check_value, check_groups(&record.check_value)));
    facts.extend(proof_of(context));
    if let Some(opened) = record.opened {
        facts.push((own.times, (own.times_at)(&offset(opened))));
    }
    facts
}

/// The signer's and the shop's keys in short words, to be held against a tablet's screen.
fn proof_of(context: &Context) -> Vec<(&'static str, String)> {
    let own = context.own;
    let signed = |signer: &Signer| {
        let text = format!("{}: {}", signer.name, signer.words);
        (own.tablet_key, text)
    };
    match context.proof {
        ProofTold::Without | ProofTold::Unsigned => Vec::new(),
        ProofTold::ByTablet(signer) => vec![signed(signer)],
        ProofTold::ByMember { signer, shop } => {
            vec![signed(signer), (own.shop_key, shop.clone())]
        }
    }
}

/// Facts in two columns, label before value; one that is too long takes the whole width.
fn facts(pages: &mut Pages, facts: &[(&str, String)]) {
    let column = (pages.measure() - GAP) / 2.0;
    let leading = Style::BODY.leading();
    let mut pair: Vec<(&str, Vec<String>)> = Vec::new();
    for (label, value) in facts {
        let lines = pages.broken(value, Style::BODY, column - LABEL);
        if lines.len() > 8 {
            facts_row(pages, &pair, column);
            pair.clear();
            labelled(pages, label, value);
            continue;
        }
        pair.push((label, lines));
        if pair.len() == 2 {
            facts_row(pages, &pair, column);
            pair.clear();
        }
    }
    facts_row(pages, &pair, column);
    pages.skip(leading * 0.2);
}

fn facts_row(pages: &mut Pages, pair: &[(&str, Vec<String>)], column: f32) {
    let lines = pair.iter().map(|(_, l)| l.len()).max().unwrap_or(0);
    if lines == 0 {
        return;
    }
    let height = lines as f32 * Style::BODY.leading() + 3.0;
    pages.need(height);
    let top = pages.y();
    for (index, (label, lines)) in pair.iter().enumerate() {
        let x = MARGIN_SIDE + index as f32 * (column + GAP);
        let y = top + Style::BODY.ascent();
        pages.part(TaggedPart::Paragraph, |s| {
            s.content(|s| s.text_at(x, y, Style::SMALL, label));
            s.content(|s| {
                for (i, text) in lines.iter().enumerate() {
                    let y = y + i as f32 * Style::BODY.leading();
                    s.text_at(x + LABEL, y, Style::BODY, text);
                }
            });
        });
    }
    pages.move_to(top + height);
}

/// A label with running text beside it, over pages if need be.
pub(super) fn labelled(pages: &mut Pages, label: &str, text: &str) {
    pages.need(Style::BODY.leading() * 2.0);
    let (x, y) = (MARGIN_SIDE, pages.y() + Style::BODY.ascent());
    pages.part(TaggedPart::Paragraph, |s| {
        s.content(|s| s.text_at(x, y, Style::SMALL, label));
    });
    let width = pages.measure() - LABEL;
    pages.paragraph_in(text, Style::BODY, x + LABEL, width);
    pages.skip(3.0);
}

/// The job in one line of figures.
fn summary(context: &Context) -> String {
    let (record, own, words) = (context.record, context.own, context.words);
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
