//! Why an event is refused and the way out, in English. The sentences stand in records that
//! were made: another wording would differ from theirs.

use trayzero_core::job::{CrankAt, Danger, HoldKind, NotedFigure, PictureRule};
use trayzero_core::job::{Refusal, Refusal as R};
use trayzero_core::parts::{Item, Place};

use super::{EN, capital};

/// Why, in one sentence.
#[expect(clippy::too_many_lines, reason = "a table: one sentence a refusal")]
pub fn why(refusal: &Refusal) -> String {
    match refusal {
        R::NotOpened => "This job has not been opened.".into(),
        R::AlreadyOpened => "This job is open already.".into(),
        R::BadLayout { faults, first } => {
            format!("The engine layout has {faults} faults, the first: {first}.")
        }
        R::JobIsOver => "This job is over.".into(),
        R::JobIsPaused => "This job rests.".into(),
        R::NotPaused => "This job does not rest.".into(),
        R::TextTooLong { chars } => format!("The text is too long: {chars} characters."),
        R::BadFigure { figure, value } => {
            let (name, rule) = figure_and_rule(*figure);
            format!("The figure for {name} is {value}; it must be {rule}.")
        }
        R::NoSuchCylinder { cylinder } => format!("This engine has no cylinder {cylinder}."),
        R::NoSuchValve { valve } => format!("This engine has no {valve}."),
        R::NoSuchBank { bank } => format!("This engine has no bank number {bank}."),
        R::NoSuchEvent { .. } => "There is no such step to take back.".into(),
        R::CannotWithdraw { .. } => "This step cannot be taken back.".into(),
        R::NotTheLast { .. } => "A later step stands on this one.".into(),
        R::WithdrawalBreaks { rule } => {
            format!("Taken back, {}.", EN.broken(*rule))
        }
        R::SignatureUsed { person } => {
            format!("{person}'s code was used for another signature already.")
        }
        R::SamePerson { person } => format!("{person} has signed already; two people must."),
        R::NoSuchConflict { .. } => "There is no such conflict.".into(),
        R::SameIdentity { .. } => "Two tablets say this by one and the same identity.".into(),
        R::BadSeal => "The tablet's signature is not well formed.".into(),
        R::ForemanMustSee {
            cylinder,
            loss_percent,
        } => {
            format!("Cylinder {cylinder} loses {loss_percent:.0} %: the foreman must see it first.")
        }
        R::NothingToAgree { cylinder } => {
            format!("Cylinder {cylinder} waits for no foreman.")
        }
        R::NothingSeen => "It does not say what was seen.".into(),
        R::NotAsSeen => "What was seen is neither what is shown nor what was told.".into(),
        R::SignaturesShort { needed, signed } => {
            format!("{signed} of {needed} people have signed.")
        }
        R::SaysNothing => "There are no words in this yet.".into(),
        R::BadPicture { rule } => format!("The picture has to be {}.", picture(*rule)),
        R::PicturesFull { most } => format!("This job has {most} pictures already."),
        R::PaperAhead => "The time on the paper is still to come.".into(),
        R::PaperEarlier => {
            "The time on the paper is before the last thing that a tablet knows of.".into()
        }
        R::PaperNotOpened { .. } => {
            "It is said to come from paper, and nobody has signed for it.".into()
        }
        R::NeverFromPaper => "That is never taken from paper.".into(),
        R::NotLeftYet => "The job is not closed: the vehicle has not left.".into(),
        R::CoverStillOn { bank } => format!("The cover of bank {} is on.", bank + 1),
        R::CoverAlreadyOff { bank } => format!("The cover of bank {} is off.", bank + 1),
        R::PlugStillIn { cylinder } => format!("The plug of cylinder {cylinder} is in."),
        R::PlugAlreadyOut { cylinder } | R::GatePlugsOut { cylinder, .. } => {
            format!("The plug of cylinder {cylinder} is out.")
        }
        R::PlugHoleTaken { cylinder, by } => {
            format!("The {by} is in the plug hole of cylinder {cylinder}.")
        }
        R::NotInPlugHole { cylinder, item } => {
            format!("There is no {item} in the plug hole of cylinder {cylinder}.")
        }
        R::HoseNotIn { cylinder } => format!("The hose is not in cylinder {cylinder}."),
        R::HoseInUse { cylinder } | R::AirStillOn { cylinder } => {
            format!("Air is on in cylinder {cylinder}.")
        }
        R::AirNotOn { cylinder } => format!("No such air is on in cylinder {cylinder}."),
        R::HoldStillIn { cylinder, hold } => {
            format!("The {} is in cylinder {cylinder}.", the_hold(*hold))
        }
        R::HoldNotIn { cylinder } => format!("No such hold is in cylinder {cylinder}."),
        R::WrenchStillOn | R::GateWrench => "The wrench is on the crank.".into(),
        R::WrenchNotOn => "The wrench is not on the crank.".into(),
        R::CrankElsewhere { cylinder, at } => format!(
            "Cylinder {cylinder} is not at its working position: {}.",
            crank(*at)
        ),
        R::CrankMoved { at } => format!("The crank has moved since: {}.", crank(*at)),
        R::NotAWorkingPosition { at } => format!(
            "Cylinder {} is not worked at {:+} degrees.",
            at.cylinder, at.offset_deg
        ),
        R::NotAtItsTop { at } => format!(
            "Cylinder {} stands {:+} degrees off its compression top.",
            at.cylinder, at.offset_deg
        ),
        R::TurnsBack { turn_deg } => {
            format!("A turn of {turn_deg:.0} degrees goes back, which this engine does not allow.")
        }
        R::TurnDoesNotLead {
            turn_deg,
            wanted_deg,
        } => {
            format!(
                "A turn of {turn_deg:.0} degrees does not lead there; {wanted_deg:.0} degrees does."
            )
        }
        R::SpringHeldNow { valve } => format!("The spring of {valve} is held."),
        R::ValveUnlocked { valve } | R::StopOverOpenValve { valve } => {
            format!("{} is unlocked.", capital(&valve.to_string()))
        }
        R::OverRating { bar, rating_bar } => {
            format!("{bar:.1} bar is above the rating of {rating_bar:.1} bar.")
        }
        R::LookFirst { danger } => {
            format!("Two tablets disagree about {}.", danger_of(*danger))
        }
        R::OutOfTurn { valve, asked, next } => match next {
            Some(next) => format!(
                "{} comes to {} next, not to {}.",
                capital(&valve.to_string()),
                EN.stage(*next),
                EN.stage(*asked)
            ),
            None => format!("{} is verified already.", capital(&valve.to_string())),
        },
        R::NothingHolds { valve } => format!("Nothing holds {valve}: no air, no hold."),
        R::TooManyLocksDropped {
            locks_dropped,
            most,
        } => {
            format!("{locks_dropped} locks cannot be dropped here; at most {most} can.")
        }
        R::StopperMissing {
            bank,
            wanted,
            aboard,
        } => format!(
            "Bank {} has {aboard} of {wanted} stoppers in its oil returns.",
            bank + 1
        ),
        R::HoleOpen { cylinder } => {
            format!("The plug hole of cylinder {cylinder} gapes: a lock could fall in.")
        }
        R::AlreadyVerified { cylinder } => {
            format!("Every valve of cylinder {cylinder} is verified.")
        }
        R::PartsSwapped { item, valve, own } => {
            format!("At {valve} lies the {item} of {own}.")
        }
        R::ValveCannotHaveFallen { cylinder, valve } => match valve {
            Some(valve) => format!("{} has its locks in.", capital(&valve.to_string())),
            None => format!("Which valve of cylinder {cylinder} fell is not said."),
        },
        R::Short { shortfall: s } => {
            let asked = plural(&s.item, s.wanted);
            format!("{asked} asked for, {} {}.", s.there, EN.at_place(s.place))
        }
        R::BadCount { count } => format!("{count} is no count for this."),
        R::NotReplaceable { item } => format!("A {item} does not come new from stock."),
        R::PartIsHome { item, valve } => format!("The {item} of {valve} is not loose."),
        R::BadMove { item, from, to } => format!(
            "A {item} does not go from {} to {}.",
            EN.at_place(*from),
            EN.at_place(*to)
        ),
        R::NoSuchDrop { .. } => "No such drop was reported.".into(),
        R::NotAdrift { .. } => "This part is not adrift.".into(),
        R::SearchIncomplete { missing } => {
            format!("{missing} places of the search list are left.")
        }
        R::NotKit { item } => format!("A {item} is not part of the kit."),
        R::NotOfOneValve { item } => {
            format!("On this engine no {item} belongs to one valve alone.")
        }
        R::NoSuchSwap { .. } => "No such swap is open.".into(),
        R::GateValves {
            bank,
            unverified,
            first,
        } => format!(
            "Bank {} has {unverified} valves not verified, the first: {first}.",
            bank + 1
        ),
        R::GateLoose { item, count } => format!("{} in the tray.", plural(item, *count)),
        R::GateAboard { bank, item, count } => {
            format!("{} aboard bank {}.", plural(item, *count), bank + 1)
        }
        R::GateAdrift { item, count } => format!("{} adrift.", plural(item, *count)),
        R::GateNotCounted { counts } => format!("{counts} of 2 counts are taken."),
        R::GateCountsDiffer { item, place } => {
            format!("The two counts differ: {item}, {}.", EN.at_place(*place))
        }
        R::GateCountOff { item, place } => format!(
            "Both counts differ from the ledger: {item}, {}.",
            EN.at_place(*place)
        ),
        R::GateConflict { conflicts } => {
            format!("{conflicts} conflicts between tablets are open.")
        }
        R::GateNotConfirmed { journals } => {
            format!("Lines of this job are not confirmed, in {journals} journals.")
        }
        R::GateBankOpen { bank } => format!("Bank {} is not closed.", bank + 1),
        R::GateKitOut { item, count } => format!("{} aboard.", plural(item, *count)),
    }
}

/// The way out, in one sentence.
#[expect(clippy::too_many_lines, reason = "a table: one sentence a refusal")]
pub fn way_out(refusal: &Refusal) -> &'static str {
    match refusal {
        R::NotOpened => "Open it with an engine layout first.",
        R::AlreadyOpened => "Make a new job for another vehicle.",
        R::BadLayout { .. } => "Mend the layout, then open the job.",
        R::JobIsOver => "Take its closing back if work goes on, or make a new job.",
        R::JobIsPaused => "Resume the job, then tap again.",
        R::NotPaused => "Go on working.",
        R::TextTooLong { .. } => "Shorten it to 2,000 characters.",
        R::BadFigure { .. } => "Read it again and enter it anew.",
        R::NoSuchCylinder { .. } | R::NoSuchValve { .. } | R::NoSuchBank { .. } => {
            "Choose one that the layout has."
        }
        R::NoSuchEvent { .. } => "Look at the list: it is taken back already.",
        R::CannotWithdraw { .. } => "Enter what is true now as a new step.",
        R::NotTheLast { .. } => "Take the later step back first.",
        R::WithdrawalBreaks { .. } => "Make it safe first, then take it back.",
        R::SignatureUsed { .. } => "Enter the code again.",
        R::SamePerson { .. } => "Ask a second person to enter their code.",
        R::NoSuchConflict { .. } => "Look at the list of conflicts again.",
        R::SameIdentity { .. } => "Look at the engine, and ask at both tablets who has said it.",
        R::BadSeal => "Start the tablet's program anew.",
        R::ForemanMustSee { .. } => "Ask the foreman to look and enter their code.",
        R::NothingToAgree { .. } => "Go on working.",
        R::NothingSeen => "Look at the engine and say what is there.",
        R::NotAsSeen => "Tap what is true step by step, then look again.",
        R::SignaturesShort { .. } => "Ask for the codes of as many people.",
        R::SaysNothing => "Say it in a few words.",
        R::BadPicture { .. } => "Take the picture anew, and add it again.",
        R::PicturesFull { .. } => "Take back one that shows least.",
        R::PaperAhead | R::PaperEarlier => "Read the day and the time off the paper again.",
        R::PaperNotOpened { .. } => "Enter the paper again, and sign.",
        R::NotLeftYet => "Close the job first.",
        R::NeverFromPaper => "Whoever signs does it on a tablet, now.",
        R::CoverStillOn { .. } => "Lift the cover straight off and tap that first.",
        R::CoverAlreadyOff { .. } => "Go on with the next step.",
        R::PlugStillIn { .. } => "Take the plug out and tap that first.",
        R::PlugAlreadyOut { .. } => "Put a vented cover into its hole.",
        R::PlugHoleTaken { .. } => "Take that out first.",
        R::NotInPlugHole { .. } => "Look at the plug hole and tap what is in it.",
        R::HoseInUse { .. } => "Turn the air off before the hose comes out.",
        R::HoseNotIn { .. } => "Take the vented cover out and put the hose in.",
        R::AirStillOn { .. } => "Lock every open valve, then turn the air off.",
        R::AirNotOn { .. } => "Look at the regulator and tap what it shows.",
        R::HoldStillIn { .. } => "Lock every open valve, then take it out.",
        R::HoldNotIn { .. } => "Tap the hold that is in.",
        R::WrenchStillOn => "Take the wrench off the crank first.",
        R::WrenchNotOn => "Put the wrench on the crank first.",
        R::CrankElsewhere { .. } => "Turn the crank to it first; air off, valves locked.",
        R::CrankMoved { .. } => "Look at the crank and tap where it is.",
        R::NotAWorkingPosition { .. } => "Choose a working position of the layout.",
        R::NotAtItsTop { .. } => "Turn the crank to its top first.",
        R::TurnsBack { .. } => "Turn on in the running direction.",
        R::TurnDoesNotLead { .. } => "Read the rim again and enter the turn.",
        R::SpringHeldNow { .. } => "Take the locks out, or let the spring up and take it back.",
        R::ValveUnlocked { .. } => "Put its locks in first.",
        R::OverRating { .. } => "Turn the regulator down.",
        R::LookFirst { .. } => "Look at the engine and say what is there.",
        R::OutOfTurn { .. } => "Tap the stage that comes next.",
        R::NothingHolds { .. } => "Put air on, or declare a mechanical hold.",
        R::TooManyLocksDropped { .. } => "Enter how many locks went adrift.",
        R::StopperMissing { .. } => "Put the stoppers in and tap them aboard.",
        R::HoleOpen { .. } => "Put a vented cover in.",
        R::AlreadyVerified { .. } => "Choose another cylinder.",
        R::PartsSwapped { .. } => "Lay each with its own valve, then tap that both are back.",
        R::ValveCannotHaveFallen { .. } => "Choose the unlocked valve that fell.",
        R::StopOverOpenValve { .. } => {
            "Put its locks in first; if it fell into the cylinder, note that as a finding."
        }
        R::Short { shortfall } => match shortfall.place {
            Place::Stock => "Issue it from the store first.",
            Place::Kit => "Count it into the kit, or take it off where it is.",
            Place::Tray => "Find it, or take a new one from stock.",
            _ => "Look where it is and tap that first.",
        },
        R::BadCount { .. } => "Enter the number you see.",
        R::NotReplaceable { .. } => "Choose a part that does.",
        R::PartIsHome { .. } => "Take the valve back to the stage where it is loose.",
        R::BadMove { .. } => "Choose another place for it.",
        R::NoSuchDrop { .. } => "Report the drop first.",
        R::NotAdrift { .. } => "Take the earlier find or search back first.",
        R::SearchIncomplete { .. } => "Search them all, two people together.",
        R::NotKit { .. } => "Enter it as a part.",
        R::NotOfOneValve { .. } => "Choose a part that goes back to its own valve.",
        R::NoSuchSwap { .. } => "Look at the parts list: it is mended already.",
        R::GateValves { .. } => "Take every valve of the bank to verified.",
        R::GateLoose { .. } => "Bring it home, or put it away if it was replaced.",
        R::GateAboard { .. } => "Take it off and put it in the kit.",
        R::GatePlugsOut { .. } => "Take the vented cover out and put the plug in.",
        R::GateAdrift { .. } => "Find it, or search everywhere and sign, two people.",
        R::GateWrench => "Take the wrench off.",
        R::GateNotCounted { .. } => "Two people count, each for themselves.",
        R::GateCountsDiffer { .. } | R::GateCountOff { .. } => {
            "Lay out again what did not come to the same; only that is counted anew, by both."
        }
        R::GateConflict { .. } => "Look at the engine and resolve each of them.",
        R::GateNotConfirmed { .. } => {
            "See on the board whose lines they are, and let a foreman look."
        }
        R::GateBankOpen { .. } => "Close the bank through its gate first.",
        R::GateKitOut { .. } => "Put it back in the kit.",
    }
}

fn figure_and_rule(figure: NotedFigure) -> (&'static str, &'static str) {
    use NotedFigure as F;
    match figure {
        F::DistanceKm => ("distance km", "kilometres from 50 to 200,000"),
        F::LitresSince => ("litres", "litres from 0 to 200"),
        F::Litres => ("litres", "litres from 0 to 100"),
        F::OdometerKm => ("odometer km", "kilometres from 0 to 10 million"),
        F::TorqueNm => ("torque nm", "a torque from 0.5 to 500 newton metres"),
        F::SupplyBar => ("supply bar", "a gauge pressure from 0.1 to 40 bar"),
        F::CylinderBar => ("cylinder bar", "from zero to the supply pressure"),
        F::RockMm => ("rock mm", "millimetres from 0 to 20"),
        F::LengthMm => ("length mm", "millimetres from 1 to 300"),
        F::TurnDeg => ("turn deg", "an angle of at most two turns"),
        F::Bar => ("bar", "a gauge pressure above zero"),
        F::Sha256 => ("sha256", "64 lower-case hex digits"),
    }
}

fn picture(rule: PictureRule) -> &'static str {
    match rule {
        PictureRule::Named => "named by two SHA-256 of 64 hex digits",
        PictureRule::Size => "no larger than 32 MiB",
        PictureRule::CopySize => "copied to no more than 2 MiB",
    }
}

fn plural(item: &Item, count: u32) -> String {
    if count == 1 {
        format!("1 {item}")
    } else {
        format!("{count} {item}s")
    }
}

fn the_hold(hold: HoldKind) -> &'static str {
    match hold {
        HoldKind::Piston => "piston hold",
        HoldKind::Cord | HoldKind::Prop => EN.hold(hold),
    }
}

fn crank(at: Option<CrankAt>) -> String {
    match at {
        None => "the crank stands at no known position".to_owned(),
        Some(at) => format!("the crank is at cylinder {}", at.cylinder),
    }
}

fn danger_of(danger: Danger) -> String {
    match danger {
        Danger::Air { cylinder } => format!("the air on cylinder {cylinder}"),
        Danger::Hold { cylinder } => format!("the hold in cylinder {cylinder}"),
        Danger::Wrench => "the wrench on the crank".to_owned(),
        Danger::Crank => "where the crank stands".to_owned(),
        Danger::Valve { valve } => format!("the locks and the spring of {valve}"),
    }
}
