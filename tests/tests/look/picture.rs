//! Pictures without a window: the same every time, and true to what was drawn.

use egui::{Color32, Rect, pos2, vec2};
use trayzero::ui::picture::{Image, picture};
use trayzero::ui::theme::{Theme, Tone};
use trayzero::ui::widgets::BigBar;

fn pixel(image: &Image, x: usize, y: usize) -> [u8; 3] {
    let start = (y * image.width + x) * 4;
    [0, 1, 2].map(|i| image.rgba[start + i])
}

#[test]
fn an_area_is_filled_to_its_edges_and_no_further() {
    let theme = Theme::default();
    let red = Color32::from_rgb(200, 10, 20);
    let image = picture(theme, vec2(60.0, 40.0), 2.0, 1, |ui| {
        let rect = Rect::from_min_max(pos2(10.0, 10.0), pos2(50.0, 30.0));
        ui.painter().rect_filled(rect, 0.0, red);
    });
    assert_eq!((image.width, image.height), (120, 80));
    let paper = [
        theme.colours.paper.r(),
        theme.colours.paper.g(),
        theme.colours.paper.b(),
    ];
    // One pixel at the edge is softened; beyond it there is all or nothing.
    for (x, y) in [(21, 21), (97, 21), (60, 40), (21, 57), (97, 57)] {
        assert_eq!(pixel(&image, x, y), [200, 10, 20], "inside at {x}, {y}");
    }
    for (x, y) in [(17, 40), (102, 40), (60, 17), (60, 62), (0, 0), (119, 79)] {
        assert_eq!(pixel(&image, x, y), paper, "outside at {x}, {y}");
    }
}

#[test]
fn a_veil_blends_with_what_lies_under_it() {
    let theme = Theme::default();
    let image = picture(theme, vec2(20.0, 20.0), 1.0, 1, |ui| {
        let all = ui.max_rect();
        ui.painter().rect_filled(all, 0.0, Color32::WHITE);
        let half = Color32::from_rgba_premultiplied(0, 0, 0, 128);
        ui.painter().rect_filled(all.expand(4.0), 0.0, half);
    });
    // 255 * (1 - 128/255) = 127.
    assert_eq!(pixel(&image, 10, 10), [127, 127, 127]);
}

#[test]
fn the_same_screen_gives_the_same_bytes() {
    let draw = || {
        picture(
            Theme::new(Tone::Night, 1.0),
            vec2(300.0, 140.0),
            1.5,
            3,
            |ui| {
                BigBar::new("New seal is home", "old one in the scrap box").ui(ui);
            },
        )
    };
    assert_eq!(draw(), draw());
}

#[test]
fn a_saved_picture_reads_back_as_it_was() {
    let image = picture(Theme::default(), vec2(40.0, 30.0), 1.0, 1, |ui| {
        ui.painter()
            .circle_filled(pos2(20.0, 15.0), 10.0, Color32::BLUE);
    });
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("circle.png");
    image.save_png(&path).unwrap();
    let bytes = std::fs::read(&path).unwrap();
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n");
    let side = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
    assert_eq!(
        (side(16), side(20)),
        (40, 30),
        "the size stands in the header"
    );
    let missing = folder.path().join("nowhere").join("circle.png");
    assert!(
        image.save_png(&missing).is_err(),
        "a folder that is not there is an error"
    );
}
