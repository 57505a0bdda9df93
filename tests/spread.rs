//! Ranges of figures: against random draws, and in the words of the report.

mod draws;
mod label;
mod laws;
mod plain;
mod refused;
mod sure;
mod water;
