//! The shape of requests, for the description of the machine face.
//!
//! Requests are read by hand from a tree (that is what names every fault with its place); these
//! types say the same in a form that a schema can be made from. Tests ask every key of them of the
//! reader, and try the ends of every number.
#![allow(dead_code, clippy::struct_field_names)] // never built, only described
#![allow(clippy::wildcard_imports)] // names and numbers are the words that the rest is written in

mod label;
mod names;
mod numbers;
mod reservoir;
mod shared;

pub use label::LabelRequest;
pub use names::fill_in;
pub use reservoir::{CorrectRequest, MeterRequest, RefillRequest};

use names::*;
use numbers::*;
use saltwright_fertilizers::mix::MAX_LINES;
use saltwright_solver::purchase::request::MOST_SIZES;
use saltwright_solver::stock::request::MOST_TANKS;
use schemars::{JsonSchema, Schema};
use shared::{Called, Formulation, Mix, OneFertilizer, OneWater, Ranges, Sure, named};

/// From a recipe and a water to grams.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("formulate"))]
pub struct FormulateRequest {
    #[schemars(flatten)]
    called: Called,
    /// What is asked of the formulation.
    #[schemars(flatten)]
    formulation: Formulation,
    /// Bands that hold for any bag: `worst-case`, or a probability from 0.5 to 1.
    sure: Option<Sure>,
}

/// From today's mix and prices to the cheapest that feeds the same.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("substitute"))]
pub struct SubstituteRequest {
    #[schemars(flatten)]
    called: Called,
    /// What is asked of a formulation; every fertilizer that may be used has a price.
    #[schemars(flatten)]
    formulation: Formulation,
    /// Today's mix; the closest formulation where left out.
    now: Option<Mix>,
    /// What is at hand: today's mix is the closest formulation from these.
    at_hand: Option<OneOrList<FertilizerName, 1, ANY>>,
    /// `bands`, or `deviation` for as close as today's mix.
    keep: Option<KeepFor>,
    /// What prices are in: a label, up to 16 bytes.
    currency: Option<Currency>,
}

/// Which whole bags to buy for a season, so that one mix keeps the bands.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("purchase"))]
pub struct PurchaseRequest {
    #[schemars(flatten)]
    called: Called,
    /// Finished solution of the season, m3, 1e-6 to 1e6.
    season_m3: Season,
    /// How each fertilizer is sold, and what is at home.
    bags: By<FertilizerName, Supply>,
    /// Seconds that the search may take, 4 where left out.
    search_s: Option<Seconds>,
    /// What prices are in: a label, up to 16 bytes.
    currency: Option<Currency>,
    /// What is asked of the formulation; bags have their own prices.
    #[schemars(flatten)]
    formulation: Formulation,
}

/// How a fertilizer is sold, and what is at home.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = sold_or_at_home)]
struct Supply {
    /// The bags it is sold in.
    sizes: Option<List<Bag, 0, MOST_SIZES>>,
    /// What is at home.
    on_hand_kg: Option<OnHand>,
}

fn sold_or_at_home(schema: &mut Schema) {
    at_least_one(schema, &["sizes", "on_hand_kg"]);
}

/// A bag that can be bought.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Bag {
    bag_kg: BagKg,
    /// In any currency, one for all.
    price_per_bag: PricePerBag,
}

/// From grams to nutrients and EC.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("predict"))]
pub struct PredictRequest {
    #[schemars(flatten)]
    called: Called,
    /// What goes in.
    mix: Mix,
    /// Into what; pure water where left out.
    water: Option<OneWater>,
    /// Fertilizers of one's own that the mix names.
    fertilizers: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// Price per kg by fertilizer, in any currency.
    prices: Option<By<FertilizerName, Price>>,
    /// Temperature of the solution, 0 to 60 °C.
    temperature_c: Option<Celsius>,
    /// Litres that are weighed for at once.
    litres: Option<Litres>,
    /// A range on every figure.
    ranges: Option<Ranges>,
}

/// What an analysis says, and the acid that the water needs.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("water"))]
pub struct WaterRequest {
    #[schemars(flatten)]
    called: Called,
    /// The water.
    water: OneWater,
    /// Acids or bases to dose; every one of the table where left out; null for none.
    acid: Option<OneOrList<FertilizerName, 0, ANY>>,
    /// Alkalinity to leave, meq/L.
    residual_alkalinity_meq_l: Option<Alkalinity>,
    /// pH to reach right after dosing, instead of an alkalinity.
    ph: Option<PhFigure>,
    /// A water to blend with.
    blend_with: Option<OneBlendWith>,
    /// Temperature that pH is told at, 0 to 60 °C.
    temperature_c: Option<Celsius>,
    /// Fertilizers of one's own, in place of the shipped table.
    fertilizers: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// Accepted, and without effect.
    prices: Option<By<FertilizerName, Price>>,
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
#[schemars(deny_unknown_fields)]
struct BlendWith {
    water: OneWater,
    /// Share of the source water, 0 to 1.
    share: Option<ShareOfOne>,
    /// Limits that the blend is to keep, by figure.
    limits: Option<By<LimitKey, MgPerL>>,
}

/// From a mix to stock tanks.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, transform = named("stock"))]
pub struct StockRequest {
    #[schemars(flatten)]
    called: Called,
    /// What a litre of finished solution holds.
    mix: Mix,
    /// The water the stocks are made with and diluted into.
    water: Option<OneWater>,
    /// Fertilizers of one's own that the mix names.
    fertilizers: Option<List<OneFertilizer, 1, MAX_LINES>>,
    /// Accepted, and without effect.
    prices: Option<By<FertilizerName, Price>>,
    /// Tanks, 1 to 4.
    tanks: Option<Tanks>,
    /// Parts of finished solution per part of stock; the largest where left out.
    ratio: Option<Ratio>,
    /// Coldest temperature of the store, °C.
    coldest_c: Option<Celsius>,
    /// Hottest temperature of the store, °C.
    hottest_c: Option<Celsius>,
    /// How far below saturation every solid is to stay, log10.
    margin_index: Option<Margin>,
    /// Litres of each tank, one for all or a list.
    tank_litres: Option<OneOrList<Litres, 1, MOST_TANKS>>,
    /// What the scale shows, grams.
    scale_g: Option<ScaleShows>,
    /// False: acids may join a tank.
    acid_tank: Option<bool>,
    /// What was weighed into a tank already.
    already: Option<List<Weighed, 0, MAX_LINES>>,
    /// A range on every figure of the finished solution.
    ranges: Option<Ranges>,
}

/// What was weighed into a tank.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Weighed {
    tank: Option<Words>,
    id: FertilizerName,
    g: Grams,
}
