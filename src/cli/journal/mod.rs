//! `saltwright journal`: what was read, done and mixed, kept over the days.

mod add;
mod amend;
mod list;
mod typed;

use super::{Ending, Stop};
use crate::store::folder::Folder;
use crate::store::journal::Clock;
use crate::view::round::Measure;
use crate::view::text::{WIDTH, wrap};
use std::io::Write;

/// Options of `journal`.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Note a reading, what was done, or words
    Add(add::Args),
    /// Show what stands in the journal
    List(list::Args),
    /// Change an entry; what it said before is kept
    Amend(amend::Args),
    /// Take back what was done to the journal last
    Undo(amend::UndoArgs),
}

/// Runs it.
pub fn run(args: &Args, folder: &Folder, out: &mut dyn Write) -> Result<Ending, Stop> {
    let clock = Clock::system();
    let path = folder.journal();
    match &args.command {
        Command::Add(args) => add::run(args, &path, &clock, out),
        Command::List(args) => list::run(args, &path, &clock, out),
        Command::Amend(args) => amend::run(args, &path, &clock, out),
        Command::Undo(args) => amend::undo(args, &path, &clock, out),
    }
}

/// Keys under which things are remembered.
const SYSTEM: &str = "system";
const MEASURE: &str = "measure";

/// The units of the list: those that were typed last.
fn measure(remembered: Option<&str>) -> Measure {
    match remembered {
        Some(US) => Measure::Us,
        _ => Measure::Metric,
    }
}

/// A measure as it is remembered.
const US: &str = "us";

/// What to remember of a measure that was typed.
fn memory(typed: Option<Measure>) -> Option<(&'static str, &'static str)> {
    typed.map(|typed| match typed {
        Measure::Us => (MEASURE, US),
        Measure::Metric => (MEASURE, "metric"),
    })
}

/// Writes a line of words, broken to the width of the page.
fn say(out: &mut dyn Write, words: &str) -> Result<(), Stop> {
    for line in wrap(words, WIDTH) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}
