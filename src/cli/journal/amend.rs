//! `saltwright journal amend` and `undo`: mistakes are mended, and what stood before is kept.

use super::typed::{Told, option};
use super::{memory, say};
use crate::cli::{Ending, Stop};
use crate::store::files::unread;
use crate::store::journal::{Clock, Content, Details, Journal, Reading};
use crate::view::journal::{act, sentence};
use crate::view::round::Measure;
use saltwright_fertilizers::{Fault, Faults};
use std::io::Write;
use std::path::Path;

/// Options of `journal amend`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    /// Number of the entry, as "journal list" shows it
    entry: i64,
    #[command(flatten)]
    told: Told,
    /// Take out ec, ph, temperature, litres, done or note; repeat as needed
    #[arg(long, value_enum, value_name = "FIELD", hide_possible_values = true)]
    clear: Vec<Field>,
}

/// What can be taken out of an entry.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum Field {
    Ec,
    Ph,
    Temperature,
    Litres,
    Done,
    Note,
}

/// Options of `journal undo`.
#[derive(Debug, clap::Args)]
pub struct UndoArgs {}

/// Opens a journal that must be there.
fn open(path: &Path) -> Result<Journal, Fault> {
    if path.exists() {
        return Journal::open(path);
    }
    Err(unread(path, &std::io::ErrorKind::NotFound.into()))
}

/// Runs `amend`.
pub fn run(args: &Args, path: &Path, clock: &Clock, out: &mut dyn Write) -> Result<Ending, Stop> {
    if args.told.is_empty() && args.clear.is_empty() {
        let words = "say what the entry should hold, like --ec 1.4, or what to --clear";
        return Err(Stop::Usage(words.into()));
    }
    let mut journal = open(path)?;
    let typed = args.told.measure();
    let remembered: Vec<_> = memory(typed).into_iter().collect();
    let change = |before: &Content| amended(args, before, clock);
    let (before, after) = journal.amend(args.entry, clock.now, &remembered, change)?;
    let measure = typed.unwrap_or_default();
    let was = sentence(&before, measure);
    say(out, &format!("Entry {} was {was}", args.entry))?;
    say(out, &format!("and is now {}", sentence(&after, measure)))?;
    Ok(Ending::Within)
}

fn amended(args: &Args, before: &Content, clock: &Clock) -> Result<Content, Vec<Fault>> {
    let mut faults = Faults::default();
    let mut after = before.clone();
    for field in &args.clear {
        let Reading {
            ec_ms_cm,
            ph,
            temperature_c,
            litres,
        } = &mut after.reading;
        let Details { done, note, .. } = &mut after.details;
        match field {
            Field::Ec => *ec_ms_cm = None,
            Field::Ph => *ph = None,
            Field::Temperature => *temperature_c = None,
            Field::Litres => *litres = None,
            Field::Done => done.clear(),
            Field::Note => note.clear(),
        }
    }
    after.at = args.told.moment(clock, &mut faults).unwrap_or(after.at);
    args.told.over(&mut after, None, &mut faults);
    if faults.is_empty() {
        after.check(None, option, &mut faults);
    }
    faults.finish(Some(after))
}

/// Runs `undo`.
pub fn undo(_: &UndoArgs, path: &Path, clock: &Clock, out: &mut dyn Write) -> Result<Ending, Stop> {
    let mut journal = open(path)?;
    let Some(undone) = journal.undo(clock.now, None)? else {
        writeln!(out, "There is nothing left to take back.")?;
        return Ok(Ending::Within);
    };
    let words = act(&undone, Measure::Metric);
    say(out, &format!("Took back {words}"))?;
    say(
        out,
        "Nothing is lost: \"journal list --history ENTRY\" still shows it.",
    )?;
    Ok(Ending::Within)
}
