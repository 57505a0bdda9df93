//! `saltwright journal add`: a reading, what was done, or words.

use super::typed::{Told, option};
use super::{MEASURE, SYSTEM, measure, memory, say};
use crate::cli::{Ending, Stop, write_json};
use crate::store::journal::{Clock, Content, Details, Entry, Journal, Kept, Reading};
use crate::view::journal::{row, sentence};
use saltwright_fertilizers::{Faults, Problem};
use std::io::Write;
use std::path::Path;

/// Options of `journal add`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    #[command(flatten)]
    told: Told,
    /// Print the entry as JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(args: &Args, path: &Path, clock: &Clock, out: &mut dyn Write) -> Result<Ending, Stop> {
    let kept = Kept::read(path)?;
    if let Some(damage) = &kept.damage {
        return Err(damage.fault().into());
    }
    let mut faults = Faults::default();
    let at = args.told.moment(clock, &mut faults);
    let mut content = Content {
        at: at.unwrap_or_else(|| clock.moment()),
        system: kept.remembered(SYSTEM).unwrap_or_default().to_owned(),
        reading: Reading::default(),
        details: Details::default(),
    };
    args.told.over(&mut content, &mut faults);
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
        content.check(option, &mut faults);
    }
    faults.finish(Some(()))?;

    let (mut journal, begun) = Journal::open_or_begin(path)?;
    let typed = args.told.measure();
    let mut remembered = vec![(SYSTEM, content.system.as_str())];
    remembered.extend(memory(typed));
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
