//! The six rules of the job, derived anew from what a state shows, without the state
//! machine's own checks: before an event, the event, and after.

use std::collections::BTreeMap;

use trayzero_core::engine::{Follower, Layout};
use trayzero_core::job::{DropStatus, Event, JobPhase, JobState, Stage, ValveState};
use trayzero_core::parts::{Item, Place};

/// The first rule that is broken, in words: by the step from `before` to `after`, or by
/// `after` itself.
pub fn broken(before: &JobState, event: &Event, after: &JobState) -> Option<String> {
    broken_state(after).or_else(|| broken_step(before, event, after))
}

/// The first rule that a state breaks by itself.
pub fn broken_state(job: &JobState) -> Option<String> {
    let layout = job.layout()?;
    not_conserved(job)
        .or_else(|| not_where_seen(job, layout))
        .or_else(|| not_aboard_as_seen(job))
        .or_else(|| not_adrift_as_told(job))
        .or_else(|| not_held(job, layout))
        .or_else(|| not_clear(job, layout))
}

fn fault(rule: &str, what: impl std::fmt::Display) -> String {
    format!("{rule}: {what}")
}

/// Rule 1, in sum: every kind adds up over its places.
fn not_conserved(job: &JobState) -> Option<String> {
    job.ledger().accounts().find_map(|(item, account)| {
        let there: u64 = Place::ALL.map(|p| u64::from(account.at(p))).iter().sum();
        let came = u64::from(account.counted_in) + u64::from(account.issued);
        (there != came).then(|| format!("conserved: {item}: {there} there, {came} came in"))
    })
}

/// Rule 1, at the engine: what is home is what the stages, covers and plugs show.
fn not_where_seen(job: &JobState, layout: &Layout) -> Option<String> {
    let valves =
        |test: fn(u8) -> bool| job.valves().filter(|(_, v)| test(v.stages_seen)).count() as u32;
    let locked = valves(|seen| !(3..=4).contains(&seen));
    let plugs_in = cylinders(job, layout).filter(|c| !c.plug_out).count() as u32;
    let covers_on = banks(job).filter(|b| !b.cover_off).count() as u32;
    let followers = if layout.follower == Follower::None {
        0
    } else {
        valves(|seen| seen == 0 || seen == 6)
    };
    let shims = match (layout.follower, layout.shims_per_valve) {
        (Follower::Bucket, Some(0)) => 0,
        (Follower::Bucket, _) => followers,
        _ => 0,
    };
    let fitted = [
        (Item::Lock, locked * u32::from(layout.locks_per_valve)),
        (Item::Retainer, locked),
        (Item::Spring, locked * u32::from(layout.springs_per_valve)),
        (Item::Follower, followers),
        (Item::Shim, shims),
        (Item::OldSeal, valves(|seen| seen < 4)),
        (Item::NewSeal, valves(|seen| seen >= 4)),
        (Item::Plug, plugs_in),
        (Item::Cover, covers_on),
    ];
    fitted.into_iter().find_map(|(item, shown)| {
        let home = job.ledger().at(&item, Place::Home);
        (home != shown).then(|| format!("conserved: {item}: {home} home, {shown} fitted"))
    })
}

/// Rule 1, at the kit: what is aboard is what the holes, the wrench and the banks show.
fn not_aboard_as_seen(job: &JobState) -> Option<String> {
    let layout = job.layout()?;
    let mut shown: BTreeMap<Item, u32> = BTreeMap::new();
    for cylinder in cylinders(job, layout) {
        *shown.entry(Item::VentedCover).or_default() += u32::from(cylinder.vented_cover_in);
        *shown.entry(Item::Hose).or_default() += u32::from(cylinder.hose_in);
        let things = [
            !cylinder.plug_out,
            cylinder.vented_cover_in,
            cylinder.hose_in,
        ];
        if things.iter().filter(|t| **t).count() > 1 {
            return Some(fault("conserved", "two things in one plug hole"));
        }
    }
    *shown.entry(Item::Wrench).or_default() += u32::from(job.wrench_on());
    for (item, count) in banks(job).flat_map(|b| &b.aboard) {
        *shown.entry(item.clone()).or_default() += count;
    }
    job.ledger().accounts().find_map(|(item, account)| {
        let aboard = account.at(Place::Aboard);
        let seen = shown.get(&item).copied().unwrap_or(0);
        (aboard != seen).then(|| format!("conserved: {item}: {aboard} aboard, {seen} seen"))
    })
}

/// Rule 1, of what fell: adrift and unfound are what the drops tell.
fn not_adrift_as_told(job: &JobState) -> Option<String> {
    job.ledger().accounts().find_map(|(item, account)| {
        let told = |test: fn(DropStatus) -> bool| -> u32 {
            let of_it = job
                .drops()
                .iter()
                .filter(|d| d.item == item && test(d.status));
            of_it.map(|d| d.count).sum()
        };
        let adrift = told(|s| s == DropStatus::Adrift);
        let unfound = told(|s| matches!(s, DropStatus::Unfound(_)));
        let there = (account.at(Place::Adrift), account.at(Place::Unfound));
        (there != (adrift, unfound)).then(|| {
            format!("conserved: {item}: {there:?} adrift and unfound, {adrift} and {unfound} told")
        })
    })
}

/// Rules 2, 3 and 4 of a state: pressed or unlocked valves are held, the crank stands
/// where anything is held or pressed, and air means a hose in and the wrench off.
fn not_held(job: &JobState, layout: &Layout) -> Option<String> {
    for number in layout.cylinders() {
        let known = job.cylinder(number)?;
        if known.air_bar.is_some() && !known.hose_in {
            return Some(fault(
                "held",
                format!("air without a hose in cylinder {number}"),
            ));
        }
        if known.air_bar.is_some() && job.wrench_on() {
            return Some(fault("wrench off", format!("air in cylinder {number}")));
        }
        let held = known.air_bar.is_some() || known.hold.is_some();
        let pressed = job.valves_of(number).any(|(_, v)| is_pressed(v));
        if pressed && !held && !known.air_lost {
            return Some(fault("held", format!("nothing holds cylinder {number}")));
        }
        let here = job.crank().is_some_and(|at| at.cylinder == number);
        if (pressed || held) && !here {
            return Some(fault("still", format!("the crank left cylinder {number}")));
        }
    }
    None
}

/// Rule 6 of a state: a bank under its cover is untouched or was closed with every valve
/// verified; a closed job has nothing out, loose, aboard or adrift.
fn not_clear(job: &JobState, layout: &Layout) -> Option<String> {
    for (index, bank) in banks(job).enumerate().filter(|(_, b)| !b.cover_off) {
        let stages: Vec<u8> = layout.banks[index]
            .cylinders
            .iter()
            .flat_map(|c| job.valves_of(*c).map(|(_, v)| v.stages_seen))
            .collect();
        let untouched = stages.iter().all(|s| *s == 0);
        let through = bank.closed_in.is_some() && stages.iter().all(|s| *s == 6);
        if !bank.aboard.is_empty() || !(untouched || through) {
            return Some(fault(
                "gate",
                format!("bank {index} is covered at {stages:?}"),
            ));
        }
    }
    if job.phase() != JobPhase::Closed {
        return None;
    }
    let out = [Place::Tray, Place::Aboard, Place::Adrift]
        .iter()
        .find(|place| job.ledger().sum_at(**place) > 0);
    if let Some(place) = out {
        return Some(fault("gate", format!("closed with something {place:?}")));
    }
    let open = banks(job).any(|b| b.cover_off || b.closed_in.is_none())
        || cylinders(job, layout).any(|c| c.plug_out || c.hold.is_some());
    open.then(|| "gate: closed with a cover, a plug or a hold out of place".to_owned())
}

/// The rules about the step itself.
fn broken_step(before: &JobState, event: &Event, after: &JobState) -> Option<String> {
    before.layout()?;
    crank_not_still(before, event, after)
        .or_else(|| air_lost_by_no_word(before, event, after))
        .or_else(|| stages_not_in_turn(before, event, after))
        .or_else(|| covered_through_no_gate(before, event, after))
}

/// Rule 3 of a step: the crank moves only while nothing is pressed, held or under air.
fn crank_not_still(before: &JobState, event: &Event, after: &JobState) -> Option<String> {
    let turned = matches!(event, Event::CrankTurned { .. });
    if !turned && before.crank() == after.crank() {
        return None;
    }
    let layout = before.layout()?;
    let pressed = before.valves().any(|(_, v)| is_pressed(v));
    let held = cylinders(before, layout).any(|c| c.air_bar.is_some() || c.hold.is_some());
    if pressed || held {
        return Some(fault("still", "the crank was turned under a held valve"));
    }
    (turned && !before.wrench_on()).then(|| "still: turned without a wrench".to_owned())
}

/// Rule 2 of a step: only somebody's word, or taking back what had taken over since, lets
/// a valve hang on nothing; a hold or air ends it.
fn air_lost_by_no_word(before: &JobState, event: &Event, after: &JobState) -> Option<String> {
    let layout = before.layout()?;
    layout.cylinders().find_map(|number| {
        let (was, is) = (before.cylinder(number)?, after.cylinder(number)?);
        let told = matches!(event, Event::AirLost { cylinder, .. } if *cylinder == number);
        if is.air_lost && !was.air_lost && !told {
            return Some(fault(
                "held",
                format!("nobody told the air of {number} lost"),
            ));
        }
        let held = is.air_bar.is_some() || is.hold.is_some();
        let new_hold = held && !(was.air_bar.is_some() || was.hold.is_some());
        (is.air_lost && new_hold).then(|| fault("held", format!("{number} is held, told lost")))
    })
}

/// Rule 5: one stage of one valve at a time, forwards when seen, backwards when taken
/// back, and every stage seen has its event.
fn stages_not_in_turn(before: &JobState, event: &Event, after: &JobState) -> Option<String> {
    let mut changed = 0;
    for ((valve, was), (_, is)) in before.valves().zip(after.valves()) {
        let events = is.stage_events.iter().take_while(|e| !e.is_nil()).count();
        if events != usize::from(is.stages_seen) {
            return Some(fault(
                "in turn",
                format!("{valve} has {events} events of stages"),
            ));
        }
        let step = i16::from(is.stages_seen) - i16::from(was.stages_seen);
        let good = match event {
            Event::StageSeen {
                valve: of, stage, ..
            } if *of == valve => step == 1 && stage.index() == usize::from(was.stages_seen),
            Event::Withdrawn { .. } => step == 0 || step == -1,
            _ => step == 0,
        };
        if !good {
            return Some(fault("in turn", format!("{valve} went {step} stages")));
        }
        changed += i16::from(step != 0);
    }
    (changed > 1).then(|| "in turn: two valves in one step".to_owned())
}

/// Rule 6 of a step: a cover goes on through the gate, or back onto a bank that was
/// lifted by mistake and not touched.
fn covered_through_no_gate(before: &JobState, event: &Event, after: &JobState) -> Option<String> {
    let layout = before.layout()?;
    for (index, (was, is)) in banks(before).zip(banks(after)).enumerate() {
        if !was.cover_off || is.cover_off {
            continue;
        }
        let closed = matches!(event, Event::BankClosed { bank, .. } if usize::from(*bank) == index);
        if closed {
            return why_gate_was_shut(before, layout, index);
        }
        if !matches!(event, Event::Withdrawn { .. }) {
            return Some(fault(
                "gate",
                format!("bank {index} was covered by another event"),
            ));
        }
    }
    None
}

fn why_gate_was_shut(job: &JobState, layout: &Layout, bank: usize) -> Option<String> {
    let cylinders = &layout.banks[bank].cylinders;
    let verified = cylinders.iter().all(|c| {
        job.valves_of(*c)
            .all(|(_, v)| v.stage() == Some(Stage::Verified))
    });
    let holes_clear = cylinders.iter().all(|c| {
        job.cylinder(*c)
            .is_some_and(|k| !k.plug_out && !k.vented_cover_in && !k.hose_in && k.hold.is_none())
    });
    let ledger = job.ledger();
    let holds = [
        (!verified, "a valve was not verified"),
        (!holes_clear, "a plug was out, or something in a cylinder"),
        (job.wrench_on(), "the wrench was on"),
        (
            !banks(job).nth(bank)?.aboard.is_empty(),
            "kit was aboard the bank",
        ),
        (ledger.sum_at(Place::Tray) > 0, "parts were loose"),
        (ledger.sum_at(Place::Adrift) > 0, "a part was adrift"),
        (job.open_conflicts().next().is_some(), "a conflict was open"),
        (!counted_by_two(job), "two people had not counted the same"),
    ];
    let shut = holds.iter().find(|(shut, _)| *shut)?;
    Some(fault("gate", shut.1))
}

/// Whether the last two counts are by two people and each shows, line by line, what the
/// ledger has wherever things are laid out.
fn counted_by_two(job: &JobState) -> bool {
    let counts = job.counts();
    let [.., first, second] = counts else {
        return false;
    };
    let laid_out = [
        Place::Tray,
        Place::Kit,
        Place::Scrap,
        Place::Stock,
        Place::Aside,
    ];
    let true_to_ledger = |lines: &[trayzero_core::job::CountLine]| {
        job.ledger().accounts().all(|(item, account)| {
            laid_out.iter().all(|place| {
                let of_it = lines.iter().filter(|l| l.item == item && l.place == *place);
                of_it.map(|l| l.count).sum::<u32>() == account.at(*place)
            })
        })
    };
    first.by != second.by && true_to_ledger(&first.lines) && true_to_ledger(&second.lines)
}

fn is_pressed(valve: &ValveState) -> bool {
    (2..=4).contains(&valve.stages_seen)
}

fn cylinders<'a>(
    job: &'a JobState,
    layout: &'a Layout,
) -> impl Iterator<Item = &'a trayzero_core::job::CylinderState> {
    layout.cylinders().filter_map(|c| job.cylinder(c))
}

fn banks(job: &JobState) -> impl Iterator<Item = &trayzero_core::job::BankState> {
    (0..job.bank_count()).filter_map(|b| job.bank(b))
}
