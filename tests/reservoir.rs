//! The reservoir: corrections followed step by step, published dilutions.
//!
//! `cargo test reservoir -- --nocapture` prints every figure.

mod correct;
mod dilution;
mod follow;
mod meter;
mod portions;
mod refill;
mod sure;
