//! Tests of the whole program: published cases, commands, the error gallery, the README.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod api;
mod batch;
mod chemistry;
mod cli;
mod common;
mod contract;
mod errors;
mod folder;
mod fuzz;
mod help;
mod journal;
mod label;
mod page;
mod published;
mod purchase;
mod readings;
mod readme;
mod reservoir;
mod searches;
mod server;
mod sheet;
mod spread;
mod stock;
mod substitute;
mod traps;
mod water;
