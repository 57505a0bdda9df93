//! Tests of the whole program: published cases, commands, the error gallery, the README.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod cli;
mod common;
mod contract;
mod errors;
mod page;
mod published;
mod readme;
mod sheet;
mod traps;
