//! The journal: what is acknowledged lasts, whatever happens to the program, the disk or the file.

mod account;
mod batches;
mod crash;
mod damage;
mod entries;
mod places;
mod tables;

use crate::common::saltwright;
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

/// The program with a folder of its own and a zone that is the same everywhere.
fn journal_in(folder: &Path) -> Command {
    let mut command = saltwright();
    command
        .current_dir(folder)
        .env("TZ", "UTC")
        .env_remove("SALTWRIGHT_FOLDER")
        .arg("journal");
    command
}

/// Runs `journal` with these arguments.
fn journal(folder: &Path, arguments: &[&str]) -> Output {
    journal_in(folder)
        .args(arguments)
        .output()
        .expect("it starts")
}

/// Runs `journal` with these arguments, which must work; what it says.
fn done(folder: &Path, arguments: &[&str]) -> String {
    let output = journal(folder, arguments);
    let said = crate::common::stderr(&output);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {said}");
    crate::common::stdout(&output)
}

/// Runs `journal` with these arguments, which must be refused with exit code 1; what it says.
fn refused(folder: &Path, arguments: &[&str]) -> String {
    let output = journal(folder, arguments);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}");
    crate::common::stderr(&output)
}

/// Every entry as JSON.
fn entries(folder: &Path) -> Vec<Value> {
    rows(&done(folder, &["list", "--json"]))
}

fn rows(text: &str) -> Vec<Value> {
    serde_json::from_str(text).expect("a list")
}

/// The notes of every entry, in order of their numbers.
fn notes(folder: &Path) -> Vec<String> {
    let mut all = entries(folder);
    all.sort_by_key(|entry| entry["entry"].as_i64());
    let note = |entry: &Value| entry["note"].as_str().expect("a text").to_owned();
    all.iter().map(note).collect()
}
