//! The record in English.

use trayzero_core::bench::OilRate;
use trayzero_core::job::{Event, Reading};
use trayzero_core::record::{
    DropLine, Ending, FindingLine, FindingName, JobStatus, NoteKind, OpenPoint, Reason,
    SignatureLine, SignedFor, Stamp, Suspect,
};

use super::Words;
use super::record::{ProofTold, RecordWords, numbers, oil_used, oil_ways};
use crate::ui::units::{self, Figures};

/// The words of the record in English.
pub const RECORD_EN: RecordWords = RecordWords {
    tag: "en",
    title: "Job record",
    bay: "Bay",
    order_number: "Number",
    engine: "Engine",
    opened: "Opened",
    finished_at: "Finished",
    stopped_at: "Stopped",
    latest: "Latest entry",
    working_time: "Working time",
    technicians: "Technician",
    signed_by: "Signed by",
    nobody: "nobody",
    check_value: "Check value",
    tablet_key: "Tablet's key",
    shop_key: "Shop's key",
    times: "Times",
    since: "since",
    unfinished: "UNFINISHED",
    breakaway: "Breakaway torque",
    valves_verified: "Valves verified",
    adrift_now: "adrift now",
    drops_reported: "drops reported",
    banks_closed: "banks closed",
    conflicts_open: "conflicts open",
    left_open: "Left open",
    nothing_open: "Nothing is left open.",
    take_in: "Take-in",
    complaint: "Complaint",
    odometer: "Odometer",
    codes: "Fault codes",
    smokes_when: "Smokes",
    seen: "Also seen",
    oil: "Oil used",
    no_take_in: "Nothing was noted at take-in.",
    evidence: "The evidence side by side",
    evidence_note: "What was seen and read, with what speaks for and against each cause. This is no diagnosis: no line weighs more than another, and a trained person decides.",
    speaks_for: "Speaks for",
    speaks_against: "Speaks against",
    nothing_speaks: "nothing noted",
    leak_down: "Leak-down",
    before: "Before",
    after: "After",
    cylinder: "Cylinder",
    loss: "Loss",
    class: "Class",
    heard: "Air heard at",
    foreman: "Foreman agreed",
    not_read: "not read",
    leak_note: "Loss is the share of the supply pressure that the cylinder does not hold. As common practice up to 10 % is good, to 20 % usable, to 30 % poor; above, the leak is found first.",
    diagram_note: "Each mark is a valve, by the last stage seen:",
    valves: "Every valve",
    valve: "Valve",
    minutes: "min",
    found_and_done: "Found and done",
    minutes_note: "Clock times at which each stage was seen; a date stands below where it is another day than the one named. Minutes are working minutes on the valve; rests, the way to its cylinder and time lost to a drop are left out.",
    day: "Day",
    findings: "Findings",
    cylinder_findings: "Findings on cylinders",
    from_paper: "Entered from paper (P)",
    from_paper_note: "(P) stands behind what was done on paper and entered later: name and time are those of the entering, and no working time was learned from it.",
    entered_by: "entered by",
    done_by_paper: "done by, as the paper says",
    paper_whole: "all there",
    paper_not_whole: "NOT WHOLE",
    pictures: "Pictures",
    pictures_note: "Copies with no more than 2,000 pixels a side, without place and device. The files as they were taken stay on the tablet; their hashes stand in the record's data.",
    picture_missing: "The picture was not at hand when this record was made.",
    picture_changed: "The file at hand was not the picture that was added. It is not shown.",
    picture_n: |n| format!("picture {n}"),
    parts: "Parts",
    part: "Part",
    issued: "Issued",
    issued_net: "Kept",
    caution: "Caution",
    used: "Used",
    spoiled: "Spoiled",
    returned: "Returned",
    goes_back: "To go back",
    scrapped: "Scrap box",
    missing: "Missing",
    parts_note: "Used: new parts that went onto the engine. Scrap box: old parts and spoiled ones together. Missing: adrift, or signed off as not found.",
    order_list: "Order list",
    order_name: "On the list as",
    to_order: "To order",
    counted_as: "Counted as",
    not_on_list: "not on the list",
    kit: "Kit",
    counted_in: "Counted in",
    in_kit: "In the kit",
    aboard: "Aboard",
    drops: "Drops",
    no_drops: "Nothing was dropped.",
    dropped: "Dropped",
    how_ended: "How it ended",
    when: "When",
    who: "Who",
    closings: "Closing the banks",
    closing_of: "Bank",
    no_closings: "No bank is closed yet.",
    item: "Item",
    place: "Place",
    first_count: "First count",
    second_count: "Second count",
    cover_signed: "Cover on, signed by",
    reopened: "This cover came off again later.",
    other_counts: "Counts that led to no closing",
    other_counts_note: "They differed, or something moved after them, and were taken again.",
    signatures: "Signatures",
    no_signatures: "Nobody has signed yet.",
    signed_what: "Signed for",
    steps: "Before and after",
    step: "What is seen",
    before_first: "Before the first valve",
    after_last: "After the last valve",
    not_seen: "not seen",
    cautions: "Cautions acknowledged",
    notes: "Notes",
    conflicts: "Conflicts between tablets",
    what_was_done: "Entry",
    why_not: "Why it cannot stand",
    stands_instead: "What stands instead",
    resolved: "Resolved",
    still_open: "still open",
    withdrawn: "Taken back",
    taken_back: "Taken back by",
    remark: "Remark",
    adaptor: "adaptor",
    replaced: "new:",
    held_by: "held:",
    held_air: "air",
    seals_spoiled: "new seals spoiled:",
    locks_dropped: "locks dropped:",
    clearance_unknown: "clearance not known: the layout has no guide lengths",
    litres_per_way: "l per 1,000 km",
    quarts_per_way: "quarts per 1,000 mi",
    service_note: "The vehicle maker's service information and local safety rules govern this work.",
    finished_but: "FINISHED · read what is left open",
    journal_faulty: "JOURNAL FAULTY",
    journal_faulty_text: "This record rests on a journal that does not hold to its end. What came after the line named is not in it.",
    not_signed: "NOT CONFIRMED",
    not_signed_text: "What is named here stands in the journals, but a signature on it does not count. Nothing of it is in this record.",
    journal_fault: |f| format!("Tablet {}, line {}: {}.", f.tablet, f.line, f.why),
    job_status: |status| match status {
        JobStatus::UnderWay => "UNFINISHED · work goes on",
        JobStatus::Resting => "UNFINISHED · work rests",
        JobStatus::Finished => "finished",
        JobStatus::Stopped => "UNFINISHED · stopped",
    },
    unfinished_text: |status| match status {
        JobStatus::Stopped => {
            "The work was stopped before its end. What is left open stands below; the engine is not to be started until somebody has seen to every line."
        }
        _ => {
            "The work goes on. What is left open stands below; the engine is not to be started before this job is closed."
        }
    },
    page_of: |n, m| format!("Page {n} of {m}"),
    times_at: |offset| format!("by the tablet's clock, UTC{offset}"),
    check_text: |value| {
        format!(
            "Check value {value}: the first digits of the last link of the job's journal. Whoever holds the journal can tell by it that this record belongs to it and that no line before was changed."
        )
    },
    proof_text: |proof| match proof {
        ProofTold::Without => {
            "Nothing is attached to this file: it is a printout, and proves nothing by itself."
        }
        ProofTold::Unsigned => {
            "Attached to this file are the job's journals, the shop's log and a list of their SHA-256 values. No tablet has signed the list, for the record was made from a folder: the seals show that no line of these journals was changed, but not that no journal is missing."
        }
        ProofTold::ByTablet(_) => {
            "Attached to this file are all journals of the job and a list of their SHA-256 values, signed with the key of the tablet that made the record: whoever has the file can check that nothing was changed, left out or added since. That does not prove that what was entered is true. The tablet belongs to no shop, so nobody else vouches for its key, and whoever held the tablet could have written another record: hold the words of its key against those that its owner gives you."
        }
        ProofTold::ByMember { .. } => {
            "Attached to this file are all journals of the job, the shop's log and a list of their SHA-256 values, signed with the key of the tablet that made the record: whoever has the file can check that nothing was changed, left out or added since, and that tablets and people belong to the shop. That does not prove that what was entered is true, nor who held the tablet. Hold the words of the shop's key against those that the shop gives you."
        }
    },
    suspect: |suspect| match suspect {
        Suspect::Seals => "Valve stem seals",
        Suspect::Rings => "Piston rings",
        Suspect::Elsewhere => "Elsewhere",
    },
    reason,
    finding,
    ending,
    signed_for,
    event_name,
    open_point,
    note_kind: |kind| match kind {
        NoteKind::Noted => "Note",
        NoteKind::Paused => "Work rests",
        NoteKind::Stopped => "Job stopped",
    },
    oil_rate,
    diagram_alt: |bank, verified, all| {
        format!(
            "Bank {bank} seen from above, front to the left: {verified} of {all} valves verified. The table of all valves says the same."
        )
    },
    chart_alt: |before, after| {
        format!(
            "Bars of the loss of every cylinder in percent, before ({before} read) and after ({after} read). The table below has the figures."
        )
    },
};

fn reason(words: &Words, figures: Figures, reason: &Reason) -> String {
    let rate = |litres: f64| oil_used(&RECORD_EN, words, figures, litres);
    match reason {
        Reason::SmokeAfterIdling => {
            "Smoke after idling: oil gathers on the stems while little is burnt.".into()
        }
        Reason::SmokeOnOverrun => {
            "Smoke on overrun: the shut throttle draws oil down the guides.".into()
        }
        Reason::SmokeColdStart => {
            "Smoke at cold start: oil has run down the stems while standing.".into()
        }
        Reason::SmokeUnderLoad => "Smoke under load: what passes the rings grows with load.".into(),
        Reason::NoSmoke => "No smoke was seen at any time.".into(),
        Reason::OilUsed { litres_per_1000_km } => {
            format!("Oil is used: {}.", rate(*litres_per_1000_km))
        }
        Reason::OilUsedWithoutSmoke { litres_per_1000_km } => format!(
            "Oil is used, {}, yet no smoke is seen: it may leave the engine unburnt.",
            rate(*litres_per_1000_km)
        ),
        Reason::NoOilUseShown { litres_per_1000_km } => format!(
            "The top-ups do not show that oil is used: {}, and none at all fits them too.",
            rate(*litres_per_1000_km)
        ),
        Reason::AllHoldAir { worst_loss_percent } => format!(
            "Every cylinder holds its air: the worst loses {}.",
            words.percent(*worst_loss_percent)
        ),
        Reason::HeardAt { heard, cylinders } => format!(
            "Air is lost, heard at: {} (cylinder {}).",
            words.heard_at(*heard),
            numbers(cylinders)
        ),
        Reason::PastLimit { cylinders } => format!(
            "Past the limit: cylinder {}. With such a leak new seals alone will not do.",
            numbers(cylinders)
        ),
        Reason::NotHeard { cylinders } => format!(
            "Air is lost, and nobody noted where it is heard: cylinder {}.",
            numbers(cylinders)
        ),
    }
}

fn finding(figures: Figures, line: &FindingLine) -> String {
    let length = |mm: Option<f64>| units::length(mm.unwrap_or_default(), figures);
    let what = match line.kind {
        FindingName::ScoredStem => "scored stem".to_owned(),
        FindingName::BrokenSpring => "broken spring".to_owned(),
        FindingName::DamagedGroove => "damaged lock groove".to_owned(),
        FindingName::ValveFell => "valve fell into the cylinder".to_owned(),
        FindingName::WornGuide => match line.clearance_mm {
            Some(_) => format!(
                "worn guide: rocks {} at the tip, clearance {}",
                length(line.rock_mm),
                length(line.clearance_mm)
            ),
            None => format!(
                "worn guide: rocks {} at the tip; {}",
                length(line.rock_mm),
                RECORD_EN.clearance_unknown
            ),
        },
        FindingName::ShortSpring => format!("short spring: {}", length(line.length_mm)),
        FindingName::SealTorn => match line.missing_pieces {
            None | Some(0) => "old seal torn, all pieces there".to_owned(),
            Some(1) => "old seal torn, 1 piece was missing".to_owned(),
            Some(n) => format!("old seal torn, {n} pieces were missing"),
        },
        // Journals of before may hold one without a word, and a line says something.
        FindingName::Other if line.text.is_empty() => super::EN.other_finding.to_owned(),
        FindingName::Other => String::new(),
    };
    match (what.is_empty(), line.text.is_empty()) {
        (true, _) => line.text.clone(),
        (false, true) => what,
        (false, false) => format!("{what}. {}", line.text),
    }
}

fn ending(words: &Words, drop: &DropLine, at: &dyn Fn(Stamp) -> String) -> String {
    match &drop.ending {
        Ending::Adrift => "Still adrift.".into(),
        Ending::Found { found_at, to, by } => format!(
            "Found at: {}; put to: {}. {}, {}.",
            words.search_place(*found_at),
            words.place(*to),
            by.who,
            at(by.at)
        ),
        Ending::Unfound {
            places,
            first,
            second,
        } => {
            let places: Vec<&str> = places.iter().map(|p| words.search_place(*p)).collect();
            format!(
                "NOT FOUND. Searched: {}. Signed by {} and {second}, {}. It may still be in the engine.",
                places.join("; "),
                first.who,
                at(first.at)
            )
        }
    }
}

fn signed_for(words: &Words, line: &SignatureLine) -> String {
    let bank = || words.bank_n(line.bank.as_deref().unwrap_or_default());
    match line.signed_for {
        SignedFor::TakenOver => "taking the bay over".into(),
        SignedFor::ForemanAgreed => format!(
            "seen past the limit, work goes on: {}",
            words.cylinder_n(line.cylinder.unwrap_or_default())
        ),
        SignedFor::BlindCount => "blind count".into(),
        SignedFor::BankClosed => format!("cover on: {}", bank()),
        SignedFor::SearchFirst => "searched, not found (first person)".into(),
        SignedFor::SearchSecond => "searched, not found (second person)".into(),
        SignedFor::ConflictResolved => "conflict resolved".into(),
        SignedFor::ConflictSecond => "conflict resolved (second person)".into(),
        SignedFor::TakenBack => "something taken back".into(),
        SignedFor::JobClosed => "job closed".into(),
        SignedFor::JobStopped => "job stopped".into(),
    }
}

fn event_name(event: &Event) -> &'static str {
    match event {
        Event::JobOpened(_) => "job opened",
        Event::TakenOver { .. } => "bay taken over",
        Event::Paused { .. } => "work rests",
        Event::Resumed {} => "work goes on",
        Event::Noted { .. } => "note",
        Event::HandedOver { .. } => "handed to another tablet",
        Event::ConflictResolved { .. } => "conflict resolved",
        Event::Sealed(_) => "sealed by the tablet",
        Event::Withdrawn { .. } => "taking something back",
        Event::JobClosed { .. } => "job closed",
        Event::JobStopped { .. } => "job stopped",
        Event::TakeInNoted(_) => "take-in",
        Event::OilToppedUp { .. } => "oil topped up",
        Event::LeakRead { .. } => "leak-down reading",
        Event::ForemanAgreed { .. } => "foreman agreed",
        Event::BreakawayMeasured { .. } => "breakaway torque",
        Event::StepSeen { .. } => "step seen",
        Event::CautionSeen { .. } => "caution acknowledged",
        Event::FindingNoted(_) => "finding",
        Event::PictureAdded(_) => "picture",
        Event::EnteredFromPaper(_) => "entered from paper",
        Event::FollowedUp { .. } => "seen after it left",
        Event::KitCounted { .. } => "kit counted in",
        Event::StockIssued { .. } => "issued from the store",
        Event::StockReturned { .. } => "back to the store",
        Event::TakenFromStock { .. } => "new from stock to the tray",
        Event::PutAway { .. } => "put away",
        Event::PutAboard { .. } => "put aboard",
        Event::TakenOff { .. } => "taken off",
        Event::PartUsed { .. } => "part used",
        Event::PartReplaced { .. } => "part replaced",
        Event::PartDropped { .. } => "part dropped",
        Event::PartFound { .. } => "part found",
        Event::SearchSigned { .. } => "search signed",
        Event::BlindCount { .. } => "blind count",
        Event::CoverOff { .. } => "cover off",
        Event::BankClosed { .. } => "bank closed",
        Event::PlugOut { .. } => "plug out",
        Event::PlugIn { .. } => "plug in",
        Event::VentedCoverIn { .. } => "vented cover in",
        Event::VentedCoverOut { .. } => "vented cover out",
        Event::HoseIn { .. } => "hose in",
        Event::HoseOut { .. } => "hose out",
        Event::WrenchOn {} => "wrench on",
        Event::WrenchOff {} => "wrench off",
        Event::CrankTurned { .. } => "crank turned",
        Event::AirOn { .. } => "air on",
        Event::AirOff { .. } => "air off",
        Event::AirReadAnew { .. } => "regulator read anew",
        Event::AirLost { .. } => "air fell away",
        Event::PartsSwapped { .. } => "parts swapped",
        Event::SwapMended { .. } => "swapped parts laid right",
        Event::HoldDeclared { .. } => "mechanical hold in",
        Event::HoldReleased { .. } => "mechanical hold out",
        Event::StageSeen { .. } => "stage",
        Event::CylinderPutOff { .. } => "cylinder put off",
        Event::CylinderWanted { .. } => "cylinder wanted next",
    }
}

fn open_point(words: &Words, figures: Figures, point: &OpenPoint) -> String {
    match point {
        OpenPoint::Conflicts { count: 1 } => "One conflict between tablets is open.".into(),
        OpenPoint::Conflicts { count } => format!("{count} conflicts between tablets are open."),
        OpenPoint::PaperNotWhole { came, lines } => format!(
            "An entry from paper is not whole: {came} of {lines} lines, or not as they were signed."
        ),
        OpenPoint::ValveUnlocked { valve, stage } => format!(
            "UNLOCKED: {} ({}). Only air or a mechanical hold keeps it up.",
            words.valve(*valve),
            words.stage(*stage)
        ),
        OpenPoint::ValveOpen { valve, stage } => format!(
            "Begun and not verified: {} ({}).",
            words.valve(*valve),
            words.stage(*stage)
        ),
        OpenPoint::ValvesUntouched { bank, count } => {
            format!("{}: {count} valves not begun.", words.bank_n(bank))
        }
        OpenPoint::AirOn { cylinder, bar } => format!(
            "AIR IS ON: {}, {}.",
            words.cylinder_n(*cylinder),
            units::pressure_at_a_glance(*bar, figures)
        ),
        OpenPoint::HoldIn { cylinder, hold } => format!(
            "A mechanical hold is in: {}, {}.",
            words.cylinder_n(*cylinder),
            words.hold(*hold)
        ),
        OpenPoint::Adrift { item, count } => {
            format!("ADRIFT: {}.", words.items_n(item, *count))
        }
        OpenPoint::Unfound { item, count } => format!(
            "Searched for, signed for and never found: {}. It may be in the engine.",
            words.items_n(item, *count)
        ),
        OpenPoint::Loose { item, count } => {
            format!("Loose in the tray: {}.", words.items_n(item, *count))
        }
        OpenPoint::Aboard { bank, item, count } => format!(
            "Still aboard {}: {}.",
            words.bank_n(bank),
            words.items_n(item, *count)
        ),
        OpenPoint::WrenchOn => "The wrench is on the crank.".into(),
        OpenPoint::PlugsOut { cylinders } => {
            format!("Plugs are out: cylinder {}.", numbers(cylinders))
        }
        OpenPoint::BankOpen { bank } => format!("{} is not closed.", words.bank_n(bank)),
        OpenPoint::ForemanNotAsked {
            cylinder,
            loss_percent,
        } => format!(
            "{} loses {} and no foreman has seen it.",
            words.cylinder_n(*cylinder),
            words.percent(*loss_percent)
        ),
        OpenPoint::StepNotSeen { step } => format!("Not seen: {}.", words.step(*step)),
        OpenPoint::LeakNotRead { when, cylinders } => format!(
            "No leak-down {} the work: cylinder {}.",
            match when {
                Reading::Before => "before",
                Reading::After => "after",
            },
            numbers(cylinders)
        ),
        OpenPoint::StockLeft { item, count } => {
            format!("To go back to the store: {}.", words.items_n(item, *count))
        }
    }
}

fn oil_rate(words: &Words, figures: Figures, rate: &OilRate) -> String {
    let figure = |value: f64| words.figure(value, 2);
    let [(used, unit), (too, other)] = oil_ways(&RECORD_EN, figures.system, rate);
    let range = match used.interval {
        Some((low, high)) => format!(" (95 % range {} to {})", figure(low), figure(high)),
        None => " (two top-ups: no range can be given)".to_owned(),
    };
    format!(
        "{} {unit}{range}, {} {other}, from {} top-ups",
        figure(used.value),
        figure(too.value),
        rate.top_ups
    )
}
