//! `saltwright journal`: what was read, done and mixed, kept over the days.

pub mod account;
pub mod add;
mod amend;
pub mod batch;
mod chart;
pub mod last;
mod list;
pub mod new;
mod system;
mod table;
pub mod typed;

use super::{Ending, Stop};
use crate::store::folder::Folder;
use crate::store::journal::{Clock, Kept};
use crate::view::round::Measure;
use crate::view::text::{WIDTH, wrap};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::{Fault, Faults, Problem};
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
    /// Tell of a system once: recipe, water, tank, bands
    System(Box<system::Args>),
    /// Readings over time, with bands and what was done
    Chart(chart::Args),
    /// Write a table for a spreadsheet
    Export(table::ExportArgs),
    /// Read such a table back
    Import(table::ImportArgs),
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
        Command::System(args) => system::run(args, folder, &clock, out),
        Command::Chart(args) => chart::run(args, &path, &clock, out),
        Command::Export(args) => table::export(args, &path, out),
        Command::Import(args) => table::import(args, &path, &clock, out),
        Command::Undo(args) => amend::undo(args, &path, &clock, out),
    }
}

/// Most systems that a refusal lists.
const MOST_NAMED: usize = 20;

/// Keys under which things are remembered.
const SYSTEM: &str = "system";
/// The key of the units.
pub const MEASURE: &str = "measure";

/// The key under which the scale of a system's pen is remembered.
pub fn pen(system: &str) -> String {
    format!("pen of {system}")
}

/// The units of the list: those that were typed last.
pub fn measure(remembered: Option<&str>) -> Measure {
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

/// The system that is meant where none is named: the last one, or the only one.
pub fn usual(kept: &Kept) -> Option<&str> {
    let only = || {
        let mut systems = kept.systems();
        systems.next().filter(|_| systems.next().is_none())
    };
    kept.remembered(SYSTEM).or_else(only)
}

/// The system that is meant by what was typed; nothing typed means the last one.
pub fn meant<'a>(kept: &'a Kept, typed: &str) -> Result<&'a str, Vec<Fault>> {
    let name = Some(typed).filter(|typed| !typed.is_empty());
    let Some(name) = name.or_else(|| usual(kept)) else {
        let problem = match kept.systems().next() {
            None => empty(),
            Some(_) => Problem::Empty {
                what: "the system",
                mend: "Name the one that is meant: --system \"tank 1\".",
            },
        };
        let mut faults = Faults::default();
        faults.add(None, "--system", problem);
        return Err(faults.into_list());
    };
    known(kept, name).map_err(|fault| vec![fault])
}

/// A system by its name; a name that is not known is a fault with the nearest one, or with all.
pub fn known<'a>(kept: &'a Kept, typed: &str) -> Result<&'a str, Fault> {
    let unknown = || Fault {
        file: None,
        line: None,
        field: "--system".into(),
        problem: unknown(kept, typed),
    };
    kept.system(typed).ok_or_else(unknown)
}

fn unknown(kept: &Kept, typed: &str) -> Problem {
    let (kind, name) = ("system", typed.to_owned());
    let nearest = nearest(typed, kept.systems());
    let systems: Vec<&str> = kept.systems().collect();
    match systems.len() {
        0 => empty(),
        1..=MOST_NAMED if nearest.is_none() => Problem::NotOneOf {
            kind,
            name,
            known: systems.join(", "),
        },
        _ => Problem::Unknown {
            kind,
            name,
            nearest,
        },
    }
}

/// A journal that knows no system yet.
const fn empty() -> Problem {
    let (what, mend) = (
        "the journal",
        "Note a reading first: journal add --system \"tank 1\" …",
    );
    Problem::Empty { what, mend }
}

/// Writes a line of words, broken to the width of the page.
pub(super) fn say(out: &mut dyn Write, words: &str) -> Result<(), Stop> {
    for line in wrap(words, WIDTH) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}
