//! The answer of `correct`, as every face shows it. Figures are exact; faces round.

use super::start::Grounds;
use crate::chemistry::meter::Tds;
use crate::formulate::FormulateReport;
use crate::spread::Sureness;
use saltwright_fertilizers::Aimed;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CorrectReport {
    /// The recipe's name.
    pub recipe: String,
    /// The water's name.
    pub water: String,
    /// Litres that the tank takes.
    pub capacity_l: f64,
    /// On what grounds the tank is taken to hold something.
    pub grounds: Grounds,
    /// The same in a sentence.
    pub assumed: String,
    /// Its strength against the recipe as the stocks make it; none where no ratio is known.
    pub strength: Option<f64>,
    /// As it was read.
    pub now: State,
    /// What it is to come to.
    pub aim: Aims,
    /// What to do, in order.
    pub steps: Vec<Step>,
    /// What the meters show after the last step.
    pub after: After,
    /// What is published, or practised, for the crop of the recipe.
    pub ph_published: Vec<PublishedPh>,
    /// True where EC and pH then lie where they should.
    pub in_band: bool,
    /// Why not.
    pub why_not: Option<String>,
    /// The EC that can be reached, where the aim cannot, mS/cm.
    pub reachable_ms_cm: Option<f64>,
    /// Acid in a millilitre of a bottle of unknown strength, meq (negative for a base).
    pub bottle_meq_per_ml: Option<f64>,
    /// What the tank holds, mg/L, now and after.
    pub nutrients: Vec<NutrientRow>,
    /// What to weigh instead of pouring stocks, where a laboratory's figures or no stocks are
    /// there: per litre of what is in the tank after draining and filling.
    pub adjusted_feed: Option<AdjustedFeed>,
    /// Why figures are not exact, and what would narrow them, where that was asked.
    #[serde(flatten)]
    pub sureness: Option<Sureness>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// A pH range for a crop.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PublishedPh {
    /// The crop as the source names it.
    pub crop: String,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Who says so.
    pub source: String,
}

/// What to weigh for a tank.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AdjustedFeed {
    /// Into how much of it.
    pub litres: f64,
    /// What the meters show once it is dissolved; the pH is left to acid or base.
    pub then: State,
    /// The formulation, the tank counting as its water.
    pub formulation: Box<FormulateReport>,
}

/// What the meters show.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CorrectState")]
pub struct State {
    /// mS/cm at 25 °C.
    pub ec_ms_cm: f64,
    /// pH; none where it was not read.
    pub ph: Option<f64>,
    /// Level.
    pub litres: f64,
}

/// What the meters show in the end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CorrectAfter")]
pub struct After {
    /// mS/cm at 25 °C.
    pub ec_ms_cm: f64,
    /// The same on TDS pens.
    pub tds: [Tds; 3],
    /// The same as CF.
    pub cf: f64,
    /// Lower end of what the meter may show (k = 2), where ranges are asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ec_low_ms_cm: Option<f64>,
    /// Upper end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ec_high_ms_cm: Option<f64>,
    /// pH after standing in air.
    pub ph: Option<f64>,
    /// Lower end of what the pH meter may show (k = 2), where ranges are asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ph_low: Option<f64>,
    /// Upper end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ph_high: Option<f64>,
    /// pH right after the last portion.
    pub ph_right_after: Option<f64>,
    /// Level.
    pub litres: f64,
    /// Acid or base that moves the pH by one, mol/kg.
    pub buffer_mol_kg: Option<f64>,
    /// True where hardly anything holds the pH: it is then told without decimals.
    pub unbuffered: bool,
}

/// What the tank is to come to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CorrectAims")]
pub struct Aims {
    /// mS/cm at 25 °C.
    pub ec_ms_cm: f64,
    /// Where that comes from: `request`, `recipe` or `stocks` (as strong as they make it at their
    /// ratio) or `formulation`.
    pub ec_from: &'static str,
    /// pH, lowest and highest.
    pub ph: [f64; 2],
    /// Where that comes from: `request`, `recipe` or `usual` (neither names one).
    pub ph_from: &'static str,
}

/// What a step does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "CorrectDo")]
pub enum Do {
    /// Let out.
    Drain,
    /// Source water in.
    AddWater,
    /// Stock in.
    AddStock,
    /// A portion of acid.
    AddAcid,
    /// A portion of base.
    AddBase,
    /// Let it circulate, then read again.
    Wait,
}

impl Do {
    /// The word in reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Drain => "drain",
            Self::AddWater => "add-water",
            Self::AddStock => "add-stock",
            Self::AddAcid => "add-acid",
            Self::AddBase => "add-base",
            Self::Wait => "wait",
        }
    }
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CorrectStep")]
pub struct Step {
    /// What is done.
    #[serde(rename = "do")]
    pub what: Do,
    /// The tank of stock.
    pub tank: Option<String>,
    /// The acid or base.
    pub id: Option<String>,
    /// Litres, to drain or of water.
    pub litres: Option<f64>,
    /// Millilitres, of stock, acid or base.
    pub ml: Option<f64>,
    /// Grams, of an acid or base that is weighed.
    pub g: Option<f64>,
    /// Minutes, to wait.
    pub minutes: Option<f64>,
    /// The least that it may take, in the unit of the amount (k = 2), where ranges are asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// The most.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// How, in a sentence.
    pub words: String,
    /// What the meters should show after it.
    pub then: State,
}

/// One nutrient.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CorrectNutrient")]
pub struct NutrientRow {
    /// Which.
    pub nutrient: Aimed,
    /// In the tank, mg/L.
    pub now: f64,
    /// After the steps, mg/L.
    pub after: f64,
    /// What the recipe asks for, mg/L.
    pub aim: Option<f64>,
    /// Where it may lie after the steps, where ranges are asked for.
    #[serde(flatten)]
    pub range: Option<Reach>,
}

/// Where a figure may lie (k = 2). What a tank holds is told by a meter, which has no worst case that
/// could be exact.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CorrectReach")]
pub struct Reach {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}
