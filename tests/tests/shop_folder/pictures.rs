//! Pictures in the shop folder: copies come to whoever opens the job, held against what its
//! events name; what somebody plants there never passes for one.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;
use trayzero::data::pictures::{Found, find_copy, find_taken, keep};
use trayzero_core::job::{COPY_BYTES_MAX, Event, Picture, PictureOf};
use trayzero_core::journal::{list_jobs, pictures_path};
use trayzero_tests::figures::say;
use trayzero_tests::photos;
use uuid::Uuid;

use super::parts::{Tablet, meet_all, scratch};

/// Two tablets on one shop folder, and a job with a picture that the first one has added.
struct Two {
    scratch: TempDir,
    shop: PathBuf,
    ada: Tablet,
    ben: Tablet,
    job: Uuid,
    picture: Picture,
}

impl Two {
    fn new() -> Self {
        let scratch = scratch();
        let shop = scratch.path().join("shop");
        fs::create_dir(&shop).unwrap();
        let mut ada = Tablet::new(&scratch.path().join("ada"), &shop, "Ada");
        let ben = Tablet::new(&scratch.path().join("ben"), &shop, "Ben");
        let job = ada.create("inline-4-8v", "Bay 1");
        let mut two = Self {
            picture: add(
                &mut ada,
                job,
                scratch.path(),
                "one.jpg",
                &photos::as_taken(photos::QUADRANTS, 1),
            ),
            scratch,
            shop,
            ada,
            ben,
            job,
        };
        meet_all(std::slice::from_mut(&mut two.ada));
        two.ben.meet();
        two.ben.open = Some(two.ben.store.open_job(job).unwrap());
        two
    }

    /// Where the picture's copy lies in the shop folder.
    fn there(&self) -> PathBuf {
        pictures_path(&self.shop, self.job).join(self.picture.copy_name())
    }

    /// Ben looks at the job: the pictures that its events name are wanted.
    fn ben_looks(&mut self) -> trayzero::shop::Round {
        let open = self.ben.open.as_ref().unwrap();
        let wanted: Vec<Picture> = open.state().pictures().map(|(_, p)| p.clone()).collect();
        assert_eq!(wanted, std::slice::from_ref(&self.picture));
        self.ben.exchange.want_pictures(self.job, wanted);
        self.ben.meet()
    }

    fn ben_has(&self) -> Found {
        find_copy(&self.ben.root, self.job, &self.picture)
    }
}

fn add(tablet: &mut Tablet, job: Uuid, folder: &Path, name: &str, bytes: &[u8]) -> Picture {
    let from = folder.join(name);
    fs::write(&from, bytes).unwrap();
    let picture = keep(&tablet.root, job, &from, PictureOf::Job {}).unwrap();
    let now = tablet.clock.advance(1_000);
    let event = Event::PictureAdded(Box::new(picture.clone()));
    let open = tablet.open.as_mut().unwrap();
    open.propose(now, &tablet.person, &[event]).unwrap();
    picture
}

/// Every file below a folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for name in fs::read_dir(folder).unwrap() {
        let path = name.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found
}

#[test]
fn a_copy_comes_to_the_tablet_that_looks_and_the_file_as_taken_stays_where_it_is() {
    let mut two = Two::new();
    let shared = fs::read(two.there()).unwrap();
    assert_eq!(photos::size(&shared), (320, 240));
    for path in files(&two.shop) {
        let bytes = fs::read(&path).unwrap();
        for secret in [photos::DEVICE, b"Exif", b"secret place"] {
            let told = bytes.windows(secret.len()).any(|part| part == secret);
            assert!(!told, "{} tells {secret:?}", path.display());
        }
    }
    assert_eq!(two.ben_has(), Found::Missing, "nobody has looked yet");
    assert_eq!(two.ben_looks().pictures, [two.job]);
    assert_eq!(two.ben_has(), Found::Whole(shared));
    assert_eq!(
        find_taken(&two.ben.root, two.job, &two.picture),
        Found::Missing
    );
    assert_eq!(
        two.ben_looks().pictures,
        Vec::<Uuid>::new(),
        "once is enough"
    );
    // Neither folder has anything that is left alone.
    for folder in [&two.shop, &two.ada.root, &two.ben.root] {
        assert_eq!(
            list_jobs(folder).unwrap().left_alone,
            [],
            "{}",
            folder.display()
        );
    }
}

#[test]
fn a_planted_picture_is_never_taken_and_is_named_until_the_owner_puts_it_right() {
    let mut two = Two::new();
    let there = two.there();
    let good = fs::read(&there).unwrap();
    let long = vec![0xFF; COPY_BYTES_MAX as usize + 1];
    let mut changed = good.clone();
    let middle = changed.len() / 2;
    changed[middle] ^= 1;
    let mut planted = 0_u64;
    for other in [photos::GREY, &changed, &good[..good.len() - 1], &long, b""] {
        fs::write(&there, other).unwrap();
        let round = two.ben_looks();
        assert_eq!(round.pictures, Vec::<Uuid>::new());
        assert!(
            round.file_faults.iter().any(|fault| fault.path == there),
            "{:?}",
            round.file_faults
        );
        assert_eq!(two.ben_has(), Found::Missing);
        planted += 1;
    }
    // A good picture under its own hash that no event names lies there for nothing.
    let stray = two.scratch.path().join("stray");
    fs::create_dir(&stray).unwrap();
    let mut other = Tablet::new(&stray.join("data"), &stray, "Eve");
    let job = other.create("inline-4-8v", "Bay 9");
    let unnamed = add(&mut other, job, &stray, "x.jpg", photos::GREY);
    let Found::Whole(copy) = find_copy(&other.root, job, &unnamed) else {
        panic!("it is kept");
    };
    let beside = pictures_path(&two.shop, two.job).join(unnamed.copy_name());
    fs::write(&beside, copy).unwrap();
    two.ben_looks();
    let name = unnamed.copy_name();
    assert!(
        !files(&two.ben.root)
            .iter()
            .any(|path| path.ends_with(&name))
    );
    planted += 1;
    // The owner's program starts again, looks at what is there, and puts it right.
    two.ada.restart();
    two.ada.meet();
    assert_eq!(fs::read(&there).unwrap(), good);
    let round = two.ben_looks();
    assert_eq!(round.pictures, [two.job]);
    assert!(!round.file_faults.iter().any(|fault| fault.path == there));
    assert_eq!(two.ben_has(), Found::Whole(good));
    say("planted pictures refused", planted);
}

#[test]
fn what_is_deleted_from_the_shop_folder_is_brought_again() {
    let mut two = Two::new();
    fs::remove_dir_all(pictures_path(&two.shop, two.job)).unwrap();
    two.ada.meet();
    assert!(two.there().is_file());
    // Whoever has fetched a copy brings it too, should its owner be gone.
    two.ben_looks();
    fs::remove_dir_all(pictures_path(&two.shop, two.job)).unwrap();
    two.ben.meet();
    assert!(two.there().is_file());
    // A copy that was changed on the tablet itself goes nowhere.
    let own = pictures_path(&two.ada.root, two.job).join(two.picture.copy_name());
    fs::write(&own, photos::GREY).unwrap();
    fs::remove_dir_all(pictures_path(&two.shop, two.job)).unwrap();
    two.ada.meet();
    assert!(!two.there().exists());
}

#[test]
fn two_tablets_that_add_and_take_back_apart_from_each_other_have_no_conflict() {
    let mut two = Two::new();
    let other = add(
        &mut two.ben,
        two.job,
        two.scratch.path(),
        "two.png",
        photos::TINY_PNG,
    );
    let first = two
        .ada
        .open
        .as_ref()
        .unwrap()
        .state()
        .pictures()
        .next()
        .unwrap()
        .0
        .id;
    let now = two.ada.clock.advance(1_000);
    let ada = two.ada.person.clone();
    let open = two.ada.open.as_mut().unwrap();
    open.propose(now, &ada, &[Event::taken_back(first)])
        .unwrap();
    for _ in 0..3 {
        two.ada.meet();
        two.ben.meet();
    }
    for tablet in [&two.ada, &two.ben] {
        let state = tablet.open.as_ref().unwrap().state();
        assert_eq!(state.open_conflicts().count(), 0);
        let left: Vec<&Picture> = state.pictures().map(|(_, p)| p).collect();
        assert_eq!(left, [&other]);
    }
}
