//! Making, opening and checking the file.

use super::{Journal, trouble};
use crate::store::files::{fault, unread, unwritten};
use rusqlite::{Connection, OpenFlags};
use saltwright_fertilizers::Fault;
use std::fs;
use std::io::ErrorKind;
use std::path::Path;
use std::time::Duration;

/// Tables, and the rule that nothing is changed.
const SCHEMA: &str = include_str!("schema.sql");
/// Tells a journal from other SQLite files: "Salt" in ASCII.
const APPLICATION: i32 = i32::from_be_bytes(*b"Salt");
/// Version of the schema.
const VERSION: i32 = 1;
/// How long another process may keep the file before we give up.
const PATIENCE: Duration = Duration::from_secs(10);

impl Journal {
    /// Opens the journal at a path, or begins it where there is none; true where it was begun.
    pub fn open_or_begin(path: &Path) -> Result<(Self, bool), Fault> {
        let begun = match path.try_exists() {
            Ok(true) => false,
            Ok(false) => begin(path)?,
            Err(error) => return Err(unread(path, &error)),
        };
        Ok((Self::open(path)?, begun))
    }

    /// Opens a journal to write to it. A damaged one is refused, so that nothing makes it worse.
    pub fn open(path: &Path) -> Result<Self, Fault> {
        check_place(path)?;
        let told = |error: rusqlite::Error| trouble::told(path, &error);
        let db = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(told)?;
        // Not a byte of a file is touched before it is known to be a sound journal.
        check_kind(path, &db)?;
        if !is_sound(&db).map_err(told)? {
            return Err(trouble::damaged(path));
        }
        pragmas(&db).map_err(told)?;
        let path = path.to_owned();
        Ok(Self { path, db })
    }
}

impl Journal {
    /// How writes are promised: the kind of log, and SQLite's degree of syncing (2 is full).
    pub fn promise(&self) -> rusqlite::Result<(String, i32)> {
        let log = self
            .db
            .pragma_query_value(None, "journal_mode", |row| row.get(0))?;
        let sync = self
            .db
            .pragma_query_value(None, "synchronous", |row| row.get(0))?;
        Ok((log, sync))
    }
}

/// A path that can hold a journal.
pub(super) fn check_place(path: &Path) -> Result<(), Fault> {
    let known = fs::metadata(path).map_err(|error| unread(path, &error))?;
    if known.is_dir() {
        return Err(fault(
            path,
            "this is a folder",
            "Name the folder that holds a journal.",
        ));
    }
    if known.len() == 0 {
        // A journal is made aside and moved here whole: it never was empty.
        return Err(fault(
            path,
            "this file is empty; a journal never is",
            "Put back a copy of it, or move it away to begin a new journal.",
        ));
    }
    Ok(())
}

/// Makes a journal aside and moves it into place; false where another process was faster.
fn begin(path: &Path) -> Result<bool, Fault> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let cannot = |error: &std::io::Error| unwritten(path, error);
    let aside = tempfile::Builder::new()
        .prefix(".journal-")
        .tempdir_in(folder)
        .map_err(|error| cannot(&error))?;
    let draft = aside.path().join(super::FILE);
    let made = connect(
        &draft,
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE,
    )
    .and_then(|db| {
        pragmas(&db)?;
        db.pragma_update(None, "application_id", APPLICATION)?;
        db.pragma_update(None, "user_version", VERSION)?;
        db.execute_batch(&format!("BEGIN IMMEDIATE;\n{SCHEMA}\nCOMMIT;"))?;
        // The log is folded into the file, which then stands alone.
        db.close().map_err(|(_, error)| error)
    });
    made.map_err(|error| trouble::told(path, &error))?;
    // A link fails where the name is taken: no journal is ever replaced by an empty one.
    match fs::hard_link(&draft, path) {
        Ok(()) => {}
        Err(error) if error.kind() == ErrorKind::AlreadyExists => return Ok(false),
        // Some file systems know no links.
        Err(_) if !path.exists() => fs::rename(&draft, path).map_err(|error| cannot(&error))?,
        Err(error) => return Err(cannot(&error)),
    }
    sync_folder(folder).map_err(|error| cannot(&error))?;
    Ok(true)
}

/// A new name in a folder lasts once the folder itself is on the disk.
fn sync_folder(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) {
        fs::File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Opens without promises; the path is taken as it is, never as an address with options.
pub(super) fn connect(path: &Path, how: OpenFlags) -> rusqlite::Result<Connection> {
    let db = Connection::open_with_flags(path, how | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    db.busy_timeout(PATIENCE)?;
    Ok(db)
}

/// Written ahead, and synced before a write counts as done.
fn pragmas(db: &Connection) -> rusqlite::Result<()> {
    db.pragma_update(None, "journal_mode", "wal")?;
    db.pragma_update(None, "synchronous", "full")?;
    db.pragma_update(None, "foreign_keys", true)
}

/// That the file is a journal, and of a version that we know.
pub(super) fn check_kind(path: &Path, db: &Connection) -> Result<(), Fault> {
    let kind = kind(db).map_err(|error| trouble::told(path, &error))?;
    known(path, kind)
}

/// Whose file it is, and of which version.
pub(super) fn kind(db: &Connection) -> rusqlite::Result<[i32; 2]> {
    let read = |name: &str| db.pragma_query_value(None, name, |row| row.get(0));
    Ok([read("application_id")?, read("user_version")?])
}

/// That a kind is ours.
pub(super) fn known(path: &Path, kind: [i32; 2]) -> Result<(), Fault> {
    match kind {
        [APPLICATION, VERSION] => Ok(()),
        [APPLICATION, newer] if newer > VERSION => Err(fault(
            path,
            format!("this journal was written by a newer version (form {newer})"),
            "Use the newer program; this one reads form 1.",
        )),
        _ => Err(trouble::foreign(path)),
    }
}

/// True where every page of the file hangs together.
pub(super) fn is_sound(db: &Connection) -> rusqlite::Result<bool> {
    let said = db.pragma_query_value(None, "quick_check", |row| row.get::<_, String>(0));
    match said {
        Ok(said) => Ok(said == "ok"),
        Err(error) if trouble::is_damage(&error) => Ok(false),
        Err(error) => Err(error),
    }
}
