//! What a command reads of a folder: its board, whose lines count there, what does not hold,
//! and the settings by which it is told.

use std::path::Path;

use trayzero_core::journal::{JournalError, format_rfc3339};
use trayzero_core::plan::Score;

use super::CliError;
use crate::data::settings::{SETTINGS_FILE, Settings, SettingsFile};
use crate::data::store::{Stamp, usual_folder};
use crate::shop::{Admitted, Board, FileFault};
use crate::ui::words::EN;

/// The board of a folder with its times to go, and whose lines count in it. Every line is
/// judged anew: what lies beside the journals is believed by nobody who comes from outside.
pub(super) fn read_board(
    folder: &Path,
    shop_key: Option<&str>,
) -> Result<(Board, String), CliError> {
    let admitted = Admitted::of(folder, shop_key)?;
    let note = admitted.note();
    let mut board = admitted.board(folder)?;
    board.work_out_to_go();
    Ok((board, note))
}

/// Whether a folder can be listed at all.
pub(super) fn listed(folder: &Path) -> Result<(), JournalError> {
    let listed = folder.read_dir().map_err(|cause| JournalError::Io {
        file: folder.to_owned(),
        doing: "listing it",
        cause,
    });
    listed.map(drop)
}

/// What of a folder does not hold or was left alone, in words.
pub(super) struct FolderFaults {
    pub faults: Vec<String>,
    pub left_alone: Vec<String>,
}

impl FolderFaults {
    /// Jobs of which nothing counts are among it, for no card tells of them.
    pub fn of(board: &Board, now: Stamp) -> Self {
        let hidden = board.not_shown();
        let hidden =
            hidden.map(|(job, block)| format!("job {job}: {}", EN.block(block, now.at_ms)));
        let faults = board.faults().map(ToString::to_string);
        let left_alone = board.left_alone().iter();
        Self {
            faults: faults.chain(hidden).collect(),
            left_alone: left_alone.map(FileFault::to_string).collect(),
        }
    }

    /// All of it with one note more, for the person at the terminal.
    pub fn notes(&self, note: String) -> Vec<String> {
        [self.faults.as_slice(), &self.left_alone, &[note]].concat()
    }
}

pub(super) fn time(at_ms: i64, now: Stamp) -> String {
    format_rfc3339(at_ms, now.offset_min).unwrap_or_default()
}

/// How the forecasts of a board's finished jobs turned out.
pub(super) fn scores_of(board: &Board) -> Vec<Score> {
    board
        .pace()
        .map_or_else(Vec::new, |pace| pace.scores().to_vec())
}

/// The folder's own settings; where it has none, as a shop folder, those of this user's
/// tablet.
pub(super) fn settings_of(folder: &Path) -> Settings {
    if folder.join(SETTINGS_FILE).exists() {
        return SettingsFile::read(folder).settings;
    }
    own_settings()
}

/// The settings of this user's tablet.
pub(super) fn own_settings() -> Settings {
    usual_folder().map_or_else(
        |_| Settings::default(),
        |usual| SettingsFile::read(&usual).settings,
    )
}
