//! A thousand altered records: each attachment, each kind of change, in an order of dice. What
//! was changed has to be found and named.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::PathBuf;
use std::time::Instant;

use ed25519_dalek::{Signer, SigningKey};
use flate2::Compression;
use flate2::write::ZlibEncoder;
use serde_json::Value;
use sha2::{Digest, Sha256};
use trayzero_tests::dice::Dice;
use trayzero_tests::figures::say;
use trayzero_tests::pdf_pen::{refilled, written};

use super::attached::failing;
use super::depot::{Files, depot, run, taken_out, verified};

const LIST: &str = "SHA256SUMS";
const SIGNATURE: &str = "SHA256SUMS.sig";
const SIGNER: &str = "signer.pem";

/// What is done to an attachment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Change {
    BitFlipped,
    LineDropped,
    Appended,
    Swapped,
    OfAnotherJob,
    Truncated,
    Dropped,
    Added,
    Twice,
    /// The change is on the list too, as it would have to be; the signature is the old one.
    ListMended,
    /// The same, and somebody else's tablet signs the list.
    OtherSigner,
    /// The same, and the tablet itself signs: whoever holds it.
    OwnSigner,
}

const CHANGES: [Change; 12] = [
    Change::BitFlipped,
    Change::LineDropped,
    Change::Appended,
    Change::Swapped,
    Change::OfAnotherJob,
    Change::Truncated,
    Change::Dropped,
    Change::Added,
    Change::Twice,
    Change::ListMended,
    Change::OtherSigner,
    Change::OwnSigner,
];

fn lines(bytes: &[u8]) -> Vec<Vec<u8>> {
    let lines = bytes.split_inclusive(|b| *b == b'\n');
    lines.map(<[u8]>::to_vec).collect()
}

/// The file with one bit, line or piece of it changed.
fn changed(change: Change, bytes: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut all = bytes.to_vec();
    match change {
        Change::LineDropped => {
            let mut lines = lines(bytes);
            lines.remove(dice.below(lines.len()));
            lines.concat()
        }
        Change::Appended => {
            let copied = dice.below(bytes.len());
            all.extend_from_slice(&bytes[copied..]);
            all
        }
        Change::Swapped => {
            let (a, b) = (dice.below(all.len()), dice.below(all.len()));
            all.swap(a, b);
            all
        }
        Change::Truncated => {
            all.truncate(dice.below(bytes.len()));
            all
        }
        _ => {
            all[dice.below(bytes.len())] ^= 1 << dice.below(8);
            all
        }
    }
}

/// A list of the files, written by the test's own hand.
fn list_of(files: &Files) -> Vec<u8> {
    let mut list = String::new();
    for (name, bytes) in files {
        if name != LIST && name != SIGNATURE {
            let hash = Sha256::digest(bytes);
            for byte in hash {
                write!(list, "{byte:02x}").unwrap();
            }
            writeln!(list, "  {name}").unwrap();
        }
    }
    list.into_bytes()
}

/// PEM of an Ed25519 key (RFC 8410), made by openssl's own writer of base64.
fn pem_of(key: &SigningKey) -> Vec<u8> {
    let kind = [
        0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00,
    ];
    let bytes = [kind.as_slice(), key.verifying_key().as_bytes()].concat();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("key.der");
    fs::write(&path, bytes).unwrap();
    let made = std::process::Command::new("openssl")
        .args(["pkey", "-pubin", "-inform", "DER", "-in"])
        .arg(&path)
        .output()
        .unwrap();
    assert!(made.status.success(), "{made:?}");
    made.stdout
}

fn sign(files: &mut Files, key: &SigningKey) {
    let signature = key.sign(&files[LIST]).to_bytes();
    files.insert(SIGNATURE.to_owned(), signature.to_vec());
}

struct Bench {
    pdf: Vec<u8>,
    files: Files,
    /// What another job's record has of each kind.
    others: Files,
    own: SigningKey,
    stranger: SigningKey,
    stranger_pem: Vec<u8>,
}

impl Bench {
    /// An altered record; `None` where the change leaves the file as it was.
    fn altered(&self, name: &str, change: Change, dice: &mut Dice) -> Option<Vec<u8>> {
        let mut files = self.files.clone();
        let before = &self.files[name];
        let mut more = None;
        match change {
            Change::Dropped => drop(files.remove(name)),
            Change::Added => {
                files.insert(format!("x{}-{name}", dice.below(1_000)), before.clone());
            }
            Change::Twice => {
                more = Some((name.to_owned(), changed(Change::BitFlipped, before, dice)));
            }
            Change::OfAnotherJob => {
                let other = self.others.get(name).or_else(|| {
                    let ending = name.rsplit('.').next();
                    let kind = |other: &&String| {
                        other[..4] == name[..4] && other.rsplit('.').next() == ending
                    };
                    let found = self.others.keys().find(kind)?;
                    self.others.get(found)
                });
                files.insert(name.to_owned(), other?.clone());
            }
            change => {
                let kinds = [Change::BitFlipped, Change::Swapped, Change::LineDropped];
                // A log without its last lines is an older one, and holds.
                let is_log = change == Change::OwnSigner && name.starts_with("log-");
                let kinds = if is_log { &kinds[..2] } else { &kinds };
                let how = match change {
                    Change::ListMended | Change::OtherSigner | Change::OwnSigner => {
                        dice.one_of(kinds)
                    }
                    change => change,
                };
                files.insert(name.to_owned(), changed(how, before, dice));
            }
        }
        if matches!(
            change,
            Change::ListMended | Change::OtherSigner | Change::OwnSigner
        ) {
            if change == Change::OtherSigner {
                files.insert(SIGNER.to_owned(), self.stranger_pem.clone());
            }
            files.insert(LIST.to_owned(), list_of(&files));
            match change {
                Change::OtherSigner => sign(&mut files, &self.stranger),
                Change::OwnSigner => sign(&mut files, &self.own),
                _ => {}
            }
        }
        if files == self.files && more.is_none() {
            return None;
        }
        let mut files: Vec<(String, Vec<u8>)> = files.into_iter().collect();
        files.extend(more);
        files.sort();
        Some(refilled(&self.pdf, &files))
    }
}

/// Whether the answer names what was changed.
fn is_named(answer: &Value, name: &str, change: Change) -> bool {
    let failing = failing(answer);
    let names = |wanted: &str| {
        let mut lines = failing.iter();
        lines.any(|line| {
            let told = line["attachment"].as_str().unwrap_or_default();
            told == wanted || (wanted == name && told.ends_with(&format!("-{name}")))
        })
    };
    match change {
        // The list itself is what is wrong then.
        Change::ListMended => names(SIGNATURE) || (name == SIGNER && names(SIGNER)),
        Change::OtherSigner => names(SIGNER) || (name == "made.json" && names(name)),
        // A changed list or signature shows as the one or the other.
        _ if name == LIST || name == SIGNATURE => names(LIST) || names(SIGNATURE),
        _ => names(name),
    }
}

fn bench() -> Bench {
    let depot = depot();
    // The finished job, with everything that can go along.
    let files = |at: &usize| std::cmp::Reverse(taken_out(&depot.records[*at]).len());
    let mut order: Vec<usize> = (0..depot.records.len()).collect();
    order.sort_by_key(files);
    let stranger = SigningKey::from_bytes(&[7; 32]);
    Bench {
        pdf: depot.record(order[0]),
        files: taken_out(&depot.records[order[0]]),
        others: taken_out(&depot.records[order[1]]),
        own: SigningKey::from_bytes(&depot.tablet_key()),
        stranger_pem: pem_of(&stranger),
        stranger,
    }
}

#[test]
fn a_thousand_altered_records_are_found_and_named() {
    let bench = bench();
    let folder = tempfile::tempdir().unwrap();
    let path: PathBuf = folder.path().join("record.pdf");
    // The pen itself changes nothing: the same files hold, and it is said that it was there.
    let same: Vec<(String, Vec<u8>)> = bench.files.clone().into_iter().collect();
    fs::write(&path, refilled(&bench.pdf, &same)).unwrap();
    let (code, answer) = verified(&path, &[]);
    assert_eq!(code, 0, "{answer:#}");
    assert!(
        answer.to_string().contains("saved anew by another program"),
        "{answer:#}"
    );
    let names: Vec<&String> = bench.files.keys().collect();
    let mut tried: BTreeMap<(Change, &str), usize> = BTreeMap::new();
    let (mut all, mut slowest) = (0_u64, 0.0_f64);
    for seed in 0.. {
        if all == 1_000 {
            break;
        }
        let mut dice = Dice::new(seed);
        let at = seed as usize;
        let (name, change) = (
            names[at % names.len()],
            CHANGES[at / names.len() % CHANGES.len()],
        );
        // Whoever holds the tablet and its key says himself how the record was made, and signs
        // another list as he likes.
        let by_owner = [LIST, SIGNATURE, SIGNER, "made.json"].contains(&name.as_str());
        let is_beside = [LIST, SIGNATURE].contains(&name.as_str());
        if (change == Change::OwnSigner && by_owner) || (change == Change::ListMended && is_beside)
        {
            continue;
        }
        let Some(pdf) = bench.altered(name, change, &mut dice) else {
            continue;
        };
        fs::write(&path, pdf).unwrap();
        let start = Instant::now();
        let (code, answer) = verified(&path, &[]);
        slowest = slowest.max(start.elapsed().as_secs_f64());
        assert_eq!(code, 1, "seed {seed}, {name}, {change:?}: {answer:#}");
        assert!(
            is_named(&answer, name, change),
            "seed {seed}, {name}, {change:?}: {answer:#}"
        );
        all += 1;
        *tried.entry((change, name)).or_default() += 1;
    }
    println!(
        "altered records: {all}, of {} kinds; the slowest answer took {slowest:.2} s",
        tried.len()
    );
    assert!(tried.len() > 80, "{tried:?}");
    say("altered records found and named", all);
}

/// Bytes of the file itself: whatever is flipped there, nothing falls over, and no answer
/// takes long.
#[test]
fn a_file_with_any_bytes_flipped_gets_an_answer() {
    let bench = bench();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.pdf");
    let mut codes = BTreeMap::new();
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let mut pdf = bench.pdf.clone();
        for _ in 0..=dice.below(3) {
            let at = match dice.below(3) {
                // The tables at the end and what lies around them.
                0 => pdf.len() - 1 - dice.below(4_000.min(pdf.len())),
                _ => dice.below(pdf.len()),
            };
            pdf[at] ^= 1 << dice.below(8);
        }
        fs::write(&path, pdf).unwrap();
        let (code, said) = run(&["verify", path.to_str().unwrap()]);
        assert!(code <= 2 && !said.is_empty(), "seed {seed}: {said}");
        *codes.entry(code).or_insert(0) += 1;
    }
    println!("exit codes of flipped files: {codes:?}");
    assert!(
        codes.contains_key(&1) && codes.contains_key(&2),
        "{codes:?}"
    );
}

#[test]
fn a_record_of_the_version_before_is_said_to_be_one() {
    let bench = bench();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.pdf");
    fs::write(&path, refilled(&bench.pdf, &[])).unwrap();
    let (code, answer) = verified(&path, &[]);
    assert_eq!(code, 1);
    let words = answer["lines"][0]["words"].as_str().unwrap();
    assert!(
        words.contains("a version before this one made it"),
        "{words}"
    );
}

/// A record that another version has printed, with a field that it did not tell yet: all else
/// is checked, and it is said what was not. A changed figure is found all the same.
#[test]
fn a_record_of_another_version_is_checked_as_far_as_it_goes() {
    let bench = bench();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.pdf");
    let answer = |from: &str, to: &str| {
        let mut files = bench.files.clone();
        for (name, from, to) in [
            (
                "made.json",
                concat!("\"program\":\"", env!("CARGO_PKG_VERSION")),
                "\"program\":\"0.0.9",
            ),
            ("record.json", "\"conflicts\":[],", ""),
            ("record.json", from, to),
        ] {
            let text = String::from_utf8(files[name].clone()).unwrap();
            assert!(text.contains(from), "{name}: {from}");
            files.insert(name.to_owned(), text.replacen(from, to, 1).into_bytes());
        }
        files.insert(LIST.to_owned(), list_of(&files));
        sign(&mut files, &bench.own);
        let files: Vec<(String, Vec<u8>)> = files.into_iter().collect();
        fs::write(&path, refilled(&bench.pdf, &files)).unwrap();
        verified(&path, &[])
    };
    let (code, said) = answer("\"format\":1", "\"format\":1");
    assert_eq!(code, 0, "{said:#}");
    let lines = said["lines"].as_array().unwrap();
    let not_compared = lines
        .iter()
        .filter(|line| line["about"] == "pages" && line["verdict"] == "not_known");
    assert_eq!(not_compared.count(), 1, "{said:#}");
    let (code, said) = answer("\"finished\":true", "\"finished\":false");
    assert_eq!(code, 1, "{said:#}");
    assert!(
        is_named(&said, "record.json", Change::BitFlipped),
        "{said:#}"
    );
}

/// Files that open to far more than they are: each is sent back at once, and takes no more
/// memory than the largest record may.
#[test]
fn what_opens_to_more_than_any_record_is_sent_back_in_bounds() {
    let bench = bench();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.pdf");
    // A gigabyte of blanks in a megabyte.
    let mut packed = ZlibEncoder::new(Vec::new(), Compression::best());
    let blanks = vec![b' '; 1 << 20];
    for _ in 0..1_024 {
        packed.write_all(&blanks).unwrap();
    }
    let packed = packed.finish().unwrap();
    assert!(packed.len() < 2 << 20);
    let files = vec![("bomb.bin".to_owned(), packed)];
    let mut bomb = refilled(&bench.pdf, &files);
    let plain = b"/Type/EmbeddedFile/Params<<>>";
    let at = bomb.windows(plain.len()).rposition(|w| w == plain).unwrap();
    // As long as what it stands for, so that the table of objects still holds.
    bomb[at..at + plain.len()].copy_from_slice(b"/Filter/FlateDecode          ");
    let blank: Vec<Vec<u8>> = [
        "<</Type/Pages/Kids[]>>",
        "<</Type/Catalog/Pages 1 0 R/Names 3 0 R>>",
    ]
    .iter()
    .zip(1..)
    .map(|(text, n)| format!("{n} 0 obj\n{text}\nendobj\n").into_bytes())
    .collect();
    // An object of millions of others, and one that is asked for again and again.
    let wide = [
        b"3 0 obj\n<</EmbeddedFiles<</Names[".as_slice(),
        &b"0 ".repeat(30 << 20),
        b"]>>>>\nendobj\n",
    ];
    let wide = written(&[&blank[..], &[wide.concat()]].concat(), 2);
    let pairs = b"(x)4 0 R".repeat(4_900);
    let names = [
        b"3 0 obj\n<</EmbeddedFiles<</Names[".as_slice(),
        &pairs,
        b"]>>>>\nendobj\n",
    ];
    let long = [
        b"4 0 obj\n<</F(x)/X[".as_slice(),
        &b"0 ".repeat(1 << 20),
        b"]/EF<</F 5 0 R>>>>\nendobj\n",
    ];
    let again = written(
        &[
            &blank[..],
            &[
                names.concat(),
                long.concat(),
                b"5 0 obj\n<</Length 0>>\nstream\n\nendstream\nendobj\n".to_vec(),
            ],
        ]
        .concat(),
        2,
    );
    for (name, pdf) in [("packed", bomb), ("wide", wide), ("again", again)] {
        fs::write(&path, pdf).unwrap();
        let start = Instant::now();
        let (code, said) = run(&["verify", path.to_str().unwrap()]);
        assert!(code == 1 || code == 2, "{name}: {said}");
        println!("{name}: {code} after {:?}: {said}", start.elapsed());
        assert!(start.elapsed().as_secs() < 60, "{name}");
    }
}
