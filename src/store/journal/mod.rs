//! The journal: what a grower read, did and mixed, kept so that a power cut loses nothing.
//!
//! In: entries.  Out: entries, or a fault that says what to do. Knows no chemistry and no face; the
//! clock is handed in.
//!
//! One SQLite file. It is written ahead (WAL) and synced in full before a write is acknowledged;
//! whoever writes takes the write lock first and waits for others. It only grows: an amendment or
//! an undo is a new revision (`schema.sql`). A file that is damaged, or that lies where nothing may
//! be written, is read from a copy.
//!
//! ```text
//! entry    what an entry says          open     make, open, check the file
//! moment   when, on the wall clock     write    add, amend, undo
//! csv      a table and back
//! trouble  SQLite's errors in words    read     entries, history, systems
//! diary    the journal as the page finds it
//! ```

pub mod csv;
pub mod entry;
pub mod moment;

mod diary;
mod open;
mod read;
mod trouble;
mod write;

pub use diary::Diary;
pub use entry::{
    Act, Batch, Content, Deed, Details, Done, Entry, Kind, Reading, Revision, Settings,
};
pub use moment::{Clock, Moment};
pub use read::{Damage, Kept};

use rusqlite::Connection;
use std::path::{Path, PathBuf};

/// Name of the file in a grower's folder.
pub const FILE: &str = "journal.db";

/// A journal that may be written to.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    db: Connection,
}

impl Journal {
    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }
}
