//! What stands in the journal, whole or as far as it can be read.

use super::entry::{Act, Content, Details, Entry, Reading, Revision, Settings};
use super::moment::Moment;
use super::open::{check_kind, check_place, connect, is_sound, kind, known};
use super::trouble::{self, is_foreign};
use crate::store::files::{fault, unread};
use rusqlite::types::Type;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, ToSql};
use saltwright_fertilizers::Fault;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::{fs, io};
use tempfile::TempDir;

/// Everything that a journal says, read at one moment.
#[derive(Debug, Default)]
pub struct Kept {
    revisions: Vec<Revision>,
    remembered: BTreeMap<String, String>,
    last_act: Option<Act>,
    /// What could not be read, if anything.
    pub damage: Option<Damage>,
}

/// How much of a damaged journal was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    path: PathBuf,
    read: usize,
    lost: Option<usize>,
}

impl Damage {
    /// In words.
    pub fn fault(&self) -> Fault {
        let lost = match self.lost {
            Some(0) => "every revision could be read".to_owned(),
            Some(lost) => format!(
                "{} of {} revisions could be read",
                self.read,
                self.read + lost
            ),
            None => format!(
                "{} revisions could be read, an unknown number not",
                self.read
            ),
        };
        fault(
            &self.path,
            format!("this journal is damaged: {lost}"),
            trouble::MENDS,
        )
    }
}

impl Kept {
    /// Reads a journal; nothing at the path is an empty one. Nothing is written to it.
    pub fn read(path: &Path) -> Result<Self, Fault> {
        match path.try_exists() {
            Ok(true) => {}
            Ok(false) => return Ok(Self::default()),
            Err(error) => return Err(unread(path, &error)),
        }
        check_place(path)?;
        match Self::read_sound(path) {
            Ok(Some(kept)) => Ok(kept),
            // Damaged, or in a place where SQLite may not even keep its lock file: a copy serves.
            Ok(None) => Self::read_copy(path),
            Err(fault) => Self::read_copy(path).map_err(|_| fault),
        }
    }

    /// Reads a journal that is to be written to: a damaged one is refused.
    pub fn sound(path: &Path) -> Result<Self, Fault> {
        let kept = Self::read(path)?;
        match &kept.damage {
            Some(damage) => Err(damage.fault()),
            None => Ok(kept),
        }
    }

    /// The whole journal where it is sound, nothing where it is damaged.
    fn read_sound(path: &Path) -> Result<Option<Self>, Fault> {
        let told = |error: rusqlite::Error| trouble::told(path, &error);
        let db = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(told)?;
        if !is_sound(&db).map_err(told)? {
            return Ok(None);
        }
        check_kind(path, &db)?;
        match Self::whole(&db) {
            Ok(kept) => Ok(Some(kept)),
            Err(error) if trouble::is_damage(&error) => Ok(None),
            Err(error) => Err(told(error)),
        }
    }

    /// Everything, at one moment.
    fn whole(db: &Connection) -> rusqlite::Result<Self> {
        let at_once = db.unchecked_transaction()?;
        Ok(Self {
            revisions: revisions(&at_once, "true", &[])?,
            remembered: remembered(&at_once)?,
            last_act: last_act(&at_once)?,
            damage: None,
        })
    }

    /// What can be read of a copy of the file and its log.
    fn read_copy(path: &Path) -> Result<Self, Fault> {
        let (copy, _folder) = copied(path).map_err(|error| unread(path, &error))?;
        if let Ok(Some(kept)) = Self::read_sound(&copy) {
            return Ok(kept);
        }
        let told = |error: rusqlite::Error| trouble::told(path, &error);
        let db = connect(&copy, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(told)?;
        // Of a file cut short SQLite reads nothing unless it is told that anything goes.
        let _ = db.pragma_update(None, "writable_schema", true);
        match kind(&db) {
            Ok(kind) => known(path, kind)?,
            Err(error) if is_foreign(&error) => return Err(trouble::foreign(path)),
            Err(_) => {}
        }
        let (revisions, lost) = salvage(&db);
        let read = revisions.len();
        Ok(Self {
            revisions,
            remembered: remembered(&db).unwrap_or_default(),
            last_act: None,
            damage: Some(Damage {
                path: path.to_owned(),
                read,
                lost,
            }),
        })
    }

    /// Entries as they stand, in order of time.
    pub fn entries(&self) -> Vec<Entry> {
        let mut entries: BTreeMap<i64, (Entry, bool)> = BTreeMap::new();
        for revision in &self.revisions {
            let revisions = entries
                .get(&revision.number)
                .map_or(1, |(entry, _)| entry.revisions + 1);
            let entry = Entry {
                number: revision.number,
                revisions,
                content: revision.content.clone(),
            };
            entries.insert(revision.number, (entry, revision.withdrawn));
        }
        let standing = entries.into_values().filter(|(_, withdrawn)| !withdrawn);
        let mut standing: Vec<Entry> = standing.map(|(entry, _)| entry).collect();
        standing.sort_by_key(|entry| (entry.content.at.second, entry.number));
        standing
    }

    /// Every revision in the order in which it was written.
    pub fn revisions(&self) -> &[Revision] {
        &self.revisions
    }

    /// What was done to the journal last and is not taken back yet.
    pub fn last_act(&self) -> Option<&Act> {
        self.last_act.as_ref()
    }

    /// Names of the systems that have entries.
    pub fn systems(&self) -> impl Iterator<Item = &str> {
        let names: BTreeSet<&str> = self
            .revisions
            .iter()
            .map(|r| r.content.system.as_str())
            .collect();
        names.into_iter()
    }

    /// The system of that name, in the spelling it has here; capitals do not matter.
    pub fn system(&self, typed: &str) -> Option<&str> {
        let wanted = typed.to_lowercase();
        self.systems().find(|known| known.to_lowercase() == wanted)
    }

    /// What is told of a system: the latest of each setting counts.
    pub fn settings(&self, system: &str) -> Settings {
        let entries = self.entries().into_iter().map(|entry| entry.content);
        let of_it = entries.filter(|content| content.system == system);
        of_it.fold(Settings::default(), |before, content| {
            content.details.settings.over(before)
        })
    }

    /// What was remembered under a key.
    pub fn remembered(&self, key: &str) -> Option<&str> {
        self.remembered.get(key).map(String::as_str)
    }
}

/// The file and its log beside it, copied to a folder that vanishes with the value.
fn copied(path: &Path) -> io::Result<(PathBuf, TempDir)> {
    let folder = tempfile::tempdir()?;
    let copy = folder.path().join(super::FILE);
    fs::copy(path, &copy)?;
    let log = |path: &Path| {
        let mut name = path.as_os_str().to_owned();
        name.push("-wal");
        PathBuf::from(name)
    };
    match fs::copy(log(path), log(&copy)) {
        Ok(_) => {}
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(error),
    }
    Ok((copy, folder))
}

/// Revisions one by one, past what cannot be read; and how many are missing where that is known.
fn salvage(db: &Connection) -> (Vec<Revision>, Option<usize>) {
    /// So many numbers in a row without a revision count as the end.
    const GAP: i64 = 10_000;
    let last: Option<i64> = [
        "SELECT max(id) FROM revision",
        "SELECT max(id) FROM revision NOT INDEXED",
    ]
    .iter()
    .find_map(|sql| db.query_row(sql, [], |row| row.get(0)).ok());
    let mut found = Vec::new();
    let (mut id, mut missed) = (1, 0);
    while last.map_or(missed < GAP, |last| id <= last) {
        // What was done may be lost where what was written is not.
        let one = revisions(db, "r.id = ?1", &[&id])
            .or_else(|_| select(db, "'', 0", "r.id = ?1", &[&id]));
        match one {
            Ok(one) if !one.is_empty() => {
                found.extend(one);
                missed = 0;
            }
            _ => missed += 1,
        }
        id += 1;
    }
    let lost = last.map(|last| {
        usize::try_from(last)
            .unwrap_or(0)
            .saturating_sub(found.len())
    });
    (found, lost)
}

/// What was done last and is not taken back yet.
pub(super) fn last_act(db: &Connection) -> rusqlite::Result<Option<Act>> {
    let last = "SELECT id, what FROM act WHERE what <> 'undo'
                AND id NOT IN (SELECT undoes FROM act WHERE undoes IS NOT NULL)
                ORDER BY id DESC LIMIT 1";
    let last = db.query_row(last, [], |row| Ok((row.get(0)?, row.get(1)?)));
    let Some((number, what)): Option<(i64, String)> = last.optional()? else {
        return Ok(None);
    };
    let revisions = revisions(db, "act = ?1", &[&number])?;
    Ok(Some(Act {
        number,
        what,
        revisions,
    }))
}

/// Revisions that fulfil a condition, in the order in which they were written.
pub(super) fn revisions(
    db: &Connection,
    condition: &str,
    values: &[&dyn ToSql],
) -> rusqlite::Result<Vec<Revision>> {
    const ACT: &str = "(SELECT what FROM act WHERE act.id = r.act),
                       (SELECT done_at FROM act WHERE act.id = r.act)";
    select(db, ACT, condition, values)
}

fn select(
    db: &Connection,
    act: &str,
    condition: &str,
    values: &[&dyn ToSql],
) -> rusqlite::Result<Vec<Revision>> {
    let sql = format!(
        "SELECT entry, {act}, withdrawn, at_s, offset_s, system,
                ec_ms_cm, ph, temperature_c, litres, details
         FROM revision AS r WHERE {condition} ORDER BY r.id"
    );
    let mut query = db.prepare(&sql)?;
    let rows = query.query_map(values, revision)?;
    rows.collect()
}

fn revision(row: &Row<'_>) -> rusqlite::Result<Revision> {
    const DETAILS: usize = 11;
    let details: String = row.get(DETAILS)?;
    let details: Details = serde_json::from_str(&details).map_err(|error| {
        rusqlite::Error::FromSqlConversionFailure(DETAILS, Type::Text, error.into())
    })?;
    Ok(Revision {
        number: row.get(0)?,
        act: row.get(1)?,
        done_at_ms: row.get(2)?,
        withdrawn: row.get(3)?,
        content: Content {
            at: Moment {
                second: row.get(4)?,
                offset_s: row.get(5)?,
            },
            system: row.get(6)?,
            reading: Reading {
                ec_ms_cm: row.get(7)?,
                ph: row.get(8)?,
                temperature_c: row.get(9)?,
                litres: row.get(10)?,
            },
            details,
        },
    })
}

fn remembered(db: &Connection) -> rusqlite::Result<BTreeMap<String, String>> {
    let mut query = db.prepare("SELECT key, value FROM remembered")?;
    let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    rows.collect()
}
