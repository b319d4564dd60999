//! Pictures of a job on every screen that shows them, and the sheet that adds one.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use trayzero::data::pictures::{BadPicture, Pixels, Taken};
use trayzero::data::settings::Settings;
use trayzero::ui::intent::Intent;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::view::{PictureOffer, Pictures, Shown};
use trayzero_core::job::{Event, MediaType, Picture, PictureOf};
use uuid::Uuid;

use super::scenes::{Kind, Walk};
use super::stage::NOW;

/// A picture that grows brighter to the right and greener downwards.
fn pixels(width: u32, height: u32) -> Shown {
    let shade = |at: u32, of: u32| (255 * at / of) as u8;
    let places = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    let rgb = places.flat_map(|(x, y)| [shade(x, width), shade(y, height), 90]);
    Shown::There(Arc::new(Pixels {
        width,
        height,
        rgb: rgb.collect(),
    }))
}

fn hash(n: usize) -> String {
    format!("{n:064x}")
}

/// The pictures at hand: each kind of what may be seen, and what the camera has left.
fn at_hand() -> Pictures {
    let all = [
        pixels(320, 240),
        Shown::Missing,
        Shown::Changed,
        pixels(120, 320),
        Shown::Asked,
    ];
    let small: BTreeMap<String, Shown> = all
        .into_iter()
        .enumerate()
        .map(|(n, s)| (hash(n), s))
        .collect();
    let left = [
        pixels(320, 240),
        pixels(240, 320),
        Shown::Bad(BadPicture::Broken("it ends too early".into())),
        pixels(320, 60),
        Shown::Asked,
    ];
    let offers = left.into_iter().enumerate().map(|(n, shown)| PictureOffer {
        taken: Taken {
            path: PathBuf::from(format!("/srv/camera/{n}.jpg")),
            at_ms: NOW.at_ms - 61_000 * n as i64,
            bytes: 4_000_000,
        },
        shown,
    });
    Pictures {
        offers: Some(offers.collect()),
        is_watched: true,
        being_kept: 1,
        small,
        large: Some((hash(0), pixels(800, 600))),
        ..Pictures::default()
    }
}

impl Walk<'_> {
    /// Pictures at a valve, of a finding, of what was laid out; seen, missing and changed.
    pub fn pictures(&mut self, job: Uuid) {
        let w = self.stage.words;
        self.stage.job(job, false);
        let state = self.stage.shell.desk.state().unwrap();
        let valve = state.unlocked().next().unwrap();
        let places = [
            PictureOf::Valve { valve },
            PictureOf::Count { bank: 0 },
            PictureOf::TakeIn {},
            PictureOf::Valve { valve },
            PictureOf::Job {},
        ];
        for (n, of) in places.into_iter().enumerate() {
            let picture = Picture {
                sha256: hash(n),
                bytes: 4_000_000,
                media: MediaType::Jpeg,
                copy_sha256: hash(n),
                copy_bytes: 400_000,
                of,
                remark: ["the guide is worn", "", "oil on the left side of the head"][n % 3].into(),
            };
            let added = Event::PictureAdded(Box::new(picture));
            self.stage.shell.carry_out(Intent::Tap(vec![added]));
        }
        let seen: &'static Pictures = Box::leak(Box::new(at_hand()));
        self.stage.dress = Some(Box::new(move |view| {
            view.pictures = seen;
            view.settings = Box::leak(Box::new(Settings {
                pictures_folder: Some(PathBuf::from("/srv/camera")),
                ..view.settings.clone()
            }));
        }));
        self.stage.settle();
        self.see("bay, pictures at the valve", Kind::Bay);
        let events: Vec<Uuid> = {
            let state = self.stage.shell.desk.state().unwrap();
            state.pictures().map(|(fact, _)| fact.id).collect()
        };
        let open = |walk: &mut Self, sheet: Sheet, name: &str, kind: Kind| {
            walk.stage.shell.screens.bay.sheets.open(sheet);
            walk.see(name, kind);
        };
        let of = PictureOf::Valve { valve };
        open(self, Sheet::Picture(of), "a picture is added", Kind::Sheet);
        open(self, Sheet::Pictures, "all pictures", Kind::Sheet);
        open(self, Sheet::Finding, "a finding with pictures", Kind::Sheet);
        open(self, Sheet::Drop, "a drop with pictures", Kind::Sheet);
        open(self, Sheet::TakeIn, "take-in with pictures", Kind::Sheet);
        open(self, Sheet::Card, "return card with pictures", Kind::Sheet);
        open(
            self,
            Sheet::Enlarged(events[0]),
            "a picture, large",
            Kind::Screen,
        );
        open(
            self,
            Sheet::Enlarged(events[1]),
            "a picture that is not there",
            Kind::Screen,
        );
        self.stage.dress = None;
        self.stage.shell.screens.bay.sheets.close();
        self.stage.shell.desk.carry_out(Intent::TakeBack(events[4]));
        self.stage.settle();
        self.see("bay, pictures being read", Kind::Bay);
        assert!(self.stage.has(w.more), "the bay is shown again");
    }
}
