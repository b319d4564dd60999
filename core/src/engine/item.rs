//! Kinds of items: what an engine is made of, and what its kit holds.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de, ser};
use thiserror::Error;

/// The longest name of an item, in characters.
pub const ITEM_NAME_MAX: usize = 40;

/// Each kind once, with its word in files.
macro_rules! items {
    ($($(#[$doc:meta])* $kind:ident = $word:literal,)*) => {
        /// A kind of item that is counted. In files it is its word, such as `"lock"`.
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Item {
            $($(#[$doc])* $kind,)*
            /// Anything else that the shop counts, by its name.
            Other(Arc<str>),
        }

        impl Item {
            /// Every kind with a word of its own.
            pub const FIXED: [Item; 18] = [$(Item::$kind),*];

            /// Position in [`Item::FIXED`]; `None` for [`Item::Other`].
            pub fn fixed_index(&self) -> Option<usize> {
                enum Fixed { $($kind),* }
                Some(match self {
                    $(Item::$kind => Fixed::$kind as usize,)*
                    Item::Other(_) => return None,
                })
            }

            /// The word used in files.
            pub fn word(&self) -> &str {
                match self {
                    $(Item::$kind => $word,)*
                    Item::Other(name) => name,
                }
            }
        }
    };
}

items! {
    /// Lock (half collet), in the valve's groove.
    Lock = "lock",
    /// Spring retainer.
    Retainer = "retainer",
    /// Valve spring.
    Spring = "spring",
    /// Finger follower, rocker or bucket.
    Follower = "follower",
    /// The seal that came off.
    OldSeal = "old seal",
    /// The seal that goes on.
    NewSeal = "new seal",
    /// A piece torn off a seal.
    SealPiece = "seal piece",
    /// Cover of a bank.
    Cover = "cover",
    /// Plug of a cylinder.
    Plug = "plug",
    /// Vented cover for a plug hole.
    VentedCover = "vented cover",
    /// Stopper for an oil return passage.
    Stopper = "stopper",
    /// Tool plate.
    Plate = "plate",
    /// Rag.
    Rag = "rag",
    /// Air hose with its end for the plug hole.
    Hose = "hose",
    /// Fitting sleeve for seals.
    Sleeve = "sleeve",
    /// Tool end.
    Adaptor = "adaptor",
    /// Wrench for the crank.
    Wrench = "wrench",
    /// Shim of a bucket follower; it belongs to one valve. Two words: a shop may have counted a
    /// "shim" of its own before this was known.
    Shim = "valve shim",
}

impl Item {
    /// Whether the item belongs to the engine rather than to the kit.
    pub fn is_engine_part(&self) -> bool {
        *self == Item::Shim || self.fixed_index().is_some_and(|i| i <= 8)
    }

    /// Whether it comes off a valve and goes through the tray back onto one.
    pub fn goes_through_the_tray(&self) -> bool {
        matches!(
            self,
            Item::Lock | Item::Retainer | Item::Spring | Item::Follower | Item::Shim
        )
    }

    /// Whether it belongs to the tool kit.
    pub fn is_kit(&self) -> bool {
        !self.is_engine_part()
    }
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A text that cannot name an item.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error(
    "\"{text}\" cannot name an item: 1 to {ITEM_NAME_MAX} printable characters, no blank at the ends"
)]
pub struct ItemError {
    /// The text as given, shortened.
    pub text: String,
}

impl FromStr for Item {
    type Err = ItemError;

    fn from_str(text: &str) -> Result<Self, ItemError> {
        if let Some(fixed) = Item::FIXED.iter().find(|i| i.word() == text) {
            return Ok(fixed.clone());
        }
        let good = !text.is_empty()
            && text.trim() == text
            && text.chars().count() <= ITEM_NAME_MAX
            && !text.chars().any(char::is_control);
        if good {
            Ok(Item::Other(Arc::from(text)))
        } else {
            Err(ItemError {
                text: text.chars().take(ITEM_NAME_MAX).collect(),
            })
        }
    }
}

impl Serialize for Item {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        // What could not be read again is not written.
        match self {
            Item::Other(text) if text.parse().as_ref() != Ok(self) => {
                Err(ser::Error::custom(ItemError {
                    text: text.chars().take(ITEM_NAME_MAX).collect(),
                }))
            }
            _ => s.serialize_str(self.word()),
        }
    }
}

impl<'de> Deserialize<'de> for Item {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        struct Word;
        impl de::Visitor<'_> for Word {
            type Value = Item;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the word of an item")
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Item, E> {
                text.parse().map_err(E::custom)
            }
        }
        d.deserialize_str(Word)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn what_could_not_be_read_again_is_not_written() {
        let own = Item::Other("rocker shim".into());
        let text = serde_json::to_string(&own).unwrap();
        assert_eq!(serde_json::from_str::<Item>(&text).unwrap(), own);
        // Nothing, a blank at an end, a control character, and a word that means another.
        let fixed = Item::FIXED[0].word();
        for name in ["", " tin", "a\nb", fixed] {
            let bad = Item::Other(name.into());
            assert!(serde_json::to_string(&bad).is_err(), "{name:?}");
        }
    }
}
