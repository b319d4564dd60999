//! Layouts on disk.

use std::fs::{self, File};
use std::path::Path;

use trayzero::data::layouts::{FolderFault, LayoutFileError, Origin, library, read_file};
use trayzero_core::engine::shipped;

use crate::faults::TWENTY;
use crate::good;

#[test]
fn a_folder_of_good_and_bad_files_gives_the_good_ones_and_names_the_bad() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path();
    fs::write(own.join("b-own.json"), good().to_string()).unwrap();
    fs::write(own.join("a-faults.json"), TWENTY).unwrap();
    fs::write(own.join("empty.json"), "").unwrap();
    fs::write(own.join("notes.txt"), "no layout").unwrap();
    fs::create_dir(own.join("folder.json")).unwrap();
    let giant = File::create(own.join("giant.json")).unwrap();
    giant.set_len(1 << 30).unwrap();

    let library = library(own);
    assert_eq!(library.entries.len(), shipped().len() + 1);
    assert!(library.folder_fault.is_none());
    let entry = library.find("own/b-own").unwrap();
    assert_eq!(entry.origin, Origin::Own(own.join("b-own.json")));
    assert_eq!(library.find("v6-60-24v").unwrap().origin, Origin::Shipped);
    let names: Vec<String> = library
        .faulty
        .iter()
        .map(|e| e.path().file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(
        names,
        ["a-faults.json", "empty.json", "folder.json", "giant.json"]
    );
    for error in &library.faulty {
        let text = error.to_string();
        assert!(text.contains(&error.path().display().to_string()), "{text}");
    }
    assert_eq!(
        fs::read_to_string(own.join("a-faults.json")).unwrap(),
        TWENTY
    );
    assert_eq!(fs::metadata(own.join("giant.json")).unwrap().len(), 1 << 30);
}

#[test]
fn a_giant_file_is_refused_by_its_size_without_reading_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("giant.json");
    File::create(&path).unwrap().set_len(1 << 30).unwrap();
    let error = read_file(&path).unwrap_err();
    assert!(matches!(error, LayoutFileError::TooLarge { bytes, .. } if bytes == 1 << 30));
    assert!(
        error
            .to_string()
            .contains("giant.json has 1073741824 bytes")
    );
    assert!(error.to_string().contains("It was not read"));
}

#[test]
fn what_is_no_file_is_said_to_be_none() {
    let folder = tempfile::tempdir().unwrap();
    let missing = read_file(&folder.path().join("none.json")).unwrap_err();
    assert!(matches!(missing, LayoutFileError::Unreadable { .. }));
    assert!(missing.to_string().contains("none.json cannot be read"));
    let is_folder = read_file(folder.path()).unwrap_err();
    assert!(matches!(is_folder, LayoutFileError::NoFile { .. }));
    #[cfg(unix)]
    {
        // A device never ends; it must not be read either.
        let device = read_file(Path::new("/dev/zero")).unwrap_err();
        assert!(matches!(device, LayoutFileError::NoFile { .. }));
    }
}

#[test]
fn a_missing_folder_holds_no_layouts_and_is_no_fault() {
    let folder = tempfile::tempdir().unwrap();
    let library = library(&folder.path().join("layouts"));
    assert_eq!(library.entries.len(), shipped().len());
    assert!(library.folder_fault.is_none() && library.faulty.is_empty());
}

/// A file where the folder should be cannot be listed by anyone, root included.
#[test]
fn a_folder_that_cannot_be_listed_is_one_message_and_the_shipped_layouts_stay() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("layouts");
    fs::write(&path, "a file").unwrap();
    let library = library(&path);
    assert_eq!(library.entries.len(), shipped().len());
    let fault = library.folder_fault.unwrap();
    assert!(matches!(fault, FolderFault::Unreadable { .. }));
    assert!(
        fault.to_string().contains("layouts cannot be read: "),
        "{fault}"
    );
}

/// Rights do not bind the system's administrator. Started as one, this test runs
/// `rights_bind` once more as the user 65534, who owns nothing.
#[cfg(unix)]
#[test]
fn a_file_or_folder_without_rights_is_one_message() {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;
    use std::process::Command;

    let folder = tempfile::tempdir().unwrap();
    let probe = folder.path().join("probe");
    fs::write(&probe, "").unwrap();
    fs::set_permissions(&probe, fs::Permissions::from_mode(0o000)).unwrap();
    if File::open(&probe).is_err() {
        rights_bind();
        return;
    }
    // The build folder may lie where no other user may look; a copy can be reached.
    let own_program = folder.path().join("layouts-test");
    fs::copy(std::env::current_exe().unwrap(), &own_program).unwrap();
    for open in [folder.path(), &own_program] {
        fs::set_permissions(open, fs::Permissions::from_mode(0o755)).unwrap();
    }
    let run = Command::new(&own_program)
        .args(["--ignored", "--exact", "files::rights_bind"])
        .current_dir("/")
        .uid(65_534)
        .gid(65_534)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success() && said.contains("1 passed"), "{said}");
}

#[cfg(unix)]
#[test]
#[ignore = "run by a_file_or_folder_without_rights_is_one_message as a user whom rights bind"]
fn rights_bind() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("layouts");
    fs::create_dir(&own).unwrap();
    let file = own.join("closed.json");
    fs::write(&file, good().to_string()).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o000)).unwrap();
    let with_closed_file = library(&own);
    let [error @ LayoutFileError::Unreadable { .. }] = with_closed_file.faulty.as_slice() else {
        panic!("{:?}", with_closed_file.faulty);
    };
    assert!(
        error.to_string().contains("closed.json cannot be read: "),
        "{error}"
    );

    fs::set_permissions(&own, fs::Permissions::from_mode(0o000)).unwrap();
    let with_closed_folder = library(&own);
    fs::set_permissions(&own, fs::Permissions::from_mode(0o700)).unwrap();
    assert!(matches!(
        with_closed_folder.folder_fault,
        Some(FolderFault::Unreadable { .. })
    ));
    assert_eq!(with_closed_folder.entries.len(), shipped().len());
}
