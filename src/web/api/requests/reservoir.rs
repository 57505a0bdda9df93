//! The shape of requests about a tank in use: a correction, a refill, the meters.

use super::names::*;
use super::numbers::*;
use super::shared::{Called, OneFertilizer, OneRecipe, OneWater, Ranges, Water, named};
use saltwright_fertilizers::mix::MAX_LINES;
use saltwright_solver::reservoir::meter::request as meter;
use saltwright_solver::reservoir::refill::request as refill;
use saltwright_solver::reservoir::supply::{LINE_KEYS, MOST_TANKS, REPORT_KEYS, TANK_KEYS};
use schemars::{JsonSchema, Schema};

/// From what the meters show to what to do, in order.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("correct"))]
pub struct CorrectRequest {
    #[schemars(flatten)]
    called: Called,
    /// Litres in the tank.
    litres: Litres,
    /// Litres that it takes; the level where left out.
    capacity_l: Option<Litres>,
    /// Level to end at.
    fill_to_l: Option<Litres>,
    /// What the meters show.
    reading: OneReading,
    #[schemars(flatten)]
    feed: Feed,
    /// EC to come to, instead of the recipe's.
    ec_ms_cm: Option<EcFigure>,
    /// pH to come to, lowest and highest, instead of the recipe's.
    ph: Option<PhBand>,
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
#[schemars(deny_unknown_fields, transform = named("refill"))]
pub struct RefillRequest {
    #[schemars(flatten)]
    called: Called,
    /// Readings of the tank, two at least.
    readings: Readings,
    /// What was added between them.
    added: Option<List<Added, 0, { refill::MOST }>>,
    /// The stocks that additions name; a stock report will do.
    stock: Option<Stocks>,
    /// A laboratory's figures at the last reading.
    analysis: Option<Water>,
    #[schemars(flatten)]
    feed: Feed,
    /// Acids to use; null for none.
    acid: Option<OneOrList<FertilizerName, 0, ANY>>,
    /// Limits in place of the published ones, mg/L by nutrient.
    limits: Option<By<NutrientKey, MgPerL>>,
}

/// How far a meter is off, which scale a pen has, what to weigh for a check.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("meter"))]
pub struct MeterRequest {
    #[schemars(flatten)]
    called: Called,
    /// Checks of the EC meter or TDS pen.
    points: Option<List<CheckPoint, 0, { meter::MOST }>>,
    /// ppm and mS/cm of one solution.
    pairs: Option<List<BothMeters, 0, { meter::MOST }>>,
    /// A reading to be told on every scale.
    reading: Option<ShownReading>,
    /// Checks of the pH meter.
    ph_points: Option<List<Buffer, 0, { meter::MOST }>>,
    /// Check solutions to weigh salt for, mS/cm.
    make_ms_cm: Option<OneOrList<MakeEc, 0, { meter::MOST }>>,
    /// EC that the error is told at.
    aim_ms_cm: Option<AimEc>,
    /// Days since the meter was calibrated.
    calibrated_days_ago: Option<DaysAgo>,
    /// Temperature of the checks.
    temperature_c: Option<Celsius>,
    /// A proportioner or dosing pump.
    doser: Option<Doser>,
    /// The water that it runs on.
    water: Option<OneWater>,
    /// Fertilizers of one's own.
    fertilizers: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// Accepted, and without effect.
    prices: Option<By<FertilizerName, Price>>,
}

/// What the tank is fed with.
#[derive(JsonSchema)]
struct Feed {
    /// What the crop should get.
    recipe: OneRecipe,
    /// A list that fills in micronutrients the recipe lacks.
    micros: Option<ShippedRecipe>,
    /// What it is made with; pure water where left out.
    water: Option<OneWater>,
    /// Fertilizers of one's own.
    fertilizers: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// Price per kg by fertilizer.
    prices: Option<By<FertilizerName, Price>>,
}

/// A moment: a date and time, or a number of days.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneMoment {
    Date(Date),
    Day(Day),
}

/// Readings of a tank, two at least.
type Readings = List<TankReading, 2, { refill::MOST }>;

/// A reading of the tank; the strength in one of three ways.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = some_strength)]
struct TankReading {
    at: OneMoment,
    litres: Litres,
    #[schemars(flatten)]
    shown: OneReading,
}

fn some_strength(schema: &mut Schema) {
    at_least_one(schema, &["ec_ms_cm", "ppm", "cf"]);
}

/// What was added between readings.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = some_amount)]
struct Added {
    at: OneMoment,
    /// `water`, `feed` (the recipe as formulated), `drained`, `stock-A` (a tank of `stock`), or a
    /// fertilizer.
    what: Option<AddedWhat>,
    litres: Option<Litres>,
    ml: Option<AddedAmount>,
    g: Option<AddedAmount>,
    /// Another water than that of the request.
    water: Option<OneWater>,
}

fn some_amount(schema: &mut Schema) {
    at_least_one(schema, &["litres", "ml", "g"]);
}

/// A check solution, by its EC or by what was weighed, and what the meter shows in it.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = some_truth)]
struct CheckPoint {
    true_ms_cm: Option<CheckEc>,
    kcl_g_per_l: Option<CheckSalt>,
    nacl_g_per_l: Option<CheckSalt>,
    shows: ShownFigure,
    unit: Option<MeterUnit>,
    scale: Option<TdsScale>,
}

fn some_truth(schema: &mut Schema) {
    at_least_one(schema, &["true_ms_cm", "kcl_g_per_l", "nacl_g_per_l"]);
}

/// One solution on a TDS pen and on an EC meter.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct BothMeters {
    ppm: ShownFigure,
    ec_ms_cm: PairEc,
}

/// A buffer and what the pH meter shows in it.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Buffer {
    true_ph: PhFigure,
    shows: PhFigure,
}

/// A proportioner or dosing pump.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Doser {
    stock: Stocks,
    /// What it is set to; that of the stocks where left out.
    ratio: Option<Ratio>,
    /// EC behind it.
    shows_ms_cm: EcFigure,
}

/// What the meters show; the strength in one of three ways.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct OneReading {
    ec_ms_cm: Option<TankEc>,
    /// Needs `scale`.
    ppm: Option<TankPpm>,
    scale: Option<TdsScale>,
    cf: Option<TankCf>,
    ph: Option<TankPh>,
    temperature_c: Option<Celsius>,
}

/// A reading to be told on every scale.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = some_strength)]
struct ShownReading {
    ec_ms_cm: Option<EcFigure>,
    ppm: Option<ShownFigure>,
    /// Where it is left out, every scale is told.
    scale: Option<TdsScale>,
    cf: Option<ShownFigure>,
    ph: Option<Ignored>,
    temperature_c: Option<Ignored>,
}

/// Stocks beside a tank; other keys of a stock report are accepted.
#[derive(JsonSchema)]
#[schemars(transform = stock_report)]
struct Stocks {
    ratio: Option<Ratio>,
    tanks: List<StockTank, 0, MOST_TANKS>,
}

fn stock_report(schema: &mut Schema) {
    accept(schema, &REPORT_KEYS);
    accept(schema, &["job", "id"]);
}

/// A tank of stock.
#[derive(JsonSchema)]
#[schemars(transform = tank_of_report)]
struct StockTank {
    name: Option<NewId>,
    mix: List<StockLine, 1, MAX_LINES>,
}

fn tank_of_report(schema: &mut Schema) {
    accept(schema, &TANK_KEYS);
}

/// A fertilizer in a litre of stock.
#[derive(JsonSchema)]
#[schemars(transform = line_of_report)]
struct StockLine {
    id: FertilizerName,
    g_per_l_stock: GPerLStock,
}

fn line_of_report(schema: &mut Schema) {
    accept(schema, &LINE_KEYS);
}

/// An acid or base by name, or a bottle of unknown strength by what it did.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneRemedy {
    Named(OneOrList<FertilizerName, 0, ANY>),
    Judged(Trial),
}

/// What a bottle did.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Trial {
    ml: Poured,
    litres: Litres,
    ph_before: TankPh,
    ph_after: TankPh,
}
