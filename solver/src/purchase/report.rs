//! The answer of `purchase`, as every face shows it. Figures are exact; faces round.

use crate::formulate::FormulateReport;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer: what to buy, and the one mix of the season with everything that `formulate` reports
/// of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PurchaseReport {
    /// Finished solution of the season.
    pub season_m3: f64,
    /// What prices are in, as the request has it.
    pub currency: Option<String>,
    /// Bags to buy, by id, largest size first.
    pub buy: Vec<BuyRow>,
    /// What they cost together.
    pub total: f64,
    /// What no purchase that keeps the bands can cost less than.
    pub bound: f64,
    /// 100 (total - bound)/total; 0 where nothing is paid.
    pub gap_pct: f64,
    /// The total for each cubic metre of finished solution.
    pub total_per_m3: f64,
    /// What the same mixes would cost if bags could be bought in part: the bound without whole
    /// numbers.
    pub bound_in_parts: f64,
    /// Parts of the search, each closed by prices that were checked; none where the optimum without
    /// whole numbers was one of whole bags.
    pub search_parts: u64,
    /// True where the search was stopped, by its time or by hand, before it could prove the bound.
    pub stopped: bool,
    /// What is at home after the season.
    pub left_over: Vec<LeftRow>,
    /// Fertilizers that were allowed but are neither sold nor at home.
    pub not_sold: Vec<String>,
    /// The mix, closest to the aims among those that the bags allow.
    #[serde(flatten)]
    pub formulation: FormulateReport,
}

/// Bags of one size.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BuyRow {
    /// Which fertilizer.
    pub id: String,
    /// Size of a bag.
    pub bag_kg: f64,
    /// How many.
    pub bags: u32,
    /// What they cost.
    pub cost: f64,
}

/// What is left of a fertilizer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeftRow {
    /// Which.
    pub id: String,
    /// On hand and bought, less used.
    pub kg: f64,
    /// What the season uses.
    pub used_kg: f64,
}
