//! The shape of a request about a bought mix.

use super::names::*;
use super::numbers::*;
use super::shared::{Called, Completion, OneFertilizer, Sure, named};
use saltwright_fertilizers::mix::MAX_LINES;
use saltwright_solver::label::request::COMPLETING;
use schemars::{JsonSchema, Schema};
use serde_json::{Value, json};

/// A bought mix against its label; with a recipe every key of `formulate` beside.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = with_a_recipe, transform = named("label"))]
pub struct LabelRequest {
    #[schemars(flatten)]
    called: Called,
    /// What it says on the bag.
    name: Option<Words>,
    /// The guaranteed analysis: a grade, or percent by key as printed.
    guarantee: Guarantee,
    /// `us`, `us-md`, `eu`, `eu-2003`, `elements`, `de`, `uk`, `au` or `ca`.
    convention: Option<LabelConvention>,
    /// `solid` or `liquid`.
    form: Option<LabelForm>,
    /// What it is made of.
    ingredients: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// False: no inert rest.
    filler: Option<bool>,
    /// What a laboratory found, percent by key as printed.
    found: Option<Guarantee>,
    /// A spoonful dissolved, and what a meter showed.
    meter: Option<Meter>,
    /// A dose.
    dose: Option<LabelDose>,
    /// Of a liquid.
    density_g_per_ml: Option<Density>,
    /// What it costs.
    price_per_kg: Option<Price>,
    /// What a kilogram of a nutrient is worth, for penalties.
    values_per_kg: Option<By<PrintedKey, Price>>,
    /// Anything else worth knowing; without effect.
    note: Option<Ignored>,
    /// Where it comes from; without effect.
    source: Option<Ignored>,
    /// The recipe that it is to be completed to, and what else is asked of that.
    #[schemars(flatten)]
    completed: Option<Completion>,
    /// Bands of the completed mix that hold for any bag.
    sure: Option<Sure>,
    /// What the completed mix must keep.
    keep: Option<Completed>,
}

/// Keys that belong to the recipe that a label is completed to.
fn with_a_recipe(schema: &mut Schema) {
    let needs = COMPLETING.into_iter().chain(["keep"]);
    let needs = needs.map(|key| (key.to_owned(), json!(["recipe"])));
    let needs = Value::Object(needs.collect());
    schema.insert("dependentRequired".into(), needs);
}

/// A grade, or percent by key as printed.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum Guarantee {
    Grade(Grade),
    Figures(By<PrintedKey, Percent>),
}

/// A spoonful dissolved, and what a meter showed; by volume with the density of the label.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = by_mass_or_volume)]
pub struct Meter {
    g_per_l: Option<Dose>,
    ml_per_l: Option<DoseMl>,
    ec_ms_cm: Option<EcFigure>,
    water_ec_ms_cm: Option<EcFigure>,
    /// Of the reading.
    meter_pct: Option<Percent>,
    scale_g: Option<Grams>,
    litres: Option<Litres>,
}

/// A dose, by mass, or by volume with the density of the label.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = by_mass_or_volume)]
pub struct LabelDose {
    g_per_l: Option<Dose>,
    ml_per_l: Option<DoseMl>,
}

fn by_mass_or_volume(schema: &mut Schema) {
    at_least_one(schema, &["g_per_l", "ml_per_l"]);
}
