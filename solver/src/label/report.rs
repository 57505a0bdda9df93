//! The answer of `label`, as every face shows it. Figures are exact; faces round.

use super::allowance::{AllowanceRow, Finding, Overall};
use super::convention::{Convention, Form};
use super::meter::MeterReport;
use crate::formulate::FormulateReport;
use crate::spread::{Range, Sureness};
use saltwright_fertilizers::Aimed;
use saltwright_fertilizers::guarantee::Printed;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LabelReport {
    /// What it says on the bag.
    pub name: String,
    /// How it is printed.
    pub convention: Convention,
    /// How that convention prints, in words.
    pub prints: &'static str,
    /// Solid or liquid.
    pub form: Form,
    /// The label, figure by figure.
    pub analysis: Vec<AnalysisRow>,
    /// Whether the ingredients can give the figures.
    pub arithmetic: Arithmetic,
    /// What the label leaves out.
    pub undeclared: Vec<UndeclaredRow>,
    /// The meter test.
    pub meter: Option<MeterReport>,
    /// A laboratory's findings.
    pub allowances: Vec<AllowanceRow>,
    /// The overall index, where the convention has one.
    pub index: Option<Overall>,
    /// The sum of shortfalls, where the convention limits it.
    pub sum: Option<Overall>,
    /// What a shortfall beyond its allowance is worth.
    pub penalties: Vec<PenaltyRow>,
    /// What a dose brings.
    pub dosage: Option<Dosage>,
    /// The mix completed to the recipe.
    pub complete: Option<FormulateReport>,
    /// The mix alone, as near to the recipe as it comes.
    pub alone: Option<FormulateReport>,
    /// Why the figures of the found mixture are not exact, percent of the element, and what would
    /// narrow them, where ranges are asked for.
    #[serde(flatten)]
    pub sureness: Option<Sureness>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// One figure of the label.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AnalysisRow {
    /// As printed.
    pub printed: Printed,
    /// Percent as printed.
    pub pct: f64,
    /// The nutrient it counts; none for what is not accounted for.
    pub nutrient: Option<Aimed>,
    /// Percent of the element by the exact factor.
    pub element_pct: f64,
    /// Percent of the element by the factor that the law prints, where it prints one.
    pub statutory_element_pct: Option<f64>,
    /// Percent as printed that the found mixture holds, where ranges are asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mixture_pct: Option<f64>,
    /// Where that may lie, by what its ingredients may be off.
    #[serde(flatten)]
    pub range: Option<Range>,
}

/// Which ingredients a label was judged with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Judged {
    /// Those that were named.
    Named,
    /// None were named: the common ones.
    Common,
    /// None were named and the common ones cannot give it: everything that is known.
    Known,
}

/// Whether the ingredients can give the figures.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Arithmetic {
    /// Yes or no.
    pub possible: bool,
    /// Which ingredients were tried.
    pub ingredients: Judged,
    /// True where it works only with assays at the ends of their tolerances.
    pub at_tolerance: bool,
    /// One mixture: percent of each ingredient, and of `filler`.
    pub mix_pct: BTreeMap<String, f64>,
    /// The least and the most of each ingredient over all mixtures that keep the label, where ranges
    /// are asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shares: Vec<ShareRow>,
    /// A smallest set of figures that cannot stand together.
    pub contradiction: Vec<ContradictionRow>,
    /// The proof of that.
    pub certificate: Option<CertificateReport>,
    /// The same in words.
    pub words: String,
}

/// How much of an ingredient there can be.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShareRow {
    /// Which, or `filler`.
    pub id: String,
    /// The least, percent of the mass.
    pub low_pct: f64,
    /// The most.
    pub high_pct: f64,
}

/// A share below which nothing is there, percent: rounding of the pivots.
const DUST_PCT: f64 = 1e-9;

impl ShareRow {
    /// Percent, rounding taken off.
    pub(super) fn new(id: &str, low_pct: f64, high_pct: f64) -> Self {
        let sound = |pct: f64| if pct < DUST_PCT { 0.0 } else { pct };
        Self {
            id: id.to_owned(),
            low_pct: sound(low_pct),
            high_pct: sound(high_pct.max(low_pct)),
        }
    }
}

/// One figure of a contradiction.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ContradictionRow {
    /// As printed.
    pub guarantee: Printed,
    /// Percent as printed.
    pub pct: f64,
    /// `min` or `max`.
    pub side: &'static str,
    /// The bound, percent as printed.
    pub bound_pct: f64,
    /// How far it comes with every other figure of the label met, percent as printed; none where
    /// the others cannot be met either.
    pub reachable_pct: Option<f64>,
    /// The same in words.
    pub words: String,
}

/// An index that the label promises and no mixture reaches.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CertificateReport {
    /// Index points for each percent as printed; the label asks for 100.
    pub weights: BTreeMap<&'static str, f64>,
    /// What the label asks for.
    pub asked: f64,
    /// The most that any ingredient holds.
    pub most: f64,
    /// The ingredient that holds it; `filler` for none.
    pub richest: String,
}

/// A nutrient that the label does not name.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UndeclaredRow {
    /// Which.
    pub nutrient: Aimed,
    /// The least there must be, percent of the element.
    pub low_pct: f64,
    /// The most there can be.
    pub high_pct: f64,
}

/// A penalty for a shortfall, in the money of the request.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PenaltyRow {
    /// As printed.
    pub nutrient: Printed,
    /// The shortfall, kg in a tonne.
    pub short_kg_per_t: f64,
    /// What a kilogram is worth.
    pub value_per_kg: f64,
    /// How many times its value is charged.
    pub times: f64,
    /// For a tonne.
    pub per_t: f64,
    /// Where that was read.
    pub rule: &'static str,
}

/// What a dose brings.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Dosage {
    /// Grams per litre.
    pub g_per_l: f64,
    /// mg/L of every nutrient.
    pub nutrients: Vec<DosageRow>,
    /// What the meter should show in the water, mS/cm; none without a model of EC.
    pub ec: Option<DosageEc>,
}

/// An interval of EC.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DosageEc {
    /// Lower end.
    pub low_ms_cm: Option<f64>,
    /// Upper end.
    pub high_ms_cm: Option<f64>,
}

/// A nutrient of a dose, mg/L of the element.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DosageRow {
    /// Which.
    pub nutrient: Aimed,
    /// By the printed figure; none where the label does not name it.
    pub label_mg_l: Option<f64>,
    /// The least over all mixtures that keep the label; none where there are none.
    pub low_mg_l: Option<f64>,
    /// The most.
    pub high_mg_l: Option<f64>,
}

impl LabelReport {
    /// True where nothing speaks against the label.
    pub fn is_consistent(&self) -> bool {
        let fine = |finding: Finding| matches!(finding, Finding::Within | Finding::NotJudged);
        let overall = [&self.index, &self.sum];
        self.arithmetic.possible
            && self.meter.as_ref().and_then(|meter| meter.agrees) != Some(false)
            && self.allowances.iter().all(|row| fine(row.verdict))
            && overall.into_iter().flatten().all(|one| fine(one.verdict))
    }
}
