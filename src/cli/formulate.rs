//! `saltwright formulate RECIPE --water WATER`: from aims to grams.

use super::aims;
use super::answer::{ask, keep, mismatch};
use super::input::{Common, Known, acids, litres_node, optional};
use super::journal::add::Mixed;
use super::journal::batch::of_formulation;
use super::named::Named;
use super::origins::Origins;
use super::ranges::{self, Ranges};
use super::typed::{pairs, quantity};
use super::{Ending, Stop, mixes};
use crate::store::folder::Folder;
use crate::view::{csv, formulate, text};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::{
    parse_alkalinity, parse_ec, parse_mass, parse_number, parse_ratio, parse_strength,
};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::formulate::report::Outcome as Bands;
use saltwright_solver::formulate::request::TO_EC;
use saltwright_solver::job::Report;
use std::io::Write;
use std::path::PathBuf;

/// The command: what it asks, and whether the batch is noted.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Command {
    #[command(flatten)]
    args: Args,
    #[command(flatten)]
    mixed: Mixed,
}

/// Options of `formulate`, and of commands that go on from it.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// A shipped name (see `saltwright list recipes`) or a file (.toml)
    recipe: String,
    /// What it shares with others.
    #[command(flatten)]
    pub common: Common,
    /// Also show the mix per litre of stock for this dilution, like 1:100
    #[arg(long)]
    ratio: Option<String>,
    /// Strength, like 0.5 or "50 %"; to-ec: as strong as the EC asked for
    #[arg(long)]
    strength: Option<String>,
    /// List that fills in micronutrients the recipe lacks: micros-leafy
    #[arg(long, value_name = "LIST")]
    micros: Option<String>,
    /// Change an aim: K=210, a band Fe=0.8..1.2, an end Cl=..70 or Mg=20..
    #[arg(long, value_name = "NUTRIENT=MG_L")]
    aim: Vec<String>,
    /// Use only these fertilizers
    #[arg(long, value_name = "ID,ID", value_delimiter = ',')]
    pub only: Vec<String>,
    /// Leave these out
    #[arg(long, value_name = "ID,ID", value_delimiter = ',')]
    without: Vec<String>,
    /// Acid to use, or "none" for no acid and no acid reckoning
    #[arg(long, value_name = "ID")]
    acid: Vec<String>,
    /// Alkalinity to leave after the acid, meq/L (0.5 where left out)
    #[arg(long, value_name = "MEQ_L")]
    residual: Option<String>,
    /// Acid or base until the finished solution has this pH
    #[arg(long, value_name = "PH", conflicts_with = "residual")]
    ph: Option<String>,
    /// The pH of --ph is meant after standing in air, not right after mixing
    #[arg(long, requires = "ph")]
    in_air: bool,
    /// The most there is of a fertilizer, like urea=200g; needs --tank
    #[arg(long, value_name = "ID=GRAMS")]
    at_most: Vec<String>,
    /// A mix that is in the tank already (CSV or JSON)
    #[arg(long, value_name = "FILE")]
    already: Option<PathBuf>,
    /// EC to compare with, mS/cm
    #[arg(long, value_name = "MS_CM")]
    ec: Option<String>,
    #[command(flatten)]
    ranges: Ranges,
    /// Bands that hold for any bag: worst-case, or so often: 95%
    #[arg(long, value_name = "HOW", allow_hyphen_values = true)]
    sure: Option<String>,
    /// Stop at the closest and cheapest; do not look for a simpler mix
    #[arg(long)]
    no_simplest: bool,
}

/// Runs it.
pub fn run(
    command: &Command,
    folder: &Folder,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let args = &command.args;
    let (common, mut faults) = (&args.common, Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("formulate"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    args.fill(&mut request, &known, library, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, common.json, out)?;
    let Report::Formulate(report) = answer else {
        return mismatch();
    };
    if !common.json {
        let sheet = formulate::sheet(&report, args.ranges.show(common.show()), &|id| {
            known.dangers(id)
        });
        write!(out, "{}", text::render(&sheet))?;
    }
    let (mix, nutrients) = (
        || csv::mix(&report.mix),
        || csv::nutrients(&report.nutrients),
    );
    keep(common.out.as_deref(), mix, nutrients, common.json, out)?;
    let batch = || of_formulation(&report);
    command.mixed.note(folder, batch, common.json, out)?;
    Ok(match report.outcome {
        Bands::WithinBands => Ending::Within,
        Bands::OutsideBands => Ending::Outside,
    })
}

impl Args {
    /// Options that several commands share.
    pub const fn common(&self) -> &Common {
        &self.common
    }

    /// Adds everything but fertilizers and prices to a request.
    pub fn fill(
        &self,
        request: &mut Node,
        known: &Known<'_>,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        let recipe = Named::recipe(library).node(&self.recipe, "recipe", origins, faults);
        if let Some(recipe) = recipe {
            request.set("recipe", self.with_aims(recipe, library, origins, faults));
        }
        self.common.water(request, library, origins, faults);
        let litres = self.common.litres(faults);
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let residual = |text: &str| parse_alkalinity(text).map(|meq| meq.0);
        let residual = optional(self.residual.as_ref(), "--residual", residual, faults);
        let entries = [
            ("litres", litres_node(litres)),
            (
                "ratio",
                optional(self.ratio.as_ref(), "--ratio", parse_ratio, faults),
            ),
            ("strength", self.strength(faults)),
            ("ec_ms_cm", optional(self.ec.as_ref(), "--ec", ec, faults)),
            (
                "acid_to",
                residual
                    .map(|residual| Node::table([("residual_meq_l", residual)]))
                    .or_else(|| self.to_ph(faults)),
            ),
            (
                "detail",
                self.common.detail.then(|| Value::Bool(true).into()),
            ),
            ("micros", self.micros.as_ref().map(Node::text)),
            (
                "simplest",
                self.no_simplest.then(|| Value::Bool(false).into()),
            ),
        ];
        request.fill(entries);
        for (key, ids) in [("only", &self.only), ("without", &self.without)] {
            if !ids.is_empty() {
                request.set(key, Node::texts(ids.iter().map(|id| id.trim())));
            }
        }
        acids(&self.acid, request, faults);
        self.ranges.fill(request, origins, faults);
        let sure = self.sure.as_ref();
        let sure = sure.and_then(|typed| quantity(typed, "--sure", ranges::sure, faults));
        request.fill([("sure", sure)]);
        if !self.at_most.is_empty() {
            let grams = |text: &str| parse_mass(text).map(|grams| grams.0);
            request.set(
                "at_most_g",
                Node::table(pairs(&self.at_most, "--at-most", grams, faults)),
            );
        }
        if let Some(path) = &self.already {
            let lines = mixes::from_file(path, litres, known, faults);
            request.set("already", Value::List(lines).into());
        }
    }

    fn strength(&self, faults: &mut Faults) -> Option<Node> {
        let typed = self.strength.as_ref()?;
        if typed.trim() == TO_EC {
            return Some(Node::text(TO_EC));
        }
        if let Some(nearest) = nearest(typed, [TO_EC]).filter(|_| parse_strength(typed).is_err()) {
            let (kind, name) = ("strength", typed.clone());
            let nearest = Some(nearest);
            let problem = Problem::Unknown {
                kind,
                name,
                nearest,
            };
            faults.add(None, "--strength", problem);
            return None;
        }
        optional(Some(typed), "--strength", parse_strength, faults)
    }

    fn to_ph(&self, faults: &mut Faults) -> Option<Node> {
        let ph = optional(self.ph.as_ref(), "--ph", parse_number, faults)?;
        let end = if self.in_air { "open" } else { "closed" };
        Some(Node::table([("ph", ph), ("end", Node::text(end))]))
    }

    fn with_aims(
        &self,
        recipe: Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) -> Node {
        if self.aim.is_empty() {
            return recipe;
        }
        let (recipe, named) = aims::changed(recipe, &self.aim, aims::OPTION, library, faults);
        for aimed in named {
            let field = format!("recipe.aims.{aimed}");
            origins.option(field, format!("{} {aimed}", aims::OPTION));
        }
        recipe
    }
}
