//! The board from three metres: 4, 12 and 40 bays at 1920x1080 and 1024x600, in both themes
//! and both languages. Pictures lie in `target/pictures/wall`; what must hold of every frame
//! of a tablet holds here, and the figure of a bay's end is large enough.

use std::path::PathBuf;
use std::sync::Arc;

use egui::{Context, Vec2, vec2};
use trayzero::shop::{OfShop, Tile};
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

/// What is said of shops beside the tiles.
type Said = (Vec<String>, Option<(usize, usize)>);

/// Draws a wall in a size and sorts out what it shows.
fn seen(tiles: &[Tile], said: &Said, language: Language, (theme, size): (Theme, Vec2)) -> Seen {
    let looking = yard::looking();
    let wall = Wall {
        words: language.words(),
        tiles: Some(tiles),
        looking: &looking,
        troubles: &said.0,
        shops: said.1,
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

/// What does not hold of a wall in every size, theme and language, by name.
fn faults_of(tiles: &[Tile], said: &dyn Fn(Language) -> Said, name: &str) -> (usize, Vec<String>) {
    let (mut frames, mut faults) = (0, Vec::new());
    for (size, language) in SIZES.iter().flat_map(|s| Language::ALL.map(|l| (*s, l))) {
        for (tone, tone_name) in TONES {
            let theme = wall::theme(tone, size.y, tiles.len());
            let name = format!(
                "{name}-{}x{}-{}-{tone_name}",
                size.x,
                size.y,
                language.own_name()
            );
            let seen = seen(tiles, &said(language), language, (theme, size));
            faults.extend(seen.faults().iter().map(|fault| format!("{name}: {fault}")));
            if let Some((contrast, text)) = seen.least_contrast()
                && contrast < 4.5
            {
                faults.push(format!("{name}: {text:?} has a contrast of {contrast:.2}"));
            }
            let small = seen.texts.iter().filter(|t| t.points < 15.0);
            faults.extend(small.map(|t| format!("{name}: {:?} is {} points", t.says, t.points)));
            frames += 1;
            save(tiles, &said(language), language, (theme, size), &name);
        }
    }
    (frames, faults)
}

#[test]
fn the_wall_shows_every_bay_whole_in_every_size_theme_and_language() {
    let pace = yard::pace();
    let mut frames = 0;
    let mut faults = Vec::new();
    for count in [4, 12, 40] {
        let tiles = yard::tiles(&yard::cards(&yard::bays(count), &pace));
        assert_eq!(tiles.len(), count);
        let (seen, found) = faults_of(&tiles, &|_| Said::default(), &count.to_string());
        frames += seen;
        faults.extend(found);
    }
    println!("wall: {frames} frames");
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        faults.join("\n")
    );
}

#[test]
fn a_wall_of_several_shops_names_each_bays_shop_and_those_that_are_not_reached() {
    let mut cards = yard::cards(&yard::bays(8), &yard::pace());
    let twins = cards.clone();
    let shop = |at: usize, name: &str| {
        Some(OfShop {
            at,
            name: name.into(),
        })
    };
    for card in &mut cards {
        Arc::make_mut(card).shop = shop(0, "Northern yard");
    }
    // The same jobs to the letter, in another shop.
    cards.extend(twins.into_iter().map(|mut card| {
        Arc::make_mut(&mut card).shop = shop(1, "South");
        card
    }));
    let tiles = yard::tiles(&cards);
    let said = |language: Language| {
        let w = language.words();
        let why = w.folder_gone("/srv/east");
        let east = w.shop_fails("East", "11:20", &why);
        let west = w.shop_fails("West", "Mon 11:05", w.shop_silent);
        let hill = w.shop_fails("Hill", "11:39", w.shop_other);
        (vec![east, west, hill], Some((2, 5)))
    };
    let (frames, faults) = faults_of(&tiles, &said, "shops");
    println!("wall of shops: {frames} frames");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let theme = wall::theme(Tone::ShopLight, SIZES[0].y, tiles.len());
    let seen = seen(
        &tiles,
        &said(Language::English),
        Language::English,
        (theme, SIZES[0]),
    );
    let says = |text: &str| seen.texts.iter().any(|seen| seen.says.contains(text));
    assert!(says("2 of 5 shops · 16 bays"));
    assert!(says("Northern yard · Bay 5") && says("South · Bay 5"));
    assert!(says(
        "West is not reached since Mon 11:05: it does not answer"
    ));
}

fn save(tiles: &[Tile], said: &Said, language: Language, (theme, size): (Theme, Vec2), name: &str) {
    let looking = yard::looking();
    let wall = Wall {
        words: language.words(),
        tiles: Some(tiles),
        looking: &looking,
        troubles: &said.0,
        shops: said.1,
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
            &Said::default(),
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
