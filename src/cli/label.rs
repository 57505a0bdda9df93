//! `saltwright label 20-20-20 Mg=2 --ingredients ID,ID`: a bought mix against its label.

use super::answer::{ask, keep, keep_all, mismatch};
use super::input::{Common, litres_node, optional};
use super::named::Named;
use super::origins::Origins;
use super::ranges::Ranges;
use super::typed::pairs;
use super::{Ending, Stop};
use crate::store::files::read_text;
use crate::view::{csv, label, text};
use saltwright_fertilizers::units::{Amount, parse_dose, parse_ec, parse_number};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use std::io::Write;
use std::path::Path;

/// Options of `label`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// What is printed: 15-5-15, N=15, Mg=2, or a file with all of it (.toml)
    #[arg(value_name = "LABEL")]
    label: Vec<String>,
    /// us (where left out), us-md, eu, eu-2003, elements, de, uk, au, ca
    #[arg(long, value_name = "CONVENTION")]
    convention: Option<String>,
    /// The mix is a liquid
    #[arg(long)]
    liquid: bool,
    /// What it is made of; common fertilizers where left out
    #[arg(long, value_name = "ID,ID", value_delimiter = ',')]
    ingredients: Vec<String>,
    /// Nothing inert is in it
    #[arg(long)]
    no_filler: bool,
    /// What a laboratory found, percent as the label prints it
    #[arg(long, value_name = "NUTRIENT=PCT", value_delimiter = ',')]
    found: Vec<String>,
    /// What was dissolved for the meter test, like "1 g/L"
    #[arg(long, value_name = "DOSE")]
    dissolve: Option<String>,
    /// What the EC meter showed in it
    #[arg(long, value_name = "MS_CM", requires = "dissolve")]
    reads: Option<String>,
    /// What it showed in the water alone
    #[arg(long, value_name = "MS_CM", requires = "dissolve")]
    water_reads: Option<String>,
    /// What is dosed, like "5 mL/gal" or "1 tsp/gal": mg/L of everything
    #[arg(long, value_name = "DOSE")]
    dose: Option<String>,
    /// Density of the mix, g/mL, for what is given by volume
    #[arg(long, value_name = "G_PER_ML")]
    density: Option<String>,
    /// Complete it to this recipe with single fertilizers
    #[arg(long, value_name = "RECIPE")]
    recipe: Option<String>,
    /// Complete it as cheaply as the recipe's bands allow, not as closely
    #[arg(long, requires = "recipe")]
    within_bands: bool,
    #[command(flatten)]
    ranges: Ranges,
    #[command(flatten)]
    common: Common,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (common, mut faults) = (&args.common, Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("label"))]);
    args.label(&mut request, &mut origins, &mut faults);
    let known = common.shelf(&mut request, library, &mut faults);
    common.water(&mut request, library, &mut origins, &mut faults);
    args.options(&mut request, library, &mut origins, &mut faults);
    args.ranges.fill(&mut request, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, common.json, out)?;
    let Report::Label(report) = answer else {
        return mismatch();
    };
    if !common.json {
        let sheet = label::sheet(&report, args.ranges.show(common.show()), &|id| {
            known.dangers(id)
        });
        write!(out, "{}", text::render(&sheet))?;
    }
    let path = common.out.as_deref();
    if let Some(whole) = &report.complete {
        let mix = || csv::mix(&whole.mix);
        let nutrients = || csv::nutrients(&whole.nutrients);
        keep(path, mix, nutrients, common.json, out)?;
    } else if let Some(path) = path {
        let files = [("", "the label", csv::label(&report.analysis))];
        keep_all(path, &files, common.json, out)?;
    }
    Ok(if report.is_consistent() {
        Ending::Within
    } else {
        Ending::Outside
    })
}

/// A file rather than a grade or a pair.
fn is_file(word: &str) -> bool {
    let path = Path::new(word);
    let ending = path.extension().unwrap_or_default();
    word.contains(['/', '\\']) || ending == "toml" || ending == "json"
}

/// A label in a file: its entries are those of a request.
fn label_file(file: &str, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
    let mut in_file = Faults::in_file(file);
    let read = read_text(Path::new(file)).map_err(|fault| faults.extend([fault]));
    let Ok(text) = read else { return };
    let node = if Path::new(file)
        .extension()
        .is_some_and(|ending| ending == "json")
    {
        Node::from_json(&text).map_err(|problem| (None, problem))
    } else {
        Node::from_toml(text.trim_start_matches('\u{feff}'))
    };
    match node {
        Ok(Node {
            value: Value::Table(entries),
            ..
        }) => {
            for (key, node) in entries {
                origins.file(key.as_str(), file);
                request.set(&key, node);
            }
        }
        Ok(other) => {
            let (found, wanted) = (other.shape(), "a table of named values");
            in_file.add(other.line, "", Problem::WrongShape { found, wanted });
        }
        Err((line, problem)) => in_file.add(line, "", problem),
    }
    faults.extend(in_file.into_list());
}

impl Args {
    /// The label itself: a file, a grade, pairs, or a grade with pairs.
    fn label(&self, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
        let (files, words): (Vec<&String>, Vec<&String>) =
            self.label.iter().partition(|word| is_file(word));
        for file in files {
            label_file(file, request, origins, faults);
        }
        let (typed, grades): (Vec<&String>, Vec<&String>) =
            words.into_iter().partition(|word| word.contains('='));
        let typed: Vec<String> = typed.into_iter().cloned().collect();
        let pairs = pairs(&typed, "label", parse_number, faults);
        let mut parts: Vec<String> = grades.into_iter().cloned().collect();
        if parts.is_empty() {
            if !pairs.is_empty() {
                request.set("guarantee", Node::table(pairs));
                origins.option("guarantee", "label");
            }
            return;
        }
        for (key, pct) in pairs {
            if let Value::Number(pct) = pct.value {
                parts.push(format!("{pct}{key}"));
            }
        }
        request.set("guarantee", Node::text(parts.join(" + ")));
        origins.option("guarantee", "label");
    }

    fn options(
        &self,
        request: &mut Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        let flags = [
            ("form", self.liquid.then(|| Node::text("liquid"))),
            ("filler", self.no_filler.then(|| Value::Bool(false).into())),
            ("keep", self.within_bands.then(|| Node::text("bands"))),
            ("convention", self.convention.as_ref().map(Node::text)),
            (
                "density_g_per_ml",
                optional(self.density.as_ref(), "--density", parse_number, faults),
            ),
            ("meter", self.meter(faults)),
            (
                "dose",
                self.dose
                    .as_ref()
                    .and_then(|text| dose(text, "--dose", faults)),
            ),
        ];
        request.fill(flags);
        if !self.ingredients.is_empty() {
            request.set(
                "ingredients",
                Node::texts(self.ingredients.iter().map(|id| id.trim())),
            );
        }
        if !self.found.is_empty() {
            let found = pairs(&self.found, "--found", parse_number, faults);
            request.set("found", Node::table(found));
        }
        if let Some(recipe) = &self.recipe {
            Named::recipe(library).fill(request, "recipe", recipe, origins, faults);
        }
        let completing = request.get("recipe").is_some();
        let litres = self.common.litres(faults);
        if completing && let Some(litres) = litres_node(litres) {
            request.set("litres", litres);
        }
        if self.common.tank.is_some() && !completing {
            let what = "--tank has nothing to say without a recipe to complete".to_owned();
            let mend = "Add --recipe, or leave it out.".to_owned();
            faults.add(None, "--tank", Problem::Contradiction { what, mend });
        }
    }

    fn meter(&self, faults: &mut Faults) -> Option<Node> {
        let mut node = dose(self.dissolve.as_ref()?, "--dissolve", faults)?;
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let readings = [
            (
                "ec_ms_cm",
                optional(self.reads.as_ref(), "--reads", ec, faults),
            ),
            (
                "water_ec_ms_cm",
                optional(self.water_reads.as_ref(), "--water-reads", ec, faults),
            ),
        ];
        node.fill(readings);
        Some(node)
    }
}

/// `{"g_per_l": …}` or `{"ml_per_l": …}`.
fn dose(typed: &str, option: &str, faults: &mut Faults) -> Option<Node> {
    let amount = super::typed::quantity(typed, option, parse_dose, faults)?;
    let (key, value) = match amount {
        Amount::Mass(grams) => ("g_per_l", grams.0),
        Amount::Volume(ml) => ("ml_per_l", ml.0),
    };
    Some(Node::table([(key, Node::number(value))]))
}
