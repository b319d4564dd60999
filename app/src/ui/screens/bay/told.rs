//! What is so at a bay besides its next step, so that nobody has to remember it: what holds
//! without air, what was found, what was put off, and what the foreman has to see.

use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{
    Danger, Event, Finding, FindingKind, HoldKind, JobPhase, PaperEntered, Stage,
};

use crate::ui::times;
use crate::ui::units;
use crate::ui::view::{JobView, View};
use crate::ui::words::{Words, capital};

/// Cylinders that something holds without air.
pub fn holds(job: &JobView<'_>) -> Vec<(u8, HoldKind)> {
    let cylinders = job.layout().into_iter().flat_map(Layout::cylinders);
    let held = cylinders.filter_map(|c| Some((c, job.state.cylinder(c)?.hold?)));
    held.collect()
}

/// How many locks of a valve flew off while they came out.
pub fn locks_dropped(job: &JobView<'_>, valve: ValveName) -> u32 {
    let out = job
        .state
        .valve(valve)
        .filter(|v| usize::from(v.stages_seen) > Stage::LocksOut.index());
    let told = out.map(|v| v.stage_events[Stage::LocksOut.index()]);
    job.state
        .drop_of(told.unwrap_or_default())
        .map_or(0, |drop| drop.count)
}

/// What was found in this job, the first first.
pub fn findings<'a>(job: &JobView<'a>) -> impl Iterator<Item = &'a Finding> {
    job.state.facts().iter().filter_map(|f| match &f.event {
        Event::FindingNoted(finding) => Some(&**finding),
        _ => None,
    })
}

/// A finding in words, with its figure.
pub fn finding_words(v: &View<'_>, finding: &Finding) -> String {
    let w = v.words;
    let length = |mm| units::length(mm, v.units);
    let what = match &finding.kind {
        FindingKind::ScoredStem => w.scored_stem.to_owned(),
        FindingKind::WornGuide { rock_mm } => {
            format!("{}, {} {}", w.worn_guide, w.rock, length(*rock_mm))
        }
        FindingKind::BrokenSpring => w.broken_spring.to_owned(),
        FindingKind::ShortSpring { length_mm } => {
            format!("{}, {}", w.short_spring, length(*length_mm))
        }
        FindingKind::DamagedGroove => w.damaged_groove.to_owned(),
        FindingKind::ValveFell => w.valve_fell.to_owned(),
        FindingKind::SealTorn { missing } => {
            format!("{}, {}: {missing}", w.seal_torn, w.missing_pieces)
        }
        FindingKind::Other if finding.text.is_empty() => w.other_finding.to_owned(),
        FindingKind::Other => String::new(),
    };
    let parts = [what.as_str(), finding.text.as_str()];
    let parts: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
    parts.join(": ")
}

/// What the foreman has to see.
pub fn foreman(v: &View<'_>, job: &JobView<'_>) -> Vec<String> {
    let waits = job.state.foreman_waited_for();
    let texts = waits.map(|(cylinder, loss)| v.words.block_foreman(cylinder, loss));
    texts.map(|text| capital(&text)).collect()
}

/// The other tablet that the job was handed to, while nobody has taken it over here.
pub fn handed_to<'a>(v: &View<'a>, job: &JobView<'_>) -> Option<&'a str> {
    let is_over = job.state.phase().is_over();
    let holder = job.state.holder().filter(|_| !is_over && !job.is_record)?;
    let other = v.tablets.iter().find(|(id, _)| *id == holder)?;
    Some(&other.1)
}

/// The cylinder in which air may be on or not, while two tablets disagree about it.
pub fn air_asked(job: &JobView<'_>) -> Option<u8> {
    let mut asked = job.state.dangers();
    asked.find_map(|(danger, _)| danger.air_cylinder())
}

/// Where the crank stands; a question while two tablets disagree about it.
pub fn crank(v: &View<'_>, job: &JobView<'_>) -> String {
    let w = v.words;
    if crank_asked(job) {
        return w.danger_crank.to_owned();
    }
    match job.state.crank() {
        Some(at) => w.crank_at(at.cylinder, at.offset_deg),
        // Somebody has looked, and it stood where no tablet had said.
        None if was_turned(job) => w.crank_nowhere.to_owned(),
        None => w.crank_unknown.to_owned(),
    }
}

fn crank_asked(job: &JobView<'_>) -> bool {
    let mut asked = job.state.dangers();
    asked.any(|(danger, _)| danger == Danger::Crank)
}

/// Whether a turn from where the crank stands can be told in degrees: not while two tablets
/// disagree about it, and not from where it stands at no position that is known.
pub fn turn_is_known(job: &JobView<'_>) -> bool {
    !crank_asked(job) && (job.state.crank().is_some() || !was_turned(job))
}

fn was_turned(job: &JobView<'_>) -> bool {
    let mut all = job.state.timeline();
    all.any(|past| matches!(past.event, Event::CrankTurned { .. }))
}

/// Where the wrench is; a question while two tablets disagree about it.
pub fn wrench(v: &View<'_>, job: &JobView<'_>) -> &'static str {
    let mut asked = job.state.dangers();
    if asked.any(|(danger, _)| danger == Danger::Wrench) {
        return v.words.danger_wrench;
    }
    if job.state.wrench_on() {
        v.words.wrench_on
    } else {
        v.words.wrench_off
    }
}

/// Why nothing but words is taken at this bay now, where it is so.
pub fn why_not_open<'a>(v: &View<'a>, job: &JobView<'_>) -> Option<&'a str> {
    let w = v.words;
    match job.state.phase() {
        _ if job.read_only.is_some() => Some(w.read_only),
        JobPhase::Open => None,
        JobPhase::Paused => Some(w.bar_resume_more),
        JobPhase::Stopped => Some(w.job_stopped),
        JobPhase::Unopened | JobPhase::Closed => Some(w.job_closed),
    }
}

/// That work rests or has stopped although something is open.
pub fn left_open(w: &Words, phase: JobPhase, stands_open: bool) -> Option<&'static str> {
    match phase {
        JobPhase::Paused if stands_open => Some(w.rests_open),
        JobPhase::Stopped if stands_open => Some(w.stopped_open),
        _ => None,
    }
}

/// What stands open on the engine: valves, springs and air.
pub fn stands_open(v: &View<'_>, job: &JobView<'_>) -> Vec<String> {
    let w = v.words;
    let mut told = Vec::new();
    let unlocked: Vec<String> = job.state.unlocked().map(|name| w.valve(name)).collect();
    if !unlocked.is_empty() {
        told.push(format!("{}: {}", w.unlocked_now, unlocked.join("; ")));
    }
    let pressed = job
        .state
        .valves()
        .filter(|(_, valve)| valve.is_spring_held());
    told.extend(
        pressed.map(|(name, _)| format!("{}: {}", capital(&w.valve(name)), w.spring_is_held)),
    );
    if let Some((cylinder, bar)) = job.state.air_on() {
        let pressure = units::pressure(bar, v.units);
        told.push(format!(
            "{}: {pressure}",
            capital(&w.air_on_cylinder(cylinder))
        ));
    }
    told
}

/// All of it in sentences, what must not be forgotten first.
pub fn all(v: &View<'_>, job: &JobView<'_>) -> Vec<String> {
    let w = v.words;
    let mut told = foreman(v, job);
    for finding in findings(job) {
        let place = match finding.valve {
            Some(valve) => w.valve(valve),
            None => w.cylinder_n(finding.cylinder),
        };
        told.push(format!(
            "{}: {}",
            capital(&place),
            finding_words(v, finding)
        ));
    }
    for cylinder in job.state.put_off() {
        told.push(format!(
            "{}: {}",
            capital(&w.cylinder_n(cylinder)),
            w.is_put_off
        ));
    }
    told
}

/// What is so at one cylinder, in short, for the panel.
pub fn at_cylinder(v: &View<'_>, job: &JobView<'_>, cylinder: u8) -> Vec<String> {
    let w = v.words;
    let mut told = Vec::new();
    if let Some(hold) = job.state.cylinder(cylinder).and_then(|known| known.hold) {
        told.push(format!("{} {}", w.held_by, w.hold(hold)));
    }
    if job.state.put_off().contains(&cylinder) {
        told.push(w.is_put_off.to_owned());
    }
    let here = findings(job).filter(|f| f.cylinder == cylinder);
    told.extend(here.map(|f| {
        let words = finding_words(v, f);
        match f.valve {
            Some(valve) => format!("{}: {words}", w.valve_within(valve)),
            None => words,
        }
    }));
    told
}

/// Who has entered the last stage of a valve from paper, and when, where it came from there.
pub fn from_paper(v: &View<'_>, job: &JobView<'_>, valve: ValveName) -> Option<String> {
    let paper = job.state.paper_of_valve(valve)?;
    Some(paper_words(v, paper))
}

/// What was entered from paper, and what of it is not whole.
pub fn papers(v: &View<'_>, job: &JobView<'_>) -> Vec<String> {
    let told = job.state.papers().map(|paper| {
        let by = paper_words(v, paper);
        if paper.is_whole {
            by
        } else {
            let (came, lines) = (paper.came.len(), paper.batch.lines as usize);
            format!("{by}: {}", v.words.paper_not_whole(came, lines))
        }
    });
    told.map(|text| capital(&text)).collect()
}

fn paper_words(v: &View<'_>, paper: &PaperEntered) -> String {
    let when = times::since(paper.at_ms, v.now_ms, paper.offset_min);
    v.words.paper_entered_by(&paper.batch.by.person.0, &when)
}
