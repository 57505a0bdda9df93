//! SQLite's errors, in words that say what became of the entry and what to do.

use crate::store::files::fault;
use rusqlite::{Error, ErrorCode};
use saltwright_fertilizers::Fault;
use std::path::Path;

/// What to do about a damaged journal.
pub(super) const MENDS: &str = "Keep a copy of the file; \"journal export --out FILE\" saves what can be read, and \
             \"journal import FILE\" puts it into a new journal once this one is moved away.";

/// True for a file that is no sound journal any more.
pub(super) fn is_damage(error: &Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
    ) || matches!(
        error,
        Error::FromSqlConversionFailure(..) | Error::InvalidColumnType(..) | Error::Utf8Error(..)
    )
}

/// The fault of a journal that could not be used.
pub(super) fn told(path: &Path, error: &Error) -> Fault {
    if is_foreign(error) {
        return foreign(path);
    }
    if is_damage(error) {
        return damaged(path);
    }
    let (reason, mend) = match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => (
            "the disk is full; this was not noted, what was noted before is safe".to_owned(),
            "Make room and note it again.",
        ),
        Some(ErrorCode::SystemIoFailure) => (
            "the disk refused to take this; it was not noted, what was noted before is safe"
                .to_owned(),
            "Check that the disk has room and is sound, then note it again.",
        ),
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => (
            "this journal may be read but not written to; nothing was noted".to_owned(),
            "Check who may write to the file and its folder.",
        ),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => (
            "another program has been writing to this journal for too long; nothing was noted"
                .to_owned(),
            "Wait until it is done, then note it again.",
        ),
        _ => (
            format!("this journal cannot be used ({error})"),
            "Keep a copy of the file before anything else.",
        ),
    };
    fault(path, reason, mend)
}

/// True for a file that does not even begin like one of SQLite's.
pub(super) fn is_foreign(error: &Error) -> bool {
    error.sqlite_error_code() == Some(ErrorCode::NotADatabase)
}

/// The fault of a file that is no journal.
pub(super) fn foreign(path: &Path) -> Fault {
    fault(
        path,
        "this file is no journal, or its beginning is lost",
        "Keep a copy of it and move it away, or name another folder with --folder.",
    )
}

/// The fault of a damaged journal that was to be written to.
pub(super) fn damaged(path: &Path) -> Fault {
    fault(
        path,
        "this journal is damaged; nothing was written to it",
        MENDS,
    )
}
