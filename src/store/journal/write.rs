//! Acts: what is added, amended and taken back. Each is one transaction that takes the write lock
//! before it looks at anything.

use super::entry::{Act, Content};
use super::{Journal, read, trouble};
use crate::store::files::fault;
use jiff::Timestamp;
use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use saltwright_fertilizers::Fault;

impl Journal {
    /// Adds an entry and remembers what was typed with it; its number, once it is on the disk.
    pub fn add(
        &mut self,
        content: &Content,
        now: Timestamp,
        remembered: &[(&str, &str)],
    ) -> Result<i64, Fault> {
        self.transact(|write| {
            let act = begin(write, "add", now, None)?;
            let number = next(write)?;
            revise(write, act, number, content, false)?;
            remember(write, remembered)?;
            Ok(number)
        })
    }

    /// Adds entries that came from a file, to be taken back together.
    pub fn import(&mut self, contents: &[Content], now: Timestamp) -> Result<Vec<i64>, Fault> {
        self.transact(|write| {
            let act = begin(write, "import", now, None)?;
            let first = next(write)?;
            let numbered = (first..).zip(contents);
            let revised = numbered.map(|(number, content)| {
                revise(write, act, number, content, false)?;
                Ok(number)
            });
            revised.collect()
        })
    }

    /// Changes an entry; what it said before is kept. The entry as it was and as it is.
    pub fn amend(
        &mut self,
        number: i64,
        now: Timestamp,
        remembered: &[(&str, &str)],
        change: impl FnOnce(&Content) -> Result<Content, Vec<Fault>>,
    ) -> Result<(Content, Content), Vec<Fault>> {
        let path = self.path.clone();
        let mut refused = None;
        let done = self.transact(|write| {
            let Some(before) = current(write, number)? else {
                return Ok(None);
            };
            match change(&before) {
                Ok(after) => {
                    let act = begin(write, "amend", now, None)?;
                    revise(write, act, number, &after, false)?;
                    remember(write, remembered)?;
                    Ok(Some((before, after)))
                }
                Err(faults) => {
                    refused = Some(faults);
                    Ok(None)
                }
            }
        });
        match (done.map_err(|fault| vec![fault])?, refused) {
            (Some(both), _) => Ok(both),
            (None, Some(faults)) => Err(faults),
            (None, None) => Err(vec![fault(
                &path,
                format!("there is no entry {number}"),
                "\"journal list\" shows the numbers.",
            )]),
        }
    }

    /// Takes back the last act that is not taken back yet. With `only`, nothing is taken back unless
    /// it is that act: who saw an older page does not take back what others noted since.
    pub fn undo(&mut self, now: Timestamp, only: Option<i64>) -> Result<Option<Act>, Fault> {
        self.transact(|write| {
            let last = read::last_act(write)?;
            let Some(last) = last.filter(|last| only.is_none_or(|only| only == last.number)) else {
                return Ok(None);
            };
            let undo = begin(write, "undo", now, Some(last.number))?;
            for revision in &last.revisions {
                let before = before(write, revision.number, last.number)?;
                let is_new = before.is_none();
                let content = before.unwrap_or_else(|| revision.content.clone());
                revise(write, undo, revision.number, &content, is_new)?;
            }
            Ok(Some(last))
        })
    }

    /// One transaction, acknowledged only when it is on the disk.
    fn transact<T>(
        &mut self,
        act: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, Fault> {
        let run = |db: &mut Connection| {
            let write = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let done = act(&write)?;
            write.commit()?;
            Ok(done)
        };
        run(&mut self.db).map_err(|error| trouble::told(&self.path, &error))
    }
}

fn begin(
    write: &Transaction<'_>,
    what: &str,
    now: Timestamp,
    undoes: Option<i64>,
) -> rusqlite::Result<i64> {
    write.execute(
        "INSERT INTO act (what, done_at, undoes) VALUES (?1, ?2, ?3)",
        params![what, now.as_millisecond(), undoes],
    )?;
    Ok(write.last_insert_rowid())
}

/// The first number that no entry has.
fn next(write: &Transaction<'_>) -> rusqlite::Result<i64> {
    let sql = "SELECT coalesce(max(entry), 0) + 1 FROM revision";
    write.query_row(sql, [], |row| row.get(0))
}

fn remember(write: &Transaction<'_>, remembered: &[(&str, &str)]) -> rusqlite::Result<()> {
    let sql = "INSERT INTO remembered (key, value) VALUES (?1, ?2)
               ON CONFLICT (key) DO UPDATE SET value = excluded.value";
    for (key, value) in remembered {
        write.execute(sql, [key, value])?;
    }
    Ok(())
}

fn revise(
    write: &Transaction<'_>,
    act: i64,
    number: i64,
    content: &Content,
    withdrawn: bool,
) -> rusqlite::Result<()> {
    let details = serde_json::to_string(&content.details)
        .map_err(|error| rusqlite::Error::ToSqlConversionFailure(error.into()))?;
    let reading = content.reading;
    write
        .prepare(
            "INSERT INTO revision (act, entry, withdrawn, at_s, offset_s, system,
                                   ec_ms_cm, ph, temperature_c, litres, details)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        )?
        .execute(params![
            act,
            number,
            withdrawn,
            content.at.second,
            content.at.offset_s,
            content.system,
            reading.ec_ms_cm,
            reading.ph,
            reading.temperature_c,
            reading.litres,
            details,
        ])
        .map(|_| ())
}

/// What an entry says now, unless it was taken back.
fn current(db: &Connection, number: i64) -> rusqlite::Result<Option<Content>> {
    let all = read::revisions(db, "entry = ?1", &[&number])?;
    let last = all.into_iter().last();
    Ok(last.filter(|last| !last.withdrawn).map(|last| last.content))
}

/// What an entry said before an act, where it was there.
fn before(db: &Connection, number: i64, act: i64) -> rusqlite::Result<Option<Content>> {
    let all = read::revisions(db, "entry = ?1 AND act < ?2", &[&number, &act])?;
    let last = all.into_iter().last();
    Ok(last.filter(|last| !last.withdrawn).map(|last| last.content))
}
