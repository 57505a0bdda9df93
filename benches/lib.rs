//! Benches only.
