//! What safety costs, as every face shows it.

use super::{Sure, closeness};
use crate::formulate::report::FormulateReport;
use schemars::JsonSchema;
use serde::Serialize;

/// How sure the bands are, and what that costs.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SureReport {
    /// `worst-case` or `probability`.
    pub kind: &'static str,
    /// The probability asked for.
    pub probability: Option<f64>,
    /// A probability with which all bands hold together at least.
    pub reached: Option<f64>,
    /// What 1,000 litres cost.
    pub cost_per_m3: Option<f64>,
    /// What they cost where every assay is taken as exact.
    pub nominal_cost_per_m3: Option<f64>,
    /// Sum of weighted relative deviations from the aims.
    pub closeness: Option<f64>,
    /// The same where every assay is taken as exact.
    pub nominal_closeness: Option<f64>,
    /// Cost and closeness by how much of the tolerances is guarded against in every case.
    pub curve: Vec<CurvePoint>,
    /// The largest share of all tolerances that can be guarded against, percent; where all cannot.
    pub possible_share_pct: Option<f64>,
    /// Fertilizers, any one of which with an exact assay would make it possible.
    pub stands_in_the_way: Vec<String>,
    /// The same in words.
    pub words: String,
}

/// A point of the curve of safety.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CurvePoint {
    /// Share of every tolerance that is guarded against, percent.
    pub tolerance_share_pct: f64,
    /// True where the bands can be kept so.
    pub holds: bool,
    /// What 1,000 litres cost then.
    pub cost_per_m3: Option<f64>,
    /// Sum of weighted relative deviations from the aims then.
    pub closeness: Option<f64>,
}

impl SureReport {
    /// Of a safe answer beside the plain one.
    pub(super) fn new(
        sure: Sure,
        reached: Option<f64>,
        safe: &FormulateReport,
        plain: &FormulateReport,
    ) -> Self {
        let (kind, probability) = match sure {
            Sure::WorstCase => ("worst-case", None),
            Sure::Probability(asked) => ("probability", Some(asked)),
        };
        Self {
            kind,
            probability,
            reached,
            cost_per_m3: safe.cost_per_m3,
            nominal_cost_per_m3: plain.cost_per_m3,
            closeness: closeness(safe),
            nominal_closeness: closeness(plain),
            curve: Vec::new(),
            possible_share_pct: None,
            stands_in_the_way: Vec::new(),
            words: String::new(),
        }
    }
}
