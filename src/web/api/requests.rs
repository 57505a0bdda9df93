//! The shape of requests, for the description of the machine face.
//!
//! Requests are read by hand from a tree (that is what names every fault with its place); these
//! types say the same in a form that a schema can be made from. A test asks every key of them of
//! the reader.
#![allow(dead_code, clippy::struct_field_names)] // never built, only described

use saltwright_solver::job::Id;
use schemars::JsonSchema;
use std::collections::BTreeMap;

/// A number by name.
type Named = BTreeMap<String, f64>;

/// From a recipe and a water to grams.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct FormulateRequest {
    /// `formulate`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
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
    /// True: the report lists the ions.
    detail: Option<bool>,
    /// False: stop at the closest and cheapest.
    simplest: Option<bool>,
    /// Grams that there are of a fertilizer, for `litres`.
    at_most_g: Option<Named>,
    /// A mix that is in the tank.
    already: Option<Vec<MixLine>>,
    /// EC to compare with, mS/cm at 25 °C.
    ec_ms_cm: Option<f64>,
    /// Litres of the batch.
    litres: Option<f64>,
    /// Parts of finished solution per part of stock, 1 to 1000.
    ratio: Option<f64>,
    /// A range on every figure.
    ranges: Option<Ranges>,
    /// Bands that hold for any bag: `worst-case`, or a probability from 0.5 to 1.
    sure: Option<Sure>,
}

/// `worst-case` or a probability.
#[derive(JsonSchema)]
#[serde(untagged)]
enum Sure {
    /// `worst-case`.
    Worst(String),
    /// All bands together.
    Probability(f64),
}

/// True for the tolerances of the bags alone, or what else may be off.
#[derive(JsonSchema)]
#[serde(untagged)]
enum Ranges {
    /// From the tolerances of the bags, or none.
    Asked(bool),
    /// Half-widths.
    Stated(Box<Stated>),
}

/// Half-widths of what may be off; percentages are relative.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Stated {
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
    /// Every figure of the water analysis.
    water_pct: Option<f64>,
    /// Prices.
    price_pct: Option<f64>,
    /// Thermometer of the EC meter, °C.
    temperature_c: Option<f64>,
    /// EC meter, percent of the reading.
    meter_pct: Option<f64>,
}

/// From today's mix and prices to the cheapest that feeds the same.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SubstituteRequest {
    /// What is asked of a formulation; every fertilizer that may be used has a price.
    #[schemars(flatten)]
    formulate: FormulateRequest,
    /// Today's mix; the closest formulation where left out.
    now: Option<Vec<MixLine>>,
    /// What is at hand: today's mix is the closest formulation from these.
    at_hand: Option<Vec<String>>,
    /// `bands`, or `deviation` for as close as today's mix.
    keep: Option<String>,
    /// What prices are in: a label, up to 16 bytes.
    currency: Option<String>,
}

/// From grams to nutrients and EC.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PredictRequest {
    /// `predict`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// What goes in.
    mix: Vec<MixLine>,
    /// Into what; pure water where left out.
    water: Option<OneWater>,
    /// Fertilizers of one's own that the mix names.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Price per kg by fertilizer, in any currency.
    prices: Option<Named>,
    /// Temperature of the solution, 0 to 60 °C.
    temperature_c: Option<f64>,
    /// Litres that are weighed for at once.
    litres: Option<f64>,
    /// A range on every figure.
    ranges: Option<Ranges>,
}

/// What an analysis says, and the acid that the water needs.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct WaterRequest {
    /// `water`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// The water.
    water: OneWater,
    /// Acids or bases to dose; every one of the table where left out; null for none.
    acid: Option<OneOrMore>,
    /// Alkalinity to leave, meq/L.
    residual_alkalinity_meq_l: Option<f64>,
    /// pH to reach right after dosing, instead of an alkalinity.
    ph: Option<f64>,
    /// A water to blend with.
    blend_with: Option<OneBlendWith>,
    /// Temperature that pH is told at, 0 to 60 °C.
    temperature_c: Option<f64>,
    /// Fertilizers of one's own, in place of the shipped table.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Accepted, and without effect.
    prices: Option<Named>,
}

/// From a mix to stock tanks.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct StockRequest {
    /// `stock`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// What a litre of finished solution holds.
    mix: Vec<MixLine>,
    /// The water the stocks are made with and diluted into.
    water: Option<OneWater>,
    /// Fertilizers of one's own that the mix names.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Accepted, and without effect.
    prices: Option<Named>,
    /// Tanks, 1 to 4.
    tanks: Option<f64>,
    /// Parts of finished solution per part of stock; the largest where left out.
    ratio: Option<f64>,
    /// Coldest temperature of the store, °C.
    coldest_c: Option<f64>,
    /// Hottest temperature of the store, °C.
    hottest_c: Option<f64>,
    /// How far below saturation every solid is to stay, log10.
    margin_index: Option<f64>,
    /// Litres of each tank, one for all or a list.
    tank_litres: Option<OneOrMoreNumbers>,
    /// What the scale shows, grams.
    scale_g: Option<f64>,
    /// False: acids may join a tank.
    acid_tank: Option<bool>,
    /// What was weighed into a tank already.
    already: Option<Vec<Weighed>>,
    /// A range on every figure of the finished solution.
    ranges: Option<Ranges>,
}

/// Which whole bags to buy for a season, so that one mix keeps the bands; the other keys are those
/// of `formulate`.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct PurchaseRequest {
    /// `purchase`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// Finished solution of the season, m3, 1e-6 to 1e6.
    season_m3: f64,
    /// How each fertilizer is sold, and what is at home.
    bags: BTreeMap<String, Supply>,
    /// Seconds that the search may take, 4 where left out.
    search_s: Option<f64>,
    /// What the crop should get.
    recipe: OneRecipe,
    /// What it is made with; pure water where left out.
    water: Option<OneWater>,
    /// What may be used, in place of the common shelf.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Accepted, and without effect: bags have their own prices.
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
    /// True: the report lists the ions.
    detail: Option<bool>,
    /// False: stop at the closest and cheapest.
    simplest: Option<bool>,
    /// Grams that there are of a fertilizer, for `litres`.
    at_most_g: Option<Named>,
    /// A mix that is in the tank.
    already: Option<Vec<MixLine>>,
    /// EC to compare with, mS/cm at 25 °C.
    ec_ms_cm: Option<f64>,
    /// Litres of the batch.
    litres: Option<f64>,
    /// Parts of finished solution per part of stock, 1 to 1000.
    ratio: Option<f64>,
    /// A range on every figure.
    ranges: Option<Ranges>,
}

/// How a fertilizer is sold, and what is at home.
#[derive(JsonSchema)]
struct Supply {
    /// The bags it is sold in.
    sizes: Option<Vec<Bag>>,
    /// What is at home.
    on_hand_kg: Option<f64>,
}

/// A bag that can be bought.
#[derive(JsonSchema)]
struct Bag {
    bag_kg: f64,
    /// In any currency, one for all.
    price_per_bag: f64,
}

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
    /// The recipe that it is to be completed to.
    recipe: Option<OneRecipe>,
    /// The water it is dissolved in.
    water: Option<OneWater>,
    /// Fertilizers of one's own.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Price per kg by fertilizer.
    prices: Option<Named>,
}

/// From what the meters show to what to do, in order.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct CorrectRequest {
    /// `correct`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// Litres in the tank.
    litres: f64,
    /// Litres that it takes; the level where left out.
    capacity_l: Option<f64>,
    /// Level to end at.
    fill_to_l: Option<f64>,
    /// What the meters show.
    reading: OneReading,
    /// What the crop should get.
    recipe: OneRecipe,
    /// A list that fills in micronutrients the recipe lacks.
    micros: Option<String>,
    /// What it is made with; pure water where left out.
    water: Option<OneWater>,
    /// Fertilizers of one's own.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Price per kg by fertilizer.
    prices: Option<Named>,
    /// EC to come to, instead of the recipe's.
    ec_ms_cm: Option<f64>,
    /// pH to come to, lowest and highest, instead of the recipe's.
    ph: Option<[f64; 2]>,
    /// The stocks; a stock report will do.
    stock: Option<Stocks>,
    /// What lowers the pH; null for nothing.
    acid: Option<OneRemedy>,
    /// What raises it; null for nothing.
    base: Option<OneRemedy>,
    /// A laboratory's figures of the tank.
    analysis: Option<Water>,
}

/// What the plants took, what to fill up with, when to change.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct RefillRequest {
    /// `refill`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// Readings of the tank, two at least.
    readings: Vec<TankReading>,
    /// What was added between them.
    added: Option<Vec<Added>>,
    /// A laboratory's figures at the last reading.
    analysis: Option<Water>,
    /// What the crop should get.
    recipe: OneRecipe,
    /// A list that fills in micronutrients the recipe lacks.
    micros: Option<String>,
    /// What it is made with; pure water where left out.
    water: Option<OneWater>,
    /// Fertilizers of one's own.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Price per kg by fertilizer.
    prices: Option<Named>,
    /// Acids to use; null for none.
    acid: Option<OneOrMore>,
    /// Limits in place of the published ones, mg/L by nutrient.
    limits: Option<Named>,
}

/// A moment: a date and time, or a number of days.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneMoment {
    Date(String),
    Day(f64),
}

/// A reading of the tank.
#[derive(JsonSchema)]
struct TankReading {
    at: OneMoment,
    litres: f64,
    ec_ms_cm: Option<f64>,
    ppm: Option<f64>,
    scale: Option<f64>,
    cf: Option<f64>,
    ph: Option<f64>,
    temperature_c: Option<f64>,
}

/// What was added between readings.
#[derive(JsonSchema)]
struct Added {
    at: OneMoment,
    /// `water`, `feed` (the recipe as formulated), `drained`, or a fertilizer.
    what: Option<String>,
    litres: Option<f64>,
    ml: Option<f64>,
    g: Option<f64>,
    /// Another water than that of the request.
    water: Option<OneWater>,
}

/// How far a meter is off, which scale a pen has, what to weigh for a check.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct MeterRequest {
    /// `meter`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// Checks of the EC meter or TDS pen.
    points: Option<Vec<CheckPoint>>,
    /// ppm and mS/cm of one solution.
    pairs: Option<Vec<BothMeters>>,
    /// A reading to be told on every scale.
    reading: Option<OneReading>,
    /// Checks of the pH meter.
    ph_points: Option<Vec<Buffer>>,
    /// Check solutions to weigh salt for, mS/cm.
    make_ms_cm: Option<OneOrMoreNumbers>,
    /// EC that the error is told at.
    aim_ms_cm: Option<f64>,
    /// Days since the meter was calibrated.
    calibrated_days_ago: Option<f64>,
    /// A proportioner or dosing pump.
    doser: Option<Doser>,
    /// The water that it runs on.
    water: Option<OneWater>,
    /// Fertilizers of one's own.
    fertilizers: Option<Vec<OneFertilizer>>,
    /// Accepted, and without effect.
    prices: Option<Named>,
}

/// A check solution, by its EC or by what was weighed, and what the meter shows in it.
#[derive(JsonSchema)]
struct CheckPoint {
    true_ms_cm: Option<f64>,
    kcl_g_per_l: Option<f64>,
    nacl_g_per_l: Option<f64>,
    shows: f64,
    /// `mS/cm`, `uS/cm`, `dS/m`, `CF`, `ppm` or `ppm@500`.
    unit: Option<String>,
    /// ppm per mS/cm: 500, 640 or 700.
    scale: Option<f64>,
}

/// One solution on a TDS pen and on an EC meter.
#[derive(JsonSchema)]
struct BothMeters {
    ppm: f64,
    ec_ms_cm: f64,
}

/// A buffer and what the pH meter shows in it.
#[derive(JsonSchema)]
struct Buffer {
    true_ph: f64,
    shows: f64,
}

/// A proportioner or dosing pump.
#[derive(JsonSchema)]
struct Doser {
    stock: Stocks,
    /// What it is set to; that of the stocks where left out.
    ratio: Option<f64>,
    /// EC behind it.
    shows_ms_cm: f64,
}

/// What the meters show; the strength in one of three ways.
#[derive(JsonSchema)]
struct OneReading {
    ec_ms_cm: Option<f64>,
    ppm: Option<f64>,
    /// ppm per mS/cm: 500, 640 or 700.
    scale: Option<f64>,
    cf: Option<f64>,
    ph: Option<f64>,
    temperature_c: Option<f64>,
}

/// Stocks beside a tank; other keys of a stock report are accepted.
#[derive(JsonSchema)]
struct Stocks {
    ratio: Option<f64>,
    tanks: Vec<StockTank>,
}

/// A tank of stock.
#[derive(JsonSchema)]
struct StockTank {
    name: Option<String>,
    mix: Vec<StockLine>,
}

/// A fertilizer in a litre of stock.
#[derive(JsonSchema)]
struct StockLine {
    id: String,
    g_per_l_stock: f64,
}

/// An acid or base by name, or a bottle of unknown strength by what it did.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneRemedy {
    Named(OneOrMore),
    Judged(Trial),
}

/// What a bottle did.
#[derive(JsonSchema)]
struct Trial {
    ml: f64,
    litres: f64,
    ph_before: f64,
    ph_after: f64,
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

/// What was weighed into a tank.
#[derive(JsonSchema)]
struct Weighed {
    tank: Option<String>,
    id: String,
    g: f64,
}

/// A number or a list of numbers.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneOrMoreNumbers {
    One(f64),
    More(Vec<f64>),
}

/// A water to blend with, until published limits are kept or by its share.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneBlendWith {
    Named(BlendWith),
    Water(OneWater),
}

/// A water to blend with.
#[derive(JsonSchema)]
struct BlendWith {
    water: OneWater,
    /// Share of the source water, 0 to 1.
    share: Option<f64>,
    /// Limits that the blend is to keep, by figure.
    limits: Option<Named>,
}

/// A shipped recipe by name, or one in full.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneRecipe {
    Name(String),
    Full(Recipe),
}

/// A recipe: aims in mg/L of the element unless `unit` says otherwise.
#[derive(JsonSchema)]
struct Recipe {
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
enum OneAim {
    Figure(f64),
    Band(Aim),
}

/// Any of an aim, a minimum, a maximum and a weight of 0 to 100.
#[derive(JsonSchema)]
struct Aim {
    aim: Option<f64>,
    min: Option<f64>,
    max: Option<f64>,
    weight: Option<f64>,
    unit: Option<String>,
}

/// A shipped water by name, one in full, or a blend.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneWater {
    Name(String),
    Blend(Blend),
    Full(Water),
}

/// An analysis: mg/L of the element unless `unit` says otherwise.
#[derive(JsonSchema)]
struct Water {
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
struct Blend {
    blend: Vec<Share>,
}

/// One water of a blend.
#[derive(JsonSchema)]
struct Share {
    water: Box<OneWater>,
    share: f64,
}

/// A shipped fertilizer by name, or one in full.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneFertilizer {
    Name(String),
    Full(Fertilizer),
}

/// A fertilizer by its formula, its assay, or both.
#[derive(JsonSchema)]
struct Fertilizer {
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
enum OneOrMore {
    One(String),
    More(Vec<String>),
}

/// How far the acid goes.
#[derive(JsonSchema)]
struct AcidTo {
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
enum Strength {
    Factor(f64),
    ToEc(String),
}

/// A fertilizer and its amount in a litre of finished solution; other keys of a report's mix are
/// accepted.
#[derive(JsonSchema)]
struct MixLine {
    id: String,
    g_per_l: Option<f64>,
    ml_per_l: Option<f64>,
}
