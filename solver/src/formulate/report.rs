//! The answer of `formulate`, as every face shows it. Figures are exact; faces round.

use super::stages::Stage;
use super::sure::SureReport;
use crate::chemistry::meter::Tds;
use crate::ec::Ec;
use crate::ions::Detail;
use crate::ph::Ph;
use crate::solids::SolidRow;
use crate::solution::Ratios;
use crate::spread::{Range, Sureness};
use saltwright_fertilizers::Aimed;
use schemars::JsonSchema;
use serde::Serialize;

/// Whether everything asked for was possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Every figure lies within its band.
    WithinBands,
    /// Some figure does not; the answer is the closest there is.
    OutsideBands,
}

/// What the mix keeps before it is cheap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kept {
    /// The bands, then the least distance from the aims.
    Aims,
    /// The bands alone.
    Bands,
    /// Every aim as closely as another mix does.
    Closeness,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FormulateReport {
    /// Whether everything asked for was possible.
    pub outcome: Outcome,
    /// What the mix keeps before it is cheap.
    pub keeps: Kept,
    /// The recipe's name.
    pub recipe: String,
    /// The water's name.
    pub water: String,
    /// Strength against the recipe as written.
    pub strength: f64,
    /// Litres of the batch.
    pub litres: Option<f64>,
    /// Dilution ratio of the stock.
    pub ratio: Option<f64>,
    /// What to weigh and pour, largest mass first.
    pub mix: Vec<MixRow>,
    /// What every nutrient comes to.
    pub nutrients: Vec<NutrientRow>,
    /// The acid, where there is a row for it.
    pub acidity: Option<AcidityReport>,
    /// Ratios growers ask about.
    pub ratios: Ratios,
    /// What the EC meter should show.
    pub ec: Ec,
    /// The same on the scales of TDS pens.
    pub tds: [Tds; 3],
    /// The same as CF.
    pub cf: f64,
    /// What the pH meter should show, at 25 °C.
    pub ph: Ph,
    /// The recipe's pH band.
    pub ph_band: Option<[f64; 2]>,
    /// 100 (cations - anions)/(cations + anions) of the finished solution.
    pub charge_error_pct: Option<f64>,
    /// What 1,000 litres cost.
    pub cost_per_m3: Option<f64>,
    /// A certificate for each stage.
    pub proof: Vec<ProofRow>,
    /// Fertilizers that the closest stage holds at nothing: their reduced costs in the cheapest
    /// stage may have either sign.
    pub held_out: Vec<String>,
    /// Fertilizers that bring the same as another of the choice, in parallel.
    pub twins: Vec<TwinRow>,
    /// Why not everything was possible.
    pub conflict: Vec<ConflictRow>,
    /// Fertilizers, not allowed so far, that would make everything possible.
    pub mended_by: Vec<String>,
    /// Fertilizers, not allowed so far, that would solve this conflict but not all.
    pub helped_by: Vec<String>,
    /// Water to add where what is in the tank is too strong already, litres per litre.
    pub dilute_l_per_l: Option<f64>,
    /// Micronutrients that came from another list.
    pub micros: Option<MicrosRow>,
    /// What could drop out of the finished solution.
    pub solids: Vec<SolidRow>,
    /// The solid that comes first, where any can form.
    pub first_solid: Option<&'static str>,
    /// Ionic strength.
    pub ionic_strength_mol_l: f64,
    /// Ion by ion, where it was asked.
    #[serde(flatten)]
    pub detail: Option<Detail>,
    /// Why figures are not exact, and what would narrow them, where it was asked.
    #[serde(flatten)]
    pub sureness: Option<Sureness>,
    /// How sure the bands are, where that was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sure: Option<SureReport>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// One fertilizer of the mix.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MixRow {
    /// Which.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Grams per litre of finished solution.
    pub g_per_l: f64,
    /// Millilitres per litre, for what is poured.
    pub ml_per_l: Option<f64>,
    /// Grams for the batch.
    pub g: Option<f64>,
    /// Grams per litre of stock.
    pub g_per_l_stock: Option<f64>,
    /// What it adds to the cost of 1,000 litres.
    pub cost_per_m3: Option<f64>,
    /// Its share of the cost.
    pub cost_share_pct: Option<f64>,
    /// The stock tank it belongs in.
    pub tank: Option<&'static str>,
}

/// One nutrient of the answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NutrientRow {
    /// Which.
    pub nutrient: Aimed,
    /// The aim, mg/L.
    pub aim: Option<f64>,
    /// Lowest acceptable.
    pub min: Option<f64>,
    /// Highest acceptable.
    pub max: Option<f64>,
    /// True where the maximum is the default for what nobody named.
    pub default_max: bool,
    /// What water and the mix already in bring.
    pub water: f64,
    /// What it comes to.
    pub delivered: f64,
    /// Deviation from the aim, percent.
    pub off_pct: Option<f64>,
    /// Its entry in the dual solution of the cheapest stage.
    pub price_per_mg_l_m3: Option<f64>,
    /// What one less would save.
    pub price_low: Option<f64>,
    /// What one more would cost.
    pub price_high: Option<f64>,
    /// Where it may lie, where that was asked.
    #[serde(flatten)]
    pub range: Option<Range>,
}

/// The acid of the answer, meq/L.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AcidityReport {
    /// Acid equivalents asked for: alkalinity less residual.
    pub target_meq_l: f64,
    /// Acid equivalents that the mix brings.
    pub reached_meq_l: f64,
    /// Alkalinity that is left.
    pub residual_meq_l: f64,
    /// Its entry in the dual solution of the cheapest stage.
    pub price_per_meq_l_m3: Option<f64>,
}

/// The certificate of a stage.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ProofRow {
    /// Which stage.
    pub stage: Stage,
    /// What it reached: weighted deviation in aims; price per litre; grams per litre.
    pub objective: f64,
    /// Largest violation of a row or bound, in aims.
    pub primal_residual: f64,
    /// Largest reduced cost of a variable inside its bounds.
    pub dual_residual: f64,
    /// Objective less its proven lower bound.
    pub gap: f64,
    /// True where fertilizers were dropped first and the optimum is among those left.
    pub among_these: bool,
}

/// Two fertilizers that bring the same.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TwinRow {
    /// The one.
    pub id: String,
    /// The other, cheaper for what it delivers or of the lower id.
    pub like: String,
}

/// One band end of a conflict.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ConflictRow {
    /// The nutrient, or `acidity`.
    pub nutrient: &'static str,
    /// `min` or `max`.
    pub side: &'static str,
    /// The bound, mg/L (acidity: meq/L).
    pub bound_mg_l: f64,
    /// What it can come to while the other ends are kept.
    pub reachable_mg_l: f64,
    /// The same in a sentence.
    pub words: String,
}

/// Micronutrients from another list.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MicrosRow {
    /// The list.
    pub from: String,
    /// What it filled in.
    pub filled: Vec<&'static str>,
}
