//! `saltwright journal list`: what stands in the journal.

use super::{MEASURE, measure};
use crate::cli::typed::quantity;
use crate::cli::{Ending, Stop, write_json};
use crate::store::files::fault;
use crate::store::journal::{Clock, Entry, Kept, Revision};
use crate::view::round::Measure;
use crate::view::{journal, text};
use saltwright_fertilizers::Faults;
use std::io::Write;
use std::path::Path;

/// Options of `journal list`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    /// Only this system; all where left out
    #[arg(long, value_name = "NAME")]
    system: Option<String>,
    /// Only from this time on, like "2026-03-02 08:00"
    #[arg(long, value_name = "WHEN")]
    since: Option<String>,
    /// Only the last so many
    #[arg(long, value_name = "N")]
    last: Option<usize>,
    /// Everything that one entry ever said
    #[arg(long, value_name = "ENTRY", conflicts_with_all = ["system", "since", "last", "json"])]
    history: Option<i64>,
    /// Gallons and °F, whatever was typed last
    #[arg(long)]
    gallons: bool,
    /// Print the entries as JSON
    #[arg(long)]
    json: bool,
}

/// Runs it. Of a damaged journal what can be read is shown, then the fault.
pub fn run(args: &Args, path: &Path, clock: &Clock, out: &mut dyn Write) -> Result<Ending, Stop> {
    let kept = Kept::read(path)?;
    let measure = if args.gallons {
        Measure::Us
    } else {
        measure(kept.remembered(MEASURE))
    };
    if let Some(number) = args.history {
        let revisions = kept.revisions().iter();
        let of_it: Vec<&Revision> = revisions.filter(|r| r.number == number).collect();
        if of_it.is_empty() {
            let reason = format!("there is no entry {number}");
            return Err(fault(path, reason, "\"journal list\" shows the numbers.").into());
        }
        let written = |ms| clock.minute_of_ms(ms);
        let sheet = journal::history(&of_it, written, measure);
        write!(out, "{}", text::render(&sheet))?;
    } else {
        let entries = kept.entries();
        let shown = chosen(args, &kept, &entries, clock)?;
        if args.json {
            let rows: Vec<_> = shown.into_iter().map(journal::row).collect();
            write_json(out, &rows)?;
        } else if kept.damage.is_none() || !shown.is_empty() {
            write!(out, "{}", text::render(&journal::list(&shown, measure)))?;
        }
    }
    match &kept.damage {
        Some(damage) => Err(damage.fault().into()),
        None => Ok(Ending::Within),
    }
}

/// The entries that were asked for.
fn chosen<'a>(
    args: &Args,
    kept: &Kept,
    entries: &'a [Entry],
    clock: &Clock,
) -> Result<Vec<&'a Entry>, Stop> {
    let mut faults = Faults::default();
    let since = args.since.as_deref();
    let since = since.and_then(|text| quantity(text, "--since", |t| clock.read(t), &mut faults));
    let system = args.system.as_deref();
    let system = system.map(|typed| super::known(kept, typed)).transpose()?;
    let fits = |entry: &&Entry| {
        system.is_none_or(|system| entry.content.system == system)
            && since.is_none_or(|since| entry.content.at.second >= since.second)
    };
    let mut shown: Vec<&Entry> = entries.iter().filter(fits).collect();
    if let Some(last) = args.last {
        shown.drain(..shown.len().saturating_sub(last));
    }
    Ok(faults.finish(Some(shown))?)
}
