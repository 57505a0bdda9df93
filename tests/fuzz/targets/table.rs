//! Bytes without end for the law of this name; see `laws.rs`.
#![no_main]

#[path = "../laws.rs"]
mod laws;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| laws::table(bytes));
