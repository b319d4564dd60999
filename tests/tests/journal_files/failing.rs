//! A disk that fails at any one call, in any way, and stays broken or gets well again.

use std::cell::Cell;
use std::io::{self, Error};
use std::rc::Rc;

use trayzero_core::job::Entry;
use trayzero_core::journal::{Disk, FileDisk, FileState, Mark, Writer, job_path, journal_path};

use trayzero_tests::figures::say;

use crate::support::{JOB, TABLET, entries, lost_of, scratch};

/// How a call fails.
#[derive(Clone, Copy, Debug, PartialEq)]
enum How {
    /// Nothing was done.
    Before,
    /// Half of the bytes were written; other calls did nothing.
    Half,
    /// All was done, and an error reported all the same.
    After,
}

/// Passes everything on to a real file, but for the calls it was told to fail.
struct Failing {
    disk: FileDisk,
    calls: Rc<Cell<usize>>,
    fails_at: usize,
    how: How,
    stays_broken: bool,
}

impl Failing {
    fn call<T>(
        &mut self,
        half: impl FnOnce(&mut FileDisk) -> io::Result<()>,
        whole: impl FnOnce(&mut FileDisk) -> io::Result<T>,
    ) -> io::Result<T> {
        let call = self.calls.get();
        self.calls.set(call + 1);
        let fails = call == self.fails_at || (self.stays_broken && call > self.fails_at);
        if !fails {
            return whole(&mut self.disk);
        }
        match self.how {
            How::Before => {}
            How::Half => half(&mut self.disk)?,
            How::After => drop(whole(&mut self.disk)?),
        }
        Err(Error::other("input/output error"))
    }
}

impl Disk for Failing {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let half = &bytes[..bytes.len() / 2];
        self.call(|d| d.append(half), |d| d.append(bytes))
    }

    fn sync(&mut self) -> io::Result<()> {
        self.call(|_| Ok(()), FileDisk::sync)
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        self.call(|_| Ok(()), |d| d.truncate(bytes))
    }

    fn state(&mut self) -> io::Result<FileState> {
        self.call(|_| Ok(()), FileDisk::state)
    }
}

/// Writes batches until the disk fails; how many entries were acknowledged, and whether
/// the disk failed at all.
fn write_until_it_fails(disk: Failing, all: &[Entry], path: &std::path::Path) -> (usize, bool) {
    let Ok(mut writer) = Writer::on(disk, path, JOB, TABLET, Mark::START) else {
        return (0, true);
    };
    let mut kept = 0;
    for batch in all.chunks(3) {
        if writer.append(batch).is_err() {
            let error = writer.append(batch).unwrap_err();
            assert!(error.to_string().contains("open the job again"), "{error}");
            return (kept, true);
        }
        kept += batch.len();
    }
    (kept, false)
}

#[test]
fn whichever_call_fails_nothing_acknowledged_is_lost() {
    let all = entries(TABLET, 15);
    let (mut failed, mut left_over, mut lost) = (0, 0, 0);
    for how in [How::Before, How::Half, How::After] {
        for stays_broken in [false, true] {
            for fails_at in 0.. {
                let data = scratch();
                std::fs::create_dir_all(job_path(data.path(), JOB)).unwrap();
                let path = journal_path(data.path(), JOB, TABLET);
                let disk = Failing {
                    disk: FileDisk::open(&path).unwrap(),
                    calls: Rc::default(),
                    fails_at,
                    how,
                    stays_broken,
                };
                let (kept, has_failed) = write_until_it_fails(disk, &all, &path);
                let what = format!("call {fails_at} fails {how:?}, stays broken: {stays_broken}");
                let mut opened = Writer::restore(data.path(), JOB, TABLET, &all[..kept])
                    .unwrap_or_else(|e| panic!("{what}: {e}"));
                let found = opened.read.entries.len();
                assert!(found >= kept, "{what}: {found} of {kept}");
                lost += lost_of(&all[..kept], &opened.read.entries);
                assert_eq!(opened.read.entries, all[..found], "{what}");
                if !stays_broken {
                    assert_eq!(found, kept, "{what}: cut back to what was acknowledged");
                    assert_eq!(opened.read.torn, None, "{what}");
                }
                opened.writer.append(&all[found..]).unwrap();
                left_over += found - kept;
                if !has_failed {
                    assert_eq!(kept, all.len());
                    break;
                }
                failed += 1;
            }
        }
    }
    assert!(failed >= 6 * 18, "every call was failed: {failed}");
    println!("whole but unacknowledged lines after failed calls: {left_over}");
    say("disk calls failed", failed);
    say("acknowledged lost", lost);
}
