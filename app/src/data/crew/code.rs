//! A sign-off code, and the one-way form in which it is kept.

use std::fmt;

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{Error as HashError, PasswordVerifier};
use argon2::{Argon2, Params};
use zeroize::Zeroizing;

use super::CodeError;

/// The shortest and the longest code, in characters: six digits, or a word.
///
/// Four digits are ten thousand codes, which whoever gets hold of a tablet's folder tries
/// in minutes. NIST SP 800-63B (from memory) asks for six digits where a machine limits the
/// tries, and for eight characters where none does.
pub const CODE_CHARS: std::ops::RangeInclusive<usize> = 6..=64;

/// The shortest code where the shop has said that short ones may be.
pub const SHORT_CODE_CHARS_MIN: usize = 4;

/// The most memory that a kept code may ask for when it is tried, KiB: a crew list comes
/// from other tablets too, and must not be able to take this one's memory.
pub(super) const MEMORY_KIB_MAX: u32 = 64 * 1024;
/// The most passes, likewise.
pub(super) const PASSES_MAX: u32 = 8;

/// A code as entered. It is wiped from memory when it goes, and never shown.
pub struct Code(Zeroizing<String>);

impl Code {
    /// A code as entered.
    pub fn new(text: String) -> Self {
        Self(Zeroizing::new(text))
    }

    pub(super) fn bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }

    /// Whether it may become somebody's code.
    pub(super) fn is_good(&self, short_ones_are_allowed: bool) -> Result<(), CodeError> {
        let chars: Vec<char> = self.0.chars().collect();
        let steps = |by: i64| {
            chars
                .windows(2)
                .all(|pair| i64::from(u32::from(pair[1])) - i64::from(u32::from(pair[0])) == by)
        };
        let least = if short_ones_are_allowed {
            SHORT_CODE_CHARS_MIN
        } else {
            *CODE_CHARS.start()
        };
        let good = (least..=*CODE_CHARS.end()).contains(&chars.len())
            && !chars.iter().any(|c| c.is_control())
            && !(steps(0) || steps(1) || steps(-1));
        good.then_some(()).ok_or(CodeError::TooSimple)
    }
}

impl From<&str> for Code {
    fn from(text: &str) -> Self {
        Self::new(text.to_owned())
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Code(…)")
    }
}

/// How much work one try of a code is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CodeCost {
    /// Memory, KiB.
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
}

impl Default for CodeCost {
    /// 19 MiB and two passes with one lane: the least that the OWASP Password Storage
    /// Cheat Sheet advises for argon2id (from memory), and a blink on a small tablet.
    fn default() -> Self {
        Self {
            memory_kib: 19 * 1024,
            passes: 2,
        }
    }
}

/// The one-way form of a code as the version before kept it: an argon2id PHC string with a
/// salt of its own.
#[cfg(test)]
fn kept_form(code: &Code, cost: CodeCost) -> Result<String, CodeError> {
    use argon2::password_hash::PasswordHasher;
    let failed = |e: &dyn fmt::Display| CodeError::Unhashed(e.to_string());
    let params = Params::new(cost.memory_kib, cost.passes, 1, None).map_err(|e| failed(&e))?;
    let salt = crate::data::store::random::<16>().map_err(|e| failed(&e))?;
    let kept: PasswordHash =
        Argon2::new(argon2::Algorithm::Argon2id, argon2::Version::V0x13, params)
            .hash_password_with_salt(code.0.as_bytes(), &salt)
            .map_err(|e| failed(&e))?;
    Ok(kept.to_string())
}

/// Whether a code is the one that is kept.
pub(super) fn is_right(code: &Code, kept: &str) -> Result<bool, CodeError> {
    let failed = |why: String| CodeError::Unhashed(why);
    let kept = parsed(kept).map_err(failed)?;
    match Argon2::default().verify_password(code.0.as_bytes(), &kept) {
        Ok(()) => Ok(true),
        Err(HashError::PasswordInvalid) => Ok(false),
        Err(e) => Err(failed(e.to_string())),
    }
}

/// Whether a text is a kept code that this program may try.
pub(super) fn is_kept_form(kept: &str) -> bool {
    parsed(kept).is_ok()
}

fn parsed(kept: &str) -> Result<PasswordHash, String> {
    let hash = PasswordHash::new(kept).map_err(|e| e.to_string())?;
    if hash.algorithm.as_str() != "argon2id" {
        return Err("the kept code is no argon2id".to_owned());
    }
    let params = Params::try_from(&hash).map_err(|e| e.to_string())?;
    if params.m_cost() > MEMORY_KIB_MAX || params.t_cost() > PASSES_MAX || params.p_cost() > 4 {
        return Err("the kept code asks for too much work".to_owned());
    }
    Ok(hash)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const LIGHT: CodeCost = CodeCost {
        memory_kib: 64,
        passes: 1,
    };

    #[test]
    fn the_same_code_is_kept_in_two_forms_and_both_hold() {
        let code = Code::from("2580");
        let (one, two) = (
            kept_form(&code, LIGHT).unwrap(),
            kept_form(&code, LIGHT).unwrap(),
        );
        assert_ne!(one, two, "each has a salt of its own");
        assert!(one.starts_with("$argon2id$v=19$m=64,t=1,p=1$"), "{one}");
        assert!(is_right(&code, &one).unwrap() && is_right(&code, &two).unwrap());
        assert!(!is_right(&Code::from("2581"), &one).unwrap());
    }

    #[test]
    fn the_usual_cost_is_argon2id_with_19_mib() {
        let kept = kept_form(&Code::from("2580"), CodeCost::default()).unwrap();
        assert!(
            kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"),
            "{kept}"
        );
    }

    #[test]
    fn simple_codes_are_refused() {
        for simple in [
            "", "12345", "123456", "987654", "000000", "aaaaaa", "2580\n13",
        ] {
            assert!(Code::from(simple).is_good(false).is_err(), "{simple:?}");
        }
        for good in ["258013", "123457", "werkbank"] {
            assert!(Code::from(good).is_good(false).is_ok(), "{good:?}");
        }
        let short = Code::from("2580");
        assert!(short.is_good(false).is_err() && short.is_good(true).is_ok());
        assert!(Code::from("4321").is_good(true).is_err());
    }

    #[test]
    fn a_kept_code_that_asks_for_a_gigabyte_is_not_tried() {
        let kept = kept_form(&Code::from("2580"), LIGHT).unwrap();
        assert!(is_kept_form(&kept));
        assert!(!is_kept_form(&kept.replace("m=64", "m=1048576")));
        assert!(!is_kept_form(&kept.replace("argon2id", "argon2d")));
        assert!(!is_kept_form("2580"));
    }

    #[test]
    fn a_code_is_not_shown() {
        assert!(!format!("{:?}", Code::from("2580")).contains("2580"));
    }
}
