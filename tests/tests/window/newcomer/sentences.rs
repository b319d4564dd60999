//! What the screen says, sentence by sentence, held against the oracle. The sentences stand
//! here as a person reads them, not as the program's words name them.

use std::time::{SystemTime, UNIX_EPOCH};

use super::super::CODES;
use super::oracle::{STAGES, Truth, Valve};
use super::quiet;
use super::rules;

pub enum Verdict {
    /// A fact that is true; its kind.
    Holds(&'static str),
    /// It states no fact of this job.
    Quiet,
    /// It states a fact that no rule here knows.
    Unknown,
    /// What is true instead.
    Wrong(String),
}

/// What is true besides the journal.
pub struct Now {
    pub ms: i64,
    /// What stands in both fields of the leak-down.
    pub typed: Option<(f64, f64)>,
}

pub fn system_ms() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    since.as_millis() as i64
}

/// The texts between the fixed parts of a pattern, if a text is of it. `{}` stands for any
/// text, as short as may be.
pub fn parts<'t>(pattern: &str, text: &'t str) -> Option<Vec<&'t str>> {
    let fixed: Vec<&str> = pattern.split("{}").collect();
    let mut rest = text.strip_prefix(fixed[0])?;
    let mut found = Vec::new();
    for (i, part) in fixed.iter().enumerate().skip(1) {
        let end = if i == fixed.len() - 1 {
            rest.strip_suffix(part)?.len()
        } else {
            rest.find(part)?
        };
        found.push(&rest[..end]);
        rest = &rest[end + part.len()..];
    }
    Some(found).filter(|_| fixed.len() > 1 || rest.is_empty())
}

/// `cylinder 2, exhaust 1` as a valve.
pub fn valve(text: &str) -> Option<Valve> {
    let found = parts("cylinder {}, {} {}", &text.to_lowercase())?
        .iter()
        .map(|t| (*t).to_owned())
        .collect::<Vec<_>>();
    Some((
        found[0].parse().ok()?,
        found[1].clone(),
        found[2].parse().ok()?,
    ))
}

/// A rule: the kind of fact, the pattern, and what is true where it holds.
pub type Rule = (
    &'static str,
    &'static str,
    fn(&[&str], &Truth, &Now) -> Result<(), String>,
);

/// Whether two things are the same; else what is true.
#[allow(clippy::needless_pass_by_value)] // Both are made for the question.
pub fn same<T: PartialEq + std::fmt::Debug>(said: T, is: T) -> Result<(), String> {
    if said == is {
        Ok(())
    } else {
        Err(format!("says {said:?}, but it is {is:?}"))
    }
}

pub fn so(is_so: bool, what: &str) -> Result<(), String> {
    if is_so {
        Ok(())
    } else {
        Err(format!("it is not so that {what}"))
    }
}

/// Minutes that went by, to one: the mirror's clock and the journal's differ a little.
pub fn about_minutes(said: &str, since_ms: i64, now: &Now) -> Result<(), String> {
    let minutes: i64 = said.parse().map_err(|_| format!("{said:?} is no number"))?;
    let is = (now.ms - since_ms) / 60_000;
    so(
        (minutes - is).abs() <= 1,
        &format!("it was {minutes} min, but {is}"),
    )
}

pub fn stage_of(name: &str) -> Option<usize> {
    if name == "not begun" {
        return Some(0);
    }
    STAGES.iter().position(|s| *s == name).map(|i| i + 1)
}

fn by_rules(rules: &[Rule], text: &str, truth: &Truth, now: &Now) -> Option<Verdict> {
    let mut failed = None;
    for (kind, pattern, is_so) in rules {
        if let Some(found) = parts(pattern, text) {
            match is_so(&found, truth, now) {
                Ok(()) => return Some(Verdict::Holds(kind)),
                // The pattern fits, but the rule is about other things.
                Err(why) if why.is_empty() => {}
                Err(why) => failed = failed.or(Some(Verdict::Wrong(format!("{kind}: {why}")))),
            }
        }
    }
    failed
}

pub fn judge(text: &str, truth: &Truth, now: &Now) -> Verdict {
    let whole = by_rules(rules::RULES, text, truth, now);
    if let Some(Verdict::Holds(kind)) = whole {
        return Verdict::Holds(kind);
    }
    if quiet::is_quiet(text) {
        return Verdict::Quiet;
    }
    // A line of several things says each of them.
    let pieces = pieces(text, truth);
    if pieces.len() > 1 {
        let mut all = Verdict::Quiet;
        for piece in pieces {
            let is_other = CODES.iter().any(|(name, _)| *name == piece);
            if is_other && piece != truth.technician && is_of_job(text, truth) {
                return Verdict::Wrong(format!("the bay is {}'s", truth.technician));
            }
            match judge(piece, truth, now) {
                Verdict::Quiet => {}
                Verdict::Holds(kind) => all = Verdict::Holds(kind),
                Verdict::Unknown => return whole.unwrap_or(Verdict::Unknown),
                wrong @ Verdict::Wrong(_) => return wrong,
            }
        }
        return all;
    }
    if let Some(wrong) = whole {
        return wrong;
    }
    if quiet::sounds_like_a_fact(text) {
        Verdict::Unknown
    } else {
        Verdict::Quiet
    }
}

fn job_name(truth: &Truth) -> String {
    format!("{} \u{b7} {}", truth.bay, truth.vehicle)
}

/// Whether a line is one that begins with the job's name.
fn is_of_job(text: &str, truth: &Truth) -> bool {
    !truth.bay.is_empty() && text.starts_with(&job_name(truth))
}

/// The things that a line says. What names the job is followed by a comma.
fn pieces<'t>(text: &'t str, truth: &Truth) -> Vec<&'t str> {
    if !is_of_job(text, truth) {
        return text.split(" \u{b7} ").flat_map(|p| p.split(". ")).collect();
    }
    let rest = text[job_name(truth).len()..].split(" \u{b7} ");
    rest.flat_map(|p| p.split(", "))
        .chain([""])
        .filter(|p| *p != text)
        .collect()
}
