//! What is kept on disk.

pub mod files;
