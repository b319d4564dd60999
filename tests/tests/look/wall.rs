//! The board from three metres: 4, 12 and 40 bays at 1920x1080 and 1024x600, in both themes
//! and both languages. Pictures lie in `target/pictures/wall`; what must hold of every frame
//! of a tablet holds here, and the figure of a bay's end is large enough.

use std::path::PathBuf;

use egui::{Context, Vec2, vec2};
use trayzero::shop::Tile;
use trayzero::ui::picture::picture;
use trayzero::ui::screens::lay_paper;
use trayzero::ui::screens::wall::{self, Wall, WallScreen};
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::words::Language;
use trayzero_tests::yard;

use crate::walk::check::Seen;
use crate::walk::stage::{frame_of, touch};

const SIZES: [Vec2; 2] = [vec2(1920.0, 1080.0), vec2(1024.0, 600.0)];
const TONES: [(Tone, &str); 2] = [(Tone::ShopLight, "light"), (Tone::Night, "night")];

fn folder() -> PathBuf {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/pictures/wall");
    std::fs::create_dir_all(&path).unwrap();
    path
}

/// Draws a wall in a size and sorts out what it shows.
fn seen(tiles: &[Tile], language: Language, (theme, size): (Theme, Vec2)) -> Seen {
    let looking = yard::looking();
    let wall = Wall {
        words: language.words(),
        tiles: Some(tiles),
        looking: &looking,
        trouble: None,
    };
    let ctx = Context::default();
    ctx.enable_accesskit();
    let (mut time, mut screen) = (0.0, WallScreen::default());
    // A screen that is touched drags its lists; what they hold below is within reach.
    touch(&ctx, &mut time);
    let mut frame = || {
        frame_of(&ctx, &mut time, size, Vec::new(), |ui| {
            theme.install(ui.ctx());
            lay_paper(ui, &theme);
            screen.ui(ui, &wall);
        })
    };
    frame();
    frame();
    Seen::of(&frame())
}

/// The ends' figures of a frame, in points, without the clock of the heading and of the day;
/// where work rests the word for that stands in their place.
fn figures(seen: &Seen, tiles: &[Tile], language: Language) -> Vec<f32> {
    let looking = yard::looking();
    let ends: Vec<String> = tiles
        .iter()
        .filter_map(|tile| language.words().tile(tile, &looking, true).end)
        .map(|end| end.time)
        .collect();
    let is_end = |says: &str| ends.iter().any(|end| end == says);
    let shown = seen.texts.iter().filter(|text| is_end(&text.says));
    // Hours along the day's clock are full hours in small text; no tile's figure is small.
    shown
        .map(|text| text.points)
        .filter(|points| *points > 21.0)
        .collect()
}

#[test]
fn the_wall_shows_every_bay_whole_in_every_size_theme_and_language() {
    let pace = yard::pace();
    let mut frames = 0;
    let mut faults = Vec::new();
    for count in [4, 12, 40] {
        let tiles = yard::tiles(&yard::cards(&yard::bays(count), &pace));
        assert_eq!(tiles.len(), count);
        for (size, language) in SIZES.iter().flat_map(|s| Language::ALL.map(|l| (*s, l))) {
            for (tone, tone_name) in TONES {
                let theme = wall::theme(tone, size.y, count);
                let name = format!(
                    "{count}-{}x{}-{}-{tone_name}",
                    size.x,
                    size.y,
                    language.own_name()
                );
                let seen = seen(&tiles, language, (theme, size));
                faults.extend(seen.faults().iter().map(|fault| format!("{name}: {fault}")));
                if let Some((contrast, text)) = seen.least_contrast()
                    && contrast < 4.5
                {
                    faults.push(format!("{name}: {text:?} has a contrast of {contrast:.2}"));
                }
                let small = seen.texts.iter().filter(|t| t.points < 15.0);
                faults
                    .extend(small.map(|t| format!("{name}: {:?} is {} points", t.says, t.points)));
                frames += 1;
                save(&tiles, language, (theme, size), &name);
            }
        }
    }
    println!("wall: {frames} frames");
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        faults.join("\n")
    );
}

fn save(tiles: &[Tile], language: Language, (theme, size): (Theme, Vec2), name: &str) {
    let looking = yard::looking();
    let wall = Wall {
        words: language.words(),
        tiles: Some(tiles),
        looking: &looking,
        trouble: None,
    };
    let mut screen = WallScreen::default();
    let image = picture(theme, size, 1.0, 3, |ui| {
        lay_paper(ui, &theme);
        screen.ui(ui, &wall);
    });
    image
        .save_png(&folder().join(format!("{name}.png")))
        .unwrap();
}

#[test]
fn with_twelve_bays_the_end_of_each_is_a_thirtieth_of_the_screen_high() {
    let size = SIZES[0];
    let pace = yard::pace();
    for language in Language::ALL {
        let tiles = yard::tiles(&yard::cards(&yard::bays(12), &pace));
        let seen = seen(
            &tiles,
            language,
            (wall::theme(Tone::ShopLight, size.y, 12), size),
        );
        let figures = figures(&seen, &tiles, language);
        let with_end = tiles.iter().filter(|tile| tile.end.is_some()).count();
        assert_eq!(with_end, 12, "every bay of the yard has an end");
        assert!(figures.len() >= with_end, "{figures:?}");
        let least = figures.iter().copied().fold(f32::INFINITY, f32::min);
        println!("wall figures: least {least} points of {}", size.y);
        assert!(least >= size.y / 30.0, "{least} of {}", size.y);
    }
}
