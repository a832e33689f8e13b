#![no_main]
//! Recorders' files of one format each: the seeds make the difference.
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzzed::tracks(bytes));
