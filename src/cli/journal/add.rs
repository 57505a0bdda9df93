//! `saltwright journal add`: a reading, what was done, or words.

use super::batch;
use super::typed::{Told, option};
use super::{MEASURE, SYSTEM, measure, memory, pen, say, usual};
use crate::cli::{Ending, Stop, write_json};
use crate::store::journal::{Clock, Content, Details, Entry, Journal, Kept, Reading};
use crate::view::journal::{row, sentence};
use saltwright_fertilizers::{Faults, Problem};
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
    let at = args.told.moment(clock, &mut faults);
    let mut content = Content {
        at: at.unwrap_or_else(|| clock.moment()),
        system: usual(&kept).unwrap_or_default().to_owned(),
        reading: Reading::default(),
        details: Details::default(),
    };
    // Whose pen it is depends on the system, which is typed, too.
    let system = args.told.system.as_deref().unwrap_or(&content.system);
    let pen = pen(kept.system(system).unwrap_or(system));
    let scale = kept.remembered(&pen).and_then(|scale| scale.parse().ok());
    args.told.over(&mut content, scale, &mut faults);
    if let Some(file) = &args.batch {
        let litres = content.reading.litres.take();
        content.details.batch = batch::read(file, litres, &mut faults);
    }
    let known = kept.system(&content.system);
    let is_new = known.is_none();
    if let Some(known) = known {
        content.system = known.to_owned();
    }
    if content.system.is_empty() {
        let (what, mend) = ("the system", "Name it once, like --system \"tank 1\".");
        faults.add(None, "--system", Problem::Empty { what, mend });
    }
    if faults.is_empty() {
        content.check(None, option, &mut faults);
    }
    faults.finish(Some(()))?;

    let (mut journal, begun) = Journal::open_or_begin(path)?;
    let typed = args.told.measure();
    let mut remembered = vec![(SYSTEM, content.system.as_str())];
    remembered.extend(memory(typed));
    let scale = args.told.scale().map(|scale| scale.to_string());
    remembered.extend(scale.as_deref().map(|scale| (pen.as_str(), scale)));
    let number = journal.add(&content, clock.now, &remembered)?;
    let measure = typed.unwrap_or_else(|| measure(kept.remembered(MEASURE)));
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
