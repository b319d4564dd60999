#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| trayzero_tests::fuzz::picture::check(bytes));
