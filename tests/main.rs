//! Tests of the whole program: published cases, commands, the error gallery, the README.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod api;
mod cli;
mod common;
mod contract;
mod errors;
mod page;
mod published;
mod readme;
mod server;
mod sheet;
mod traps;
