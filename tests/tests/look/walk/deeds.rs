//! Whatever may be taken back is named where it is taken back, in words that are on the
//! screen and not only spoken.

use std::collections::BTreeMap;

use egui::vec2;
use trayzero::ui::words::Language;
use trayzero_core::engine::{Side, ValveName};
use trayzero_core::job::{
    Caution, CrankAt, Event, Finding, FindingKind, HoldKind, MediaType, Person, Picture, PictureOf,
    Reading, SearchPlace, SignOff, Stage as ValveStage, Step, TakeIn,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

use super::check::Seen;
use super::shop::furnished;
use super::stage::Setting;

fn sign() -> SignOff {
    SignOff {
        person: Person::new("Wren"),
        entering: Uuid::nil(),
        proof: None,
    }
}

/// Every kind of event that may be taken back, and several of a kind that stands for several
/// things.
#[expect(clippy::too_many_lines, reason = "a table: one event after the other")]
fn all() -> Vec<Event> {
    let valve = ValveName::new(2, Side::Exhaust, 2);
    let cylinder = 2;
    let at = CrankAt {
        cylinder,
        offset_deg: 0.0,
    };
    let (item, count, bar) = (Item::Lock, 2, 5.0);
    let steps = Step::BEFORE.into_iter().chain(Step::AFTER);
    let stages = ValveStage::ALL.map(|stage| Event::StageSeen {
        valve,
        stage,
        locks_dropped: 0,
        seals_spoiled: 0,
    });
    let holds = [HoldKind::Cord, HoldKind::Piston, HoldKind::Prop];
    let leaks = [Reading::Before, Reading::After].map(|when| Event::LeakRead {
        cylinder,
        when,
        supply_bar: 6.0,
        cylinder_bar: 5.5,
        heard: Vec::new(),
    });
    let mut all = vec![
        Event::Noted { text: "x".into() },
        Event::JobClosed { by: sign() },
        Event::JobStopped {
            by: sign(),
            why: "x".into(),
        },
        Event::TakeInNoted(Box::new(TakeIn {
            complaint: "x".into(),
            odometer_km: None,
            codes: Vec::new(),
            smoke: Vec::new(),
            seen: String::new(),
        })),
        Event::OilToppedUp {
            on: "2026-01-02".into(),
            odometer_km: 1.0,
            litres: 1.0,
        },
        Event::BreakawayMeasured { torque_nm: 9.0 },
        Event::CautionSeen {
            caution: Caution::Spring,
        },
        Event::FindingNoted(Box::new(Finding {
            cylinder,
            valve: Some(valve),
            kind: FindingKind::ScoredStem,
            text: String::new(),
        })),
        Event::PictureAdded(Box::new(Picture {
            sha256: "a".repeat(64),
            bytes: 1,
            media: MediaType::Jpeg,
            copy_sha256: "b".repeat(64),
            copy_bytes: 1,
            of: PictureOf::Job {},
            remark: String::new(),
        })),
        Event::KitCounted {
            item: Item::Stopper,
            count,
        },
        Event::StockIssued {
            item: item.clone(),
            count,
        },
        Event::StockReturned {
            item: item.clone(),
            count,
        },
        Event::TakenFromStock {
            item: item.clone(),
            count,
        },
        Event::PutAway {
            item: item.clone(),
            count,
            to: Place::Scrap,
        },
        Event::PutAboard {
            item: Item::Rag,
            bank: 0,
            count,
        },
        Event::TakenOff {
            item: Item::Rag,
            bank: 0,
            count,
        },
        Event::PartUsed {
            item: Item::Rag,
            count,
        },
        Event::PartReplaced {
            valve,
            item: item.clone(),
            count,
        },
        Event::PartDropped {
            item,
            count,
            from: Place::Tray,
            bank: None,
            valve: None,
        },
        Event::PartsSwapped {
            item: Item::Follower,
            valve,
            own: valve,
        },
        Event::SwapMended {
            swapped: Uuid::nil(),
        },
        Event::PartFound {
            dropped: Uuid::nil(),
            found_at: SearchPlace::Sump,
            to: Place::Tray,
        },
        Event::SearchSigned {
            dropped: Uuid::nil(),
            first: sign(),
            second: sign(),
            places: Vec::new(),
        },
        Event::BlindCount {
            by: sign(),
            lines: Vec::new(),
        },
        Event::CoverOff { bank: 0 },
        Event::BankClosed {
            bank: 0,
            by: sign(),
        },
        Event::PlugOut { cylinder },
        Event::PlugIn { cylinder },
        Event::VentedCoverIn { cylinder },
        Event::VentedCoverOut { cylinder },
        Event::HoseIn { cylinder },
        Event::HoseOut { cylinder },
        Event::WrenchOn {},
        Event::WrenchOff {},
        Event::CrankTurned {
            from: None,
            to: at,
            turn_deg: 0.0,
        },
        Event::AirOn { cylinder, bar },
        Event::AirOff { cylinder, bar },
        Event::AirReadAnew {
            cylinder,
            was_bar: bar,
            bar,
        },
        Event::AirLost {
            cylinder,
            was_bar: bar,
        },
        Event::HoldReleased {
            cylinder,
            hold: HoldKind::Cord,
        },
        Event::CylinderPutOff { cylinder },
        Event::CylinderWanted { cylinder },
    ];
    all.extend(steps.map(|step| Event::StepSeen { step }));
    all.extend(stages);
    all.extend(leaks);
    all.extend(holds.map(|hold| Event::HoldDeclared { cylinder, hold }));
    all
}

#[test]
fn whatever_may_be_taken_back_is_named_on_its_button() {
    let sizes = [
        vec2(1024.0, 600.0),
        vec2(1280.0, 800.0),
        vec2(600.0, 1024.0),
        vec2(800.0, 1280.0),
    ];
    let mut looked = 0;
    for language in Language::ALL {
        let (_folder, jobs, mut stage) = furnished(language, sizes[0]);
        let w = stage.words;
        stage.job(jobs.depot[2], false);
        let mut named: BTreeMap<String, Event> = BTreeMap::new();
        for event in all() {
            let event: &'static Event = Box::leak(Box::new(event));
            let deed = w.deed(event);
            if let Some(other) = named.insert(deed.clone(), event.clone()) {
                panic!("{deed:?} names {other:?} and {event:?}");
            }
            stage.dress = Some(Box::new(move |view| {
                view.job.as_mut().unwrap().undo = Some((Uuid::nil(), event));
            }));
            let spoken = format!("{}: {deed}", w.take_back);
            let mut places = Vec::new();
            for size in sizes {
                let frame = stage.look(Setting::of(size, 100));
                let seen = Seen::of(&frame);
                let button = seen.targets.iter().find(|t| t.name == spoken);
                let button = button.unwrap_or_else(|| panic!("no {spoken:?} at {size}"));
                let is_it = |says: &str, rect| says == deed && button.rect.contains_rect(rect);
                let shown = seen.texts.iter().any(|t| is_it(&t.says, t.rect));
                assert!(shown, "{spoken:?} is not shown whole at {size}");
                assert!(seen.faults().is_empty(), "{spoken:?}: {:?}", seen.faults());
                places.push(button.rect);
                looked += 1;
            }
        }
    }
    println!("{looked} buttons that take back, each with what it takes back on it");
}

#[test]
fn nothing_moves_with_what_the_button_would_take_back() {
    for language in Language::ALL {
        for size in [vec2(1024.0, 600.0), vec2(800.0, 1280.0)] {
            let (_folder, jobs, mut stage) = furnished(language, size);
            let w = stage.words;
            stage.job(jobs.depot[2], false);
            let mut first = None;
            for event in all() {
                let event: &'static Event = Box::leak(Box::new(event));
                stage.dress = Some(Box::new(move |view| {
                    view.job.as_mut().unwrap().undo = Some((Uuid::nil(), event));
                }));
                let seen = Seen::of(&stage.look(Setting::of(size, 100)));
                let others = seen.targets.iter();
                let others = others.filter(|t| !t.name.starts_with(w.take_back));
                let all: Vec<_> = others.map(|t| (t.name.clone(), t.rect)).collect();
                assert_eq!(first.get_or_insert_with(|| all.clone()), &all, "{event:?}");
            }
        }
    }
}
