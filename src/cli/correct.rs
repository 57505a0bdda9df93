//! `saltwright correct RECIPE --reading 1.6 --ph 6.8 …`: from what the meters show to what to do.

mod fill;

pub use fill::{band, trial};

use super::answer::{ask, keep_all, mismatched};
use super::input::Waters;
use super::journal::last::{Last, last};
use super::journal::say;
use super::named::Named;
use super::origins::Origins;
use super::ranges::Ranges;
use super::{Ending, Stop, stocks};
use crate::store::folder::Folder;
use crate::store::journal::Kept;
use crate::view::deeds::{Deed, deeds, unnamed};
use crate::view::{correct, csv, text};
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use saltwright_solver::reservoir::CorrectReport;
use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Options of `correct`.
#[derive(Clone, Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// A shipped name (see `saltwright list recipes`) or a file (.toml)
    recipe: Option<String>,
    /// Take what is not typed from the journal: last reading, recipe, tank
    #[arg(long, value_name = "NAME", num_args = 0..=1, default_missing_value = "")]
    system: Option<String>,
    /// What the EC meter or TDS pen shows, like 1.6, "16 CF", "650 ppm@500"
    #[arg(long, value_name = "SHOWN", allow_hyphen_values = true)]
    reading: Option<String>,
    /// What the pH meter shows
    #[arg(long)]
    ph: Option<String>,
    /// Temperature of the solution, like 19 or "66 F"
    #[arg(long)]
    temperature: Option<String>,
    /// What is in the tank, like 95L or "25 gal"; full where left out
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    level: Option<String>,
    /// What the tank takes, like "120 L" or "30 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    tank: Option<String>,
    /// Level to fill it to; as little as will do where left out
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    fill: Option<String>,
    /// Stocks: what `stock` printed with --json or wrote with --out
    #[arg(long, value_name = "FILE")]
    stock: Option<PathBuf>,
    /// Dilution of the stocks, like 1:100, where the file does not say it
    #[arg(long)]
    ratio: Option<String>,
    /// Acid at hand, an id; or none
    #[arg(long, value_name = "ID")]
    acid: Option<String>,
    /// Base at hand, an id; or none
    #[arg(long, value_name = "ID")]
    base: Option<String>,
    /// A bottle of unknown strength: what it did, like 5mL/100L=7.0..6.6
    #[arg(long, value_name = "ML/VOLUME=PH..PH")]
    bottle: Vec<String>,
    /// A laboratory's figures of the tank (.toml, like a water)
    #[arg(long, value_name = "FILE")]
    analysis: Option<String>,
    /// EC to come to, instead of the recipe's
    #[arg(long, value_name = "EC")]
    ec: Option<String>,
    /// pH to come to, instead of the recipe's, like 5.6..6.2
    #[arg(long, value_name = "LOW..HIGH")]
    ph_band: Option<String>,
    /// List that fills in micronutrients the recipe lacks
    #[arg(long, value_name = "RECIPE")]
    micros: Option<String>,
    #[command(flatten)]
    waters: Waters,
    /// Your own fertilizer table (CSV) in place of the shipped shelf
    #[arg(long, value_name = "FILE")]
    fertilizers: Option<PathBuf>,
    /// Ounces, fluid ounces, gallons, °F
    #[arg(long)]
    gallons: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
    /// What the tank holds of each nutrient, now and after
    #[arg(long)]
    detail: bool,
    #[command(flatten)]
    ranges: Ranges,
    /// Write the steps to a CSV file and what the tank holds beside it
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs it.
pub fn run(
    args: &Args,
    folder: &Folder,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let Some(system) = &args.system else {
        return answer(args, library, out).map(|(ending, _)| ending);
    };
    let last = last(&Kept::sound(&folder.journal())?, system)?;
    if !args.json {
        say(
            out,
            &format!(
                "From entry {} of the journal: {}",
                last.entry.number, last.words
            ),
        )?;
        for done in &last.since {
            say(
                out,
                &format!("! Since then, {done}. Read the meters again first."),
            )?;
        }
        writeln!(out)?;
    }
    let (ending, report) = answer(&args.filled(&last), library, out)?;
    if !args.json && !report.steps.is_empty() {
        writeln!(
            out,
            "\nOnce it is done, note it:\n  {}",
            to_note(&last, &report)
        )?;
    }
    Ok(ending)
}

/// Asks, and shows the answer.
fn answer(
    args: &Args,
    library: &Library,
    out: &mut dyn Write,
) -> Result<(Ending, Box<CorrectReport>), Stop> {
    let (common, mut faults) = (args.common(), Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("correct"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    if let Some(recipe) = &args.recipe {
        Named::recipe(library).fill(&mut request, "recipe", recipe, &mut origins, &mut faults);
    }
    common.water(&mut request, library, &mut origins, &mut faults);
    if let Some(path) = &args.stock {
        stocks::fill(&mut request, path, &known, &mut origins, &mut faults);
    }
    args.fill(&mut request, library, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, args.json, out)?;
    let Report::Correct(report) = answer else {
        return Err(mismatched());
    };
    if !args.json {
        let sheet = correct::sheet(&report, args.ranges.show(common.show()), &|id| {
            known.dangers(id)
        });
        write!(out, "{}", text::render(&sheet))?;
    }
    if let Some(path) = &args.out {
        let files = [
            ("", "the steps", csv::correction(&report.steps)),
            (
                "-nutrients",
                "the nutrients",
                csv::corrected_nutrients(&report.nutrients),
            ),
        ];
        keep_all(path, &files, args.json, out)?;
    }
    let ending = if report.in_band {
        Ending::Within
    } else {
        Ending::Outside
    };
    Ok((ending, report))
}

/// The command that notes the steps of a correction.
fn to_note(last: &Last, report: &CorrectReport) -> String {
    let water = last.settings.water.as_deref();
    // A file is told by its name; an entry has one word for what was poured.
    let water = water.and_then(|water| Path::new(water).file_stem()?.to_str());
    let mut line = format!("saltwright journal add --system \"{}\"", last.system);
    for Deed { what, amount, unit } in deeds(&report.steps, water) {
        let (option, of) = match what {
            Some(what) => ("--added", format!("{what}=")),
            None => ("--drained", String::new()),
        };
        // Writing to a text does not fail.
        let _ = write!(line, " \\\n      {option} {of}{amount}{unit}");
    }
    if let Some(words) = unnamed(&report.steps) {
        let _ = write!(line, " \\\n      --note \"{words}\"");
    }
    line
}
