//! The faces of saltwright: command line, sheets, files. They build requests and show reports;
//! they compute nothing.

pub mod cli;
pub mod store;
pub mod view;
