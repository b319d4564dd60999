//! Every fault that a screen may tell is told in German, too.

use std::collections::BTreeSet;
use std::io::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use trayzero::data::crew::{CodeError, CrewFault, WhyFaulty};
use trayzero::data::layouts::{FolderFault, LayoutFileError};
use trayzero::data::own_layouts::OwnLayoutError;
use trayzero::data::settings::{SettingsFault, SettingsRule};
use trayzero::data::shared_layouts::NoVersion;
use trayzero::data::store::sealed::SealedError;
use trayzero::data::store::{
    AnyFault, DiskTrouble, Doing, FileError, ProposeError, StoreError, StoreNote,
};
use trayzero::shop::{FileWhy, SharedFault};
use trayzero::ui::words::{DE, EN};
use trayzero_core::bench::BenchError;
use trayzero_core::job::Refusal;
use trayzero_core::journal::{
    Complaint, JournalError, JournalFault, JournalWhy as Why, Torn, parse_rfc3339,
};
use trayzero_core::plan::OrderFault;
use trayzero_core::shop_log::LineFault;
use trayzero_tests::why_refused::WHY_REFUSED;
use uuid::Uuid;

fn file() -> PathBuf {
    "x.jsonl".into()
}

fn all<F: trayzero::data::store::InGerman + 'static>(
    faults: impl IntoIterator<Item = F>,
) -> Vec<AnyFault> {
    let faults = faults.into_iter();
    faults.map(|fault| Arc::new(fault) as AnyFault).collect()
}

fn complaint() -> Complaint {
    Complaint {
        line: Some(3),
        field: "n".into(),
        why: Why::NotDue(4, 3),
    }
}

fn whys() -> Vec<Why> {
    vec![
        Why::FileTooLarge { bytes: 9, most: 8 },
        Why::FileTooLong(8),
        Why::ReadBefore,
        Why::NoLink,
        Why::DoesNotFollow,
        Why::Elsewhere {
            here: Uuid::nil(),
            path: Uuid::max(),
        },
        Why::FormatAgain(2, 3),
        Why::EventOfLater(2, 3),
        Why::NotDue(4, 3),
        Why::ClockStands((1, 2)),
        Why::LineTooLong(8),
        Why::NotEnded,
        Why::Disk("x".into()),
        Why::NoRoom,
        Why::Past9999(1),
        Why::Time(parse_rfc3339("noon").unwrap_err()),
        Why::NoFormat,
        Why::NoHeader("x".into()),
        Why::NoJson("x".into()),
        Why::Missing,
        Why::UnknownField,
        Why::Json("x".into()),
        Why::NoKey,
        Why::NoSignature,
        Why::OtherLine,
        Why::OtherKey,
        Why::KeyNotAdmitted,
        Why::OtherFormat(9),
        Why::OtherJournal,
        Why::EndIsNoLink,
        Why::NotAdmitted,
        Why::NotSealed(None),
        Why::NotSealed(Some(Box::new(complaint()))),
    ]
}

fn fault() -> JournalFault {
    JournalFault {
        file: file(),
        line: 3,
        field: String::new(),
        why: Why::NoLink,
    }
}

fn torn() -> Torn {
    Torn {
        file: file(),
        line: 3,
        offset: 9,
        bytes: vec![1],
    }
}

fn disk() -> FileError {
    FileError {
        path: file(),
        doing: Doing::Writing,
        cause: Error::other("x"),
    }
}

fn of_journals() -> Vec<AnyFault> {
    use JournalError as E;
    let (doing, cause) = ("reading it", || Error::other("x"));
    let mut faults = all(whys());
    faults.extend(all([complaint()]));
    faults.extend(all([fault()]));
    faults.extend(all([torn()]));
    faults.extend(all([
        E::SecondWriter { file: file() },
        E::NoSpace {
            file: file(),
            doing,
        },
        E::ReadOnly {
            file: file(),
            doing,
            cause: cause(),
        },
        E::Gone { file: file() },
        E::Changed {
            file: file(),
            expected: 1,
            found: 2,
        },
        E::Poisoned {
            file: file(),
            cause: "x".into(),
        },
        E::Io {
            file: file(),
            doing,
            cause: cause(),
        },
        E::Faulty(fault()),
        E::NewerFormat {
            file: file(),
            format: 9,
        },
        E::Unwritable {
            file: file(),
            id: Uuid::nil(),
            field: "at",
            why: "x".into(),
        },
    ]));
    faults.extend(all([
        StoreNote::Torn(torn()),
        StoreNote::SealNotKept(ProposeError::Disk {
            why: Arc::new(disk()),
            trouble: DiskTrouble::Full,
        }),
        StoreNote::SealNotKept(ProposeError::Refused {
            at: 0,
            refusal: Refusal::JobIsOver,
        }),
    ]));
    faults
}

fn of_files() -> Vec<AnyFault> {
    let layout = crate::words::layout_fault();
    let mut faults = all([disk()]);
    faults.extend(all([
        SealedError::File(disk()),
        SealedError::Changed {
            path: file(),
            why: "x".into(),
        },
    ]));
    faults.extend(all([
        StoreError::NoFolder,
        StoreError::BadName { name: "x".into() },
        StoreError::NotKept(Arc::new(disk())),
        StoreError::CardFormat {
            path: file(),
            format: 2,
        },
        StoreError::NoKey { path: file() },
        StoreError::NoSuchJob { job: Uuid::nil() },
        StoreError::Refused(Refusal::JobIsOver),
    ]));
    faults.extend(all([layout.clone()]));
    faults.extend(all([
        FolderFault::Unreadable {
            folder: file(),
            source: Error::other("x"),
        },
        FolderFault::TooMany {
            folder: file(),
            files: 9,
        },
    ]));
    faults.extend(all([LayoutFileError::NoFile { path: file() }]));
    faults.extend(all([OwnLayoutError::NoPath]));
    faults.extend(all([
        NoVersion::OtherName(file()),
        NoVersion::OtherFormat {
            path: file(),
            format: 9,
        },
        NoVersion::LongName {
            path: file(),
            field: "who",
        },
        NoVersion::From(file()),
        NoVersion::Layout(Box::new(layout)),
        NoVersion::TooMany {
            folder: file(),
            count: 9,
        },
    ]));
    faults
}

fn of_the_shop() -> Vec<AnyFault> {
    use FileWhy as W;
    let moved: AnyFault = Arc::new(StoreError::BadName { name: "x".into() });
    let whys = [
        W::Told(moved.clone()),
        W::PinnedAnew(moved),
        W::OthersPins,
        W::OtherTablet,
        W::BadTabletName,
        W::NoLayoutName,
        W::NoPlainFile,
        W::OwnIsNoFile,
        W::WrittenAnew,
        W::NoMembers,
        W::TooManyLayouts(9),
        W::Gone,
        W::ChangedMeanwhile,
        W::Surplus(9),
        W::PutRight,
        W::BroughtGone(9),
        W::Fetched(9),
        W::TooLong(9),
        W::TooManyPieces {
            bytes: 9,
            pieces: 9,
        },
        W::NoHash,
        W::LongSeal,
        W::NoPiece,
        W::UnknownFormat {
            format: 9,
            known: 1,
        },
        W::LinesGone,
        W::TwoCourses,
        W::InUseTwice,
        W::OtherPicture,
    ];
    all(whys.map(|why| SharedFault::new(&file(), why)))
}

fn of_figures_and_people() -> Vec<AnyFault> {
    let mut faults = all([
        OrderFault::TooManyCylinders { count: 30 },
        OrderFault::TooManyWays { ways: 9, limit: 8 },
        OrderFault::NoSuchCylinder {
            field: "done",
            cylinder: 9,
        },
        OrderFault::WantedIsDone { cylinder: 1 },
        OrderFault::NoSuchBank { bank: 2, banks: 2 },
        OrderFault::NotInFiringOrder { cylinder: 1 },
        OrderFault::NoOffset { cylinder: 1 },
        OrderFault::NoValves,
        OrderFault::BadFigure {
            field: "from_deg",
            value: f64::NAN,
            rule: "a number of degrees",
        },
    ]);
    let quantity = |quantity| BenchError::Unreadable {
        quantity,
        text: "x".into(),
        example: "12 mm or 0.5 in",
    };
    let read = [
        "pressure", "length", "torque", "force", "distance", "volume", "angle",
    ];
    faults.extend(all(read.map(quantity)));
    faults.extend(all(WHY_REFUSED));
    faults.extend(all([LineFault::TooLong, LineFault::OtherSpelling]));
    let crew = CrewFault::of(Path::new("x"), WhyFaulty::Missing);
    faults.extend(all([
        CodeError::NotTheFirst,
        CodeError::Faulty(crew.clone()),
    ]));
    faults.extend(all([crew]));
    faults
}

#[test]
fn every_fault_is_told_in_german() {
    let mut faults = of_journals();
    faults.extend(of_files());
    faults.extend(of_the_shop());
    faults.extend(of_figures_and_people());
    let mut told = BTreeSet::new();
    for fault in &faults {
        let german = DE.error(&**fault);
        assert_eq!(EN.error(&**fault), fault.to_string());
        assert_ne!(german, fault.to_string(), "{fault:?}");
        let words: BTreeSet<&str> = german.split(' ').collect();
        for english in ["the", "is", "not", "of", "or", "at", "while"] {
            assert!(!words.contains(english), "{fault:?}: {german}");
        }
        assert_eq!(german.trim(), german);
        assert!(!german.is_empty() && !german.contains("  "), "{german}");
        told.insert(german);
    }
    println!("faults told in German: {}", told.len());
}

#[test]
fn every_rule_of_the_settings_is_told_in_german() {
    use SettingsRule as R;
    let (from, to) = (1, 240);
    for rule in [
        R::Percent,
        R::Pressure,
        R::Minutes(from, to),
        R::Name,
        R::ShopHours,
        R::CardNames,
        R::Known,
        R::Right("x".into()),
        R::Settings("x".into()),
    ] {
        assert_ne!(rule.said(&DE), rule.said(&EN));
        for field in ["", "pedal"] {
            let fault = SettingsFault {
                file: file(),
                field: field.into(),
                value: "9".into(),
                rule: rule.clone(),
            };
            let german = fault.said(&DE);
            assert!(
                german.contains("es gilt") || german.contains("es gelten"),
                "{german}"
            );
        }
    }
}
