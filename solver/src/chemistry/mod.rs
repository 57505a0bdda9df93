//! The chemistry of solutions.

pub mod concentrate;
