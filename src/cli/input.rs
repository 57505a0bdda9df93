//! From what is typed to the nodes of a request: names or files, quantities with units.

use super::Stop;
use crate::store::files::{fault, read_text};
use crate::view::formulate::{Show, Unit};
use crate::view::round::Measure;
use clap::ValueEnum;
use saltwright_fertilizers::fault::Faults;
use saltwright_fertilizers::units::{Amount, Litres, parse_amount, parse_number, parse_volume};
use saltwright_fertilizers::{Fertilizer, Hazard, MixLine, Node, Problem, Table, Value, prices};
use saltwright_recipes::{Library, Recipe, Water};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Options that several commands share.
#[derive(Clone, Debug, clap::Args)]
pub struct Common {
    /// Water: a shipped name or a file (.toml); pure water where left out
    #[arg(long, value_name = "WATER")]
    pub water: Option<String>,
    /// Part of a blend, like rain-barrel=0.6; repeat for each water
    #[arg(long, value_name = "WATER=SHARE", conflicts_with = "water")]
    pub blend: Vec<String>,
    /// Volume of the batch, like "120 L" or "30 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub tank: Option<String>,
    /// Your own fertilizer table (CSV) in place of the shipped shelf
    #[arg(long, value_name = "FILE")]
    pub fertilizers: Option<PathBuf>,
    /// Price list (CSV: id, price_per_kg)
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// One price per kg, like potassium-nitrate=1.85; repeat as needed
    #[arg(long, value_name = "ID=PRICE")]
    pub price: Vec<String>,
    /// Unit of the nutrient table
    #[arg(long, value_enum, default_value_t = UnitArg::Mg)]
    pub units: UnitArg,
    /// Ounces, fluid ounces and gallons
    #[arg(long)]
    pub gallons: bool,
    /// Write the mix to this CSV file, and the nutrients beside it
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Print the report as JSON
    #[arg(long)]
    pub json: bool,
}

/// Units of the nutrient table.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum UnitArg {
    /// mg/L of the element
    Mg,
    /// mmol/L
    Mmol,
    /// meq/L
    Meq,
}

impl Common {
    /// How figures are shown.
    pub const fn show(&self) -> Show {
        Show {
            measure: if self.gallons {
                Measure::Us
            } else {
                Measure::Metric
            },
            unit: match self.units {
                UnitArg::Mg => Unit::Mg,
                UnitArg::Mmol => Unit::Mmol,
                UnitArg::Meq => Unit::Meq,
            },
        }
    }

    /// The volume of the batch.
    pub fn litres(&self) -> Result<Option<Litres>, Stop> {
        let typed = self.tank.as_deref();
        typed
            .map(|text| parse_volume(text).map_err(|p| typed_fault("--tank", p)))
            .transpose()
    }

    /// Adds water, fertilizers and prices to a request; the fertilizers of the file come back.
    pub fn fill(&self, request: &mut Node, library: &Library) -> Result<Table, Stop> {
        if let Some(water) = self.water_node(library)? {
            request.set("water", water);
        }
        let mut own = Table::default();
        if let Some(path) = &self.fertilizers {
            own = Table::read_csv(&path.display().to_string(), &read_text(path)?)?;
            let rows = own.iter().map(|row| row.to_node()).collect();
            request.set("fertilizers", Value::List(rows).into());
        }
        let mut priced: Vec<(String, Node)> = Vec::new();
        if let Some(path) = &self.prices {
            let name = path.display().to_string();
            for row in prices::read_csv(&name, &read_text(path)?)? {
                priced.extend(row.price_per_kg.map(|price| (row.id, Node::number(price))));
            }
        }
        for (id, price) in pairs(&self.price, "--price")? {
            priced.retain(|(known, _)| *known != id);
            priced.push((id, price));
        }
        if !priced.is_empty() {
            request.set("prices", Node::table(priced));
        }
        Ok(own)
    }

    fn water_node(&self, library: &Library) -> Result<Option<Node>, Stop> {
        if !self.blend.is_empty() {
            let parts = self.blend.iter().map(|part| {
                let (water, share) = split(part, "--blend")?;
                let share = number(share, "--blend")?;
                let water = named_or_file(water, |id| library.water(id).is_some(), read_water)?;
                Ok(Node::table([("water", water), ("share", share)]))
            });
            let parts: Vec<Node> = parts.collect::<Result<_, Stop>>()?;
            return Ok(Some(Node::table([("blend", Value::List(parts).into())])));
        }
        let typed = self.water.as_deref();
        typed
            .map(|water| named_or_file(water, |id| library.water(id).is_some(), read_water))
            .transpose()
    }
}

/// The dangers of a fertilizer: the grower's own row first, then the shipped one.
pub fn dangers<'a>(own: &'a Table, library: &'a Library) -> impl Fn(&str) -> Vec<Hazard> + 'a {
    move |id| {
        let row: Option<&Arc<Fertilizer>> = own.get(id).or_else(|| library.fertilizers.get(id));
        row.map(|row| row.hazards()).unwrap_or_default()
    }
}

/// A fault in something typed.
pub fn typed_fault(option: &str, problem: Problem) -> Stop {
    let mut faults = Faults::default();
    faults.add(None, option, problem);
    faults.into_list().into()
}

/// A recipe by name or file.
pub fn recipe_node(typed: &str, library: &Library) -> Result<Node, Stop> {
    named_or_file(typed, |id| library.recipe(id).is_some(), read_recipe)
}

/// A shipped name as it is; else a file where it looks like one; else the name, to be refused with
/// the nearest one.
fn named_or_file(
    typed: &str,
    is_shipped: impl Fn(&str) -> bool,
    check: fn(&Node, &mut Faults),
) -> Result<Node, Stop> {
    let path = Path::new(typed);
    let looks_like_file = typed.contains(['/', '\\'])
        || path
            .extension()
            .is_some_and(|ending| ending == "toml" || ending == "json")
        || path.exists();
    if is_shipped(typed) || !looks_like_file {
        return Ok(Node::text(typed));
    }
    let text = read_text(path)?;
    let name = path.display().to_string();
    let mut faults = Faults::in_file(&name);
    let node = if path.extension().is_some_and(|ending| ending == "json") {
        Node::from_json(&text).map_err(|problem| (None, problem))
    } else {
        Node::from_toml(&text)
    };
    let node = match node {
        Ok(node) => {
            check(&node, &mut faults);
            Some(node)
        }
        Err((line, problem)) => {
            faults.add(line, "", problem);
            None
        }
    };
    Ok(faults.finish(node)?)
}

fn read_recipe(node: &Node, faults: &mut Faults) {
    Recipe::read(node, "", faults);
}

fn read_water(node: &Node, faults: &mut Faults) {
    if node.get("blend").is_none() {
        Water::read(node, "", faults);
    }
}

/// `ID=VALUE`.
pub fn split<'a>(typed: &'a str, option: &str) -> Result<(&'a str, &'a str), Stop> {
    typed.split_once('=').ok_or_else(|| {
        let reason = format!("\"{typed}\" is not of the form NAME=VALUE");
        let mend = "Write it like potassium-nitrate=0.5, without blanks.";
        typed_fault(option, Problem::Unreadable { reason, mend })
    })
}

/// A typed number as a node.
pub fn number(typed: &str, option: &str) -> Result<Node, Stop> {
    let number = parse_number(typed).map_err(|problem| typed_fault(option, problem))?;
    Ok(Node::number(number))
}

/// `ID=NUMBER` entries.
pub fn pairs(typed: &[String], option: &str) -> Result<Vec<(String, Node)>, Stop> {
    typed
        .iter()
        .map(|pair| {
            let (id, value) = split(pair, option)?;
            Ok((id.to_owned(), number(value, option)?))
        })
        .collect()
}

/// A mix from a file: CSV, or JSON (a list, or a report that holds one).
pub fn mix_file(path: &Path, litres: Option<Litres>) -> Result<Vec<Node>, Stop> {
    let text = read_text(path)?;
    let name = path.display().to_string();
    if path.extension().is_none_or(|ending| ending != "json") {
        let lines = MixLine::read_csv(&name, &text, litres)?;
        return Ok(lines.iter().map(line_node).collect());
    }
    let node = Node::from_json(&text).map_err(|problem| {
        let mut fault = fault(path, "", "");
        fault.problem = problem;
        Stop::from(fault)
    })?;
    let list = node.get("mix").unwrap_or(&node);
    let mut faults = Faults::in_file(&name);
    let lines = MixLine::read_list(list, "mix", &mut faults);
    let nodes = lines.iter().map(line_node).collect();
    Ok(faults.finish(Some(nodes))?)
}

fn line_node(line: &MixLine) -> Node {
    let amounts = [("g_per_l", line.g_per_l), ("ml_per_l", line.ml_per_l)];
    let amounts = amounts
        .into_iter()
        .filter_map(|(key, value)| Some((key, Node::number(value?))));
    Node::table([("id", Node::text(&line.id))].into_iter().chain(amounts))
}

/// `ID=0.5 ID=12mL`: amounts per litre, or for the tank where its volume is given.
pub fn mix_typed(typed: &[String], litres: Option<Litres>) -> Result<Vec<Node>, Stop> {
    let per = litres.map_or(1.0, |litres| litres.0);
    typed
        .iter()
        .map(|pair| {
            let (id, amount) = split(pair, "mix")?;
            let amount = parse_amount(amount).map_err(|problem| typed_fault(id, problem))?;
            let amount = match amount {
                Amount::Mass(grams) => ("g_per_l", Node::number(grams.0 / per)),
                Amount::Volume(millilitres) => ("ml_per_l", Node::number(millilitres.0 / per)),
            };
            Ok(Node::table([("id", Node::text(id)), amount]))
        })
        .collect()
}

/// `mix.csv` makes `mix-nutrients.csv`.
pub fn beside(path: &Path) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!("{stem}-nutrients.csv"))
}
