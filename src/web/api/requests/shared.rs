//! What requests of several jobs are made of.

use super::names::*;
use super::numbers::*;
use saltwright_fertilizers::mix::{MAX_LINES, REPORT_KEYS as MIX_KEYS};
use saltwright_solver::job::Id;
use schemars::{JsonSchema, Schema};

/// What every request begins with; [`named`] says of which job.
#[derive(JsonSchema)]
pub struct Called {
    /// May be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
}

/// Puts the name of the job into the description of its key.
pub fn named(job: &str) -> impl Fn(&mut Schema) {
    let words = format!("`{job}`; may be left out where the address says it.");
    move |schema| {
        if let Some(job) = schema.pointer_mut("/properties/job") {
            job["description"] = words.clone().into();
        }
    }
}

/// What is asked of a formulation, whatever job it serves.
#[derive(JsonSchema)]
pub struct Formulation {
    #[schemars(flatten)]
    completion: Completion,
    /// True: the report lists the ions.
    detail: Option<bool>,
    /// A mix that is in the tank.
    already: Option<Mix>,
}

/// What is asked of any formulation, also of one that completes a bought mix.
#[derive(JsonSchema)]
pub struct Completion {
    /// What the crop should get.
    recipe: OneRecipe,
    /// What it is made with; pure water where left out.
    water: Option<OneWater>,
    /// What may be used, in place of the common shelf.
    fertilizers: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// Price per kg by fertilizer, in any currency.
    prices: Option<By<FertilizerName, Price>>,
    /// Acids to use; null for none and no reckoning.
    acid: Option<OneOrList<FertilizerName, 0, ANY>>,
    /// How far the acid goes.
    acid_to: Option<AcidTo>,
    /// Use only these.
    only: Option<OneOrList<FertilizerName, 1, ANY>>,
    /// Leave these out.
    without: Option<OneOrList<FertilizerName, 0, ANY>>,
    /// A list that fills in micronutrients the recipe lacks.
    micros: Option<ShippedRecipe>,
    /// A factor on the recipe, or `to-ec`.
    strength: Option<Strength>,
    /// False: stop at the closest and cheapest.
    simplest: Option<bool>,
    /// Grams that there are of a fertilizer, for `litres`.
    at_most_g: Option<By<FertilizerName, Grams>>,
    /// EC to compare with.
    ec_ms_cm: Option<EcFigure>,
    /// Litres of the batch.
    litres: Option<Litres>,
    /// Parts of finished solution per part of stock.
    ratio: Option<Ratio>,
    /// A range on every figure.
    ranges: Option<Ranges>,
}

/// A shipped recipe by name, or one in full.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum OneRecipe {
    Name(ShippedRecipe),
    Full(Recipe),
}

/// A recipe: aims in mg/L of the element unless `unit` says otherwise; an aim for one nutrient at
/// least, or a list of micronutrients.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Recipe {
    id: Option<NewId>,
    name: Option<Words>,
    crop: Option<Words>,
    source: Option<Words>,
    note: Option<Words>,
    /// By nutrient (NO3-N, NH4-N, urea-N, N, P, K, …).
    aims: Option<By<AimKey, OneAim>>,
    unit: Option<Unit>,
    #[schemars(rename = "P_charge")]
    p_charge: Option<PhosphorusCharge>,
    ec_ms_cm: Option<EcFigure>,
    ph: Option<PhBand>,
    /// A list that fills in micronutrients this one lacks.
    micros: Option<ShippedRecipe>,
}

/// A figure with the default band, or a band.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneAim {
    Figure(Concentration),
    Band(Aim),
}

/// Any of an aim, a minimum, a maximum and a weight of 0 to 100.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = one_of_aim)]
struct Aim {
    aim: Option<Concentration>,
    min: Option<Concentration>,
    max: Option<Concentration>,
    weight: Option<Weight>,
    unit: Option<Unit>,
}

fn one_of_aim(schema: &mut Schema) {
    at_least_one(schema, &["aim", "min", "max"]);
}

/// A shipped water by name, one in full, or a blend.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum OneWater {
    Name(ShippedWater),
    Blend(Blend),
    Full(Water),
}

/// An analysis: mg/L of the element unless `unit` says otherwise; the alkalinity in one of three
/// ways.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Water {
    id: Option<NewId>,
    name: Option<Words>,
    source: Option<Words>,
    note: Option<Words>,
    holds: Option<By<NutrientKey, Concentration>>,
    unit: Option<Unit>,
    #[schemars(rename = "P_charge")]
    p_charge: Option<PhosphorusCharge>,
    alkalinity_meq_l: Option<Alkalinity>,
    alkalinity_mg_l_caco3: Option<AlkalinityAsLime>,
    hco3_mg_l: Option<Bicarbonate>,
    ph: Option<PhFigure>,
    temperature_c: Option<Celsius>,
}

/// Waters with shares that add up to one.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Blend {
    id: Option<Ignored>,
    name: Option<Ignored>,
    note: Option<Ignored>,
    source: Option<Ignored>,
    blend: List<Share, 1, ANY>,
}

/// One water of a blend.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Share {
    water: Box<OneWater>,
    share: ShareOfOne,
}

/// A shipped fertilizer by name, or one in full.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum OneFertilizer {
    Name(FertilizerName),
    Full(Fertilizer),
}

/// A fertilizer by its formula, its assay, or both.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = formula_or_assay)]
pub struct Fertilizer {
    id: NewId,
    name: Option<Words>,
    formula: Option<Formula>,
    /// Percent by mass as sold, by nutrient or oxide; 100 in all at most.
    assay_pct: Option<By<AssayKey, Percent>>,
    tolerance_pct: Option<Percent>,
    /// What there is of the formula; the rest is water or inert.
    strength_pct: Option<Percent>,
    density_g_per_ml: Option<Density>,
    price_per_kg: Option<Price>,
    solubility_g_per_l_20c: Option<Solubility>,
    tank: Option<TankName>,
    hazard: Option<Words>,
    common: Option<bool>,
    source: Option<Words>,
    note: Option<Words>,
}

fn formula_or_assay(schema: &mut Schema) {
    at_least_one(schema, &["formula", "assay_pct"]);
}

/// A mix; each fertilizer in it once.
pub type Mix = List<MixLine, 0, MAX_LINES>;

/// A fertilizer and its amount in a litre of finished solution; other keys of a report's mix are
/// accepted.
#[derive(JsonSchema)]
#[schemars(transform = mix_line)]
pub struct MixLine {
    id: FertilizerName,
    g_per_l: Option<GPerL>,
    ml_per_l: Option<MlPerL>,
}

fn mix_line(schema: &mut Schema) {
    accept(schema, &MIX_KEYS);
    at_least_one(schema, &["g_per_l", "ml_per_l"]);
}

/// How far the acid goes.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct AcidTo {
    /// Alkalinity to leave.
    residual_meq_l: Option<Alkalinity>,
    /// pH of the finished solution to reach, instead.
    ph: Option<PhFigure>,
    /// When it has that pH.
    end: Option<PhEnd>,
}

/// A factor, or `to-ec`.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum Strength {
    Factor(Factor),
    ToEc(ToEc),
}

/// `worst-case` or a probability.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum Sure {
    /// `worst-case`.
    Worst(WorstCase),
    /// All bands together.
    Together(Probability),
}

/// True for the tolerances of the bags alone, or what else may be off.
#[derive(JsonSchema)]
#[schemars(untagged)]
pub enum Ranges {
    /// From the tolerances of the bags, or none.
    Asked(bool),
    /// Half-widths.
    Stated(Box<Stated>),
}

/// Half-widths of what may be off; percentages are relative.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Stated {
    /// Assay tolerance of fertilizers that state none.
    tolerance_pct: Option<Percent>,
    /// A whole bag, stronger or weaker.
    purity_pct: Option<Percent>,
    /// Division of the scale; needs `litres`.
    scale_g: Option<Division>,
    /// Calibration of the scale.
    scale_pct: Option<Percent>,
    /// Division of the measuring cylinder; needs `litres`.
    cylinder_ml: Option<CylinderDivision>,
    /// Volume of the tank.
    volume_pct: Option<VolumePct>,
    /// Ratio of the proportioner.
    ratio_pct: Option<Percent>,
    /// Strength of the stocks.
    stock_pct: Option<Percent>,
    /// Every figure of the water analysis.
    water_pct: Option<Percent>,
    /// Prices.
    price_pct: Option<Percent>,
    /// Thermometer of the EC meter, °C.
    temperature_c: Option<ThermometerError>,
    /// EC meter, percent of the reading.
    meter_pct: Option<Percent>,
    /// pH meter.
    meter_ph: Option<PhMeterError>,
}
