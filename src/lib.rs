//! The faces of saltwright: command line, page, sheets, files. They build requests and show
//! reports; they compute nothing.

pub mod cli;
pub mod serve;
pub mod store;
pub mod view;
pub mod web;
