//! From names, files and options to the nodes of a request.
//!
//! In: what is typed.  Out: nodes, and faults that name the option or the file and line. Knows
//! nothing of what an answer looks like.

use super::bags;
use super::named::Named;
use super::origins::Origins;
use super::typed::{pair, pairs, quantity, volume};
use crate::store::files::read_text;
use crate::view::formulate::Show;
use crate::view::nutrients::Unit;
use crate::view::round::Measure;
use clap::ValueEnum;
use saltwright_fertilizers::units::{Litres, parse_number, parse_strength};
use saltwright_fertilizers::{
    Fault, Faults, Fertilizer, Hazard, Node, Problem, Table, Value, prices,
};
use saltwright_recipes::Library;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The water of a request: one, or a blend of several.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Waters {
    /// Water: a shipped name or a file (.toml); pure water where left out
    #[arg(long, value_name = "WATER")]
    pub water: Option<String>,
    /// Part of a blend, like rain-barrel=0.6; repeat for each water
    #[arg(long, value_name = "WATER=SHARE", conflicts_with = "water")]
    pub blend: Vec<String>,
}

/// Options that several commands share.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Common {
    #[command(flatten)]
    pub(super) waters: Waters,
    /// Volume of the batch, like "120 L" or "30 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub tank: Option<String>,
    /// Your own fertilizer table (CSV) in place of the shipped shelf
    #[arg(long, value_name = "FILE")]
    pub fertilizers: Option<PathBuf>,
    /// Price list (CSV: id, price_per_kg; see help prices)
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// One price per kg, like potassium-nitrate=1.85; repeat as needed
    #[arg(long, value_name = "ID=PRICE")]
    pub price: Vec<String>,
    /// Unit of the nutrient table per litre: mg (where left out), mmol or meq
    #[arg(long, value_enum, default_value_t = UnitArg::Mg)]
    #[arg(hide_possible_values = true, hide_default_value = true)]
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
    /// Everything that was found: ions, solids, ranges, buffer
    #[arg(long)]
    pub detail: bool,
}

/// Units of the nutrient table.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
#[allow(missing_docs)] // told by the help of --units; more would only lengthen it
pub enum UnitArg {
    #[default]
    Mg,
    Mmol,
    Meq,
}

/// The grower's own fertilizers and the shipped ones.
#[derive(Debug)]
pub struct Known<'a> {
    own: Table,
    library: &'a Library,
}

impl<'a> Known<'a> {
    /// The grower's own table over the shipped one.
    pub const fn new(own: Table, library: &'a Library) -> Self {
        Self { own, library }
    }

    /// The fertilizer of that id: the grower's own row first, then the shipped one.
    pub fn get(&self, id: &str) -> Option<&Arc<Fertilizer>> {
        self.own
            .get(id)
            .or_else(|| self.library.fertilizers.get(id))
    }

    /// Why there is no such fertilizer, with the nearest name.
    pub fn unknown(&self, id: &str) -> Problem {
        let nearest = self
            .own
            .nearest(id)
            .or_else(|| self.library.fertilizers.nearest(id));
        let (kind, name) = ("fertilizer", id.to_owned());
        Problem::Unknown {
            kind,
            name,
            nearest,
        }
    }

    /// The dangers of the fertilizer of that id.
    pub fn dangers(&self, id: &str) -> Vec<Hazard> {
        self.get(id).map(|row| row.hazards()).unwrap_or_default()
    }
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
            detail: self.detail,
            narrow: None,
        }
    }

    /// The volume of the batch.
    pub fn litres(&self, faults: &mut Faults) -> Option<Litres> {
        volume(self.tank.as_deref()?, "--tank", faults)
    }

    /// Adds fertilizers and prices to a request.
    pub fn shelf<'a>(
        &self,
        request: &mut Node,
        library: &'a Library,
        faults: &mut Faults,
    ) -> Known<'a> {
        let mut known = Known::new(Table::default(), library);
        let table = self
            .fertilizers
            .as_ref()
            .and_then(|path| csv(path, Table::read_csv, faults));
        if let Some(table) = table {
            let rows = table.iter().map(|row| row.to_node()).collect();
            request.set("fertilizers", Value::List(rows).into());
            known = Known::new(table, library);
        }
        let mut priced: Vec<(String, Node)> = Vec::new();
        let list = self
            .prices
            .as_ref()
            .and_then(|path| csv(path, prices::read_csv, faults));
        // The prices of the grower's own folder serve where none are named.
        let list = match &self.prices {
            None => Some(library.own.prices.clone()),
            Some(_) => list,
        };
        let mut in_file = Faults::in_file(&name(self.prices.as_deref()));
        let list = list.unwrap_or_default();
        for row in list.iter().filter(|row| known.get(&row.id).is_none()) {
            in_file.add(row.line, "id", known.unknown(&row.id));
        }
        priced.extend(prices::by_the_kilogram(&list));
        faults.extend(in_file.into_list());
        for (id, price) in pairs(&self.price, "--price", parse_number, faults) {
            priced.retain(|(known, _)| *known != id);
            priced.push((id, price));
        }
        if !priced.is_empty() {
            request.set("prices", Node::table(priced));
        }
        known
    }

    /// The bags of the price list as nodes by fertilizer, in its order.
    pub fn bags(
        &self,
        request: &mut Node,
        origins: &mut Origins,
        faults: &mut Faults,
    ) -> Vec<String> {
        let path = self.prices.as_ref();
        // Its faults were told with the prices.
        let list = path.and_then(|path| csv(path, prices::read_csv, &mut Faults::default()));
        let bags = bags::by_fertilizer(
            list.unwrap_or_default(),
            &name(self.prices.as_deref()),
            faults,
        );
        let ids = bags.iter().map(|(id, _)| id.clone()).collect();
        if path.is_some() {
            origins.file("bags", &name(self.prices.as_deref()));
            request.set("bags", Node::table(bags));
        }
        ids
    }

    /// Adds the water or blend to a request.
    pub fn water(
        &self,
        request: &mut Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        self.waters.fill(request, library, origins, faults);
    }
}

impl Waters {
    /// Adds the water or blend to a request.
    pub fn fill(
        &self,
        request: &mut Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        let mut parts = Vec::new();
        for part in &self.blend {
            let Some((typed, share)) = pair(part, "--blend", faults) else {
                continue;
            };
            let option = format!("--blend {typed}");
            let share = quantity(share, &option, parse_strength, faults).map(Node::number);
            let at = format!("water.blend[{}].water", parts.len());
            let water = Named::water(library).node(typed, &at, origins, faults);
            parts.push(Node::table_of([("water", water), ("share", share)]));
        }
        if !parts.is_empty() {
            request.set("water", Node::table([("blend", Value::List(parts).into())]));
        } else if let Some(typed) = &self.water {
            Named::water(library).fill(request, "water", typed, origins, faults);
        }
    }

    /// What is typed; else this water.
    #[must_use]
    pub fn or(&self, water: Option<String>) -> Self {
        let is_blend = !self.blend.is_empty();
        Self {
            water: self.water.clone().or(water.filter(|_| !is_blend)),
            blend: self.blend.clone(),
        }
    }
}

/// A path as it was typed.
fn name(path: Option<&Path>) -> String {
    path.map(|path| path.display().to_string())
        .unwrap_or_default()
}

/// A CSV file read by its reader.
fn csv<T>(
    path: &Path,
    read: impl Fn(&str, &str) -> Result<T, Vec<Fault>>,
    faults: &mut Faults,
) -> Option<T> {
    let rows = read_text(path).map_err(|fault| vec![fault]);
    let rows = rows.and_then(|text| read(&name(Some(path)), &text));
    rows.map_err(|others| faults.extend(others)).ok()
}

/// The number of a volume, for a request.
pub fn litres_node(litres: Option<Litres>) -> Option<Node> {
    litres.map(|litres| Node::number(litres.0))
}

/// A quantity as a node, where it was typed.
pub fn optional(
    typed: Option<&String>,
    option: &str,
    parse: impl Fn(&str) -> Result<f64, Problem>,
    faults: &mut Faults,
) -> Option<Node> {
    quantity(typed?, option, parse, faults).map(Node::number)
}

/// The acids of `--acid`; "none" stands alone and means no acid at all.
pub fn acids(typed: &[String], request: &mut Node, faults: &mut Faults) {
    let none = typed.iter().any(|acid| acid == "none");
    if none && typed.len() > 1 {
        let what = "\"none\" stands beside an acid".to_owned();
        let mend = "Keep one of the two.".to_owned();
        faults.add(None, "--acid", Problem::Contradiction { what, mend });
    } else if none {
        request.set("acid", Value::Null.into());
    } else if !typed.is_empty() {
        request.set("acid", Node::texts(typed.iter().map(|id| id.trim())));
    }
}
