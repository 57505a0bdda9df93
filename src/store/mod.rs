//! What is kept on disk.

pub mod files;
pub mod folder;
pub mod journal;
