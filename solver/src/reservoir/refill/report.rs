//! The answer of `refill`, as every face shows it. Figures are exact; faces round.

use crate::formulate::FormulateReport;
use saltwright_fertilizers::Aimed;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RefillReport {
    /// The recipe's name.
    pub recipe: String,
    /// The water's name.
    pub water: String,
    /// What the tank is taken to have held at the first reading.
    pub assumed: String,
    /// From the first to the last reading.
    pub days: f64,
    /// Litres in the tank at the last reading.
    pub litres: f64,
    /// What left the tank, litres.
    pub drunk_l: f64,
    /// The same a day; none where no time passed.
    pub drunk_l_per_day: Option<f64>,
    /// What left with each litre.
    pub taken: Vec<TakenRow>,
    /// EC of the tank by this account, and as it was read, mS/cm.
    pub ec_by_account_ms_cm: f64,
    /// The same.
    pub ec_read_ms_cm: f64,
    /// A feed that brings what was taken.
    pub top_up: Box<FormulateReport>,
    /// What the tank holds, and how that moved.
    pub drift: Vec<DriftRow>,
    /// When to change the solution.
    pub change_out: ChangeOut,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// What left with each litre.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TakenRow {
    /// Which.
    pub nutrient: Aimed,
    /// mg per litre drunk.
    pub mg_per_l_drunk: f64,
    /// Lower end (k = 2).
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What published uptake alone says, before any reading.
    pub published: f64,
}

/// What the tank holds of a nutrient.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DriftRow {
    /// Which.
    pub nutrient: Aimed,
    /// At the first reading, mg/L.
    pub start: f64,
    /// At the last reading, mg/L.
    pub now: f64,
    /// Lower end (k = 2).
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What a fresh fill holds, mg/L.
    pub fresh: f64,
    /// mg/L a day from here on, where the top-up replaces what is drunk.
    pub per_day: Option<f64>,
}

/// When to change the solution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangeOut {
    /// The day; none where nothing asks for it.
    pub by: Option<String>,
    /// Days from the last reading.
    pub in_days: Option<f64>,
    /// Why then.
    pub because: String,
    /// Litres that a whole change-out lets go.
    pub litres: f64,
    /// Nitrate in them, g of nitrogen.
    pub nitrate_n_g: f64,
    /// Whole and partial change-outs against what builds up; empty where nothing does.
    pub options: Vec<DrainOption>,
    /// Every limit that was looked at.
    pub limits: Vec<LimitRow>,
}

/// A share of the tank let out each time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DrainOption {
    /// Percent of the tank.
    pub share_pct: f64,
    /// Days between.
    pub every_days: f64,
    /// Litres let go a day.
    pub litres_per_day: f64,
    /// What the tank holds of what builds up, on the average, mg/L.
    pub mean_mg_l: f64,
}

/// A limit.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LimitRow {
    /// Of which nutrient.
    pub nutrient: Aimed,
    /// Now, mg/L.
    pub now: f64,
    /// The limit, mg/L.
    pub limit: f64,
    /// mg/L a day from here on.
    pub per_day: Option<f64>,
    /// Days until it is reached; none where it never is.
    pub in_days: Option<f64>,
    /// What it is.
    pub words: String,
    /// Where it comes from.
    pub source: String,
}
