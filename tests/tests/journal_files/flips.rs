//! Every single bit of a journal of fifty lines, turned over.

use std::fs;

use trayzero_core::journal::{JournalError, Limits, Mark, Reader, Writer, read_journal};

use trayzero_tests::figures::say;

use crate::support::{JOB, Shop, TABLET, line_starts};

/// Turns over the bits of every `stride`-th byte from `first` on and counts them.
fn flip_bits(shop: &Shop, whole: &[u8], first: usize, stride: usize) -> usize {
    let starts = line_starts(whole);
    let journal = shop.journal();
    let mut bytes = whole.to_vec();
    let mut flips = 0;
    for at in (first..whole.len()).step_by(stride) {
        let line = starts.iter().filter(|start| **start <= at).count();
        for bit in 0..8 {
            bytes[at] ^= 1 << bit;
            let reader = Reader::new(
                bytes.as_slice(),
                &journal,
                JOB,
                TABLET,
                Limits::OWN,
                Mark::START,
            );
            let mut good = Vec::new();
            let end = reader.for_each(|entry, _, _| good.push(entry));
            let fault = end
                .fault
                .unwrap_or_else(|| panic!("byte {at}, bit {bit}: unseen"));
            assert_eq!(fault.line, line as u64, "byte {at}, bit {bit}: {fault}");
            let known = line.saturating_sub(2);
            assert_eq!(good.len(), known, "byte {at}, bit {bit}");
            assert!(good == shop.entries[..known], "byte {at}, bit {bit}");
            bytes[at] ^= 1 << bit;
            flips += 1;
        }
    }
    flips
}

#[test]
fn every_single_bit_flipped_is_seen_and_its_line_named() {
    let shop = Shop::with(49);
    let whole = shop.bytes();
    let flips: usize = std::thread::scope(|scope| {
        let halves = [0, 1].map(|first| {
            let (shop, whole) = (&shop, &whole);
            scope.spawn(move || flip_bits(shop, whole, first, 2))
        });
        halves.map(|half| half.join().unwrap()).iter().sum()
    });
    assert_eq!(flips, 8 * whole.len());
    say("bits flipped", flips as u64);
}

/// The same on the file itself: it opens read only, with the lines before the fault, and
/// opening it for writing changes nothing.
#[test]
fn a_flipped_file_is_read_up_to_the_flip_and_never_written() {
    let shop = Shop::with(49);
    let whole = shop.bytes();
    let starts = line_starts(&whole);
    let mut tried = 0;
    for at in (0..whole.len()).step_by(61).chain([whole.len() - 1]) {
        let mut bytes = whole.clone();
        bytes[at] ^= 1 << (at % 8);
        shop.put(&bytes);
        let line = starts.iter().filter(|start| **start <= at).count();
        let read = read_journal(&shop.journal(), JOB, TABLET, Limits::OWN).unwrap();
        assert_eq!(read.entries, shop.entries[..line.saturating_sub(2)]);
        assert!(read.is_writable().is_err());
        let error = Writer::open(shop.path(), JOB, TABLET).unwrap_err();
        let JournalError::Faulty(fault) = &error else {
            panic!("byte {at}: {error}");
        };
        assert_eq!((fault.line, &fault.file), (line as u64, &shop.journal()));
        assert!(
            error.to_string().contains(&format!("line {line}")),
            "{error}"
        );
        assert_eq!(fs::read(shop.journal()).unwrap(), bytes, "left as it is");
        tried += 1;
    }
    println!("flipped files opened: {tried}");
}
