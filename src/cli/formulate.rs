//! `saltwright formulate RECIPE --water WATER`

use super::input::{self, Common, dangers, number, pairs, recipe_node, split, typed_fault};
use super::{Ending, Stop, output};
use crate::view::{csv, formulate};
use saltwright_fertilizers::{Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::formulate::report::Outcome as Bands;
use saltwright_solver::job::{Outcome, Report, answer_node};
use std::io::Write;
use std::path::PathBuf;

/// Options of `formulate`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true)]
pub struct Args {
    /// Recipe: a shipped name (see `saltwright list recipes`) or a file (.toml)
    recipe: String,
    #[command(flatten)]
    common: Common,
    /// Also show the mix per litre of stock for this dilution, like 100
    #[arg(long)]
    ratio: Option<String>,
    /// Strength against the recipe as written, like 0.5
    #[arg(long)]
    strength: Option<String>,
    /// List that fills in micronutrients the recipe lacks, like micros-leafy
    #[arg(long, value_name = "LIST")]
    micros: Option<String>,
    /// Change an aim: K=210, a band Fe=0.8..1.2, a maximum Cl=..70, a minimum Mg=20..
    #[arg(long, value_name = "NUTRIENT=MG_L")]
    aim: Vec<String>,
    /// Use only these fertilizers
    #[arg(long, value_name = "ID,ID", value_delimiter = ',')]
    only: Vec<String>,
    /// Leave these out
    #[arg(long, value_name = "ID,ID", value_delimiter = ',')]
    without: Vec<String>,
    /// Acid to use, or "none" for no acid and no acid reckoning
    #[arg(long, value_name = "ID")]
    acid: Vec<String>,
    /// Alkalinity to leave after the acid, meq/L (default 0.5)
    #[arg(long, value_name = "MEQ_L")]
    residual: Option<String>,
    /// The most there is of a fertilizer, grams; needs --tank
    #[arg(long, value_name = "ID=GRAMS")]
    at_most: Vec<String>,
    /// A mix that is in the tank already (CSV or JSON)
    #[arg(long, value_name = "FILE")]
    already: Option<PathBuf>,
    /// EC to compare with, mS/cm
    #[arg(long, value_name = "MS_CM")]
    ec: Option<String>,
    /// Keep the first optimum found: no least mass, no leaving out of fertilizers
    #[arg(long)]
    no_simplest: bool,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (request, own) = request(args, library)?;
    let report = match answer_node(&request, library).outcome {
        Outcome::Report(Report::Formulate(report)) => report,
        other => return output::refused(other, &args.common, out),
    };
    let sheet = || formulate::sheet(&report, args.common.show(), &dangers(&own, library));
    output::show(&report, sheet, &args.common, out)?;
    let tables = || (csv::mix(&report.mix), csv::nutrients(&report.nutrients));
    output::keep(tables, &args.common, out)?;
    Ok(match report.outcome {
        Bands::WithinBands => Ending::Within,
        Bands::OutsideBands => Ending::Outside,
    })
}

fn request(args: &Args, library: &Library) -> Result<(Node, saltwright_fertilizers::Table), Stop> {
    let mut recipe = recipe_node(&args.recipe, library)?;
    if !args.aim.is_empty() {
        recipe = with_aims(recipe, &args.aim, library)?;
    }
    let mut request = Node::table([("job", Node::text("formulate")), ("recipe", recipe)]);
    let own = args.common.fill(&mut request, library)?;
    let litres = args.common.litres()?;
    if let Some(litres) = litres {
        request.set("litres", Node::number(litres.0));
    }
    let numbers = [
        ("ratio", &args.ratio, "--ratio"),
        ("strength", &args.strength, "--strength"),
        ("ec_ms_cm", &args.ec, "--ec"),
    ];
    for (key, typed, option) in numbers {
        if let Some(typed) = typed {
            request.set(key, number(typed, option)?);
        }
    }
    if let Some(residual) = &args.residual {
        let residual = number(residual, "--residual")?;
        request.set("acid_to", Node::table([("residual_meq_l", residual)]));
    }
    if let Some(micros) = &args.micros {
        request.set("micros", Node::text(micros));
    }
    for (key, ids) in [
        ("only", &args.only),
        ("without", &args.without),
        ("acid", &args.acid),
    ] {
        if !ids.is_empty() {
            request.set(key, Node::texts(ids.iter().map(|id| id.trim())));
        }
    }
    if args.acid.iter().any(|acid| acid == "none") {
        request.set("acid", Value::Null.into());
    }
    if !args.at_most.is_empty() {
        request.set("at_most_g", Node::table(pairs(&args.at_most, "--at-most")?));
    }
    if let Some(path) = &args.already {
        let lines = input::mix_file(path, litres)?;
        request.set("already", Value::List(lines).into());
    }
    if args.no_simplest {
        request.set("simplest", Value::Bool(false).into());
    }
    Ok((request, own))
}

/// The recipe as a table with some aims changed, in mg/L.
fn with_aims(recipe: Node, typed: &[String], library: &Library) -> Result<Node, Stop> {
    let mut recipe = match &recipe.value {
        Value::Text(id) => match library.recipe(id) {
            Some(shipped) => shipped.to_node(),
            // The unknown name is refused with the nearest one.
            None => return Ok(recipe),
        },
        _ => recipe,
    };
    let mut aims = recipe
        .get("aims")
        .cloned()
        .unwrap_or_else(|| Node::table::<String>([]));
    for pair in typed {
        let (nutrient, figure) = split(pair, "--aim")?;
        let mut aim = Node::table([("unit", Node::text("mg/L"))]);
        match figure.split_once("..") {
            None => aim.set("aim", number(figure, "--aim")?),
            Some((low, high)) => {
                for (key, end) in [("min", low), ("max", high)] {
                    if !end.is_empty() {
                        aim.set(key, number(end, "--aim")?);
                    }
                }
                if low.is_empty() && high.is_empty() {
                    let what = "this aim";
                    let mend = "Write it like K=210, Fe=0.8..1.2 or Cl=..70.";
                    return Err(typed_fault("--aim", Problem::Empty { what, mend }));
                }
            }
        }
        aims.set(nutrient, aim);
    }
    recipe.set("aims", aims);
    Ok(recipe)
}
