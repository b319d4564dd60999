//! What may be noted: figures within reach of the bench, findings, signatures.

use super::{COUNT_MAX, Verdict, demand};
use crate::job::{Event, Finding, FindingKind, JobState, Refusal, Seal};

impl JobState {
    #[inline(never)]
    pub(super) fn check_notes(&self, event: &Event) -> Verdict {
        match event {
            Event::LeakRead {
                supply_bar,
                cylinder_bar,
                ..
            } => check_leak(*supply_bar, *cylinder_bar),
            Event::BreakawayMeasured { torque_nm } => figure(
                "torque_nm",
                *torque_nm,
                0.5..=500.0,
                "a torque from 0.5 to 500 newton metres",
            ),
            Event::OilToppedUp {
                odometer_km,
                litres,
                ..
            } => {
                figure(
                    "odometer_km",
                    *odometer_km,
                    0.0..=10_000_000.0,
                    "kilometres from 0 to 10 million",
                )?;
                figure("litres", *litres, 0.0..=100.0, "litres from 0 to 100")
            }
            Event::TakeInNoted(take_in) => match take_in.odometer_km {
                Some(km) => figure(
                    "odometer_km",
                    km,
                    0.0..=10_000_000.0,
                    "kilometres from 0 to 10 million",
                ),
                None => Ok(()),
            },
            Event::FindingNoted(finding) => check_finding(finding),
            Event::ForemanAgreed { cylinder, .. } => {
                demand(self.foreman_wanted(*cylinder).is_some(), || {
                    Refusal::NothingToAgree {
                        cylinder: *cylinder,
                    }
                })
            }
            Event::Sealed(seal) => check_seal(seal),
            Event::BlindCount { by, lines } => {
                let first = self.round_counts();
                let same = first.len() == 1 && first[0].by == by.person;
                demand(!same, || Refusal::SamePerson {
                    person: by.person.clone(),
                })?;
                for line in lines {
                    demand(line.count <= COUNT_MAX, || Refusal::BadCount {
                        count: line.count,
                    })?;
                }
                Ok(())
            }
            Event::ConflictResolved { conflict, .. } => {
                // Lines that arrive late may let the event stand after all, or two people
                // may resolve the same conflict; both are harmless.
                demand(self.knows(*conflict), || Refusal::NoSuchConflict {
                    conflict: *conflict,
                })
            }
            _ => Ok(()),
        }
    }
}

fn figure(
    field: &'static str,
    value: f64,
    range: std::ops::RangeInclusive<f64>,
    rule: &'static str,
) -> Verdict {
    demand(value.is_finite() && range.contains(&value), || {
        Refusal::BadFigure {
            field,
            value: value.to_string(),
            rule,
        }
    })
}

fn check_leak(supply_bar: f64, cylinder_bar: f64) -> Verdict {
    figure(
        "supply_bar",
        supply_bar,
        0.1..=40.0,
        "a gauge pressure from 0.1 to 40 bar",
    )?;
    figure(
        "cylinder_bar",
        cylinder_bar,
        0.0..=supply_bar,
        "from zero to the supply pressure",
    )
}

fn check_finding(finding: &Finding) -> Verdict {
    if let Some(valve) = finding.valve {
        demand(valve.cylinder == finding.cylinder, || {
            Refusal::NoSuchValve { valve }
        })?;
    }
    match finding.kind {
        FindingKind::WornGuide { rock_mm } => {
            figure("rock_mm", rock_mm, 0.0..=20.0, "millimetres from 0 to 20")
        }
        FindingKind::ShortSpring { length_mm } => figure(
            "length_mm",
            length_mm,
            1.0..=300.0,
            "millimetres from 1 to 300",
        ),
        FindingKind::SealTorn { missing } => {
            demand(missing <= 9, || Refusal::BadCount { count: missing })
        }
        _ => Ok(()),
    }
}

fn check_seal(seal: &Seal) -> Verdict {
    let hex = |text: &str, digits: usize| {
        text.len() == digits && text.bytes().all(|b| b.is_ascii_hexdigit())
    };
    demand(hex(&seal.key, 64) && hex(&seal.signature, 128), || {
        Refusal::BadSeal
    })
}
