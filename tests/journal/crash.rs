//! Processes that are killed, and processes that write at the same time.
//!
//! A killed process shows that the program never acknowledges too early and that a write is whole or
//! not there at all. That an acknowledged write also outlives a power cut rests on SQLite's full
//! sync, which `the_log_is_synced_in_full` holds; a log torn off anywhere stands for such a cut.

use super::{done, entries, journal_in, notes};
use rusqlite::Connection;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// A folder in memory where there is one: a kill needs no disk, and a thousand syncs take long.
fn quick_folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    let made = memory.is_dir().then(|| tempfile::tempdir_in(memory).ok());
    made.flatten()
        .unwrap_or_else(|| tempfile::tempdir().expect("a folder"))
}

/// Adds a note in a process that is killed after a while; true where it was acknowledged.
fn add_and_kill(folder: &Path, note: &str, after: Duration) -> bool {
    let mut child = journal_in(folder)
        .args(["add", "--system", "tank", "--ec", "1.4", "--note", note])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts");
    std::thread::sleep(after);
    // SIGKILL on Unix: nothing can be tidied up.
    child.kill().expect("killed or over");
    let output = child.wait_with_output().expect("it ends");
    String::from_utf8_lossy(&output.stdout).contains("Noted as entry")
}

/// A thousand writes, each killed at another moment of its short life: what was acknowledged is
/// there, and the file opens after every single kill.
#[test]
fn a_thousand_kills_lose_nothing_that_was_acknowledged() {
    const WRITES: u32 = 1000;
    let folder = quick_folder();
    let at = folder.path();
    done(
        at,
        &["add", "--system", "tank", "--ec", "1.4", "--note", "first"],
    );
    let begun = Instant::now();
    for _ in 0..10 {
        done(at, &["add", "--ec", "1.4", "--note", "timed"]);
    }
    let life = begun.elapsed() / 10;
    let acknowledged = std::thread::scope(|scope| {
        // Two writers at once, so that a kill also leaves locks behind for the other.
        let writers = ["a", "b"].map(|writer| {
            scope.spawn(move || {
                (0..WRITES / 2)
                    .map(|n| (format!("{writer} {n}"), life * (n * 7 % 101) / 50))
                    .filter(|(note, after)| add_and_kill(at, note, *after))
                    .map(|(note, _)| note)
                    .collect::<Vec<String>>()
            })
        });
        writers
            .map(|writer| writer.join().expect("no panic"))
            .concat()
    });
    let kept: Vec<String> = notes(at);
    let distinct: BTreeSet<&String> = kept.iter().collect();
    let lost: Vec<&String> = acknowledged
        .iter()
        .filter(|n| !distinct.contains(n))
        .collect();
    println!(
        "{WRITES} writes killed: {} acknowledged, {} kept",
        acknowledged.len(),
        kept.len() - 11
    );
    assert!(lost.is_empty(), "{lost:?}");
    assert_eq!(distinct.len() + 9, kept.len(), "nothing is written twice");
    // The kills fell before and after the moment that counts.
    let count = acknowledged.len();
    assert!(
        (50..950).contains(&count),
        "{count} of {WRITES} were acknowledged"
    );
    assert_sound(&at.join("journal.db"));
}

fn assert_sound(path: &Path) {
    let db = Connection::open(path).expect("opens");
    let said: String = db
        .pragma_query_value(None, "integrity_check", |row| row.get(0))
        .expect("read");
    assert_eq!(said, "ok");
}

/// Many processes that begin and write one journal at the same time.
#[test]
fn processes_write_at_once_and_wait_for_each_other() {
    const PROCESSES: usize = 24;
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let children: Vec<_> = (0..PROCESSES)
        .map(|n| {
            let mut add = journal_in(at);
            add.args([
                "add",
                "--system",
                "tank",
                "--ph",
                "6",
                "--note",
                &n.to_string(),
            ]);
            add.stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .expect("it starts")
        })
        .collect();
    for child in children {
        let output = child.wait_with_output().expect("it ends");
        assert!(
            output.status.success(),
            "{}",
            crate::common::stderr(&output)
        );
    }
    let mut kept: Vec<usize> = notes(at)
        .iter()
        .filter_map(|note| note.parse().ok())
        .collect();
    kept.sort_unstable();
    assert_eq!(kept, (0..PROCESSES).collect::<Vec<_>>());
    let numbers: BTreeSet<i64> = entries(at)
        .iter()
        .filter_map(|e| e["entry"].as_i64())
        .collect();
    assert_eq!(numbers.len(), PROCESSES, "each has a number of its own");
    // Two that end at once may leave the log to the next one.
    done(at, &["add", "--ph", "6"]);
    let left = fs::read_dir(at).expect("a folder").count();
    assert_eq!(left, 1, "nothing is left beside it");
}

/// The log beside a journal.
fn log_of(path: &Path) -> PathBuf {
    path.with_extension("db-wal")
}

/// A power cut may leave any beginning of the log on the disk. Wherever it is torn off the journal
/// opens and holds the first so many entries, each of them whole.
#[test]
fn a_torn_log_keeps_every_whole_write_before_the_tear() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let path = at.join("journal.db");
    done(at, &["add", "--system", "tank", "--ec", "1", "--note", "0"]);
    // As long as somebody reads, nobody folds the log into the file.
    let reader = Connection::open(&path).expect("opens");
    reader
        .execute_batch("BEGIN; SELECT count(*) FROM act;")
        .expect("reads");
    for n in 1..12 {
        done(at, &["add", "--ec", "1", "--note", &n.to_string()]);
    }
    let (file, log) = (
        fs::read(&path).expect("read"),
        fs::read(log_of(&path)).expect("a log"),
    );
    drop(reader);
    let mut seen = BTreeSet::new();
    for cut in (0..=log.len()).step_by(997).chain([log.len()]) {
        let torn = tempfile::tempdir().expect("a folder");
        let copy = torn.path().join("journal.db");
        fs::write(&copy, &file).expect("written");
        fs::write(log_of(&copy), &log[..cut]).expect("written");
        let kept = notes(torn.path());
        let wanted: Vec<String> = (0..kept.len()).map(|n| n.to_string()).collect();
        assert_eq!(kept, wanted, "cut at {cut}");
        seen.insert(kept.len());
        done(
            torn.path(),
            &["add", "--ec", "2", "--note", "after the cut"],
        );
    }
    assert!(seen.contains(&12) && seen.len() > 6, "{seen:?}");
}

/// `synchronous=FULL` is a promise of the connection, not of the file: it is seen in what the system
/// is asked to do.
#[cfg(target_os = "linux")]
#[test]
fn the_log_is_synced_in_full() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("journal.db");
    let (journal, begun) =
        saltwright::store::journal::Journal::open_or_begin(&path).expect("begun");
    assert!(begun);
    assert_eq!(journal.promise().expect("read"), ("wal".to_owned(), 2));
}
