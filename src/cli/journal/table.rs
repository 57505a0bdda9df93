//! `saltwright journal export` and `import`: a table for a spreadsheet, and back.

use super::{say, usual};
use crate::cli::{Ending, Stop};
use crate::store::files::{read_text, write_text};
use crate::store::journal::{Clock, Content, Journal, Kept, csv};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Options of `journal export`.
#[derive(Debug, clap::Args)]
pub struct ExportArgs {
    /// Only this system; all where left out
    #[arg(long, value_name = "NAME")]
    system: Option<String>,
    /// Write to this file instead of the screen
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Options of `journal import`.
#[derive(Debug, clap::Args)]
pub struct ImportArgs {
    /// A table that export wrote, or your own (see `help journal`)
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The system of rows that name none
    #[arg(long, value_name = "NAME")]
    system: Option<String>,
}

/// Runs `export`. Of a damaged journal what can be read is written, then the fault is told.
pub fn export(args: &ExportArgs, path: &Path, out: &mut dyn Write) -> Result<Ending, Stop> {
    let kept = Kept::read(path)?;
    let mut entries = kept.entries();
    if let Some(typed) = &args.system {
        let system = super::known(&kept, typed)?;
        entries.retain(|entry| entry.content.system == system);
    }
    let text = csv::print(&entries);
    match &args.out {
        Some(file) => {
            write_text(file, &text)?;
            let count = entries.len();
            say(
                out,
                &format!("Wrote {count} entries to {}.", file.display()),
            )?;
        }
        None => write!(out, "{text}")?,
    }
    match &kept.damage {
        Some(damage) => Err(damage.fault().into()),
        None => Ok(Ending::Within),
    }
}

/// Runs `import`.
pub fn import(
    args: &ImportArgs,
    path: &Path,
    clock: &Clock,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let kept = Kept::sound(path)?;
    let last = args.system.as_deref().or_else(|| usual(&kept));
    let name = args.file.display().to_string();
    let mut contents = csv::read(&name, &read_text(&args.file)?, last, clock)?;
    for content in &mut contents {
        if let Some(known) = kept.system(&content.system) {
            content.system = known.to_owned();
        }
    }
    let count = contents.len();
    let new = beyond(contents, &kept);
    let there = count - new.len();
    if !new.is_empty() {
        let (mut journal, begun) = Journal::open_or_begin(path)?;
        journal.import(&new, clock.now)?;
        if begun {
            writeln!(out, "Began a journal in {}.", path.display())?;
        }
    }
    let again = if there > 0 {
        format!(" {there} stood here already.")
    } else {
        String::new()
    };
    let words = format!("Noted {} entries from {name}.{again}", new.len());
    say(out, &words)?;
    Ok(Ending::Within)
}

/// Contents that do not stand in the journal; what stands there once takes up one of its likes.
fn beyond(contents: Vec<Content>, kept: &Kept) -> Vec<Content> {
    let mut there: Vec<Content> = kept
        .entries()
        .into_iter()
        .map(|entry| entry.content)
        .collect();
    let is_new = |content: &Content| {
        let found = there.iter().position(|known| known == content);
        found.map(|at| there.swap_remove(at)).is_none()
    };
    contents.into_iter().filter(is_new).collect()
}
