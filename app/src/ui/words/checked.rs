//! What is said of a record that is checked and handed on, in the words of a language.

use super::verified::VerifySaid;
use super::{Language, Words, verified_de, verified_en};
use crate::data::hand_on::NotHandedOn;
use crate::record::pdf_file::NotRead;

impl Words {
    /// What was seen of a record, in words.
    pub fn verify_said(&self, said: &VerifySaid) -> String {
        match self.language {
            Language::English => verified_en::said(said),
            Language::German => verified_de::said(said),
        }
    }

    /// Why a file was not handed on.
    pub fn not_handed_on(&self, why: &NotHandedOn) -> String {
        let path = |path: &std::path::Path| path.display().to_string();
        match why {
            NotHandedOn::FolderGone(folder) => self.folder_is_gone(&path(folder)),
            NotHandedOn::File(why) => self.error(why),
            NotHandedOn::NamesTaken(name) => self.names_are_taken(&path(name)),
            NotHandedOn::FileGone(file) => self.file_is_gone(&path(file)),
            NotHandedOn::NoProgram(program) => self.no_such_program(program),
            NotHandedOn::NoAnswer(program) => self.program_said(program, self.shop_silent),
            NotHandedOn::Program { program, why } => self.program_said(program, why),
        }
    }

    /// Why a file cannot be taken apart.
    pub fn record_not_read(&self, why: &NotRead) -> String {
        match self.language {
            Language::English => why.to_string(),
            Language::German => verified_de::not_read(why),
        }
    }
}
