//! The answer of `substitute`, as every face shows it. Figures are exact; faces round.

use super::request::Keep;
use crate::formulate::FormulateReport;
use saltwright_fertilizers::Aimed;
use schemars::JsonSchema;
use serde::Serialize;

/// Where today's mix comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NowIs {
    /// The request gives it.
    Given,
    /// It is the closest mix of what is at hand.
    FromHand,
    /// It is the closest mix of all that is allowed.
    Formulated,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SubstituteReport {
    /// What a cheaper mix must keep.
    pub keep: Keep,
    /// What prices are in, as the request names it.
    pub currency: Option<String>,
    /// Where today's mix comes from.
    pub now_is: NowIs,
    /// Today's mix.
    pub now: FormulateReport,
    /// The cheapest mix that keeps what is asked.
    pub cheapest: FormulateReport,
    /// What the cheapest saves against today's, per 1,000 L; below zero where today's mix misses
    /// bands that the cheapest keeps.
    pub saving_per_m3: f64,
    /// The same in percent of today's cost.
    pub saving_pct: Option<f64>,
    /// What today's fertilizers alone, weighed anew, would save; none where they cannot keep what
    /// is asked.
    pub reweighed_saving_per_m3: Option<f64>,
    /// The ratio at which stock tanks are judged.
    pub stock_ratio: f64,
    /// Today's mix as stock.
    pub now_stock: InTanks,
    /// The cheapest mix as stock.
    pub cheapest_stock: InTanks,
    /// One fertilizer out, another in, the rest weighed anew; largest saving first. Each keeps what
    /// is asked, a band that today's mix misses no worse. Only what saves more than weighing
    /// today's fertilizers anew.
    pub swaps: Vec<Swap>,
    /// At what price each fertilizer that the cheapest mix does not use would come in.
    pub break_even: Vec<BreakEven>,
    /// Between which prices of each fertilizer that it uses the cheapest mix stays a cheapest one.
    pub holds_while: Vec<HoldsWhile>,
    /// What a little room in a band would save.
    pub loosened: Vec<Loosened>,
    /// Cost against how far every nutrient with an aim may lie from it: the points between which
    /// it is a straight line, from the least possible deviation to where more saves nothing.
    pub curve: Vec<CurvePoint>,
    /// Cost against the sodium and chloride in the finished solution: the same, from the least
    /// possible to where more of them saves nothing. Maxima of the two stand aside here.
    pub salt_curve: Vec<SaltPoint>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// A mix as stock in its tanks.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct InTanks {
    /// True where every tank stays clear; none where it cannot be worked out.
    pub clear: Option<bool>,
    /// The tank that does not.
    pub tank: Option<String>,
    /// What forms in it.
    pub first_solid: Option<String>,
}

/// One fertilizer taken out and another put in.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Swap {
    /// What is taken out.
    pub out: String,
    /// What is put in.
    #[serde(rename = "in")]
    pub into: String,
    /// How much of it.
    pub g_per_l: f64,
    /// What the mix then saves against today's, per 1,000 L.
    pub saving_per_m3: f64,
    /// What changes.
    pub changes: Changes,
    /// The whole mix after the swap.
    pub mix: Vec<SwapDose>,
}

/// One line of a mix after a swap.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SwapDose {
    /// Which.
    pub id: String,
    /// Grams per litre of finished solution.
    pub g_per_l: f64,
}

/// A figure before and after.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Change {
    /// With today's mix.
    pub now: Option<f64>,
    /// After the swap.
    pub then: Option<f64>,
}

/// What a swap changes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Changes {
    /// Every nutrient that comes to another figure, mg/L.
    pub nutrients: Vec<ChangedRow>,
    /// EC of the finished solution, mS/cm at 25 °C.
    pub ec_ms_cm: Change,
    /// pH right after mixing.
    pub ph_closed: Change,
    /// Sodium, mg/L.
    pub sodium_mg_l: Change,
    /// Chloride, mg/L.
    pub chloride_mg_l: Change,
    /// Ammonium's share of total nitrogen, percent.
    pub nh4_share_pct: Change,
    /// Solubility of what is taken out and of what is put in, g per litre of water at 20 °C.
    pub solubility_g_per_l_20c: Change,
    /// The stock tank that what is put in goes into: the first in which it stays clear, that of what
    /// is taken out before the others.
    pub tank: Option<String>,
    /// True where all stock tanks then stay clear; none where it cannot be worked out.
    pub clear: Option<bool>,
    /// What forms where one does not.
    pub first_solid: Option<String>,
    /// What to heed, in words.
    pub words: Vec<String>,
}

/// A nutrient that a swap moves, mg/L.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangedRow {
    /// Which.
    pub nutrient: Aimed,
    /// With today's mix.
    pub now: f64,
    /// After the swap.
    pub then: f64,
}

/// The price at which an unused fertilizer would come in.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BreakEven {
    /// Which.
    pub id: String,
    /// Below this it comes in; none where no price lets it in.
    pub price_per_kg: Option<f64>,
    /// What it costs now.
    pub price_now_per_kg: f64,
}

/// The prices of a used fertilizer between which the cheapest mix stays a cheapest one.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HoldsWhile {
    /// Which.
    pub id: String,
    /// Below this another mix is cheaper; none where no price is too low.
    pub low_price: Option<f64>,
    /// Above this another mix is cheaper; none where no price is too high.
    pub high_price: Option<f64>,
    /// What it costs now.
    pub price_now_per_kg: f64,
}

/// A band end that costs money.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Loosened {
    /// Which.
    pub nutrient: Aimed,
    /// `min` or `max`.
    pub side: &'static str,
    /// Where the end is, mg/L.
    pub bound_mg_l: f64,
    /// By how much it is loosened, mg/L.
    pub by_mg_l: f64,
    /// What that saves per 1,000 L.
    pub saves_per_m3: f64,
    /// The same in a sentence.
    pub words: String,
}

/// A point of cost against allowed deviation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CurvePoint {
    /// How far every nutrient with an aim may lie from it, percent.
    pub off_pct_allowed: f64,
    /// What 1,000 L then cost.
    pub cost_per_m3: f64,
}

/// A point of cost against sodium and chloride.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SaltPoint {
    /// Sodium in the finished solution, mg/L.
    pub sodium_mg_l: f64,
    /// Chloride in the finished solution, mg/L.
    pub chloride_mg_l: f64,
    /// Their share of the EC, percent.
    pub ec_share_pct: f64,
    /// What 1,000 L then cost.
    pub cost_per_m3: f64,
}
