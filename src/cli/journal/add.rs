//! `saltwright journal add`: a reading, what was done, or words.

use super::batch;
use super::new::New;
use super::typed::Told;
use super::{MEASURE, measure, say};
use crate::cli::{Ending, Stop, write_json};
use crate::store::journal::{Clock, Entry, Journal, Kept};
use crate::view::journal::{row, sentence};
use saltwright_fertilizers::Faults;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Options of `journal add`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    #[command(flatten)]
    told: Told,
    /// A batch as it was mixed: the report of `formulate --json`
    #[arg(long, value_name = "FILE")]
    batch: Option<PathBuf>,
    /// Print the entry as JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(args: &Args, path: &Path, clock: &Clock, out: &mut dyn Write) -> Result<Ending, Stop> {
    let kept = Kept::sound(path)?;
    let mut faults = Faults::default();
    let mut new = New::of(&args.told, &kept, clock, &mut faults);
    if let Some(file) = &args.batch {
        let litres = new.content.reading.litres.take();
        new.content.details.batch = batch::read(file, litres, &mut faults);
    }
    let new = new.checked(faults)?;
    let (mut journal, begun) = Journal::open_or_begin(path)?;
    let number = journal.add(&new.content, clock.now, &new.memory())?;
    let typed = args.told.measure();
    let measure = typed.unwrap_or_else(|| measure(kept.remembered(MEASURE)));
    let (is_new, content) = (new.is_new_system, new.content);
    let entry = Entry {
        number,
        revisions: 1,
        content,
    };
    if args.json {
        write_json(out, &row(&entry))?;
        return Ok(Ending::Within);
    }
    if begun {
        writeln!(out, "Began a journal in {}.", path.display())?;
    }
    let words = sentence(&entry.content, measure);
    say(out, &format!("Noted as entry {number}: {words}"))?;
    if is_new && !begun {
        let system = &entry.content.system;
        let words = "is new here. If you meant another system: saltwright journal undo";
        say(out, &format!("\"{system}\" {words}"))?;
    }
    Ok(Ending::Within)
}
