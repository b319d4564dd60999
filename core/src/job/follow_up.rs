//! What was seen of a vehicle after it left: oil, smoke and codes.

use serde::{Deserialize, Serialize};

use super::Smoke;

/// What was seen some time after the work.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FollowUp {
    /// Kilometres since the work.
    pub distance_km: f64,
    /// Litres of oil added since, up to the mark that it had then.
    pub litres: f64,
    /// When it smokes; nothing where nobody has watched.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub smoke: Vec<Smoke>,
    /// Fault codes as text; `None` where nobody has read them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub codes: Option<Vec<String>>,
    /// What else was seen.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub text: String,
}
