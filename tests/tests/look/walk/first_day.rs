//! The first day of an empty tablet: its three steps are in sight together, in every size.

use trayzero::ui::words::Language;

use super::check::Seen;
use super::plain_settings;
use super::stage::{Setting, Stage};

#[test]
fn the_three_steps_of_the_first_day_are_in_sight_together() {
    for language in Language::ALL {
        let empty = tempfile::tempdir().unwrap();
        let mut stage = Stage::open(empty.path(), language);
        let w = stage.words;
        let steps = [
            format!("1 {}", w.first_day_people),
            format!("2 {}", w.first_day_folder),
            format!("3 {}", w.first_day_job),
        ];
        for plain in plain_settings() {
            let setting = Setting {
                cards: true,
                ..plain
            };
            let frame = stage.look(setting);
            let seen = Seen::of(&frame);
            let place = format!("{language:?} {}, {} %", setting.size, setting.percent);
            for step in &steps {
                let target = seen.targets.iter().find(|t| t.name.starts_with(step));
                let target = target.unwrap_or_else(|| panic!("no {step:?} at {place}"));
                assert_eq!(target.shown, target.rect, "{step:?} is cut off at {place}");
                assert!(
                    frame.screen.contains_rect(target.rect),
                    "{step:?} at {place}"
                );
            }
            let faults = seen.faults();
            assert!(faults.is_empty(), "{place}: {faults:?}");
        }
    }
}
