//! The dose of an acid or base that brings a water to an alkalinity or a pH.

use super::request::{AcidTo, WaterRequest};
use super::{Basin, Ends};
use crate::chemistry::acid::dose_to_ph;
use crate::chemistry::{Carbon, NotConverged, PH_RANGE, Totals};
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Dose, Fertilizer, Nutrient};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Acid below this, meq/L, is none.
const NOTHING_MEQ_L: f64 = 1e-9;

/// One acid or base with its dose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DoseRow {
    /// Which.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Millilitres per litre of water, for what is poured.
    pub ml_per_l: Option<f64>,
    /// Grams per litre of water.
    pub g_per_l: f64,
    /// Acid equivalents, meq/L (negative for a base).
    pub acid_meq_l: f64,
    /// mg/L of each nutrient that it brings.
    pub brings: BTreeMap<&'static str, f64>,
    /// pH after it.
    pub ph: Ends,
}

/// The dose that was chosen, with the water it leaves.
pub(super) struct Chosen {
    pub row: DoseRow,
    pub totals: Totals,
}

/// Every dose that was found.
pub(super) struct Sought {
    pub chosen: Option<Chosen>,
    pub rows: Vec<DoseRow>,
    pub not_computed: Vec<String>,
}

/// Finds the dose of every acid or base asked for.
///
/// Where the water is above what is asked only acids are dosed, where it is below only bases. The
/// first that stays inside the range of the model is chosen, else the first.
pub(super) fn find(request: &WaterRequest, basin: &Basin) -> Result<Sought, NotConverged> {
    let mut sought = Sought {
        chosen: None,
        rows: Vec::new(),
        not_computed: Vec::new(),
    };
    for acid in &request.acids {
        if !acid.is_charted() {
            sought.not_computed.push(acid.id.clone());
            continue;
        }
        let Some(found) = dose(acid, request.to, basin)? else {
            continue;
        };
        sought.rows.push(found.row.clone());
        let is_better = match &sought.chosen {
            Some(chosen) => !is_inside(&chosen.row.ph) && is_inside(&found.row.ph),
            None => true,
        };
        if is_better {
            sought.chosen = Some(found);
        }
    }
    Ok(sought)
}

/// True where the model holds right after dosing.
fn is_inside(ph: &Ends) -> bool {
    ph.closed.is_some_and(|closed| PH_RANGE.contains(&closed))
}

/// The dose of one acid or base; none where none is needed or none reaches what is asked.
fn dose(acid: &Arc<Fertilizer>, to: AcidTo, basin: &Basin) -> Result<Option<Chosen>, NotConverged> {
    let gram = Dose {
        fertilizer: Arc::clone(acid),
        amount: GramsPerL(1.0),
    };
    let mut brings = Totals::default();
    brings.add_dose(&gram);
    let per_gram = acid.acid_meq_per_g();
    let g_per_l = match to.missing_meq_l(-basin.totals.acid_meq_l) {
        Some(missing) => Some(missing / per_gram),
        None => {
            let AcidTo::Ph(ph) = to else { return Ok(None) };
            dose_to_ph(&basin.at, &basin.totals, &brings, Carbon::Closed, ph)?
        }
    };
    let needed = |grams: &f64| grams.is_finite() && *grams * per_gram.abs() > NOTHING_MEQ_L;
    let Some(g_per_l) = g_per_l.filter(needed) else {
        return Ok(None);
    };
    let mut totals = basin.totals;
    totals += brings * g_per_l;
    let nutrients = acid.mg_per_g() * g_per_l;
    let brought = Nutrient::ALL
        .into_iter()
        .filter(|n| nutrients[*n] > 0.0)
        .map(|n| (Aimed::Form(n).key(), nutrients[n]));
    let row = DoseRow {
        id: acid.id.clone(),
        name: acid.name.clone(),
        ml_per_l: acid.density_g_per_ml.map(|density| g_per_l / density),
        g_per_l,
        acid_meq_l: per_gram * g_per_l,
        brings: brought.collect(),
        ph: basin.ends(&totals)?,
    };
    Ok(Some(Chosen { row, totals }))
}
