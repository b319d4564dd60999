//! A pen: writes the files of a shop as text, with hashes and signatures of its own, and
//! shares nothing with the program that judges them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use ed25519_dalek::{Signer, SigningKey};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use uuid::Uuid;

pub fn key(n: u8) -> SigningKey {
    SigningKey::from_bytes(&[n; 32])
}

pub fn hex(bytes: &[u8]) -> String {
    let digits: Vec<String> = bytes.iter().map(|b| format!("{b:02x}")).collect();
    digits.concat()
}

pub fn public(key: &SigningKey) -> String {
    hex(&key.verifying_key().to_bytes())
}

fn hash(parts: &[&[u8]]) -> [u8; 32] {
    Sha256::digest(parts.concat()).into()
}

/// The secret key of a tablet, out of its data folder.
pub fn key_of(root: &Path) -> SigningKey {
    let text = fs::read_to_string(root.join("tablet.key")).unwrap();
    let text = text.trim();
    let bytes = (0..32).map(|at| u8::from_str_radix(&text[2 * at..2 * at + 2], 16).unwrap());
    let bytes: Vec<u8> = bytes.collect();
    SigningKey::from_bytes(&bytes.try_into().unwrap())
}

/// `2026-11-30T…`: the days since 1970 as a date (Howard Hinnant, `civil_from_days`; from
/// memory), for times of a clock in Greenwich.
fn moment(at_ms: i64) -> String {
    let (days, ms) = (
        at_ms.div_euclid(86_400_000) + 719_468,
        at_ms.rem_euclid(86_400_000),
    );
    let (era, of_era) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let of_400 = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * of_400 + of_400 / 4 - of_400 / 100);
    let from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * from_march + 2) / 5 + 1;
    let month = (from_march + 2) % 12 + 1;
    let year = of_400 + era * 400 + i64::from(month <= 2);
    let (hour, min, sec) = (ms / 3_600_000, ms / 60_000 % 60, ms / 1_000 % 60);
    let ms = ms % 1_000;
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{min:02}:{sec:02}.{ms:03}+00:00")
}

/// A tablet's journal of a job, as text.
#[derive(Clone)]
pub struct Journal {
    pub job: Uuid,
    pub tablet: Uuid,
    pub text: String,
    link: [u8; 32],
    n: u64,
    pub clock_ms: i64,
}

impl Journal {
    pub fn new(job: Uuid, tablet: Uuid, clock_ms: i64) -> Self {
        let mut journal = Self {
            job,
            tablet,
            text: String::new(),
            link: [0; 32],
            n: 0,
            clock_ms,
        };
        journal.close(&format!(
            r#"{{"format":1,"job":"{job}","tablet":"{tablet}""#
        ));
        journal
    }

    /// Goes on after lines that lie there.
    pub fn read(path: &Path, job: Uuid, tablet: Uuid) -> Self {
        let text = fs::read_to_string(path).unwrap();
        let last: Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
        let link = last["link"].as_str().unwrap();
        let bytes = (0..32).map(|at| u8::from_str_radix(&link[2 * at..2 * at + 2], 16).unwrap());
        Self {
            job,
            tablet,
            link: bytes.collect::<Vec<u8>>().try_into().unwrap(),
            n: last["n"].as_u64().unwrap_or(0),
            clock_ms: last["clock"][0].as_i64().unwrap_or(0),
            text,
        }
    }

    fn close(&mut self, body: &str) {
        self.link = hash(&[&self.link, body.as_bytes()]);
        let link = hex(&self.link);
        self.text.extend([body, ",\"link\":\"", &link, "\"}\n"]);
    }

    /// A line with this identity, a second after the one before.
    pub fn line(&mut self, id: Uuid, who: &str, event: &Value) {
        self.clock_ms += 1_000;
        self.n += 1;
        let (n, clock_ms, at) = (self.n, self.clock_ms, moment(self.clock_ms));
        let who = Value::from(who);
        self.close(&format!(
            r#"{{"n":{n},"id":"{id}","at":"{at}","clock":[{clock_ms},0],"who":{who},"event":{event}"#
        ));
    }

    /// A line that seals all before it.
    pub fn sealed(&mut self, key: &SigningKey) {
        let seal = json!({"sealed": {"key": public(key),
            "signature": hex(&key.sign(&self.link).to_bytes())}});
        self.line(Uuid::now_v7(), "-", &seal);
    }

    /// The seal beside it, up to its end.
    pub fn seal(&self, key: &SigningKey) -> String {
        let signature = hex(&key.sign(&self.link).to_bytes());
        let (job, tablet, bytes) = (self.job, self.tablet, self.text.len());
        let (end, key) = (hex(&self.link), public(key));
        format!(
            "{{\"format\":1,\"job\":\"{job}\",\"tablet\":\"{tablet}\",\"bytes\":{bytes},\
             \"end\":\"{end}\",\"key\":\"{key}\",\"signature\":\"{signature}\"}}\n"
        )
    }

    /// Where it ends, as a line of the log names it.
    pub fn place_text(&self) -> String {
        let (job, bytes, link) = (self.job, self.text.len(), hex(&self.link));
        format!("{{\"job\":\"{job}\",\"bytes\":{bytes},\"link\":\"{link}\"}}")
    }

    /// Puts it, and the seal beside it, into a shop folder.
    pub fn put(&self, folder: &Path, key: &SigningKey) {
        let path = folder.join(format!("jobs/{}/{}.jsonl", self.job, self.tablet));
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, &self.text).unwrap();
        fs::write(path.with_extension("seal"), self.seal(key)).unwrap();
    }
}

pub fn sign_off(person: &str) -> Value {
    json!({"person": person, "entering": Uuid::now_v7()})
}

/// Puts a person's own signature on an event, by whatever key.
pub fn prove(job: Uuid, tablet: Uuid, event: &mut Value, person: &str, key: &SigningKey) {
    let mut bare = event.clone();
    each_sign_off(&mut bare, &mut |sign| drop(sign.remove("proof")));
    let signed = json!({"job": job, "tablet": tablet, "person": person, "event": bare});
    let link = hash(&[b"trayzero signature 1\n", sorted(&signed).as_bytes()]);
    let proof = hex(&key.sign(&link).to_bytes());
    each_sign_off(event, &mut |sign| {
        if sign["person"] == person {
            sign.insert("proof".into(), proof.clone().into());
        }
    });
}

pub fn each_sign_off(
    value: &mut Value,
    change: &mut dyn FnMut(&mut serde_json::Map<String, Value>),
) {
    match value {
        Value::Object(fields) => {
            if fields.contains_key("entering") {
                change(fields);
            }
            fields
                .values_mut()
                .for_each(|field| each_sign_off(field, change));
        }
        Value::Array(all) => all.iter_mut().for_each(|one| each_sign_off(one, change)),
        _ => {}
    }
}

/// JSON with the fields of every object by name.
fn sorted(value: &Value) -> String {
    match value {
        Value::Object(fields) => {
            let fields: BTreeMap<&String, &Value> = fields.iter().collect();
            let fields = fields
                .iter()
                .map(|(name, value)| format!("{}:{}", Value::from(name.as_str()), sorted(value)));
            format!("{{{}}}", fields.collect::<Vec<_>>().join(","))
        }
        Value::Array(all) => {
            let all: Vec<String> = all.iter().map(sorted).collect();
            format!("[{}]", all.join(","))
        }
        plain => plain.to_string(),
    }
}

/// A small file sealed for a purpose: what it holds is spelled by hand, in one line.
pub fn sealed(purpose: &str, payload: &str, key: &SigningKey) -> String {
    let link = hash(&[purpose.as_bytes(), b"\n", payload.as_bytes()]);
    let (signature, key) = (hex(&key.sign(&link).to_bytes()), public(key));
    format!(
        "{{\"payload\":{payload},\"seal\":{{\"key\":\"{key}\",\"signature\":\"{signature}\"}}}}\n"
    )
}

/// A tablet's part of the shop log, as text.
#[derive(Clone)]
pub struct Log {
    pub tablet: Uuid,
    pub key: SigningKey,
    pub shop: Option<String>,
    pub lines: Vec<String>,
    pub seen: String,
    before: String,
}

impl Log {
    pub fn new(tablet: Uuid, key: SigningKey, shop: Option<String>) -> Self {
        Self {
            tablet,
            key,
            shop,
            lines: Vec::new(),
            seen: "{}".into(),
            before: "0".repeat(64),
        }
    }

    /// A line of this tablet, with the signature of a person who answers for it. The deed is
    /// spelled by hand: a line is read in one spelling alone.
    pub fn line(&mut self, at_ms: i64, deed: &str, by: Option<(&str, &SigningKey)>) {
        let shop = self.shop.as_ref();
        let shop = shop.map_or(String::new(), |key| format!("\"shop\":\"{key}\","));
        let named = by.map_or(String::new(), |(name, _)| format!("\"by\":\"{name}\","));
        let (tablet, n, before, seen) =
            (self.tablet, self.lines.len() + 1, &self.before, &self.seen);
        let body = format!(
            "{{\"format\":1,{shop}\"tablet\":\"{tablet}\",\"n\":{n},\"before\":\"{before}\",\
             \"seen\":{seen},\"at_ms\":{at_ms},{named}\"deed\":{deed}}}"
        );
        let link = hash(&[b"trayzero shop log 1\n", body.as_bytes()]);
        let signed = |key: &SigningKey| {
            let signature = hex(&key.sign(&link).to_bytes());
            format!(
                "{{\"key\":\"{}\",\"signature\":\"{signature}\"}}",
                public(key)
            )
        };
        let person = by.map_or(String::new(), |(_, key)| {
            format!("\"person\":{},", signed(key))
        });
        let seal = signed(&self.key);
        self.lines
            .push(format!("{{\"body\":{body},{person}\"seal\":{seal}}}\n"));
        self.before = hex(&link);
        if self.shop.is_none() {
            self.shop = Some(self.before.clone());
        }
    }

    /// Says that it has seen all of another tablet's lines.
    pub fn has_seen(&mut self, other: &Log) {
        let (tablet, n, link) = (other.tablet, other.lines.len(), &other.before);
        self.seen = format!("{{\"{tablet}\":[{n},\"{link}\"]}}");
    }

    pub fn put(&self, folder: &Path) {
        let path = folder.join(format!("log/{}.jsonl", self.tablet));
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, self.lines.concat()).unwrap();
    }
}

pub fn card(tablet: Uuid, key: &SigningKey) -> String {
    let key = public(key);
    format!("{{\"tablet\":\"{tablet}\",\"name\":\"T\",\"key\":\"{key}\"}}")
}

pub fn person(name: &str, role: &str, key: &SigningKey) -> String {
    let (key, lock) = (public(key), "0".repeat(64));
    format!(
        "{{\"name\":\"{name}\",\"role\":\"{role}\",\"key\":{{\"key\":\"{key}\",\"lock\":\"{lock}\"}}}}"
    )
}
