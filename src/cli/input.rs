//! From names, files and options to the nodes of a request.
//!
//! In: what is typed.  Out: nodes, and faults that name the option or the file and line. Knows
//! nothing of what an answer looks like.

use super::bags;
use super::typed::{pair, pairs, quantity, volume};
use crate::store::files::{read_text, unread};
use crate::view::formulate::Show;
use crate::view::nutrients::Unit;
use crate::view::round::Measure;
use clap::ValueEnum;
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::{Litres, parse_number, parse_strength};
use saltwright_fertilizers::{
    Fault, Faults, Fertilizer, Hazard, Node, Problem, Table, Value, prices,
};
use saltwright_recipes::{Library, Recipe, Water};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Options that several commands share.
#[derive(Clone, Debug, Default, clap::Args)]
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

/// Where parts of a request came from, so that a refusal can say it in the grower's words.
#[derive(Debug, Default)]
pub struct Origins {
    fields: Vec<(String, Origin)>,
}

#[derive(Debug)]
enum Origin {
    /// The file is the field.
    File(String),
    /// The file has an entry of the field's name.
    Named(String),
    Option(String),
}

/// Fields of a request and the options that fill them.
const OPTIONS: &[(&str, &str)] = &[
    ("litres", "--tank"),
    ("sure", "--sure"),
    ("ratio", "--ratio"),
    ("strength", "--strength"),
    ("ec_ms_cm", "--ec"),
    ("acid_to.residual_meq_l", "--residual"),
    ("acid_to.ph", "--ph"),
    ("residual_alkalinity_meq_l", "--residual"),
    ("ph", "--ph"),
    ("temperature_c", "--temperature"),
    ("blend_with.share", "--share"),
    ("blend_with.water", "--blend-with"),
    ("blend_with", "--blend-with"),
    ("acid", "--acid"),
    ("at_most_g", "--at-most"),
    ("already", "--already"),
    ("season_m3", "--season"),
    ("search_s", "--search"),
    ("bags", "--prices"),
    ("only", "--only"),
    ("now", "--now"),
    ("at_hand", "--at-hand"),
    ("keep", "--keep"),
    ("currency", "--currency"),
    ("without", "--without"),
    ("micros", "--micros"),
    ("prices", "--price"),
    ("water.blend", "--blend"),
    ("tanks", "--tanks"),
    ("coldest_c", "--store"),
    ("hottest_c", "--store"),
    ("margin_index", "--margin"),
    ("tank_litres", "--stock"),
    ("scale_g", "--scale"),
    ("convention", "--convention"),
    ("ingredients", "--ingredients"),
    ("found", "--found"),
    ("meter.g_per_l", "--dissolve"),
    ("meter.ml_per_l", "--dissolve"),
    ("meter.ec_ms_cm", "--reads"),
    ("meter.water_ec_ms_cm", "--water-reads"),
    ("dose.g_per_l", "--dose"),
    ("dose.ml_per_l", "--dose"),
    ("density_g_per_ml", "--density"),
    ("capacity_l", "--tank"),
    ("fill_to_l", "--fill"),
    ("reading.temperature_c", "--temperature"),
    ("reading.ph", "--ph"),
    ("reading.ec_ms_cm", "--reading"),
    ("reading.ppm", "--reading"),
    ("reading.cf", "--reading"),
    ("reading.scale", "--reading"),
    ("reading", "--reading"),
    ("base", "--base"),
    ("stock", "--stock"),
];

impl Origins {
    /// Notes that an option filled a field.
    pub fn option(&mut self, field: impl Into<String>, option: impl Into<String>) {
        self.fields
            .push((field.into(), Origin::Option(option.into())));
    }

    /// Notes that a file filled a field under the field's own name.
    pub fn file(&mut self, field: impl Into<String>, file: &str) {
        self.fields
            .push((field.into(), Origin::Named(file.to_owned())));
    }

    /// A fault of the request, told as one of the file or option it came from.
    pub fn told(&self, fault: &Fault) -> Fault {
        let mut told = fault.clone();
        if fault.file.is_some() {
            return told;
        }
        let below = |field: &str| {
            let rest = fault.field.strip_prefix(field)?;
            (rest.is_empty() || rest.starts_with(['.', '['])).then_some(rest)
        };
        let noted = self
            .fields
            .iter()
            .find_map(|(field, origin)| Some((below(field)?, origin)));
        match noted {
            Some((rest, Origin::File(file))) => {
                told.file = Some(file.clone());
                rest.trim_start_matches('.').clone_into(&mut told.field);
            }
            Some((_, Origin::Named(file))) => told.file = Some(file.clone()),
            Some((_, Origin::Option(option))) => told.field.clone_from(option),
            None => {
                let option = OPTIONS
                    .iter()
                    .find_map(|(field, option)| Some((below(field)?, option)));
                if let Some((rest, option)) = option {
                    let named = rest
                        .strip_prefix('.')
                        .map(|name| format!("{option} {name}"));
                    told.field = named.unwrap_or_else(|| (*option).to_owned());
                }
            }
        }
        told
    }
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
        let mut parts = Vec::new();
        for part in &self.blend {
            let Some((typed, share)) = pair(part, "--blend", faults) else {
                continue;
            };
            let option = format!("--blend {typed}");
            let share = quantity(share, &option, parse_strength, faults).map(Node::number);
            let at = format!("water.blend[{}].water", parts.len());
            let water = Named::water(library).node(typed, &at, origins, faults);
            let entries = [("water", water), ("share", share)];
            parts.push(Node::table(
                entries
                    .into_iter()
                    .filter_map(|(key, node)| Some((key, node?))),
            ));
        }
        if !parts.is_empty() {
            request.set("water", Node::table([("blend", Value::List(parts).into())]));
        } else if let Some(typed) = &self.water {
            let water = Named::water(library).node(typed, "water", origins, faults);
            request.set("water", water.unwrap_or_else(|| Value::Null.into()));
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

/// What has a shipped name or stands in a file: a recipe or a water.
pub struct Named<'a> {
    ids: Vec<&'a str>,
    check: fn(&Node, &mut Faults),
}

impl<'a> Named<'a> {
    /// A recipe.
    pub fn recipe(library: &'a Library) -> Self {
        let check = |node: &Node, faults: &mut Faults| {
            Recipe::read(node, "", faults);
        };
        let ids = library
            .recipes
            .iter()
            .map(|recipe| recipe.id.as_str())
            .collect();
        Self { ids, check }
    }

    /// A water.
    pub fn water(library: &'a Library) -> Self {
        let check = |node: &Node, faults: &mut Faults| {
            // A blend names other waters; it is checked with the request.
            if node.get("blend").is_none() {
                Water::read(node, "", faults);
            }
        };
        let ids = library
            .waters
            .iter()
            .map(|water| water.id.as_str())
            .collect();
        Self { ids, check }
    }

    /// Notes a name that is neither known nor a file.
    pub fn check_name(&self, typed: &str, field: &str, faults: &mut Faults) {
        if !self.ids.contains(&typed) && !Path::new(typed).exists() {
            let nearest = nearest(typed, self.ids.iter().copied());
            let (kind, name) = ("such name or file", typed.to_owned());
            let problem = Problem::Unknown {
                kind,
                name,
                nearest,
            };
            faults.add(None, field, problem);
        }
    }

    /// A shipped name as it is; else the file, where it looks like one; else the name, which is
    /// then refused with the nearest one.
    pub fn node(
        &self,
        typed: &str,
        field: &str,
        origins: &mut Origins,
        faults: &mut Faults,
    ) -> Option<Node> {
        let path = Path::new(typed);
        let ending = path.extension().unwrap_or_default();
        let is_json = ending == "json";
        let looks_like_file =
            typed.contains(['/', '\\']) || is_json || ending == "toml" || path.exists();
        if self.ids.contains(&typed) || !looks_like_file {
            return Some(Node::text(typed));
        }
        if let Ok(false) = path.try_exists() {
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            let nearest = nearest(&stem, self.ids.iter().copied());
            if nearest.is_none() {
                let missing = std::io::ErrorKind::NotFound.into();
                faults.extend([unread(path, &missing)]);
                return None;
            }
            let (kind, name) = ("file", typed.to_owned());
            faults.add(
                None,
                field,
                Problem::Unknown {
                    kind,
                    name,
                    nearest,
                },
            );
            return None;
        }
        let text = read_text(path)
            .map_err(|fault| faults.extend([fault]))
            .ok()?;
        origins
            .fields
            .push((field.to_owned(), Origin::File(typed.to_owned())));
        let mut in_file = Faults::in_file(typed);
        let read = if is_json {
            Node::from_json(&text).map_err(|problem| (None, problem))
        } else {
            Node::from_toml(text.trim_start_matches('\u{feff}'))
        };
        match &read {
            Ok(node) => (self.check)(node, &mut in_file),
            Err((line, problem)) => in_file.add(*line, "", problem.clone()),
        }
        faults.extend(in_file.into_list());
        read.ok()
    }
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
