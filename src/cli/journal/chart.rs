//! `saltwright journal chart`: readings over time.

use super::{MEASURE, known, measure, say, usual};
use crate::cli::typed::quantity;
use crate::cli::{Ending, Stop};
use crate::store::files::write_text;
use crate::store::journal::{Clock, Entry, Kept};
use crate::view::svg::timeline::Place;
use crate::view::{chart, svg, text};
use saltwright_fertilizers::{Faults, Problem};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Options of `journal chart`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The system; the last one where left out
    #[arg(long, value_name = "NAME")]
    system: Option<String>,
    /// Only from this time on, like "2026-03-02 08:00"
    #[arg(long, value_name = "WHEN")]
    since: Option<String>,
    /// Draw it into this file (.svg)
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

/// Runs it.
pub fn run(args: &Args, path: &Path, clock: &Clock, out: &mut dyn Write) -> Result<Ending, Stop> {
    let kept = Kept::read(path)?;
    let mut faults = Faults::default();
    let since = args.since.as_deref();
    let since = since.and_then(|text| quantity(text, "--since", |t| clock.read(t), &mut faults));
    let typed = args.system.as_deref().or_else(|| usual(&kept));
    let Some(typed) = typed.or_else(|| kept.systems().next()) else {
        let (what, mend) = ("this journal", "Note a reading first: journal add.");
        faults.add(None, "", Problem::Empty { what, mend });
        return Err(faults.into_list().into());
    };
    faults.finish(Some(()))?;
    let system = known(&kept, typed)?;
    let entries = kept.entries();
    let of_it: Vec<&Entry> = entries
        .iter()
        .filter(|entry| entry.content.system == system)
        .filter(|entry| since.is_none_or(|since| entry.content.at.second >= since.second))
        .collect();
    let measure = measure(kept.remembered(MEASURE));
    let chart = chart::chart(system, &of_it, &kept.settings(system), measure);
    match (&args.svg, svg::timeline::draw(&chart, Place::File)) {
        (Some(file), Some(drawing)) => {
            write_text(file, &drawing.into_string())?;
            say(out, &format!("Drew {system} into {}.", file.display()))?;
        }
        _ => write!(out, "{}", text::render(&chart::sheet(&chart)))?,
    }
    match &kept.damage {
        Some(damage) => Err(damage.fault().into()),
        None => Ok(Ending::Within),
    }
}
