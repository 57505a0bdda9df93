//! The shape of requests, for the description of the machine face.
//!
//! Requests are read by hand from a tree (that is what names every fault with its place); these
//! types say the same in a form that a schema can be made from. A test asks every key of them of
//! the reader.
#![allow(dead_code, clippy::struct_field_names)] // never built, only described

mod label;
mod reservoir;
mod shared;

pub use label::LabelRequest;
pub use reservoir::{CorrectRequest, MeterRequest, RefillRequest};
use saltwright_solver::job::Id;
use schemars::JsonSchema;
use shared::{
    Formulation, MixLine, Named, OneFertilizer, OneOrMore, OneOrMoreNumbers, OneWater, Ranges, Sure,
};
use std::collections::BTreeMap;

/// From a recipe and a water to grams.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct FormulateRequest {
    /// `formulate`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// What is asked of the formulation.
    #[schemars(flatten)]
    formulation: Formulation,
    /// Bands that hold for any bag: `worst-case`, or a probability from 0.5 to 1.
    sure: Option<Sure>,
}

/// From today's mix and prices to the cheapest that feeds the same.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SubstituteRequest {
    /// `substitute`; may be left out where the address says it.
    job: Option<String>,
    /// Comes back as given.
    id: Option<Id>,
    /// What is asked of a formulation; every fertilizer that may be used has a price.
    #[schemars(flatten)]
    formulation: Formulation,
    /// Today's mix; the closest formulation where left out.
    now: Option<Vec<MixLine>>,
    /// What is at hand: today's mix is the closest formulation from these.
    at_hand: Option<Vec<String>>,
    /// `bands`, or `deviation` for as close as today's mix.
    keep: Option<String>,
    /// What prices are in: a label, up to 16 bytes.
    currency: Option<String>,
}

/// Which whole bags to buy for a season, so that one mix keeps the bands.
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
    /// What is asked of the formulation; bags have their own prices.
    #[schemars(flatten)]
    formulation: Formulation,
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

/// What was weighed into a tank.
#[derive(JsonSchema)]
struct Weighed {
    tank: Option<String>,
    id: String,
    g: f64,
}
