//! The shape of requests about a tank in use: a correction, a refill, the meters.

use super::shared::{
    Named, OneFertilizer, OneOrMore, OneOrMoreNumbers, OneRecipe, OneWater, Ranges, Water,
};
use saltwright_solver::job::Id;
use schemars::JsonSchema;

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
    /// A range on the readings, nutrients and pours.
    ranges: Option<Ranges>,
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
