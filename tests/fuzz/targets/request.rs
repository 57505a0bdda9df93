//! Bytes without end for the law of this name; see `laws.rs`.
#![no_main]

#[path = "../laws.rs"]
mod laws;

use libfuzzer_sys::fuzz_target;

// A panic of the engine is caught by the program; the hook that the fuzzer sets would end there.
fuzz_target!(
    init: drop(std::panic::take_hook()),
    |bytes: &[u8]| laws::request(bytes)
);
