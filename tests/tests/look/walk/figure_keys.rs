//! Who reads a gauge finds every key and the action in sight, without scrolling, as who
//! counts and who enters a code does.

use egui::vec2;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::Language;
use trayzero_core::job::{NextStep, Reading};

use super::SIZES;
use super::check::{Seen, Target};
use super::sheets::until;
use super::shop::furnished;
use super::stage::{Setting, Stage};

/// What of the keys and the action is not in sight.
fn hidden(stage: &mut Stage, setting: Setting, bar: &str, others: &[&str]) -> Vec<String> {
    let seen = Seen::of(&stage.look(setting));
    let digits = (0..10).map(|digit| digit.to_string());
    let keys = digits.chain(others.iter().map(|name| (*name).to_owned()));
    let in_sight = |name: &str| {
        let mut named = seen.targets.iter().filter(|t| t.name == name);
        named.any(Target::is_whole)
    };
    let mut hidden: Vec<String> = keys.filter(|key| !in_sight(key)).collect();
    let mut bars = seen.targets.iter().filter(|t| t.name.starts_with(bar));
    if !bars.any(Target::is_whole) {
        hidden.push(bar.to_owned());
    }
    hidden
}

/// Up to this size of the text, in percent, nothing has to be scrolled to.
const LARGEST: u16 = 150;

/// The same where what hurries stays beside the way out as well: that the air is gone.
const LARGEST_OF_TWO: u16 = 100;

#[test]
fn the_keys_of_a_figure_and_the_action_are_in_sight_without_scrolling() {
    let (mut looked, mut faults) = (0, Vec::new());
    for language in Language::ALL {
        let (_folder, jobs, mut stage) = furnished(language, vec2(1024.0, 600.0));
        let w = stage.words;
        let figure = [w.delete, w.decimal_point];
        stage.job(jobs.fresh, false);
        until(&mut stage, |s| matches!(s, NextStep::AirOn { .. }));
        let cylinder = stage.shell.desk.state().unwrap().crank().unwrap().cylinder;
        let mut look = |stage: &mut Stage, sheet: Sheet, bar: &str, others: &[&str]| {
            let name = format!("keys of {sheet:?}");
            let percents = [100, 125, LARGEST, 200];
            for (size, percent) in SIZES.iter().flat_map(|s| percents.map(|p| (*s, p))) {
                let setting = Setting::of(size, percent);
                // The bar of a sheet lies where that of the bay was.
                stage.shell.screens.bay.sheets.close();
                stage.look(setting);
                stage.shell.screens.bay.sheets.open(sheet.clone());
                let hidden = hidden(stage, setting, bar, others);
                super::keep(stage, &name, setting);
                looked += 1;
                let is_of_two = matches!(sheet, Sheet::AirNow(_));
                let largest = if is_of_two { LARGEST_OF_TWO } else { LARGEST };
                if !hidden.is_empty() && percent > largest {
                    println!("{name} {language:?} {size} {percent} %: {hidden:?}");
                } else if !hidden.is_empty() {
                    faults.push(format!(
                        "{name} {language:?} {size} {percent} %: {hidden:?}"
                    ));
                }
            }
        };
        let (air, leak) = (w.bar_air_on(cylinder), w.bar_leak(cylinder));
        look(&mut stage, Sheet::Air(cylinder), &air, &figure);
        // There was a reading before, whose supply can be taken over.
        for when in [Reading::Before, Reading::After] {
            look(&mut stage, Sheet::Leak(cylinder, when), &leak, &figure);
        }
        stage.job(jobs.depot[2], false);
        let on = stage.shell.desk.state().unwrap().air_on().unwrap().0;
        look(&mut stage, Sheet::AirNow(on), w.bar_air_anew, &figure);
        stage.job(jobs.depot[3], false);
        look(&mut stage, Sheet::Count(0), w.next_item, &[w.delete]);
    }
    println!("{looked} sheets with keys");
    assert_eq!(faults, [""; 0]);
}
