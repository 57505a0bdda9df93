//! `saltwright substitute RECIPE --water WATER --prices FILE`: the cheapest mix that feeds the same.

use super::answer::{ask, keep_all, mismatch};
use super::origins::Origins;
use super::{Ending, Stop, formulate, mixes};
use crate::view::{csv, substitute, text};
use saltwright_fertilizers::{Faults, Node, Value};
use saltwright_recipes::Library;
use saltwright_solver::formulate::report::Outcome as Bands;
use saltwright_solver::job::Report;
use std::io::Write;
use std::path::PathBuf;

/// Options of `substitute`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    #[command(flatten)]
    formulate: formulate::Args,
    /// Today's mix (CSV or JSON); the closest formulation where left out
    #[arg(long, value_name = "FILE")]
    now: Option<PathBuf>,
    /// Formulate today's mix from these alone: what is at hand
    #[arg(
        long,
        value_name = "ID,ID",
        value_delimiter = ',',
        conflicts_with = "now"
    )]
    at_hand: Vec<String>,
    /// What must stay: bands (where left out), or deviation, as close as now
    #[arg(long, value_name = "WHAT")]
    keep: Option<String>,
    /// What prices are in, like EUR: a label
    #[arg(long, value_name = "NAME")]
    currency: Option<String>,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (common, mut faults) = (args.formulate.common(), Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("substitute"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    let formulate = &args.formulate;
    formulate.fill(&mut request, &known, library, &mut origins, &mut faults);
    if let Some(path) = &args.now {
        let litres = common.litres(&mut Faults::default());
        let lines = mixes::from_file(path, litres, &known, &mut faults);
        request.set("now", Value::List(lines).into());
    }
    if !args.at_hand.is_empty() {
        request.set(
            "at_hand",
            Node::texts(args.at_hand.iter().map(|id| id.trim())),
        );
    }
    for (key, typed) in [("keep", &args.keep), ("currency", &args.currency)] {
        if let Some(typed) = typed {
            request.set(key, Node::text(typed));
        }
    }
    let answer = ask((&request, faults), &origins, library, common.json, out)?;
    let Report::Substitute(report) = answer else {
        return mismatch();
    };
    if !common.json {
        let sheet = substitute::sheet(&report, common.show(), &|id| known.dangers(id));
        write!(out, "{}", text::render(&sheet))?;
    }
    if let Some(path) = common.out.as_deref() {
        let files = [
            ("", "the cheapest mix", csv::mix(&report.cheapest.mix)),
            (
                "-nutrients",
                "its nutrients",
                csv::nutrients(&report.cheapest.nutrients),
            ),
            ("-swaps", "the swaps", csv::swaps(&report.swaps)),
            (
                "-prices",
                "prices that decide",
                csv::deciding_prices(&report),
            ),
            (
                "-curve",
                "cost against deviation",
                csv::curve(&report.curve),
            ),
            (
                "-salt",
                "cost against sodium and chloride",
                csv::salt_curve(&report.salt_curve),
            ),
        ];
        keep_all(path, &files, common.json, out)?;
    }
    Ok(match report.cheapest.outcome {
        Bands::WithinBands => Ending::Within,
        Bands::OutsideBands => Ending::Outside,
    })
}
