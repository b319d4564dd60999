//! The crew list of the version before.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};
use trayzero_core::shop_log::Role;
use uuid::Uuid;

use super::code;

/// The longest name of a person, in characters.
pub const PERSON_NAME_MAX: usize = 40;
/// The most people of a crew, those who have left included.
pub const CREW_MAX: usize = 500;

/// One person as the file has them.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Member {
    pub name: String,
    pub role: Role,
    /// The one-way form of the code (PHC string); `None` until one is set.
    pub code: Option<String>,
    /// Is not in the crew any more.
    pub left: bool,
    /// Hybrid clock of the last change, and the tablet that made it.
    pub changed: (u64, u32),
    pub by: Uuid,
}

impl fmt::Debug for Member {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let has_code = self.code.is_some();
        write!(
            f,
            "Member({:?}, {:?}, code: {has_code}, left: {})",
            self.name, self.role, self.left
        )
    }
}

/// A crew list as files have it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrewList {
    pub(crate) format: u32,
    pub(crate) members: Vec<Member>,
}

impl CrewList {
    /// The people by name, or what is wrong with the list.
    pub(super) fn by_name(self) -> Result<BTreeMap<String, Member>, String> {
        if self.format != 1 {
            return Err(format!(
                "format {}; this program knows format 1",
                self.format
            ));
        }
        if self.members.len() > CREW_MAX {
            return Err(format!("more than {CREW_MAX} people"));
        }
        let mut all = BTreeMap::new();
        for member in self.members {
            if !is_name(&member.name) {
                let shown: String = member.name.chars().take(PERSON_NAME_MAX).collect();
                return Err(format!("\"{shown}\" is no name"));
            }
            if member
                .code
                .as_deref()
                .is_some_and(|c| !code::is_kept_form(c))
            {
                return Err(format!(
                    "the code of {} is not one that is kept",
                    member.name
                ));
            }
            if let Some(twice) = all.insert(member.name.clone(), member) {
                return Err(format!("{} is there twice", twice.name));
            }
        }
        Ok(all)
    }
}

/// Whether a text can name a person.
pub(super) fn is_name(text: &str) -> bool {
    !text.is_empty()
        && text.trim() == text
        && text.chars().count() <= PERSON_NAME_MAX
        && !text.chars().any(char::is_control)
}
