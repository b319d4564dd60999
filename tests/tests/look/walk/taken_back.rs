//! Where something is taken back: in the place of a deed while its sheet stays open,
//! otherwise at the foot of the bay; never where the bar is, and over nothing else.

use egui::{Rect, Vec2};
use trayzero_core::parts::{Item, Place};

use super::check::Seen;
use super::finger::controls;
use super::scenes::bar_of;
use super::sheets::{SIZES, begins, count_of, lies, says, shop};
use super::stage::{Setting, Stage};

#[test]
fn what_moves_a_part_never_lies_where_the_bar_is_and_is_taken_back_in_its_place() {
    for size in SIZES {
        let (_folder, jobs, mut stage) = shop(size);
        let w = stage.words;
        stage.job(jobs.depot[2], false);
        let bar = lies(&stage, &bar_of(&stage)).unwrap();
        let before = count_of(&stage, &Item::Lock, Place::Tray);
        assert!(before > 0, "a lock lies in the tray");
        stage.tap(w.more);
        stage.tap(w.part_changed);
        // Every control that lies under the bar's place is tried: nothing moves.
        for other in controls(&stage) {
            if other.seen.intersects(bar) {
                stage.tap(&other.name);
                stage.settle();
                assert_eq!(
                    count_of(&stage, &Item::Lock, Place::Tray),
                    before,
                    "{other:?}"
                );
            }
        }
        stage.job(jobs.depot[2], false);
        stage.tap(w.more);
        stage.tap(w.part_changed);
        stage.tap(&format!("{}: {}", w.scrap_it, &w.item(&Item::Lock)));
        let deed = lies(&stage, w.into_the_scrap_box).unwrap();
        assert!(
            !deed.intersects(bar),
            "{deed:?} lies under {bar:?} at {size:?}"
        );
        stage.tap(w.into_the_scrap_box);
        assert_eq!(count_of(&stage, &Item::Lock, Place::Tray), before - 1);
        let says = w.moves_to(&w.items_n(&Item::Lock, 1), w.place(Place::Scrap));
        let back = lies(&stage, &format!("{}, {says}", w.take_back)).unwrap();
        assert!(
            back.contains(deed.center()),
            "{back:?} is not where {deed:?} was"
        );
        hold(&mut stage, size);
        stage.press(deed.center());
        assert_eq!(
            count_of(&stage, &Item::Lock, Place::Tray),
            before,
            "taken back"
        );
    }
}

/// Nothing lies over anything else in the frames of the next two seconds.
fn hold(stage: &mut Stage, size: Vec2) {
    let setting = Setting::of(size, 100);
    for frame in 0..8 {
        let faults = Seen::of(&stage.look_once(setting, Vec::new())).faults();
        assert!(faults.is_empty(), "frame {frame} at {size}: {faults:?}");
    }
}

#[test]
fn what_a_sheet_that_closes_has_done_is_taken_back_at_the_foot_of_the_bay_alone() {
    for size in SIZES {
        let (_folder, jobs, mut stage) = shop(size);
        let w = stage.words;
        stage.job(jobs.depot[2], false);
        let foot = begins(&stage, w.take_back).unwrap();
        stage.tap(w.more);
        stage.tap(w.dropped_one);
        stage.tap(w.place(Place::Kit));
        stage.tap(&w.item(&Item::Rag));
        stage.tap(w.it_fell);
        assert!(!says(&stage, w.it_fell), "the sheet is closed");
        let all = controls(&stage).into_iter();
        let back: Vec<Rect> = all
            .filter(|l| l.name.starts_with(w.take_back))
            .map(|l| l.seen)
            .collect();
        assert_eq!(back, [foot], "{size}");
        hold(&mut stage, size);
    }
}
