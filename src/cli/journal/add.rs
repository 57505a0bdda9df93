//! `saltwright journal add`: a reading, what was done, or words.

use super::batch;
use super::new::New;
use super::typed::Told;
use super::{MEASURE, measure, say};
use crate::cli::{Ending, Stop, write_json};
use crate::store::folder::Folder;
use crate::store::journal::{Batch, Clock, Entry, Journal, Kept};
use crate::view::journal::{row, sentence};
use crate::view::round::Measure;
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
    let measure = args.told.measure();
    note(new, measure, &kept, (path, clock), args.json, out)?;
    Ok(Ending::Within)
}

/// Notes an entry and says so; with `json` the entry itself is printed.
fn note(
    new: New,
    typed: Option<Measure>,
    kept: &Kept,
    (path, clock): (&Path, &Clock),
    json: bool,
    out: &mut dyn Write,
) -> Result<(), Stop> {
    let (mut journal, begun) = Journal::open_or_begin(path)?;
    let number = journal.add(&new.content, clock.now, &new.memory())?;
    let measure = typed.unwrap_or_else(|| measure(kept.remembered(MEASURE)));
    let (is_new, content) = (new.is_new_system, new.content);
    let entry = Entry {
        number,
        revisions: 1,
        content,
    };
    if json {
        return write_json(out, &row(&entry));
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
    Ok(())
}

/// The option of commands that mix something.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Mixed {
    /// Note what is mixed in the journal, for this system or the last one
    #[arg(long, value_name = "SYSTEM", num_args = 0..=1, default_missing_value = "")]
    journal: Option<String>,
}

impl Mixed {
    /// Notes a batch where that is asked for. Nothing is said beside a report that is printed as
    /// JSON.
    pub fn note(
        &self,
        folder: &Folder,
        batch: impl FnOnce() -> Batch,
        json: bool,
        out: &mut dyn Write,
    ) -> Result<(), Stop> {
        let Some(system) = &self.journal else {
            return Ok(());
        };
        let (path, clock) = (folder.journal(), Clock::system());
        let kept = Kept::sound(&path)?;
        let told = Told {
            system: Some(system.clone()).filter(|system| !system.is_empty()),
            ..Told::default()
        };
        let mut faults = Faults::default();
        let mut new = New::of(&told, &kept, &clock, &mut faults);
        new.content.details.batch = Some(batch());
        let new = new.checked(faults).map_err(|mut faults| {
            for fault in faults.iter_mut().filter(|fault| fault.field == "--system") {
                "--journal".clone_into(&mut fault.field);
            }
            faults
        })?;
        let mut nowhere = std::io::sink();
        let out = if json { &mut nowhere } else { out };
        writeln!(out)?;
        note(new, None, &kept, (&path, &clock), false, out)
    }
}
