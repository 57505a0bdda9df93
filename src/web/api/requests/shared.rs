//! What requests of several jobs are made of.

use schemars::JsonSchema;
use std::collections::BTreeMap;

/// A number by name.
pub(super) type Named = BTreeMap<String, f64>;

/// What is asked of a formulation, whatever job it serves.
#[derive(JsonSchema)]
pub(super) struct Formulation {
    #[schemars(flatten)]
    completion: Completion,
    /// True: the report lists the ions.
    detail: Option<bool>,
    /// A mix that is in the tank.
    already: Option<Vec<MixLine>>,
}

/// What is asked of any formulation, also of one that completes a bought mix.
#[derive(JsonSchema)]
pub(super) struct Completion {
    /// What the crop should get.
    recipe: OneRecipe,
    /// What it is made with; pure water where left out.
    water: Option<OneWater>,
    /// What may be used, in place of the common shelf.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Price per kg by fertilizer, in any currency.
    prices: Option<Named>,
    /// Acids to use; null for none and no reckoning.
    acid: Option<OneOrMore>,
    /// How far the acid goes.
    acid_to: Option<AcidTo>,
    /// Use only these.
    only: Option<Vec<String>>,
    /// Leave these out.
    without: Option<Vec<String>>,
    /// A list that fills in micronutrients the recipe lacks.
    micros: Option<String>,
    /// A factor on the recipe, 0.001 to 1000, or `to-ec`.
    strength: Option<Strength>,
    /// False: stop at the closest and cheapest.
    simplest: Option<bool>,
    /// Grams that there are of a fertilizer, for `litres`.
    at_most_g: Option<Named>,
    /// EC to compare with, mS/cm at 25 °C.
    ec_ms_cm: Option<f64>,
    /// Litres of the batch.
    litres: Option<f64>,
    /// Parts of finished solution per part of stock, 1 to 1000.
    ratio: Option<f64>,
    /// A range on every figure.
    ranges: Option<Ranges>,
}

/// `worst-case` or a probability.
#[derive(JsonSchema)]
#[serde(untagged)]
pub(super) enum Sure {
    /// `worst-case`.
    Worst(String),
    /// All bands together.
    Probability(f64),
}

/// True for the tolerances of the bags alone, or what else may be off.
#[derive(JsonSchema)]
#[serde(untagged)]
pub(super) enum Ranges {
    /// From the tolerances of the bags, or none.
    Asked(bool),
    /// Half-widths.
    Stated(Box<Stated>),
}

/// Half-widths of what may be off; percentages are relative.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(super) struct Stated {
    /// Assay tolerance of fertilizers that state none.
    tolerance_pct: Option<f64>,
    /// A whole bag, stronger or weaker.
    purity_pct: Option<f64>,
    /// Division of the scale; needs `litres`.
    scale_g: Option<f64>,
    /// Calibration of the scale.
    scale_pct: Option<f64>,
    /// Division of the measuring cylinder; needs `litres`.
    cylinder_ml: Option<f64>,
    /// Volume of the tank, at most 50.
    volume_pct: Option<f64>,
    /// Ratio of the proportioner.
    ratio_pct: Option<f64>,
    /// Strength of the stocks.
    stock_pct: Option<f64>,
    /// Every figure of the water analysis.
    water_pct: Option<f64>,
    /// Prices.
    price_pct: Option<f64>,
    /// Thermometer of the EC meter, °C.
    temperature_c: Option<f64>,
    /// EC meter, percent of the reading.
    meter_pct: Option<f64>,
    /// pH meter, at most 2.
    meter_ph: Option<f64>,
}

/// A shipped recipe by name, or one in full.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum OneRecipe {
    Name(String),
    Full(Recipe),
}

/// A recipe: aims in mg/L of the element unless `unit` says otherwise.
#[derive(JsonSchema)]
pub(super) struct Recipe {
    name: Option<String>,
    /// By nutrient (NO3-N, NH4-N, urea-N, N, P, K, …).
    aims: BTreeMap<String, OneAim>,
    /// `mg/L`, `mmol/L` or `meq/L`.
    unit: Option<String>,
    ec_ms_cm: Option<f64>,
    /// Lowest and highest.
    ph: Option<[f64; 2]>,
    /// A list that fills in micronutrients this one lacks.
    micros: Option<String>,
}

/// A figure with the default band, or a band.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum OneAim {
    Figure(f64),
    Band(Aim),
}

/// Any of an aim, a minimum, a maximum and a weight of 0 to 100.
#[derive(JsonSchema)]
pub(super) struct Aim {
    aim: Option<f64>,
    min: Option<f64>,
    max: Option<f64>,
    weight: Option<f64>,
    unit: Option<String>,
}

/// A shipped water by name, one in full, or a blend.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum OneWater {
    Name(String),
    Blend(Blend),
    Full(Water),
}

/// An analysis: mg/L of the element unless `unit` says otherwise.
#[derive(JsonSchema)]
pub(super) struct Water {
    name: Option<String>,
    holds: Option<Named>,
    unit: Option<String>,
    /// One of the three alkalinities.
    alkalinity_meq_l: Option<f64>,
    alkalinity_mg_l_caco3: Option<f64>,
    hco3_mg_l: Option<f64>,
    ph: Option<f64>,
    temperature_c: Option<f64>,
}

/// Waters with shares that add up to one.
#[derive(JsonSchema)]
pub(super) struct Blend {
    blend: Vec<Share>,
}

/// One water of a blend.
#[derive(JsonSchema)]
pub(super) struct Share {
    water: Box<OneWater>,
    share: f64,
}

/// A shipped fertilizer by name, or one in full.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum OneFertilizer {
    Name(String),
    Full(Fertilizer),
}

/// A fertilizer by its formula, its assay, or both.
#[derive(JsonSchema)]
pub(super) struct Fertilizer {
    id: String,
    name: Option<String>,
    formula: Option<String>,
    /// Percent by mass as sold, by nutrient.
    assay_pct: Option<Named>,
    tolerance_pct: Option<f64>,
    strength_pct: Option<f64>,
    density_g_per_ml: Option<f64>,
    price_per_kg: Option<f64>,
}

/// A name or a list of names.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum OneOrMore {
    One(String),
    More(Vec<String>),
}

/// A number or a list of numbers.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum OneOrMoreNumbers {
    One(f64),
    More(Vec<f64>),
}

/// How far the acid goes.
#[derive(JsonSchema)]
pub(super) struct AcidTo {
    /// Alkalinity to leave.
    residual_meq_l: Option<f64>,
    /// pH of the finished solution to reach, instead.
    ph: Option<f64>,
    /// `closed` (right after mixing) or `open` (after standing in air).
    end: Option<String>,
}

/// A factor, or `to-ec`.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub(super) enum Strength {
    Factor(f64),
    ToEc(String),
}

/// A fertilizer and its amount in a litre of finished solution; other keys of a report's mix are
/// accepted.
#[derive(JsonSchema)]
pub(super) struct MixLine {
    id: String,
    g_per_l: Option<f64>,
    ml_per_l: Option<f64>,
}
