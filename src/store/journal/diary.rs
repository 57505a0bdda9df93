//! The journal as the page finds it: where it lies, who may write to it, what time it is.
//!
//! In: a grower's folder.  Out: what stands in its journal, and a journal to write to. The page
//! itself names neither file nor clock.

use super::{Clock, Journal, Kept};
use crate::store::files::read_text;
use crate::store::folder::Folder;
use saltwright_fertilizers::Fault;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A journal that a page shows.
#[derive(Clone, Debug)]
pub struct Diary {
    folder: Folder,
    writable: bool,
    clock: fn() -> Clock,
    turn: Arc<Mutex<()>>,
}

impl Diary {
    /// The journal of a folder; `writable` says whether visitors of the page may write to it.
    pub fn new(folder: Folder, writable: bool, clock: fn() -> Clock) -> Self {
        Self {
            folder,
            writable,
            clock,
            turn: Arc::default(),
        }
    }

    /// Waits until no other visitor of the page writes; while it is held, what was read stays true
    /// for the page.
    pub fn turn(&self) -> MutexGuard<'_, ()> {
        self.turn.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// True where there is a journal, or a folder of the grower's own in which one may begin.
    pub fn is_laid_out(&self) -> bool {
        self.folder.is_own() || self.folder.journal().exists()
    }

    /// True where visitors of the page may write.
    pub const fn is_writable(&self) -> bool {
        self.writable
    }

    /// What time it is.
    pub fn clock(&self) -> Clock {
        (self.clock)()
    }

    /// What stands in it.
    pub fn read(&self) -> Result<Kept, Fault> {
        Kept::read(&self.folder.journal())
    }

    /// The journal, to write to; begun where there is none.
    pub fn write(&self) -> Result<Journal, Fault> {
        Journal::open_or_begin(&self.folder.journal()).map(|(journal, _)| journal)
    }

    /// The text of a file that the journal names, where it can be read.
    pub fn named(&self, file: &str) -> Option<String> {
        read_text(Path::new(file)).ok()
    }
}
