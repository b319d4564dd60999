//! Intents about files: own layouts, the tablet's name, backup and restoring.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use trayzero_core::engine::Layout;

use super::{Desk, Outcome};
use crate::data::backup::{self, BackupError, Differing};
use crate::data::crew::{CodeCost, Crew};
use crate::data::layouts::read_file;
use crate::data::own_layouts::{self, OwnLayoutError};
use crate::data::shared_layouts::{self, library_of};
use crate::shop::folder_of;
use crate::ui::first_use::FirstUse;
use crate::ui::intent::{KeptBy, Screen};
use crate::ui::view::Notice;
use crate::ui::words::Words;

/// How many numbered folders are tried for a backup that is brought back.
const FOLDERS_MAX: u32 = 1_000;

/// How long is waited for the exchange to have left the folder, at most.
const STOP_WAIT: Duration = Duration::from_secs(2);

impl Desk {
    pub(super) fn rename_tablet(&mut self, name: &str) -> Outcome {
        match self.store.rename_tablet(name, self.clock.now()) {
            Ok(()) => {
                let tablet = Arc::clone(self.store.tablet());
                let told = self.crew.renamed(tablet, self.clock.now());
                if let Some(shop) = &self.shop {
                    shop.tablet_renamed(&self.store);
                }
                self.crew_changed(told)
            }
            Err(error) => self.say_error(&error),
        }
    }

    /// One of two copies of a tablet goes on as a new one: its lines are kept, and it asks to
    /// be admitted like any other.
    pub(super) fn become_new_tablet(&mut self) -> Outcome {
        let Some(folder) = self.settings.settings.shop_folder.clone() else {
            return Outcome::Stayed;
        };
        self.close_job();
        self.screen = Screen::Board;
        if let Some(shop) = &self.shop {
            // Nothing goes out under the old name meanwhile.
            shop.set_folder(None);
            shop.flush(STOP_WAIT);
        }
        let met = folder_of(&folder, self.store.root());
        let became = self.store.become_new_tablet(&met, self.clock.now());
        if let Some(shop) = &self.shop {
            shop.tablet_renamed(&self.store);
            shop.set_folder(Some(&folder));
        }
        if let Err(error) = became {
            return self.say_error(&error);
        }
        let tablet = Arc::clone(self.store.tablet());
        self.crew = Crew::open(self.store.root(), tablet, CodeCost::default());
        // The old tablet's crew is none of this one's: it joins the shop anew.
        let begun = match self.crew.fault() {
            Some(_) => self.crew.begin_anew(),
            None => Ok(()),
        };
        self.tablet_key = self.store.tablet().public_key();
        self.hold_against_shop();
        self.read_members();
        self.read_jobs();
        let name = self.store.tablet().name();
        self.notice = Some(match begun {
            Ok(()) => Notice::Said(self.words().is_new_tablet(name)),
            Err(error) => Notice::Fault {
                what: self.words().error(&error),
                way_out: String::new(),
            },
        });
        Outcome::Moved
    }

    /// A first-use card is not shown again.
    pub(super) fn hide_card(&mut self, card: FirstUse) -> Outcome {
        let seen = &mut self.settings.settings.cards_seen;
        seen.insert(card.key().to_owned());
        if let Err(error) = self.settings.write() {
            self.say_error(&error);
        }
        Outcome::Stayed
    }

    pub(super) fn save_layout(&mut self, stem: &str, layout: &Layout, by: KeptBy) -> Outcome {
        let saved = own_layouts::save(&self.store.layouts_folder(), stem, layout);
        let is_kept = saved.is_ok();
        let done = self.layout_moved(saved, Words::layout_saved);
        if is_kept {
            self.share_layout(layout, by);
        }
        done
    }

    pub(super) fn import_layout(&mut self, path: &str) -> Outcome {
        let read = own_layouts::import(&self.store.layouts_folder(), path);
        let layout = read.as_ref().ok().and_then(|path| read_file(path).ok());
        let done = self.layout_moved(read, Words::layout_read_in);
        if let Some(layout) = layout {
            self.share_layout(&layout, KeptBy::default());
        }
        done
    }

    /// Seals what was kept for the other tablets of the shop.
    fn share_layout(&mut self, layout: &Layout, by: KeptBy) {
        let layouts = self.store.layouts_folder();
        let (tablet, now) = (Arc::clone(self.store.tablet()), self.clock.now());
        let kept = shared_layouts::keep(&layouts, layout, (&by.who, by.from), (&tablet, now));
        if let Err(error) = kept {
            self.say_error(&error);
        }
        self.read_library();
        if let Some(shop) = &self.shop {
            shop.layouts_changed();
        }
    }

    /// Offers a layout of the shop here no more, or again.
    pub(super) fn offer_layout(&mut self, version: &str, is_offered: bool) -> Outcome {
        let layouts = self.store.layouts_folder();
        match shared_layouts::offer(&layouts, version, is_offered) {
            Ok(()) => {
                self.read_library();
                Outcome::Taken
            }
            Err(error) => self.say_error(&error),
        }
    }

    /// Reads the layouts anew.
    pub(super) fn read_library(&mut self) {
        let own = self.store.tablet().id();
        self.library = library_of(&self.store.layouts_folder(), own);
    }

    pub(super) fn export_layout(&mut self, path: &str, layout: &Layout) -> Outcome {
        let written = own_layouts::export(path, layout);
        self.layout_moved(written, Words::layout_written)
    }

    /// Says what became of a layout's file; the library is read anew.
    fn layout_moved(
        &mut self,
        moved: Result<PathBuf, OwnLayoutError>,
        said: impl Fn(&Words, &str) -> String,
    ) -> Outcome {
        match moved {
            Ok(path) => {
                self.read_library();
                let said = said(self.words(), &path.display().to_string());
                self.notice = Some(Notice::Said(said));
                Outcome::Taken
            }
            Err(error) => self.say_error(&error),
        }
    }

    fn say_backup_error(&mut self, error: &BackupError) -> Outcome {
        let w = self.words();
        let shown = |path: &Path| path.display().to_string();
        let what = match error {
            BackupError::File(error) => w.error(error),
            BackupError::Journal(error) => w.error(error),
            BackupError::Manifest(error) => w.error(error),
            BackupError::Store(error) => w.error(error),
            BackupError::NoBackup { folder } => w.backup_none(&shown(folder)),
            BackupError::Differs { path, why } => {
                let why = match why {
                    Differing::Format(format) => w.backup_format(*format),
                    Differing::Outside => w.backup_outside.to_owned(),
                    Differing::Length => w.backup_length.to_owned(),
                    Differing::Changed => w.backup_changed.to_owned(),
                    Differing::LastLine => w.backup_last_line.to_owned(),
                    Differing::Crew(fault) => w.error(fault),
                };
                w.backup_differs(&shown(path), &why)
            }
            BackupError::NotEmpty { folder } => w.backup_not_empty(&shown(folder)),
            BackupError::Faulty(fault) => w.error(fault),
        };
        self.say_fault(&what)
    }

    /// Copies everything into a new folder within the one that is named.
    pub(super) fn back_up(&mut self, into: &str) -> Outcome {
        match backup::back_up(&self.store, Path::new(into), self.clock.now()) {
            Ok(done) if done.faults.is_empty() => {
                let folder = done.folder.display().to_string();
                self.say(self.words().backed_up(&folder, done.journals))
            }
            Ok(done) => {
                let folder = done.folder.display().to_string();
                let said = self.words().backed_up(&folder, done.journals);
                let faults = done.faults.iter().map(|fault| self.words().error(fault));
                let lines: Vec<String> = [said].into_iter().chain(faults).collect();
                self.say_fault(&lines.join("\n"))
            }
            Err(error) => self.say_backup_error(&error),
        }
    }

    /// Brings a backup into a new folder beside the data folder; this one stays as it is.
    pub(super) fn restore(&mut self, from: &str) -> Outcome {
        let Some(into) = free_folder(self.store.root()) else {
            let all = format!("{}-restored-*", self.store.root().display());
            return self.say_fault(&all);
        };
        match backup::restore(Path::new(from), &into, self.clock.now()) {
            Ok(done) => {
                let folder = into.display().to_string();
                self.say(self.words().restored(&folder, done.journals))
            }
            Err(error) => self.say_backup_error(&error),
        }
    }

    fn say(&mut self, text: String) -> Outcome {
        self.notice = Some(Notice::Said(text));
        Outcome::Taken
    }
}

/// A folder beside the data folder that is not there yet.
fn free_folder(root: &Path) -> Option<PathBuf> {
    let name = root.file_name()?.to_string_lossy().into_owned();
    (1..FOLDERS_MAX)
        .map(|n| root.with_file_name(format!("{name}-restored-{n}")))
        .find(|folder| !folder.exists())
}
