//! The reservoir: what its meters show, what to do about it, what the plants took.
//!
//! ```text
//! reading + water + stocks -> Liquid (what a litre holds) -> steps -> what the meters then show
//! ```
//!
//! The tank is taken to stand in air: what it holds of carbonate follows from its pH and the air.
//! What is poured in keeps its own carbon until the next wait; then the air has had its say again.

pub mod correct;
pub mod meter;
pub mod reading;
pub mod refill;

mod assume;
mod liquid;
pub mod supply;
pub mod time;

pub use correct::{CorrectReport, CorrectRequest, correct};
pub use meter::{MeterReport, MeterRequest, meter};
pub use refill::{RefillReport, RefillRequest, refill};
