//! The page in a real browser: by typing and clicking, by keyboard alone, without script, on paper,
//! on a phone, for everyone.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod daily;
mod driver;
mod everyone;
mod job;
mod journal;
mod paper;
