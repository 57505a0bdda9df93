//! `saltwright predict ID=0.5 ID=12mL --water WATER`: from grams to nutrients and EC.

use super::answer::{ask, keep, mismatch};
use super::input::{Common, litres_node, optional};
use super::origins::Origins;
use super::ranges::Ranges;
use super::{Ending, Stop, mixes};
use crate::view::{csv, predict, text};
use saltwright_fertilizers::units::parse_celsius;
use saltwright_fertilizers::{Faults, Node, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use std::io::Write;
use std::path::PathBuf;

/// Options of `predict`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// What goes into a litre, or into the tank with --tank: urea=0.5 id=12mL
    #[arg(value_name = "ID=AMOUNT")]
    mix: Vec<String>,
    /// A mix from a file (CSV, or JSON with a mix)
    #[arg(long = "mix", value_name = "FILE")]
    mix_file: Option<PathBuf>,
    /// Temperature of the solution, like 18 or "65 F": its raw EC and its pH
    #[arg(long)]
    temperature: Option<String>,
    #[command(flatten)]
    ranges: Ranges,
    #[command(flatten)]
    common: Common,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (common, mut faults) = (&args.common, Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("predict"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    common.water(&mut request, library, &mut origins, &mut faults);
    let litres = common.litres(&mut faults);
    let mut lines = mixes::typed(&args.mix, "mix", litres, &known, &mut faults);
    if let Some(path) = &args.mix_file {
        lines.extend(mixes::from_file(path, litres, &known, &mut faults));
    }
    request.set("mix", Value::List(lines).into());
    let celsius = |text: &str| parse_celsius(text).map(|celsius| celsius.0);
    let typed = args.temperature.as_ref();
    if let Some(node) = optional(typed, "--temperature", celsius, &mut faults) {
        request.set("temperature_c", node);
    }
    if let Some(node) = litres_node(litres) {
        request.set("litres", node);
    }
    args.ranges.fill(&mut request, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, common.json, out)?;
    let Report::Predict(report) = answer else {
        return mismatch();
    };
    if !common.json {
        let litres = litres.map(|litres| litres.0);
        let sheet = predict::sheet(&report, args.ranges.show(common.show()), litres, &|id| {
            known.dangers(id)
        });
        write!(out, "{}", text::render(&sheet))?;
    }
    let mix = || csv::predicted_mix(&report.mix);
    let nutrients = || csv::predicted_nutrients(&report.nutrients);
    keep(common.out.as_deref(), mix, nutrients, common.json, out)?;
    Ok(Ending::Within)
}
