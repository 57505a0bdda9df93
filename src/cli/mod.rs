//! The command line: words a grower types, turned into a request, and a report turned into a sheet.
//!
//! A command reads, asks, shows; it computes nothing.

pub mod aims;
pub mod answer;
pub mod bags;
pub mod batch;
pub mod completions;
pub mod correct;
pub mod formulate;
pub mod help;
pub mod input;
pub mod journal;
pub mod label;
pub mod list;
pub mod man;
pub mod meter;
pub mod mixes;
mod named;
mod origins;
pub mod predict;
pub mod purchase;
pub mod ranges;
pub mod refill;
pub mod serve;
pub mod start;
pub mod stock;
pub mod stocks;
pub mod substitute;
pub mod trade;
pub mod typed;
pub mod version;
pub mod water;

use crate::store::folder::Folder;
use clap::{CommandFactory, Parser, Subcommand};
use saltwright_fertilizers::Fault;
use saltwright_recipes::Library;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Which salts, how many grams, at what cost, and what the meters then show
#[derive(Debug, Parser)]
#[command(name = "saltwright", version, long_version = version::FACTS, about = ABOUT)]
#[command(disable_help_subcommand = true)]
struct Cli {
    /// Your own folder: its lists go before the shipped ones
    #[arg(long, global = true, value_name = "DIR", display_order = 900)]
    folder: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

const ABOUT: &str = "\
Which salts, how many grams of each, in which tank, at what cost, and what the
meters should then show.";

#[derive(Debug, Subcommand)]
enum Command {
    /// From a recipe and a water to grams, with a proof
    Formulate(Box<formulate::Command>),
    /// From grams to nutrients and EC
    Predict(Box<predict::Args>),
    /// What a water analysis says, and the acid it needs
    Water(Box<water::Args>),
    /// From a mix to stock tanks that stay clear, and the weigh sheet
    Stock(Box<stock::Args>),
    /// From today's mix and prices to the cheapest that feeds the same
    Substitute(Box<substitute::Args>),
    /// A bought mix against its label: does it add up, what does it lack
    Label(Box<label::Args>),
    /// From what the meters show to what to do, step by step
    Correct(Box<correct::Args>),
    /// What the plants took, what to fill up with, when to change
    Refill(Box<refill::Args>),
    /// How far a meter is off, which scale a pen has
    Meter(Box<meter::Args>),
    /// What was read, done and mixed, kept over the days
    Journal(Box<journal::Args>),
    /// Which whole bags to buy for a season, at the least cost
    Purchase(Box<purchase::Args>),
    /// What is shipped: recipes, waters, fertilizers, crops
    List(list::Args),
    /// Requests in, reports out, a line each: JSON or CSV
    Batch(batch::Args),
    /// A folder of your own: recipes, waters, prices, a journal
    Start(start::Args),
    /// The same in a browser, on this machine or by the tank
    Serve(serve::Args),
    /// A script by which a shell completes commands, options and names
    Completions(completions::Args),
    /// Write manual pages to a folder
    Man(man::Args),
    /// Explain a command, files, units, the proof, exit codes
    Help(help::Args),
}

/// Why a command ended without an answer.
#[derive(Debug)]
pub enum Stop {
    /// Bad input, or a file that could not be read or written.
    Faults(Vec<Fault>),
    /// The reader of our output went away.
    Quiet,
    /// Words that do not go together.
    Usage(String),
}

impl From<Vec<Fault>> for Stop {
    fn from(faults: Vec<Fault>) -> Self {
        Self::Faults(faults)
    }
}

impl From<Fault> for Stop {
    fn from(fault: Fault) -> Self {
        Self::Faults(vec![fault])
    }
}

impl From<std::io::Error> for Stop {
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            return Self::Quiet;
        }
        crate::store::files::unwritten(Path::new("standard output"), &error).into()
    }
}

/// How a command ended: answered within bands, or answered outside them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Exit code 0.
    Within,
    /// Exit code 3.
    Outside,
}

/// Runs the command that was typed.
///
/// Exit codes: 0 answered and within bands; 3 answered, outside a band; 1 bad input or a file that
/// could not be read or written; 2 wrong usage.
pub fn run() -> ExitCode {
    outlive_file_limits();
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            return ExitCode::from(match (error.use_stderr(), error.print()) {
                (true, _) => 2,
                (false, Ok(())) => 0,
                (false, Err(unprinted)) => return ended(Err(unprinted.into())),
            });
        }
    };
    ended(dispatch(&cli))
}

/// Says what went wrong, if anything; the exit code.
fn ended(ended: Result<Ending, Stop>) -> ExitCode {
    match ended {
        Ok(Ending::Within) | Err(Stop::Quiet) => ExitCode::SUCCESS,
        Ok(Ending::Outside) => ExitCode::from(3),
        Err(Stop::Usage(words)) => {
            let _ = writeln!(std::io::stderr(), "error: {words}");
            ExitCode::from(2)
        }
        Err(Stop::Faults(faults)) => {
            let mut stderr = std::io::stderr().lock();
            for fault in faults {
                let _ = writeln!(stderr, "error: {fault}");
            }
            ExitCode::from(1)
        }
    }
}

/// A write beyond the limit of a file's size comes back as an error to be told, where it would end
/// the program without a word.
fn outlive_file_limits() {
    #[cfg(unix)]
    {
        use signal_hook::consts::SIGXFSZ;
        // Where it cannot be set up, such a write ends us as it ends any other program.
        let _ = signal_hook::flag::register(SIGXFSZ, std::sync::Arc::default());
    }
}

fn dispatch(cli: &Cli) -> Result<Ending, Stop> {
    let command = cli.command.as_ref();
    // What needs no folder works where the folder is gone; some have a folder of their own.
    let needs_none = matches!(
        command,
        None | Some(
            Command::Start(_) | Command::Help(_) | Command::Man(_) | Command::Completions(_)
        )
    );
    let folder = if needs_none {
        Folder::default()
    } else {
        Folder::find(cli.folder.as_deref())?
    };
    // A reading is noted even where a list has a fault.
    let library = if needs_none || matches!(command, Some(Command::Journal(_))) {
        Library::shipped()
    } else {
        folder.library()
    };
    let library = &library?;
    let mut out = std::io::stdout().lock();
    match command {
        Some(Command::Formulate(args)) => formulate::run(args, &folder, library, &mut out),
        Some(Command::Predict(args)) => predict::run(args, library, &mut out),
        Some(Command::Water(args)) => water::run(args, library, &mut out),
        Some(Command::Stock(args)) => stock::run(args, &folder, library, &mut out),
        Some(Command::Substitute(args)) => substitute::run(args, library, &mut out),
        Some(Command::Label(args)) => label::run(args, library, &mut out),
        Some(Command::Correct(args)) => correct::run(args, &folder, library, &mut out),
        Some(Command::Refill(args)) => refill::run(args, &folder, library, &mut out),
        Some(Command::Meter(args)) => meter::run(args, library, &mut out),
        Some(Command::Journal(args)) => journal::run(args, &folder, &mut out),
        Some(Command::Purchase(args)) => purchase::run(args, library, &mut out),
        Some(Command::List(args)) => list::run(args, library, &mut out),
        Some(Command::Batch(args)) => batch::run(args, library, &mut out),
        Some(Command::Serve(args)) => serve::run(args, &folder, library, &mut out),
        Some(Command::Start(args)) => start::run(args, &mut out),
        Some(Command::Completions(args)) => {
            completions::run(args, Cli::command(), library, &mut out)
        }
        Some(Command::Man(args)) => man::run(args, Cli::command(), &mut out),
        Some(Command::Help(args)) => help::run(args, &mut Cli::command(), &mut out),
        None => help::short(&mut out),
    }
}

/// Writes a list as indented JSON.
fn write_json(out: &mut dyn Write, value: &impl serde::Serialize) -> Result<(), Stop> {
    serde_json::to_writer_pretty(&mut *out, value).map_err(std::io::Error::from)?;
    Ok(writeln!(out)?)
}
