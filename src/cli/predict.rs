//! `saltwright predict ID=0.5 ID=12mL --water WATER`

use super::input::{self, Common, dangers};
use super::{Ending, Stop, output};
use crate::view::{csv, predict};
use saltwright_fertilizers::{Node, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::{Outcome, Report, answer_node};
use std::io::Write;
use std::path::PathBuf;

/// Options of `predict`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true)]
pub struct Args {
    /// What goes in, per litre (for the tank with --tank): potassium-nitrate=0.5 nitric-acid-38=12mL
    #[arg(value_name = "ID=AMOUNT")]
    mix: Vec<String>,
    /// A mix from a file (CSV, or JSON with a mix)
    #[arg(long = "mix", value_name = "FILE")]
    mix_file: Option<PathBuf>,
    #[command(flatten)]
    common: Common,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let litres = args.common.litres()?;
    let mut lines = input::mix_typed(&args.mix, litres)?;
    if let Some(path) = &args.mix_file {
        lines.extend(input::mix_file(path, litres)?);
    }
    let mut request = Node::table([("job", Node::text("predict"))]);
    request.set("mix", Value::List(lines).into());
    let own = args.common.fill(&mut request, library)?;
    let report = match answer_node(&request, library).outcome {
        Outcome::Report(Report::Predict(report)) => report,
        other => return output::refused(other, &args.common, out),
    };
    let sheet = || predict::sheet(&report, args.common.show(), &dangers(&own, library));
    output::show(&report, sheet, &args.common, out)?;
    let tables = || {
        let nutrients = csv::predicted_nutrients(&report.nutrients);
        (csv::predicted_mix(&report.mix), nutrients)
    };
    output::keep(tables, &args.common, out)?;
    Ok(Ending::Within)
}
