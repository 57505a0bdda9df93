//! The shape of a request about a bought mix.

use super::shared::{Completion, Named, OneFertilizer};
use saltwright_solver::job::Id;
use schemars::JsonSchema;

/// A bought mix against its label; with a recipe every key of `formulate` beside.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct LabelRequest {
    /// `label`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// What it says on the bag.
    name: Option<String>,
    /// The guaranteed analysis: a grade, or percent by key as printed.
    guarantee: Guarantee,
    /// `us`, `us-md`, `eu`, `eu-2003`, `elements`, `de`, `uk`, `au` or `ca`.
    convention: Option<String>,
    /// `solid` or `liquid`.
    form: Option<String>,
    /// What it is made of.
    ingredients: Option<Vec<OneFertilizer>>,
    /// False: no inert rest.
    filler: Option<bool>,
    /// What a laboratory found, percent by key as printed.
    found: Option<Guarantee>,
    /// A spoonful dissolved, and what a meter showed.
    meter: Option<Meter>,
    /// A dose.
    dose: Option<LabelDose>,
    /// Of a liquid.
    density_g_per_ml: Option<f64>,
    /// What it costs.
    price_per_kg: Option<f64>,
    /// The recipe that it is to be completed to, and what else is asked of that.
    #[schemars(flatten)]
    completed: Option<Completion>,
}

/// A grade, or percent by key as printed.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum Guarantee {
    Grade(String),
    Figures(Named),
}

/// A spoonful dissolved, and what a meter showed.
#[derive(JsonSchema)]
struct Meter {
    g_per_l: Option<f64>,
    ml_per_l: Option<f64>,
    ec_ms_cm: Option<f64>,
    water_ec_ms_cm: Option<f64>,
}

/// A dose, by mass or by volume.
#[derive(JsonSchema)]
struct LabelDose {
    g_per_l: Option<f64>,
    ml_per_l: Option<f64>,
}
