//! Limits that published guides set for irrigation water, as data with sources.

use saltwright_fertilizers::Nutrient;
use saltwright_recipes::Water;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// mg of SO4 in a mg of S: 96.06 over 32.06 (CIAAW 2021 weights).
const SO4_PER_S: f64 = 96.06 / 32.06;

/// One limit of one guide.
#[derive(Clone, Debug, Deserialize)]
pub struct Limit {
    figure: String,
    name: String,
    unit: String,
    above: Option<f64>,
    below: Option<f64>,
    for_blending: String,
    words: String,
    source: String,
}

/// A limit that a water crosses.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Crossed {
    /// What is too high or too low.
    pub what: &'static str,
    /// What the water has.
    pub value: f64,
    /// What the guide allows.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// What it means.
    pub words: &'static str,
    /// Which guide.
    pub source: &'static str,
}

/// The limits that a blend is to keep where nobody names any: those of hydroponic source water, and
/// boron.
pub fn for_blending() -> impl Iterator<Item = (&'static str, f64)> {
    let rows = table().iter().filter(|row| row.for_blending == "yes");
    rows.filter_map(|row| Some((row.figure.as_str(), row.above?)))
}

/// A figure of a water by its name in the table, in the unit of the table; none for EC, which is
/// no figure of the analysis.
pub fn figure(water: &Water, name: &str) -> Option<f64> {
    let mg_l = |nutrient: Nutrient| water.holds[nutrient];
    match name {
        "alkalinity" => Some(water.alkalinity_meq_l),
        "SO4" => Some(SO4_PER_S * mg_l(Nutrient::S)),
        "Cl_meq" => Some(mg_l(Nutrient::Cl) / Nutrient::Cl.atomic_weight()),
        "hardness" => Some(super::Hardness::of_meq(super::hardness_meq_l(water)).mg_l_caco3),
        "pH" => water.ph,
        _ => Nutrient::from_key(name).map(mg_l),
    }
}

/// The word of a figure.
pub fn word(name: &str) -> &str {
    match name {
        "SO4" => "sulfate",
        _ => match Nutrient::from_key(name) {
            Some(nutrient) => nutrient.word(),
            None => name,
        },
    }
}

/// A limit of a figure with its unit.
pub fn told(name: &str, limit: f64) -> String {
    let unit = match name {
        "alkalinity" | "Cl_meq" => "meq/L",
        "hardness" => "mg/L CaCO3",
        "SO4" => "mg/L of SO4",
        _ => "mg/L",
    };
    format!("{} {unit}", crate::words::figure(limit))
}

/// The limits that a water crosses, the furthest of each guide's steps only.
pub fn crossed(water: &Water, ec_ms_cm: Option<f64>) -> Vec<Crossed> {
    let mut crossed: Vec<Crossed> = Vec::new();
    for row in table() {
        let value = if row.figure == "EC" {
            ec_ms_cm
        } else {
            figure(water, &row.figure)
        };
        let Some(value) = value else { continue };
        let limit = match (row.above, row.below) {
            (Some(above), _) if value > above => above,
            (_, Some(below)) if value < below => below,
            _ => continue,
        };
        let found = Crossed {
            what: &row.name,
            value,
            limit,
            unit: &row.unit,
            words: &row.words,
            source: &row.source,
        };
        // Steps of one guide stand one behind the other.
        crossed.retain(|other| (other.what, other.source) != (found.what, found.source));
        crossed.push(found);
    }
    crossed
}

fn table() -> &'static [Limit] {
    static TABLE: LazyLock<Vec<Limit>> = LazyLock::new(|| {
        csv::Reader::from_reader(include_str!("limits.csv").as_bytes())
            .into_deserialize()
            .filter_map(Result::ok)
            .collect()
    });
    &TABLE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_known() {
        let lines = include_str!("limits.csv").trim().lines().count() - 1;
        assert_eq!(table().len(), lines);
        let mut water = Water::pure();
        water.ph = Some(7.0);
        for row in table() {
            let known = row.figure == "EC" || figure(&water, &row.figure).is_some();
            assert!(known, "{}", row.figure);
            assert!(row.above.is_some() != row.below.is_some());
        }
    }

    #[test]
    fn of_two_steps_of_a_guide_the_furthest_is_told() {
        let mut water = Water::pure();
        water.holds[Nutrient::B] = 3.5;
        let found = crossed(&water, None);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].what, found[0].limit), ("boron", 3.0));
        assert_eq!(crossed(&Water::pure(), Some(0.7)), []);
        assert_eq!(crossed(&Water::pure(), Some(0.71)).len(), 1);
    }
}
