//! The first day of an empty tablet: its three steps are in sight together, in every size.

use trayzero::data::settings::Hand;
use trayzero::ui::theme::Tone;
use trayzero::ui::words::Language;

use super::SIZES;
use super::check::Seen;
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
        for size in SIZES {
            for percent in [100, 200] {
                let setting = Setting {
                    size,
                    percent,
                    hand: Hand::Right,
                    cards: true,
                    tone: Tone::ShopLight,
                };
                let frame = stage.look(setting);
                let seen = Seen::of(&frame);
                for step in &steps {
                    let target = seen.targets.iter().find(|t| t.name.starts_with(step));
                    let target = target.unwrap_or_else(|| panic!("no {step:?} at {size}"));
                    assert_eq!(
                        target.shown, target.rect,
                        "{step:?} is cut off at {size}, {percent} %, {language:?}"
                    );
                    assert!(
                        frame.screen.contains_rect(target.rect),
                        "{step:?} at {size}"
                    );
                }
                let faults = seen.faults();
                assert!(faults.is_empty(), "{size}, {percent} %: {faults:?}");
            }
        }
    }
}
