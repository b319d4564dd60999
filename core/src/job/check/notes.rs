//! What may be noted: figures within reach of the bench, findings, signatures.

use super::{Allowed, COUNT_MAX, TEXT_CHARS_MAX, ensure, ensure_short};
use crate::engine::Layout;
use crate::job::{
    COPY_BYTES_MAX, CountLine, Finding, FindingKind, FollowUp, JobState, NotedFigure as Of,
    PICTURE_BYTES_MAX, Picture, PictureOf, PictureRule, Refusal, Seal, SignOff, TakeIn, ValveState,
};

impl JobState {
    pub(super) fn check_agreed(&self, layout: &Layout, cylinder: u8) -> Allowed {
        self.existing_cylinder(layout, cylinder)?;
        ensure(self.foreman_wanted(cylinder).is_some(), || {
            Refusal::NothingToAgree { cylinder }
        })
    }

    pub(super) fn check_count(&self, by: &SignOff, lines: &[CountLine]) -> Allowed {
        let first = self.round_counts();
        let same = first.len() == 1 && first[0].by == by.person;
        ensure(!same, || Refusal::SamePerson {
            person: by.person.clone(),
        })?;
        let beyond = lines.iter().map(|l| l.count).find(|c| *c > COUNT_MAX);
        match beyond {
            Some(count) => Err(Refusal::BadCount { count }),
            None => Ok(()),
        }
    }

    pub(super) fn check_finding(&self, layout: &Layout, finding: &Finding) -> Allowed {
        ensure_short([&*finding.text])?;
        self.existing_cylinder(layout, finding.cylinder)?;
        if let Some(valve) = finding.valve {
            self.existing_valve(layout, valve)?;
            ensure(valve.cylinder == finding.cylinder, || {
                Refusal::NoSuchValve { valve }
            })?;
        }
        if finding.kind == FindingKind::ValveFell {
            let (cylinder, valve) = (finding.cylinder, finding.valve);
            let known = valve.and_then(|name| self.valve(name));
            ensure(known.is_some_and(ValveState::is_unlocked), || {
                Refusal::ValveCannotHaveFallen { cylinder, valve }
            })?;
        }
        check_kind(&finding.kind)
    }

    pub(super) fn check_picture(&self, layout: &Layout, picture: &Picture) -> Allowed {
        ensure_short([&*picture.remark])?;
        let named = is_hash(&picture.sha256) && is_hash(&picture.copy_sha256);
        ensure(named, || Refusal::BadPicture {
            rule: PictureRule::Named,
        })?;
        ensure((1..=PICTURE_BYTES_MAX).contains(&picture.bytes), || {
            Refusal::BadPicture {
                rule: PictureRule::Size,
            }
        })?;
        ensure((1..=COPY_BYTES_MAX).contains(&picture.copy_bytes), || {
            Refusal::BadPicture {
                rule: PictureRule::CopySize,
            }
        })?;
        match picture.of {
            PictureOf::Valve { valve } => self.existing_valve(layout, valve).map(drop),
            PictureOf::Count { bank } => self.existing_bank(bank).map(drop),
            PictureOf::Job {}
            | PictureOf::TakeIn {}
            | PictureOf::Finding { .. }
            | PictureOf::Drop { .. } => Ok(()),
        }
    }
}

/// Whether a text is a SHA-256 as it is written here; it becomes a file's name.
pub(super) fn is_hash(text: &str) -> bool {
    let is_digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
    text.len() == 64 && text.bytes().all(is_digit)
}

pub(super) fn check_take_in(take_in: &TakeIn) -> Allowed {
    let codes: usize = take_in.codes.iter().map(|c| c.chars().count()).sum();
    ensure_short([&*take_in.complaint, &take_in.seen])?;
    ensure(codes <= TEXT_CHARS_MAX, || Refusal::TextTooLong {
        chars: codes,
    })?;
    match take_in.odometer_km {
        Some(km) => check_odometer(km),
        None => Ok(()),
    }
}

pub(super) fn check_follow_up(seen: &FollowUp) -> Allowed {
    let codes = seen.codes.iter().flatten();
    let chars: usize = codes.map(|code| code.chars().count()).sum();
    ensure_short([&*seen.text])?;
    ensure(chars <= TEXT_CHARS_MAX, || Refusal::TextTooLong { chars })?;
    figure(Of::DistanceKm, seen.distance_km, 50.0..=200_000.0)?;
    figure(Of::LitresSince, seen.litres, 0.0..=200.0)
}

pub(super) fn check_oil(on: &str, odometer_km: f64, litres: f64) -> Allowed {
    ensure_short([on])?;
    check_odometer(odometer_km)?;
    figure(Of::Litres, litres, 0.0..=100.0)
}

fn check_odometer(odometer_km: f64) -> Allowed {
    figure(Of::OdometerKm, odometer_km, 0.0..=10_000_000.0)
}

pub(super) fn check_torque(torque_nm: f64) -> Allowed {
    figure(Of::TorqueNm, torque_nm, 0.5..=500.0)
}

/// The words of each language say the same ends.
fn figure(figure: Of, value: f64, range: std::ops::RangeInclusive<f64>) -> Allowed {
    ensure(range.contains(&value), || {
        let value = value.to_string();
        Refusal::BadFigure { figure, value }
    })
}

pub(super) fn check_leak(supply_bar: f64, cylinder_bar: f64) -> Allowed {
    figure(Of::SupplyBar, supply_bar, 0.1..=40.0)?;
    figure(Of::CylinderBar, cylinder_bar, 0.0..=supply_bar)
}

fn check_kind(kind: &FindingKind) -> Allowed {
    match *kind {
        FindingKind::WornGuide { rock_mm } => figure(Of::RockMm, rock_mm, 0.0..=20.0),
        FindingKind::ShortSpring { length_mm } => figure(Of::LengthMm, length_mm, 1.0..=300.0),
        FindingKind::SealTorn { missing } => {
            ensure(missing <= 9, || Refusal::BadCount { count: missing })
        }
        FindingKind::ScoredStem
        | FindingKind::BrokenSpring
        | FindingKind::DamagedGroove
        | FindingKind::ValveFell
        | FindingKind::Other => Ok(()),
    }
}

pub(super) fn check_seal(seal: &Seal) -> Allowed {
    let hex = |text: &str, digits: usize| {
        text.len() == digits && text.bytes().all(|b| b.is_ascii_hexdigit())
    };
    ensure(hex(&seal.key, 64) && hex(&seal.signature, 128), || {
        Refusal::BadSeal
    })
}
