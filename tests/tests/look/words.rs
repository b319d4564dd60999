//! The words: complete in every language, and short enough for their places.

use std::collections::BTreeSet;

use egui::{Context, RawInput};
use trayzero::ui::theme::{Theme, Tone, Type};
use trayzero::ui::words::{DE, EN, Language, Words};
use trayzero_core::engine::{Layout, LayoutFault, Side, ValveName};
use trayzero_core::job::{
    CrankAt, Danger, HoldKind, Invariant, NextStep, NotedFigure, Person, PictureRule, Reading,
    Refusal, Stage, Step,
};
use trayzero_core::parts::{Item, Place, Shortfall};
use uuid::Uuid;

use crate::pictures::engine;

/// Every fixed text and a sample of every composed one.
pub fn every_text(words: &Words) -> Vec<String> {
    let mut all: Vec<String> = words.fixed().iter().map(|(_, t)| (*t).to_owned()).collect();
    all.extend(sentences(words));
    all.extend(bars(words).into_iter().flat_map(|(a, b)| [a, b]));
    for refusal in refusals() {
        all.push(words.refusal_why(&refusal));
        all.push(words.refusal_way_out(&refusal));
    }
    all
}

fn sentences(w: &Words) -> Vec<String> {
    let mut all: Vec<String> = w.composed().into_iter().map(|(_, text)| text).collect();
    // What is said otherwise where nothing is known of it.
    all.extend([
        w.become_members(""),
        w.layout_from("Bay 7", "", "now"),
        w.layout_kept_here("", "now"),
        w.shop_fails("North", "", "x"),
        w.valve(ValveName::new(3, Side::Exhaust, 2)),
    ]);
    for locks in 1..=4 {
        for stage in Stage::ALL {
            let (title, more) = w.seen(stage, locks, locks != 3);
            all.push(title);
            all.push(more.to_owned());
        }
    }
    for item in Item::FIXED {
        all.push(w.items_n(&item, 1));
        all.push(w.items_n(&item, 2));
    }
    all
}

/// The bar of every next step.
fn bars(words: &Words) -> Vec<(String, String)> {
    let layout = engine("v6-60-24v");
    let to = CrankAt {
        cylinder: 3,
        offset_deg: -12.0,
    };
    let mut steps = vec![
        NextStep::LookFirst {
            danger: Danger::Air { cylinder: 3 },
        },
        NextStep::Resume,
        NextStep::FindPart {
            dropped: Uuid::nil(),
        },
        NextStep::MendSwap {
            swapped: Uuid::nil(),
        },
        NextStep::TakeIn,
        NextStep::CountKit,
        NextStep::ReadLeak {
            cylinder: 3,
            when: Reading::Before,
        },
        NextStep::AskForeman { cylinder: 3 },
        NextStep::IssueSeals { count: 24 },
        NextStep::PlugsOut { bank: 0 },
        NextStep::LiftCover { bank: 0 },
        NextStep::StoppersIn { bank: 0, count: 2 },
        NextStep::Turn {
            to,
            turn_deg: 120.0,
        },
        NextStep::WrenchOff,
        NextStep::HoseIn { cylinder: 3 },
        NextStep::AirOn { cylinder: 3 },
        NextStep::AirOff { cylinder: 3 },
        NextStep::HoseOut { cylinder: 3 },
        NextStep::ReleaseHold { cylinder: 3 },
        NextStep::ClearBank { bank: 1 },
        NextStep::Gate { bank: 1 },
        NextStep::CloseJob,
        NextStep::Nothing,
    ];
    steps.extend(
        Step::BEFORE
            .into_iter()
            .chain(Step::AFTER)
            .map(NextStep::See),
    );
    let valve = ValveName::new(3, Side::Intake, 1);
    steps.extend(Stage::ALL.map(|stage| NextStep::SeeStage { valve, stage }));
    steps.iter().map(|s| words.next_step(s, &layout)).collect()
}

/// A fault of a layout.
pub fn layout_fault() -> LayoutFault {
    let faults = Layout::from_json("x", b"{}").unwrap_err();
    faults[0].clone()
}

/// One refusal of every kind.
#[expect(clippy::too_many_lines, reason = "a list: one refusal of every kind")]
pub fn refusals() -> Vec<Refusal> {
    use Refusal as R;
    let valve = ValveName::new(3, Side::Exhaust, 2);
    let (event, dropped, conflict) = (Uuid::nil(), Uuid::nil(), Uuid::nil());
    let at = CrankAt {
        cylinder: 2,
        offset_deg: 0.0,
    };
    let person = Person::new("Ilka");
    let lock = || Item::Lock;
    vec![
        R::NotOpened,
        R::AlreadyOpened,
        R::BadLayout {
            faults: 2,
            first: Box::new(layout_fault()),
        },
        R::JobIsOver,
        R::JobIsPaused,
        R::NotPaused,
        R::TextTooLong { chars: 2001 },
        R::BadFigure {
            figure: NotedFigure::Bar,
            value: "-1".into(),
        },
        R::NoSuchCylinder { cylinder: 9 },
        R::NoSuchValve { valve },
        R::NoSuchBank { bank: 3 },
        R::NoSuchEvent { event },
        R::CannotWithdraw { event },
        R::NotTheLast { event },
        R::WithdrawalBreaks {
            rule: Invariant::Held,
        },
        R::SignatureUsed {
            person: person.clone(),
        },
        R::SamePerson { person },
        R::NoSuchConflict { conflict },
        R::SameIdentity { event: conflict },
        R::BadSeal,
        R::ForemanMustSee {
            cylinder: 3,
            loss_percent: 34.0,
        },
        R::NothingToAgree { cylinder: 3 },
        R::SaysNothing,
        R::BadPicture {
            rule: PictureRule::Size,
        },
        R::PicturesFull { most: 200 },
        R::PaperAhead,
        R::PaperEarlier,
        R::PaperNotOpened { paper: Uuid::nil() },
        R::NeverFromPaper,
        R::NotLeftYet,
        R::CoverStillOn { bank: 0 },
        R::CoverAlreadyOff { bank: 0 },
        R::PlugStillIn { cylinder: 3 },
        R::PlugAlreadyOut { cylinder: 3 },
        R::PlugHoleTaken {
            cylinder: 3,
            by: Item::Hose,
        },
        R::NotInPlugHole {
            cylinder: 3,
            item: Item::Hose,
        },
        R::HoseInUse { cylinder: 3 },
        R::HoseNotIn { cylinder: 3 },
        R::AirStillOn { cylinder: 3 },
        R::AirNotOn { cylinder: 3 },
        R::HoldStillIn {
            cylinder: 3,
            hold: HoldKind::Cord,
        },
        R::HoldNotIn { cylinder: 3 },
        R::WrenchStillOn,
        R::WrenchNotOn,
        R::CrankElsewhere {
            cylinder: 3,
            at: Some(at),
        },
        R::CrankMoved { at: None },
        R::NotAWorkingPosition { at },
        R::TurnsBack { turn_deg: -120.0 },
        R::TurnDoesNotLead {
            turn_deg: 100.0,
            wanted_deg: 120.0,
        },
        R::SpringHeldNow { valve },
        R::ValveUnlocked { valve },
        R::OverRating {
            bar: 8.0,
            rating_bar: 7.0,
        },
        R::OutOfTurn {
            valve,
            asked: Stage::LocksIn,
            next: Some(Stage::LocksOut),
        },
        R::NothingHolds { valve },
        R::TooManyLocksDropped {
            locks_dropped: 3,
            most: 2,
        },
        R::StopperMissing {
            bank: 0,
            wanted: 4,
            aboard: 1,
        },
        R::HoleOpen { cylinder: 3 },
        R::AlreadyVerified { cylinder: 3 },
        R::Short {
            shortfall: Shortfall {
                item: Item::NewSeal,
                place: Place::Stock,
                wanted: 1,
                there: 0,
            },
        },
        R::BadCount { count: 0 },
        R::NotReplaceable { item: Item::Rag },
        R::PartIsHome {
            item: lock(),
            valve,
        },
        R::BadMove {
            item: lock(),
            from: Place::Tray,
            to: Place::Kit,
        },
        R::NoSuchDrop { dropped },
        R::NotAdrift { dropped },
        R::SearchIncomplete { missing: 2 },
        R::NotOfOneValve { item: Item::Shim },
        R::NoSuchSwap { swapped: event },
        R::PartsSwapped {
            item: Item::Shim,
            valve,
            own: ValveName::new(3, Side::Intake, 1),
        },
        R::ValveCannotHaveFallen {
            cylinder: 3,
            valve: Some(valve),
        },
        R::StopOverOpenValve { valve },
        R::NotAtItsTop { at },
        R::NotKit { item: lock() },
        R::GateValves {
            bank: 0,
            unverified: 2,
            first: valve,
        },
        R::GateLoose {
            item: lock(),
            count: 2,
        },
        R::GateAboard {
            bank: 0,
            item: Item::Stopper,
            count: 1,
        },
        R::GatePlugsOut {
            bank: 0,
            cylinder: 3,
        },
        R::GateAdrift {
            item: lock(),
            count: 1,
        },
        R::GateWrench,
        R::GateNotCounted { counts: 1 },
        R::GateCountsDiffer {
            item: lock(),
            place: Place::Tray,
        },
        R::GateCountOff {
            item: lock(),
            place: Place::Tray,
        },
        R::NothingSeen,
        R::NotAsSeen,
        R::SignaturesShort {
            needed: 2,
            signed: 1,
        },
        R::LookFirst {
            danger: Danger::Air { cylinder: 3 },
        },
        R::GateConflict { conflicts: 1 },
        R::GateNotConfirmed { journals: 1 },
        R::GateBankOpen { bank: 1 },
        R::GateKitOut {
            item: Item::Rag,
            count: 1,
        },
    ]
}

#[test]
fn every_refusal_is_said_in_both_languages() {
    let all = refusals();
    let codes: BTreeSet<&str> = all.iter().map(Refusal::code).collect();
    let known: BTreeSet<&str> = Refusal::CODES.into_iter().collect();
    assert_eq!(codes, known, "the list here has one refusal of every kind");
    let mut whys = BTreeSet::new();
    for refusal in &all {
        let code = refusal.code();
        let (why, way) = (DE.refusal_why(refusal), DE.refusal_way_out(refusal));
        assert_ne!(why, EN.refusal_why(refusal), "{code}");
        assert_ne!(way, EN.refusal_way_out(refusal), "{code}");
        assert!(!why.contains(code), "{code} has no German sentence: {why}");
        for text in [&why, &way] {
            assert!(
                text.ends_with('.') && !text.contains("The "),
                "{code}: {text}"
            );
        }
        whys.insert(why);
    }
    assert!(
        whys.len() >= all.len() - 4,
        "nearly every reason is a sentence of its own"
    );
}

#[test]
fn no_text_is_missing_in_any_language() {
    for language in Language::ALL {
        for text in every_text(language.words()) {
            assert_eq!(text.trim(), text, "{language:?}: blanks at an end");
            assert!(!text.contains("  "), "{language:?} \"{text}\": two blanks");
        }
        for (name, text) in language.words().fixed() {
            assert!(!text.is_empty(), "{language:?}: {name} is empty");
            let quoted = text.starts_with(['"', '\'']) || text.ends_with('"');
            assert!(!quoted, "{language:?}: {name} is in quotes: {text}");
        }
    }
    let (en, de) = (EN.fixed(), DE.fixed());
    let same: Vec<&str> = en
        .iter()
        .zip(&de)
        .filter(|(e, d)| e == d)
        .map(|(e, _)| e.0)
        .collect();
    println!("the same in both languages: {same:?}");
    assert!(same.len() <= 8, "untranslated: {same:?}");
    let (en, de) = (EN.composed(), DE.composed());
    let both = en.iter().zip(&de);
    let differ: BTreeSet<&str> = both.filter(|(e, d)| e != d).map(|(e, _)| e.0).collect();
    let names: BTreeSet<&str> = en.iter().map(|(name, _)| *name).collect();
    let same: Vec<&&str> = names.difference(&differ).collect();
    println!(
        "sentences: {}, the same in both languages: {same:?}",
        names.len()
    );
    assert!(same.len() <= 16, "untranslated: {same:?}");
}

#[test]
fn an_answer_says_what_is_seen_never_that_it_is_done() {
    for (language, banned) in [
        (
            Language::English,
            &["done", "ok", "okay", "complete", "finished"][..],
        ),
        (
            Language::German,
            &["erledigt", "ok", "okay", "fertig", "gemacht"][..],
        ),
    ] {
        for (title, more) in bars(language.words()) {
            for word in format!("{title} {more}")
                .to_lowercase()
                .split(|c: char| !c.is_alphabetic())
            {
                assert!(
                    !banned.contains(&word),
                    "{language:?}: \"{title}\" says {word}"
                );
            }
            assert!(
                title.chars().count() <= 48,
                "{language:?}: \"{title}\" is long for a bar"
            );
        }
    }
}

#[test]
fn no_word_is_wider_than_its_place_at_200_percent() {
    let ctx = Context::default();
    let theme = Theme::new(Tone::ShopLight, 2.0);
    theme.install(&ctx);
    ctx.run_ui(RawInput::default(), |_| {})
        .drop_without_applying_deltas();
    let width = |text: &str, step| {
        let font = theme.font(step);
        ctx.fonts_mut(|f| f.layout_no_wrap(text.to_owned(), font, egui::Color32::BLACK))
            .size()
            .x
    };
    for language in Language::ALL {
        let words = language.words();
        for (title, more) in bars(words) {
            for (text, step) in [(title, Type::Bar), (more, Type::Body)] {
                for word in text.split_whitespace() {
                    // The narrowest bar: 40 % of 1024 points less its own margins.
                    let is = width(word, step);
                    assert!(
                        is <= 360.0,
                        "{language:?}: \"{word}\" takes {is} in the bar"
                    );
                }
            }
        }
        for (name, text) in words.fixed() {
            for word in text.split_whitespace() {
                // The narrowest panel: 40 % of 1024 points less 16 at either side.
                let is = width(word, Type::Strong);
                assert!(is <= 376.0, "{language:?}: {name}: \"{word}\" takes {is}");
            }
        }
    }
}
