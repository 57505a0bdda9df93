//! What may be off, as a grower types it: `--ranges` for the tolerances of the bags alone,
//! `--off scale=0.1g` for each thing more.

use super::origins::Origins;
use super::typed::pair;
use crate::view::formulate::Show;
use crate::view::spread;
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::{parse_mass, parse_number, parse_strength};
use saltwright_fertilizers::{Faults, Node, Problem, Value};

/// The option that states what is off.
const OPTION: &str = "--off";

/// Options of ranges.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Ranges {
    /// A range on every figure, from the tolerances of the bags
    #[arg(long = "ranges")]
    asked: bool,
    /// What else may be off, like scale=0.1g tank=2% (see help ranges)
    #[arg(long, value_name = "WHAT=BY")]
    off: Vec<String>,
    /// Figure to narrow: K, Ca, EC, pH, cost … (see help ranges)
    #[arg(long, value_name = "FIGURE")]
    narrow: Option<String>,
}

/// How sure the bands are to be, as it is typed: `worst-case`, `0.95` or `95 %`.
pub fn sure(typed: &str) -> Result<Node, Problem> {
    let plain = typed.trim();
    if plain.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) {
        parse_strength(plain).map(Node::number)
    } else {
        Ok(Node::text(plain))
    }
}

/// What is wrong with a figure to narrow; none where there is one of that name.
pub fn unknown_figure(typed: &str) -> Option<Problem> {
    spread::figure(typed).is_none().then(|| Problem::Unknown {
        kind: "figure with a range",
        name: typed.to_owned(),
        nearest: nearest(typed, spread::figures()),
    })
}

/// One thing that may be off: its name, its key in a request, how it is typed.
pub struct Thing {
    /// As it is typed and as the page names its field.
    pub name: &'static str,
    /// Key in `ranges`.
    pub key: &'static str,
    /// In words.
    pub words: &'static str,
    /// Its unit.
    pub unit: &'static str,
}

/// Everything that may be off beside the assays.
pub const THINGS: [Thing; 13] = [
    Thing::new(
        "tolerance",
        "tolerance_pct",
        "Assays whose bag states no tolerance",
        "%",
    ),
    Thing::new("bag", "purity_pct", "A whole bag, damp or caked", "%"),
    Thing::new("scale", "scale_g", "Division of the scale", "g"),
    Thing::new("span", "scale_pct", "Calibration of the scale", "%"),
    Thing::new("cylinder", "cylinder_ml", "Division of the cylinder", "mL"),
    Thing::new("tank", "volume_pct", "Volume of the tank", "%"),
    Thing::new(
        "proportioner",
        "ratio_pct",
        "Ratio of the proportioner",
        "%",
    ),
    Thing::new("stocks", "stock_pct", "Strength of the stocks", "%"),
    Thing::new("water", "water_pct", "Figures of the water analysis", "%"),
    Thing::new("prices", "price_pct", "Prices", "%"),
    Thing::new(
        "thermometer",
        "temperature_c",
        "The meter's thermometer",
        "°C",
    ),
    Thing::new("meter", "meter_pct", "The EC meter", "%"),
    Thing::new("ph-meter", "meter_ph", "The pH meter", "pH"),
];

impl Thing {
    const fn new(
        name: &'static str,
        key: &'static str,
        words: &'static str,
        unit: &'static str,
    ) -> Self {
        Self {
            name,
            key,
            words,
            unit,
        }
    }

    /// What is typed for it, in its unit.
    pub fn read(&self, typed: &str) -> Result<f64, Problem> {
        let plain = typed.trim();
        if self.unit == "g" {
            return parse_mass(plain).map(|grams| grams.0);
        }
        let units = [self.unit, "C", "ml"];
        let number = units.iter().find_map(|unit| plain.strip_suffix(unit));
        parse_number(number.unwrap_or(plain).trim())
    }
}

impl Ranges {
    /// How a sheet is shown, with the figure to narrow.
    pub fn show(&self, show: Show) -> Show {
        let narrow = self.narrow.as_deref().and_then(spread::figure);
        Show { narrow, ..show }
    }

    /// Adds what may be off to a request.
    pub fn fill(&self, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
        let mut entries: Vec<(&str, Node)> = Vec::new();
        for typed in &self.off {
            let Some((name, by)) = pair(typed, OPTION, faults) else {
                continue;
            };
            let Some(thing) = THINGS.iter().find(|thing| thing.name == name) else {
                let known = THINGS.iter().map(|thing| thing.name);
                let problem = Problem::Unknown {
                    kind: "thing that may be off",
                    name: name.to_owned(),
                    nearest: nearest(name, known),
                };
                faults.add(None, OPTION, problem);
                continue;
            };
            if entries.iter().any(|(key, _)| *key == thing.key) {
                let name = name.to_owned();
                faults.add(None, OPTION, Problem::Twice { name });
                continue;
            }
            match thing.read(by) {
                Ok(by) => {
                    origins.option(format!("ranges.{}", thing.key), format!("{OPTION} {name}"));
                    entries.push((thing.key, Node::number(by)));
                }
                Err(problem) => faults.add(None, format!("{OPTION} {name}"), problem),
            }
        }
        if let Some(problem) = self.narrow.as_deref().and_then(unknown_figure) {
            faults.add(None, "--narrow", problem);
        }
        if !entries.is_empty() {
            request.set("ranges", Node::table(entries));
        } else if self.asked || self.narrow.is_some() {
            request.set("ranges", Value::Bool(true).into());
        }
    }
}
