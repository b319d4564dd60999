//! What the screen says, sentence by sentence, held against the oracle. The sentences stand
//! here as a person reads them, not as the program's words name them.

use std::ops::Range;
use std::time::{SystemTime, UNIX_EPOCH};

use super::super::CODES;
use super::oracle::{STAGES, Truth, Valve};
use super::quiet;
use super::rules;

/// The kind of a fact, and the pattern of its sentence.
pub type Found = (&'static str, &'static str);

pub enum Verdict {
    /// Facts that are true; the patterns that found them, each with its kind.
    Holds(Vec<Found>),
    /// It states no fact of this job.
    Quiet,
    /// It states a fact that no rule here knows.
    Unknown,
    /// What is true instead.
    Wrong(String),
}

/// What is true besides the journal.
#[derive(Clone, Copy)]
pub struct Now {
    pub ms: i64,
    /// What stands in both fields of the leak-down.
    pub typed: Option<(f64, f64)>,
    /// Somebody counts, and has not signed yet.
    pub counts: bool,
    /// The sentence is one of a line that says several things.
    pub is_of_line: bool,
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

/// A time of day. The mirror that speaks taps some seconds beside the window whose journal
/// is the truth, so the minute may have turned between them.
pub fn about_clock(said: &str, at_ms: i64, t: &Truth) -> Result<(), String> {
    const BESIDE_MS: i64 = 20_000;
    let near = [-BESIDE_MS, BESIDE_MS].map(|off| t.clock_of(at_ms + off));
    if near.iter().any(|clock| clock == said) {
        return Ok(());
    }
    same(said.to_owned(), t.clock_of(at_ms))
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
                Ok(()) => return Some(Verdict::Holds(vec![(kind, pattern)])),
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
    if let Some(Verdict::Holds(found)) = whole {
        return Verdict::Holds(found);
    }
    if quiet::is_quiet(text) {
        return Verdict::Quiet;
    }
    // A line of several things says each of them.
    let pieces = pieces(text, truth);
    if pieces.len() > 1 {
        let now = &Now {
            is_of_line: true,
            ..*now
        };
        let mut all = Vec::new();
        let mut at = 0;
        while at < pieces.len() {
            // A sentence may have commas of its own.
            let whole = (1..=3).find_map(|n| {
                let last = pieces.get(at + n - 1)?;
                let several = &text[pieces[at].start..last.end];
                match by_rules(rules::RULES, several, truth, now) {
                    Some(Verdict::Holds(found)) => Some((n, found)),
                    _ => None,
                }
            });
            if let Some((n, found)) = whole {
                all.extend(found);
                at += n;
                continue;
            }
            let piece = &text[pieces[at].clone()];
            let is_other = CODES.iter().any(|(name, _)| *name == piece);
            if is_other && piece != truth.technician && is_of_job(text, truth) {
                return Verdict::Wrong(format!("the bay is {}'s", truth.technician));
            }
            match judge(piece, truth, now) {
                Verdict::Quiet => {}
                Verdict::Holds(found) => all.extend(found),
                Verdict::Unknown => return Verdict::Wrong(format!("no rule knows {piece:?}")),
                wrong @ Verdict::Wrong(_) => return wrong,
            }
            at += 1;
        }
        return match all.as_slice() {
            [] => Verdict::Quiet,
            _ => Verdict::Holds(all),
        };
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
fn pieces(text: &str, truth: &Truth) -> Vec<Range<usize>> {
    let (begin, ends): (usize, &[&str]) = if is_of_job(text, truth) {
        (job_name(truth).len(), &[" \u{b7} ", ", "])
    } else {
        (0, &[" \u{b7} ", ". "])
    };
    let mut pieces = Vec::new();
    let mut start = begin;
    while start <= text.len() {
        let rest = &text[start..];
        let next = ends
            .iter()
            .filter_map(|end| Some((rest.find(end)?, end.len())));
        let (at, skip) = next.min().unwrap_or((rest.len(), 1));
        if at > 0 {
            pieces.push(start..start + at);
        }
        start += at + skip;
    }
    if begin > 0 {
        // The job's name is a piece too, so that a line is never taken for one sentence.
        pieces.insert(0, begin..begin);
    }
    pieces
}
