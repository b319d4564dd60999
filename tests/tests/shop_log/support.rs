//! Tablets and people with keys, who write lines.

use std::collections::BTreeMap;

use ed25519_dalek::SigningKey;
use trayzero_core::journal::Link;
use trayzero_core::shop_log::{
    Body, Deed, LOG_FORMAT, Line, NewPerson, PersonKey, Role, Shop, TabletCard,
};
use uuid::Uuid;

pub const START_MS: i64 = 1_796_000_000_000;

pub type Files = BTreeMap<Uuid, Vec<Line>>;

pub fn key(n: u8) -> SigningKey {
    SigningKey::from_bytes(&[n; 32])
}

pub fn hex(key: &SigningKey) -> String {
    let bytes = key.verifying_key().to_bytes();
    let digits = bytes.map(|b| format!("{b:02x}"));
    digits.concat()
}

pub fn tablet(n: u8) -> Uuid {
    Uuid::from_u128(u128::from(n))
}

pub fn card(n: u8) -> TabletCard {
    TabletCard {
        tablet: tablet(n),
        name: format!("Tablet {n}"),
        key: hex(&key(n)),
        box_key: None,
        was: None,
    }
}

pub fn person(name: &str, role: Role, key: Option<&SigningKey>) -> NewPerson {
    NewPerson {
        name: name.to_owned(),
        role,
        key: key.map(|key| PersonKey {
            key: hex(key),
            lock: "0".repeat(64),
        }),
        has_old_code: false,
        has_left: false,
    }
}

/// Mira's key; she founds the shop on tablet 1.
pub fn mira() -> SigningKey {
    key(101)
}

/// Somebody who writes: a tablet with what it knows of the others.
#[derive(Clone)]
pub struct Hand {
    pub n: u8,
    pub key: SigningKey,
    pub known: Files,
    pub shop: Option<Link>,
}

impl Hand {
    pub fn new(n: u8) -> Self {
        Self {
            n,
            key: key(n),
            known: Files::new(),
            shop: None,
        }
    }

    pub fn body(&self, at_ms: i64, by: Option<&str>, deed: Deed) -> Body {
        let own = self.known.get(&tablet(self.n)).cloned().unwrap_or_default();
        let seen = self.known.iter().filter(|(id, _)| **id != tablet(self.n));
        Body {
            format: LOG_FORMAT,
            shop: self.shop.map(|link| link.to_string()),
            tablet: tablet(self.n),
            n: own.len() as u64 + 1,
            before: own.last().map_or(Link::BEFORE_ALL, Line::link).to_string(),
            seen: seen
                .filter_map(|(id, lines)| {
                    let last = lines.last()?;
                    Some((*id, (last.body().n, last.link().to_string())))
                })
                .collect(),
            at_ms,
            by: by.map(str::to_owned),
            deed,
        }
    }

    /// Writes a line and gives its link.
    pub fn write(&mut self, at_ms: i64, by: Option<(&str, &SigningKey)>, deed: Deed) -> Link {
        let body = self.body(at_ms, by.map(|(name, _)| name), deed);
        let line = Line::close(body, by.map(|(_, key)| key), &self.key);
        let link = line.link();
        self.known.entry(tablet(self.n)).or_default().push(line);
        link
    }

    /// As the foreman Mira.
    pub fn as_mira(&mut self, at_ms: i64, deed: Deed) -> Link {
        self.write(at_ms, Some(("Mira", &mira())), deed)
    }

    /// Takes in what another knows.
    pub fn hear(&mut self, other: &Hand) {
        self.shop = self.shop.or(other.shop);
        for (id, lines) in &other.known {
            let mine = self.known.entry(*id).or_default();
            if lines.len() > mine.len() {
                mine.clone_from(lines);
            }
        }
    }

    pub fn shop(&self) -> Shop {
        Shop::of(self.shop.unwrap(), &self.known).unwrap()
    }
}

/// A shop that Mira founds on tablet 1, with tablet 2 admitted.
pub fn founded() -> (Hand, Hand) {
    let mut one = Hand::new(1);
    let link = one.as_mira(
        START_MS,
        Deed::Founded {
            tablet: card(1),
            foreman: person("Mira", Role::Foreman, Some(&mira())),
            tablets: Vec::new(),
            people: Vec::new(),
            is_taken_over: false,
        },
    );
    one.shop = Some(link);
    one.as_mira(START_MS + 1, Deed::TabletAdmitted { card: card(2) });
    let mut two = Hand::new(2);
    two.hear(&one);
    (one, two)
}

pub fn add(name: &str, role: Role, key: &SigningKey) -> Deed {
    Deed::PersonAdded {
        person: person(name, role, Some(key)),
    }
}
