//! The chemistry against published measurements, a geochemical code and its own laws.
//!
//! Where each file and figure comes from: `tests/data/chemistry/SOURCES.md`. How far off we are:
//! `cargo test --release chemistry -- --nocapture`, and DEVELOPERS.md.

mod accuracy;
mod constants;
mod laws;
mod published;
mod random;
mod reference;
mod tables;
